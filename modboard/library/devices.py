"""Devices: pin names in pad order, electrical types and footprints, read from `footprints/devices/`.

A name is looked for in the text of the files first and only the file that holds it is parsed.  In a file,
`[types]` gives each pin's electrical type by pin name (with * and ?), `[aliases]` its other names, and each
`[[device]]` the device names that share one pin-out, and `pins` in pad order, one word per pad; `numbers` gives the
pad numbers where they do not simply count up.  `supply` (volts, least and greatest), `watts` and `amps` may be tables
by device name.  `orders` lists every pin order that makers have sold the type in, where there is more than one.
`may_be_ground` names supply pins that the data sheet lets be tied to the ground pin, too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, cast, get_args

from modboard.errors import LibraryError, nearest
from modboard.library.families import data_folder, family, family_of, family_stems, parse_toml
from modboard.library.footprints import footprint
from modboard.library.markings import plain_types
from modboard.library.model import Device, Pin, PinType

SERIES_74 = re.compile(r"(?:SN|DM|MM|HD|MC|M|CD|IC|TC|PC|U)?74([A-Z]{0,4})(\d{2,6})(?:[A-Z]{1,3}\d?)?")
SUPPLY_74 = {  # V, least and greatest by family letters; "" is the first family
    "": (4.75, 5.25), "H": (4.75, 5.25), "L": (4.75, 5.25), "S": (4.75, 5.25), "LS": (4.75, 5.25), "AS": (4.5, 5.5),
    "ALS": (4.5, 5.5), "F": (4.5, 5.5), "C": (3.0, 15.0), "HC": (2.0, 6.0), "HCT": (4.5, 5.5), "HCU": (2.0, 6.0),
    "AC": (2.0, 6.0), "ACT": (4.5, 5.5), "AHC": (2.0, 5.5), "AHCT": (4.5, 5.5), "VHC": (2.0, 5.5),
    "VHCT": (4.5, 5.5), "LV": (2.0, 5.5), "LVC": (1.65, 3.6),
}  # fmt: skip


def device(name: str) -> Device:
    """Return the device called `name`: "2N3904", "resistor", "62256", "74LS00", "header-1x5".

    Case does not matter.  A pin called "/CS" is also found as "nCS".  Raises LibraryError with the nearest names.

    >>> device("2N3904").find("C").number
    '3'
    """
    return _device(name.strip())


@lru_cache(maxsize=1024)
def _device(name: str) -> Device:
    if match := SERIES_74.fullmatch(name.upper()):
        found = _from_files(f"74{match[2]}")
        if found is not None and match[1] in SUPPLY_74:
            common = found.supply == SUPPLY_74[""]  # a few parts have a range of their own
            supply = SUPPLY_74[match[1]] if common else found.supply
            return replace(found, name=f"74{match[1]}{match[2]}", supply=supply)
    found = _from_files(name) or _from_footprint(name.lower())
    for plain in () if found else plain_types(name):
        found = found or _from_files(plain)
    if found is None:
        close = nearest(name, device_names())
        hint = f"; nearest: {', '.join(close)}" if close else ""
        raise LibraryError(f'no device "{name}"{hint}')
    return found


def device_names() -> tuple[str, ...]:
    """Return every device name, sorted; 74-series parts as 7400 and so on, to be read with any family letters.

    The names of connector footprints ("header-1x5") are devices as well and are listed by `footprint_names`.
    """
    return tuple(sorted({name for path in _files() for entry in _entries(path) for name in entry["names"]}))


def all_devices() -> tuple[Device, ...]:
    """Return every device there is, by name."""
    found = [_read(path, entry, name) for path in _files() for entry in _entries(path) for name in entry["names"]]
    return tuple(sorted(found, key=lambda device: device.name))


def _from_files(name: str) -> Device | None:
    """Return the device from the first file that lists `name`, or None."""
    quoted = f'"{name.casefold()}"'
    for path in _files():
        if quoted in _folded_text(path):
            for entry in _entries(path):
                for listed in entry["names"]:
                    if listed.casefold() == name.casefold():
                        return _read(path, entry, listed)
    return None


def _from_footprint(name: str) -> Device | None:
    """Return a device of plain numbered pins for a footprint that is a part by itself (headers, wire pads)."""
    if not any(name.startswith(stem) and family(stem).prefix for stem in family_stems()):
        return None
    found = footprint(name)
    named = str(family_of(name).contents.get("contact_names", "")).split()  # jacks: in pad order
    numbers = found.numbers()
    pins = tuple(Pin(n, tuple(named[i : i + 1])) for i, n in enumerate(numbers))
    return Device(name, found.title, pins, name, prefix=family_of(name).prefix, source=found.source)


@cache
def _files() -> tuple[Path, ...]:
    return tuple(sorted((data_folder() / "devices").glob("*.toml")))


@cache
def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def _folded_text(path: Path) -> str:
    return _text(path).casefold()


@cache
def _contents(path: Path) -> dict[str, Any]:
    return parse_toml(path.name, _text(path))


def _entries(path: Path) -> Iterator[Mapping[str, Any]]:
    yield from _contents(path).get("device", [])


def _read(path: Path, entry: Mapping[str, Any], name: str) -> Device:
    """Build the device `name` from its table and the file's defaults."""
    return device_from(f"{path.name}, {name}", entry, name, _contents(path))


def device_from(where: str, entry: Mapping[str, Any], name: str, contents: Mapping[str, Any] | None = None) -> Device:
    """Build a device from its table and the defaults beside it; `where` begins the message of a LibraryError."""
    contents = contents or {}
    types = (entry.get("types", {}), contents.get("types", {}))
    aliases = {**contents.get("aliases", {}), **entry.get("aliases", {})}
    words = entry["pins"].split()
    numbers = entry["numbers"].split() if "numbers" in entry else [str(k + 1) for k in range(len(words))]
    if len(numbers) != len(words):
        raise LibraryError(f"{where}: {len(numbers)} pad numbers for {len(words)} pins")
    pins = tuple(_pin(where, n, word, types, aliases) for n, word in zip(numbers, words, strict=True))
    pins = _groundable(where, pins, str(entry.get("may_be_ground", "")).split())
    plain = str(entry.get("footprint", contents.get("footprint", "")))
    sockets = (f"{plain}-socket",) if plain.startswith("dip-") else ()
    supply, watts, amps = (_of_type(entry.get(key, contents.get(key)), name) for key in ("supply", "watts", "amps"))
    return Device(
        name=name,
        title=str(entry.get("title", "")),
        pins=pins,
        footprint=plain,
        alternatives=(*entry.get("alternatives", contents.get("alternatives", ())), *sockets),
        prefix=str(entry.get("prefix", contents.get("prefix", ""))),
        source=str(entry.get("source", contents.get("source", ""))),
        supply=(float(supply[0]), float(supply[1])) if supply else None,
        notes=str(entry.get("notes", contents.get("notes", ""))),
        watts=None if watts is None else float(watts),
        amps=None if amps is None else float(amps),
        orders=tuple(tuple(order.split()) for order in entry.get("orders", ())),
        words=str(entry.get("words", contents.get("words", ""))),
    )


def _of_type(said: Any, name: str) -> Any:
    """Return a figure that holds for all of an entry's types, or that of this one from a table by name."""
    return said.get(name) if isinstance(said, Mapping) else said


def _pin(
    where: str, number: str, word: str, types: Sequence[Mapping[str, str]], aliases: Mapping[str, list[str]]
) -> Pin:
    """Build one pin from its word: names joined by "|", the first preferred."""
    names = word.split("|")
    kind = _type_of(where, names[0], types)
    for name in list(names):
        names += aliases.get(name, [])
    names += [f"n{name[1:]}" for name in names if name.startswith("/")]
    return Pin(number, tuple(dict.fromkeys(names)), kind)


def _groundable(where: str, pins: tuple[Pin, ...], names: Sequence[str]) -> tuple[Pin, ...]:
    """Return the pins, those named marked as supplies that may be ground; LibraryError if one is no supply pin."""
    for name in names:
        if not (found := [pin for pin in pins if name in pin.names]):
            close = nearest(name, [pin.names[0] for pin in pins])
            hint = f"; did you mean {' or '.join(close)}?" if close else ""
            raise LibraryError(f'{where}: may_be_ground names "{name}", but no pin has that name{hint}')
        for pin in found:
            if pin.type != "power-in":
                raise LibraryError(f"{where}: may_be_ground names {name}, which is no supply pin but {pin.type}")
    return tuple(replace(pin, may_be_ground=not set(names).isdisjoint(pin.names)) for pin in pins)


def _type_of(where: str, name: str, types: Sequence[Mapping[str, str]]) -> PinType:
    """Return the electrical type by the first table that has one: its exact name, else its longest fitting pattern."""
    for table in types:
        fitting = [pattern for pattern in table if pattern == name or fnmatchcase(name, pattern)]
        if fitting:
            kind = table[max(fitting, key=lambda pattern: (pattern == name, len(pattern)))]
            if kind not in get_args(PinType):
                raise LibraryError(f'{where}: pin {name} has type "{kind}"; types are {", ".join(get_args(PinType))}')
            return cast(PinType, kind)
    return "passive"
