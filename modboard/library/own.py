"""A part of one's own: a TOML file beside the design, measured with calipers, checked as it is read.

It names the pads and where they are, or a pattern that the library has::

    title = "Reed relay from the scrap box"
    source = "measured, May"
    pins = "COIL1 COM NO COIL2"                        # in pad order
    at = [[0, 0], [5.08, 0], [10.16, 0], [15.24, 0]]   # pad by pad, x to the right and y up, mm, seen from above
    lead = [0.6, 0.4]                                  # widest lead: diameter, or width and thickness
    box = [-1.5, -2.6, 16.8, 2.6]                      # body: left, lower, right and upper side
    height = 8.0                                       # above the board

Holes and lands are computed from the lead as for every other part.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from modboard.errors import LibraryError, nearest
from modboard.library.devices import device_from
from modboard.library.drawing import Sizing, finish
from modboard.library.families import Dimensions, read_toml
from modboard.library.footprints import BUILDERS, LEVELS, footprint
from modboard.library.model import Device, Footprint

# what may be said of the part, and of the pattern by each way of drawing it
OF_THE_PART = (
    "name", "title", "source", "notes", "prefix", "pins", "numbers", "types", "aliases", "supply", "varies", "watts",
    "amps", "may_be_ground",
)  # fmt: skip
OF_ANY_PATTERN = ("builder", "lead_below", "mark", "exception", "bend_note")
OF_THE_PATTERN = {
    "placed": ("at", "lead", "pad", "box", "height", "land", "body", "hole", "front"),
    "axial": ("pitch", "body", "lead"),
    "upright": ("pitch", "body", "lead", "seat"),
    "radial": ("pitch", "body", "lead", "height"),
}
LEAST_GAP = 0.2  # mm; lands of two pads nearer than this can't be made by any rule set
LARGEST = 200.0  # mm; larger figures are slips of the finger
LEADS_CUT_TO = 1.5  # mm below the board, IPC-A-610 class 3 limit (from memory)


@dataclass(frozen=True)
class OwnPart:
    """A part read from its owner's file: the device, and how to draw its pattern at a producibility level."""

    path: Path
    device: Device
    contents: Mapping[str, Any]

    def footprint(self, *, level: str = "B", land_min: float = 0.0) -> Footprint:
        """Return the pattern at `level`, lands of holes at least `land_min` mm; LibraryError if it can't be made."""
        if "footprint" in self.contents:
            return footprint(str(self.contents["footprint"]), level=level, land_min=land_min)
        dims = Dimensions(self.path.name, self.contents)
        try:
            drawing = BUILDERS[dims.text("builder")](dims, Sizing(LEVELS[level], land_min))
            found = finish(self.device.footprint, self.path.stem, dims, drawing, LEVELS[level])
        except LibraryError as error:
            text = str(error)
            raise LibraryError(text if self.path.name in text else f"{self.path.name}: {text}") from None
        _keep_apart(self.path.name, found)
        return found


def own_part(path: Path) -> OwnPart:
    """Read the part in `path`.

    Raises LibraryError, one line with the file's name and what to put right.
    """
    where = path.name
    if not path.is_file():
        there = sorted(p.name for p in path.parent.glob("*.toml")) if path.parent.is_dir() else []
        close = nearest(where, there) or there[:3]
        hint = f"; did you mean {' or '.join(close)}?" if close else ""
        raise LibraryError(f"there is no file {path}{hint}")
    contents = read_toml(path)
    contents = _checked(where, contents)
    pattern = _pattern_name(path, contents)
    part = OwnPart(path, Device(path.stem, "", (), pattern), contents)
    numbers = part.footprint().numbers()
    entry = {"pins": " ".join(numbers), **contents, "footprint": pattern}
    words = str(entry["pins"]).split()
    if "numbers" not in contents:
        if len(words) != len(numbers):
            raise LibraryError(
                f"{where}: pins names {len(words)} pads, but there are {len(numbers)}; name each, in order"
            )
        entry["numbers"] = " ".join(numbers)
    device = device_from(where, entry, str(contents.get("name", path.stem)))
    lost = [pin.number for pin in device.pins if pin.number not in numbers]
    if lost:
        raise LibraryError(f"{where}: numbers has {', '.join(lost)}, but the pads are {', '.join(numbers)}")
    for pin in device.pins:
        if set(pin.names) & (set(numbers) - {pin.number}):
            raise LibraryError(f"{where}: the name {pin.names[0]} is also the number of another pad; choose another")
    return OwnPart(path, device, contents)


def _pattern_name(path: Path, contents: Mapping[str, Any]) -> str:
    return str(contents["footprint"]) if "footprint" in contents else path.stem.lower()


def _checked(where: str, contents: dict[str, Any]) -> dict[str, Any]:
    """Return the contents with defaults filled in; LibraryError for what is missing, unknown or can't be."""
    if "footprint" in contents:
        known: tuple[str, ...] = (*OF_THE_PART, "footprint")
        contents = {"title": where, "source": "the owner's file", **contents}
    else:
        builder = contents.get("builder", "placed")
        if builder not in OF_THE_PATTERN:
            raise LibraryError(f'{where}: builder should be one of {", ".join(OF_THE_PATTERN)}, found "{builder}"')
        known = (*OF_THE_PART, *OF_ANY_PATTERN, *OF_THE_PATTERN[builder])
        defaults = {"builder": builder, "title": where, "source": "measured by the owner", "lead_below": LEADS_CUT_TO}
        contents = {**defaults, **contents}
    for key in contents:
        if key not in known:
            close = nearest(key, known)
            hint = f"; did you mean {' or '.join(close)}?" if close else f"; known are {', '.join(known)}"
            raise LibraryError(f'{where}: "{key}" means nothing here{hint}')
    for key in ("name", "title", "source", "notes", "prefix", "pins", "numbers", "footprint", "may_be_ground"):
        if key in contents and not isinstance(contents[key], str):
            raise LibraryError(f"{where}: {key} should be a text in quotes, found {contents[key]!r}")
    for key in ("types", "aliases"):
        if not isinstance(contents.get(key, {}), dict):
            raise LibraryError(f'{where}: {key} should be a table, for example {key} = {{ VCC = "power-in" }}')
    if "supply" in contents:
        least, greatest = Dimensions(where, contents).pair("supply")
        if not 0 < least <= greatest:
            raise LibraryError(f"{where}: supply is [least, greatest] volts, found {contents['supply']!r}")
    for key in ("watts", "amps"):
        if key in contents and Dimensions(where, contents).length(key) <= 0:
            raise LibraryError(f"{where}: {key} should be more than 0, found {contents[key]!r}")
    if contents.get("builder") == "placed":
        contents = _placed(where, contents)
    _measurable(where, contents)
    return contents


def _placed(where: str, contents: dict[str, Any]) -> dict[str, Any]:
    """Turn the short form (at, lead or pad, box, height) into tables of lands and bodies."""
    dims = Dimensions(where, contents)
    if "at" in contents:
        if ("lead" in contents) == ("pad" in contents):
            raise LibraryError(f"{where}: say lead (a lead through a hole) or pad (a land without one), one of them")
        size = {key: contents[key] for key in ("lead", "pad") if key in contents}
        at = dims.positions("at")
        square = "lead" in contents and len(at) > 1
        contents["land"] = [
            {"number": str(k + 1), "at": list(p), "square": square and k == 0, **size} for k, p in enumerate(at)
        ]
    if "land" not in contents:
        raise LibraryError(f"{where}: say where the pads are: at = [[0, 0], [2.54, 0]], mm from pad 1")
    if "box" in contents:
        x0, y0, x1, y1 = dims.numbers("box", 4)
        if x0 >= x1 or y0 >= y1:
            raise LibraryError(f"{where}: box is left, lower, right and upper side; {[x0, y0, x1, y1]} is inside out")
        contents["body"] = [{"box": [x0, y0, x1, y1], "height": dims.length("height")}]
    if "body" not in contents:
        raise LibraryError(f"{where}: say how large the body is: box = [left, lower, right, upper] and height, mm")
    if all("pad" in land for land in contents["land"]):
        contents["lead_below"] = 0.0
    return contents


def _measurable(where: str, contents: Mapping[str, Any]) -> None:
    """Refuse lengths that no caliper shows."""
    for key in ("pitch", "height", "lead", "seat", "pad"):
        value = contents.get(key)
        for length in value if isinstance(value, list) else [value]:
            if isinstance(length, int | float) and not 0 < length <= LARGEST:
                raise LibraryError(f"{where}: {key} should be more than 0 and at most {LARGEST:g} mm, found {length:g}")


def _keep_apart(where: str, found: Footprint) -> None:
    """Refuse lands of two pads that touch or nearly do."""
    shapes = [(land.number, land.form.shape(land.at)) for land in found.lands]
    for i, (number, shape) in enumerate(shapes):
        for other, its in shapes[i + 1 :]:
            gap = shape.distance(its)
            if number != other and gap < LEAST_GAP:
                raise LibraryError(
                    f"{where}: lands of pads {number} and {other} are {max(gap, 0.0):.2f} mm apart, "
                    f"{LEAST_GAP:g} is the least; measure where they are and how thick the leads are"
                )
