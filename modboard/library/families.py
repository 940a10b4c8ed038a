"""Reading the family files under `footprints/patterns/`: which family a name belongs to, and its dimensions.

The file's name is its index: `dip.toml` serves every name that begins with "dip", the longest such file name wins,
and no other file is opened.  In a file, `[variants.NAME]` tables give fixed members; `forms` such as
``dip-{pins}[-wide]`` give parametric ones, with `[parameters.pins]` saying what is accepted and `[[size]]` rows
(the first whose `when` fits) giving dimensions.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from modboard.errors import LibraryError, nearest

Value = float | str | bool
FORM_PIECE = re.compile(r"\{(\w+)\}|\[([^\]]+)\]")


@cache
def data_folder() -> Path:
    """Return the folder of the footprint data: inside an installed package, or beside it in a source tree."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "footprints", package.parent / "footprints"):
        if (folder / "patterns").is_dir():
            return folder
    raise LibraryError(f"footprint data not found beside {package}; install modboard again")


def read_toml(path: Path) -> dict[str, Any]:
    """Return the contents of a TOML file; LibraryError names file and line if it cannot be read."""
    return parse_toml(path.name, path.read_text(encoding="utf-8"))


def parse_toml(where: str, text: str) -> dict[str, Any]:
    """Return what a TOML text says; LibraryError names the file `where` and the line if it can't be read."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise LibraryError(f"{where}: {error}") from error


@dataclass(frozen=True)
class Dimensions:
    """The dimensions of one member of a family, with errors that name the file and the missing entry."""

    where: str  # "dip.toml, dip-28-wide"
    values: Mapping[str, Any]

    def _get(self, key: str, kinds: tuple[type, ...], expected: str) -> Any:
        value = self.values.get(key)
        if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
            raise LibraryError(f"{self.where}: {key} should be {expected}, found {value!r}")
        return value

    def length(self, key: str, default: float | None = None) -> float:
        """Return a length in mm (or any other number)."""
        if default is not None and key not in self.values:
            return default
        return float(self._get(key, (int, float), "a number"))

    def count(self, key: str) -> int:
        """Return a whole number."""
        return int(self.length(key))

    def numbers(self, key: str, count: int) -> tuple[float, ...]:
        """Return a list of exactly `count` numbers."""
        value = self._get(key, (list,), f"{count} numbers")
        if len(value) != count or not all(isinstance(v, int | float) for v in value):
            raise LibraryError(f"{self.where}: {key} should be {count} numbers, found {value!r}")
        return tuple(float(v) for v in value)

    def pair(self, key: str) -> tuple[float, float]:
        """Return two numbers, such as (least, greatest) or (x, y)."""
        first, second = self.numbers(key, 2)
        return (first, second)

    def positions(self, key: str) -> tuple[tuple[float, float], ...]:
        """Return a list of (x, y) pairs."""
        value = self._get(key, (list,), "a list of [x, y]")
        return tuple(Dimensions(self.where, {key: pair}).pair(key) for pair in value)

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text."""
        if default is not None and key not in self.values:
            return default
        return str(self._get(key, (str,), "a text"))

    def flag(self, key: str) -> bool:
        """Return a yes or no; absent is no."""
        return self.values.get(key) is not None and bool(self._get(key, (bool,), "true or false"))

    def tables(self, key: str) -> list[Dimensions]:
        """Return a list of tables; absent is none."""
        return [Dimensions(f"{self.where}, {key}", table) for table in self.values.get(key, [])]

    def has(self, key: str) -> bool:
        """Tell whether `key` is given."""
        return key in self.values


@dataclass(frozen=True)
class Family:
    """One family file."""

    stem: str
    contents: Mapping[str, Any]

    @property
    def builder(self) -> str:
        """Name of the builder that draws it."""
        return str(self.contents.get("builder", ""))

    @property
    def prefix(self) -> str:
        """Reference letter if the footprint name alone makes a part (connectors, wire pads), else empty."""
        return str(self.contents.get("prefix", ""))

    @cached_property
    def forms(self) -> dict[str, re.Pattern[str]]:
        """Name patterns as written in the file, each with the expression that reads it."""
        return {form: compile_form(form) for form in self.contents.get("forms", [])}

    def names(self) -> tuple[str, ...]:
        """Return the fixed members and the examples of parametric ones, sorted."""
        return tuple(sorted([*self.contents.get("variants", {}), *self.contents.get("examples", [])]))

    def accepts(self) -> str:
        """Say which names the family takes: its forms and the range of each parameter."""
        ranges = [f"{name} {describe_parameter(p)}" for name, p in self.contents.get("parameters", {}).items()]
        return "; ".join([" or ".join(self.forms), *ranges])

    def member(self, name: str) -> Dimensions:
        """Return the dimensions of member `name`; LibraryError with what is accepted if there is none."""
        where = f"{self.stem}.toml, {name}"
        common = {
            k: v for k, v in self.contents.items() if k not in ("variants", "size", "parameters", "forms", "with")
        }
        fixed = self.contents.get("variants", {}).get(name)
        if fixed is not None:
            return Dimensions(where, {**common, **fixed})
        for expression in self.forms.values():
            if match := expression.fullmatch(name):
                values = self._values(name, match)
                return Dimensions(where, {**common, **self._with({**self._size(name, values), **values})})
        close = nearest(name, self.names()) or list(self.names()[:3])
        pattern = f"; names are {self.accepts()}" if self.forms else ""
        raise LibraryError(f'no footprint "{name}"; nearest: {", ".join(close)}{pattern}')

    def _with(self, values: dict[str, Value]) -> dict[str, Value]:
        """Return the values with what the optional words in the name change (`[with.WORD]`); notes are added up."""
        for word, changes in self.contents.get("with", {}).items():
            if values.get(word) is True:
                notes = [str(table["bend_note"]) for table in (values, changes) if "bend_note" in table]
                values = {**values, **changes, **({"bend_note": "; ".join(notes)} if notes else {})}
        return values

    def _values(self, name: str, match: re.Match[str]) -> dict[str, Value]:
        values: dict[str, Value] = {}
        for key, text in match.groupdict().items():
            if key.startswith("flag_"):
                values[key.removeprefix("flag_")] = text is not None
                continue
            parameter = self.contents["parameters"][key]
            values[key] = float(text)
            if not accepts_value(parameter, float(text)):
                close = ", ".join(nearest(name, self.names()))
                hint = f"; nearest: {close}" if close else ""
                raise LibraryError(
                    f'no footprint "{name}": {key} must be {describe_parameter(parameter)}, not {text}{hint}'
                )
        return values

    def _size(self, name: str, values: dict[str, Value]) -> dict[str, Any]:
        """Return the first `[[size]]` row whose `when` fits; LibraryError with what could be changed if none does.

        With `size_optional` in the file, rows only change what is common to all, and none need fit.
        """
        rows = self.contents.get("size", [])
        changes: dict[str, list[Value]] = {}
        for row in rows:
            wrong = {key: as_list(v) for key, v in row["when"].items() if values.get(key) not in as_list(v)}
            if not wrong:
                return dict(row)
            if len(wrong) == 1:
                for key, accepted in wrong.items():
                    changes.setdefault(key, []).extend(accepted)
        if rows and not self.contents.get("size_optional", False):
            cures = ", or ".join(describe_change(key, accepted) for key, accepted in changes.items())
            raise LibraryError(f'no footprint "{name}": there is no such size; {cures or self.accepts()}')
        return {}


def as_list(value: Any) -> list[Value]:
    """Return a list as it is and anything else as a list of one."""
    return value if isinstance(value, list) else [value]


def describe_change(key: str, accepted: list[Value]) -> str:
    """Say which value of a parameter, or which optional word, would be accepted instead."""
    if isinstance(accepted[0], bool):
        return f"add -{key}" if accepted[0] else f"leave out -{key}"
    return f"take {key} " + " ".join(f"{v:g}" for v in sorted(set(map(float, accepted))))


def compile_form(form: str) -> re.Pattern[str]:
    """Return the expression for a form: ``{x}`` is a number named x, ``[-wide]`` an optional word."""
    out, at = "", 0
    for piece in FORM_PIECE.finditer(form):
        out += re.escape(form[at : piece.start()])
        if piece[1]:
            out += rf"(?P<{piece[1]}>\d+(?:\.\d+)?)"
        else:
            out += f"(?P<flag_{piece[2].strip('-')}>{re.escape(piece[2])})?"
        at = piece.end()
    return re.compile(out + re.escape(form[at:]))


def accepts_value(parameter: Mapping[str, Any], value: float) -> bool:
    """Tell whether a parameter table (`choices`, or `least`, `most` and perhaps `step`) takes `value`."""
    if "choices" in parameter:
        return any(value == choice for choice in parameter["choices"])
    least, most, step = (float(parameter.get(key, 0.0)) for key in ("least", "most", "step"))
    steps = (value - least) / step if step else 0.0
    return least <= value <= most and abs(steps - round(steps)) < 1e-9


def describe_parameter(parameter: Mapping[str, Any]) -> str:
    """Say in words what a parameter table takes."""
    if "choices" in parameter:
        return "one of " + " ".join(f"{c:g}" for c in parameter["choices"])
    step = f" in steps of {parameter['step']:g}" if "step" in parameter else ""
    return f"{parameter['least']:g} to {parameter['most']:g}{step}"


@cache
def family_stems() -> tuple[str, ...]:
    """Return the family names, longest first, from the folder alone."""
    stems = [path.stem for path in (data_folder() / "patterns").glob("*.toml")]
    return tuple(sorted(stems, key=lambda s: (-len(s), s)))


@cache
def family(stem: str) -> Family:
    """Return the family in file `stem`.toml."""
    return Family(stem, read_toml(data_folder() / "patterns" / f"{stem}.toml"))


def family_of(name: str) -> Family:
    """Return the family that serves footprint `name`, opening its file only."""
    stem = next((s for s in family_stems() if name.startswith(s)), None)
    if stem is None:
        close = nearest(name, all_names())
        hint = f"nearest: {', '.join(close)}" if close else "families: " + ", ".join(sorted(family_stems()))
        raise LibraryError(f'no footprint "{name}"; {hint}')
    return family(stem)


@cache
def all_names() -> tuple[str, ...]:
    """Return fixed and representative footprint names of every family, sorted (opens every file)."""
    return tuple(sorted(name for stem in family_stems() for name in family(stem).names()))
