"""Drill text → holes and slots: XNC and its usual Excellon neighbours.

Read: both units, coordinates with a decimal point or with leading or trailing zeros left out, tools defined in the
header, hits, repeated hits (R), routed slots of lines and arcs (G00, M15, G01 to G03, M16) and chained ones (G85),
attributes in comments.  What XNC does not have but can mean one thing only is read with a warning.  Anything else
raises ReadError.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, NoReturn

import shapely

from modboard.fab.readback.apertures import arc_points
from modboard.fab.readback.layer import Fields
from modboard.fab.readback.limits import FARTHEST
from modboard.fab.readback.trouble import ReadError

INCH = 25.4
ARC_SLACK = 0.01  # mm by which an arc's ends may differ in their distance from its centre
_POINT = r"(?:X(?P<x>[-+]?[\d.]+))?(?:Y(?P<y>[-+]?[\d.]+))?"
_PLACE = re.compile(_POINT)
_ARC = re.compile(
    rf"G0?(?P<way>[23])(?P<place>{_POINT.replace('<x>', '<ax>').replace('<y>', '<ay>')})"
    r"(?:A(?P<radius>[\d.]+)|I(?P<i>[-+]?[\d.]+)J(?P<j>[-+]?[\d.]+))"
)
_REPEAT = re.compile(rf"R(?P<count>\d{{1,6}})(?P<step>{_POINT.replace('<x>', '<rx>').replace('<y>', '<ry>')})")
_TOOL = re.compile(r"T(?P<number>\d{1,3})(?:[FS][\d.]+)*C(?P<size>[\d.]+)(?:[FSBHZ][\d.]+)*")
_UNIT = re.compile(r"(?P<unit>METRIC|INCH)(?:,(?P<zeros>LZ|TZ))?(?:,(?P<whole>0{1,9})\.(?P<decimals>0{1,9}))?")
_IGNORED = {"G90", "FMAT,2", "VER,1", "ATC,ON", "ATC,OFF", "ICI,OFF", "DETECT,ON", "G40", "M01", "G93X0Y0"}
_UNIT_CODES = {"M71": "METRIC", "M72": "INCH"}
MOST_HOLES = 100_000
CHORDS = 32  # in a quarter circle


@dataclass(frozen=True)
class ReadHole:
    """A hole at `path[0]`, or a slot along `path`; all mm.  `function` is the tool's .AperFunction, "" if not said."""

    path: tuple[tuple[float, float], ...]
    diameter: float
    function: str
    line: int

    @property
    def core(self) -> Any:
        """The centre, or the centre line of a slot."""
        return shapely.Point(self.path[0]) if len(self.path) == 1 else shapely.LineString(self.path)


@dataclass(frozen=True)
class ReadDrills:
    """One drill file: its attributes, tools (number → diameter in mm) and holes in order."""

    name: str
    attributes: dict[str, Fields]
    tools: dict[int, float]
    holes: tuple[ReadHole, ...]
    warnings: tuple[str, ...] = ()  # what XNC does not have but was read, each with file and line

    @property
    def plated(self) -> bool | None:
        """Tell whether the holes are plated; None if the file does not say."""
        return {"Plated": True, "NonPlated": False}.get(self.attributes.get(".FileFunction", ("",))[0])


def read_drill(text: str, name: str = "drill") -> ReadDrills:
    """Return the holes of a drill file; `name` is used in errors.

    Raises ReadError, with file and line, for anything that breaks the format or is not read.
    """
    return _Reader(name).read(text)


class _Reader:
    def __init__(self, name: str) -> None:
        self.name, self.number = name, 0
        self.state = "start"  # then "header", "body", "end"
        self.unit: float | None = None
        self.zeros, self.digits = "", (0, 0)
        self.attributes: dict[str, Fields] = {}
        self.function = ""
        self.tools: dict[int, float] = {}
        self.functions: dict[int, str] = {}
        self.tool: int | None = None
        self.at: tuple[float, float] | None = None
        self.routing = False
        self.route: list[tuple[float, float]] | None = None
        self.holes: list[ReadHole] = []
        self.warnings: dict[str, str] = {}

    def warn(self, what: str) -> None:
        self.warnings.setdefault(what, f"{self.name}:{self.number}: {what} is not of XNC")

    def fail(self, message: str) -> NoReturn:
        raise ReadError(self.name, self.number, message)

    def read(self, text: str) -> ReadDrills:
        for self.number, raw in enumerate(text.splitlines(), start=1):
            line = raw.strip()
            if line.startswith(";"):
                self._comment(line[1:].strip())
            elif line and self.state == "end":
                self.fail("something follows the end of the program (M30)")
            elif line and self.state == "start":
                if line != "M48":
                    self.fail("the file does not start with M48")
                self.state = "header"
            elif line and self.state == "header":
                self._header(line)
            elif line:
                self._body(line)
        if self.state != "end":
            self.fail("the file ends without M30: part of it is missing")
        return ReadDrills(self.name, self.attributes, self.tools, tuple(self.holes), tuple(self.warnings.values()))

    def _comment(self, text: str) -> None:
        if not text.startswith("#@!"):
            return
        kind, _, rest = text[3:].strip().partition(".")
        name, *fields = f".{rest}".split(",")
        if kind == "TF":
            self.attributes[name] = tuple(fields)
        elif kind == "TA" and name == ".AperFunction":
            self.function = ",".join(fields)
        elif kind == "TD":
            self.function = ""

    def _header(self, line: str) -> None:
        if line in ("%", "M95"):
            if self.unit is None:
                self.fail("the header does not say METRIC or INCH")
            self.state = "body"
        elif found := _UNIT.fullmatch(_UNIT_CODES.get(line, line)):
            if self.unit is not None:
                self.fail("the unit is given twice")
            if line not in ("METRIC", "INCH"):
                self.warn(f"{line[:40]} (zeros left out or other digits)" if "," in line else line)
            metric = found["unit"] == "METRIC"
            self.unit, self.zeros = (1.0 if metric else INCH), found["zeros"] or ""
            standard = (3, 3) if metric else (2, 4)
            self.digits = (len(found["whole"]), len(found["decimals"])) if found["whole"] else standard
        elif found := _TOOL.fullmatch(line):
            self._define(found)
        elif line in _IGNORED:
            self.warn(line)
        else:
            self.fail(f"header line {line[:40]!r} is not read")

    def _define(self, found: re.Match[str]) -> None:
        number = int(found["number"])
        if number in self.tools or number == 0:
            self.fail(f"tool T{number} is defined twice or is T0")
        if self.unit is None:
            self.fail("a tool before METRIC or INCH")
        self.tools[number] = self._decimal(found["size"]) * self.unit
        if not 0 < self.tools[number] <= FARTHEST:
            self.fail(f"tool T{number} has no size, or one that no drill has")
        self.functions[number] = self.function

    def _body(self, line: str) -> None:
        if found := re.fullmatch(r"T(\d{1,3})", line):
            self._select(int(found[1]))
        elif found := _TOOL.fullmatch(line):
            self.warn("a tool defined after the header")
            self._define(found)
            self._select(int(found["number"]))
        elif line[0] in "XY" and "G85" in line:
            before, _, after = line.partition("G85")
            start = self._point(before)
            self.at = start
            self.at = self._point(after)
            self._hole((start, self.at) if start != self.at else (start,))
        elif line.startswith("G00"):
            self._up("a move")
            self.routing, self.at = True, self._point(line[3:])
        elif line.startswith("G01") and line != "G01":
            if self.route is None:
                self.fail("a routed line with the tool up (M15 is missing)")
            self.at = self._point(line[3:])
            self.route.append(self.at)
        elif found := _ARC.fullmatch(line):
            self._arc(found)
        elif found := _REPEAT.fullmatch(line):
            self._repeat(found)
        elif line == "M15":
            if not self.routing or self.at is None or self.route is not None:
                self.fail("M15 without G00, or twice")
            self.route = [self.at]
        elif line in ("M16", "M17"):
            if self.route is None:
                self.fail("M16 without M15")
            self._hole(tuple(self.route))
            self.route = None
            if line == "M17":
                self.warn(line)
        elif line == "G05":
            self._up("drill mode")
            self.routing = False
        elif line in ("M30", "M00"):
            self._up("the end")
            self.state = "end"
        elif line[0] in "XY":
            if self.routing:
                self.fail("a hit in rout mode (G05 is missing)")
            self.at = self._point(line)
            self._hole((self.at,))
        elif line in _IGNORED:
            self.warn(line)
        else:
            self.fail(f"line {line[:40]!r} is not read")

    def _arc(self, found: re.Match[str]) -> None:
        """Add a routed arc: with A of 180° at most, with I and J any."""
        if self.route is None or self.at is None:
            self.fail("a routed arc with the tool up (M15 is missing)")
        start, anticlockwise = self.at, found["way"] == "3"
        end = self._point(found["place"])
        if found["radius"] is None:
            centre = (start[0] + self._length(found["i"]), start[1] + self._length(found["j"]))
        else:
            radius, across = self._length(found["radius"]), math.dist(start, end)
            if not 0 < across <= 2 * radius + ARC_SLACK:
                self.fail(f"an arc of radius {radius:g} mm cannot join ends {across:g} mm apart")
            rise = math.sqrt(max(0.0, radius**2 - across**2 / 4)) / across * (1 if anticlockwise else -1)
            middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
            centre = (middle[0] - rise * (end[1] - start[1]), middle[1] + rise * (end[0] - start[0]))
        if abs(math.dist(centre, start) - math.dist(centre, end)) > ARC_SLACK or math.dist(centre, start) == 0:
            self.fail("an arc's ends are not equally far from its centre")
        self.route += arc_points(start, end, centre, anticlockwise, CHORDS)[1:]
        self.at = end

    def _repeat(self, found: re.Match[str]) -> None:
        """Repeat the last hit, each time a step further on."""
        self.warn("R (repeat)")
        if self.at is None or self.routing or not (found["rx"] or found["ry"]):
            self.fail("a repeat without a hit before it or without a step")
        step = [self._length(found[axis]) if found[axis] else 0.0 for axis in ("rx", "ry")]
        for _ in range(int(found["count"])):
            self.at = (self.at[0] + step[0], self.at[1] + step[1])
            self._hole((self.at,))

    def _select(self, number: int) -> None:
        self._up("a tool change")
        if number and number not in self.tools:
            self.fail(f"tool T{number} is used but not defined")
        self.tool = number or None

    def _up(self, what: str) -> None:
        if self.route is not None:
            self.fail(f"{what} with the tool down (M16 is missing)")

    def _hole(self, path: tuple[tuple[float, float], ...]) -> None:
        if self.tool is None:
            self.fail("a hole before any tool is selected")
        if len(self.holes) >= MOST_HOLES:
            self.fail(f"the file has more than {MOST_HOLES} holes")
        self.holes.append(ReadHole(path, self.tools[self.tool], self.functions[self.tool], self.number))

    def _point(self, text: str) -> tuple[float, float]:
        found = _PLACE.fullmatch(text)
        if not found or not text:
            self.fail(f"place {text[:40]!r} is not understood")
        if (found["x"] is None or found["y"] is None) and self.at is None:
            self.fail("the first place must give both X and Y")
        before = self.at or (0.0, 0.0)
        x = before[0] if found["x"] is None else self._length(found["x"])
        y = before[1] if found["y"] is None else self._length(found["y"])
        return (x, y)

    def _length(self, text: str) -> float:
        unit = self.unit or 1.0
        if "." in text:
            return self._near(self._decimal(text) * unit, text)
        if not self.zeros:
            self.fail(f"{text[:40]} has no decimal point, and the header does not say which zeros are left out")
        sign, plain = (-1, text[1:]) if text[0] == "-" else (1, text.lstrip("+"))
        whole, decimals = self.digits
        if len(plain) > whole + decimals:
            self.fail(f"{text[:40]} has more than {whole + decimals} digits")
        # LZ: leading zeros are kept, so the missing digits are at the end; TZ the other way round.
        padded = plain.ljust(whole + decimals, "0") if self.zeros == "LZ" else plain
        return self._near(float(sign * int(padded) / 10**decimals * unit), text)

    def _near(self, value: float, text: str) -> float:
        if abs(value) > FARTHEST:
            self.fail(f"{text[:40]} is more than {FARTHEST / 1000:g} m away")
        return value

    def _decimal(self, text: str) -> float:
        if len(text) > 40 or not re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)", text):
            self.fail(f"{text[:40]!r} is not a number")
        return float(text)
