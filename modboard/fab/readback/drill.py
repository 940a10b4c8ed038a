"""Drill text → holes and slots: XNC and its usual Excellon neighbours.

Read: both units, coordinates with a decimal point or with leading or trailing zeros left out, absolute or incremental,
tools, hits, repeated hits (R) and repeated patterns (M25, M01, M02, M08), routed slots of lines and arcs (G00, M15,
G01 to G03, M16) and chained ones (G85), attributes in comments, plating by file or by tool.  What XNC does not have but
can mean one thing only is read with a warning.  Anything else raises ReadError with file and line.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import NoReturn

from modboard.fab.readback.apertures import arc_points
from modboard.fab.readback.drill_notation import DrillNotation, UnsaidZerosError, decimal
from modboard.fab.readback.holes import PLATINGS, ReadDrills, ReadHole, UnsaidZeros
from modboard.fab.readback.layer import Fields
from modboard.fab.readback.limits import FARTHEST
from modboard.fab.readback.notation import NotationError
from modboard.fab.readback.trouble import ReadError

ARC_SLACK = 0.01  # mm by which an arc's ends may differ in their distance from its centre
_POINT = r"(?:X(?P<x>[-+]?[\d.]+))?(?:Y(?P<y>[-+]?[\d.]+))?"
_PLACE = re.compile(_POINT)
_ARC = re.compile(
    rf"G0?(?P<way>[23])(?P<place>{_POINT.replace('<x>', '<ax>').replace('<y>', '<ay>')})"
    r"(?:A(?P<radius>[\d.]+)|I(?P<i>[-+]?[\d.]+)J(?P<j>[-+]?[\d.]+))"
)
_REPEAT = re.compile(rf"R(?P<count>\d{{1,6}})(?P<step>{_POINT.replace('<x>', '<rx>').replace('<y>', '<ry>')})")
_TOOL = re.compile(r"T(?P<number>\d{1,3})(?:[FS][\d.]+)*C(?P<size>[\d.]+)(?:[FSBHZ][-\d.]+)*")
_IGNORED = {
    "G90", "FMAT,2", "VER,1", "ATC,ON", "ATC,OFF", "ICI,OFF", "DETECT,ON", "DETECT,OFF", "G40", "M01", "G93X0Y0", "G81",
    "R,T", "R,C", "OM48", "FSB", "DN,ON", "DN,OFF", "M08",
}  # fmt: skip
_INCREMENTAL = ("G91", "ICI,ON", "ICI")
_PLATING_NOTES = {"TYPE=PLATED": True, "TYPE=NON_PLATED": False}
MOST_HOLES = 100_000
CHORDS = 32  # in a quarter circle


def read_drill(text: str, name: str = "drill", zeros: str = "", digits: tuple[int, int] | None = None) -> ReadDrills:
    """Return the holes of a drill file; `name` is used in errors.

    `zeros` (LZ: leading zeros are kept, TZ: trailing ones) and `digits` count where the file does not say.

    Raises ReadError, with file and line, for anything that breaks the format or is not read; UnsaidZeros where
    `zeros` would have helped.
    """
    return _Reader(name, zeros, digits).read(text)


class _Reader:
    def __init__(self, name: str, zeros: str, digits: tuple[int, int] | None) -> None:
        self.name, self.number = name, 0
        self.state = "start"  # then "header", "body", "end"
        self.notation = DrillNotation(zeros=zeros, given=digits)
        self.incremental = False
        self.attributes: dict[str, Fields] = {}
        self.function = ""
        self.plating: bool | None = None
        self.tools: dict[int, float] = {}
        self.said: dict[int, tuple[str, bool | None]] = {}  # function and plating of each tool
        self.tool: int | None = None
        self.at: tuple[float, float] | None = None
        self.routing = False
        self.route: list[tuple[float, float]] | None = None
        self.holes: list[ReadHole] = []
        self.warnings: dict[str, str] = {}
        self.pattern: int | None = None  # the first hole of the pattern under way
        self.copied: tuple[list[ReadHole], tuple[float, float]] | None = None  # a pattern, and how far the last copy is

    def warn(self, what: str) -> None:
        self.warnings.setdefault(what, f"{self.name}:{self.number}: {what} is not of XNC")

    def fail(self, message: str) -> NoReturn:
        raise ReadError(self.name, self.number, message)

    def read(self, text: str) -> ReadDrills:
        lines = text.rstrip("\x1a\0 \r\n\t").splitlines()
        try:
            for self.number, raw in enumerate(lines, start=1):
                self._line(raw.strip())
        except UnsaidZerosError as error:
            raise UnsaidZeros(self.name, self.number, str(error)) from error
        except NotationError as error:
            self.fail(str(error))
        if self.state != "end":
            self.fail("the file ends without M30: part of it is missing")
        return ReadDrills(self.name, self.attributes, self.tools, tuple(self.holes), tuple(self.warnings.values()))

    def _line(self, line: str) -> None:
        if line.startswith(";"):
            self._comment(line[1:].strip())
            return
        if re.fullmatch(r"\(.*\)|M47.*", line):
            self.warn("a remark in brackets or by M47")
            return
        line = line.partition(";")[0].strip()
        if not line or (line == "%" and self.state in ("start", "end")):
            return
        if self.state == "end":
            self.fail("something follows the end of the program (M30)")
        elif self.state == "start":
            if line != "M48":
                self.fail("the file does not start with M48: its header is missing, and with it the sizes of its tools")
            self.state = "header"
        elif self.state == "header":
            self._header(line)
        else:
            self._body(line)

    def _comment(self, text: str) -> None:
        if not text.startswith("#@!"):
            self.notation.note(text)
            self.plating = _PLATING_NOTES.get(text.replace(" ", ""), self.plating)
            return
        kind, _, rest = text[3:].strip().partition(".")
        name, *fields = f".{rest}".split(",")
        if kind == "TF":
            self.attributes[name] = tuple(fields)
        elif kind == "TA" and name == ".AperFunction":
            self.plating = None
            if fields[0] in PLATINGS and len(fields) > 2:  # Plated,PTH,ViaDrill in files of mixed plating
                self.plating, fields = PLATINGS[fields[0]], fields[2:]
            self.function = ",".join(fields)
        elif kind == "TD":
            self.function, self.plating = "", None

    def _header(self, line: str) -> None:
        if line in ("%", "M95"):
            if self.notation.unit is None:
                self.fail("the header does not say METRIC or INCH")
            self.state = "body"
        elif (strange := self.notation.set_unit(line)) is not None:
            if strange:
                self.warn(strange)
        elif found := _TOOL.fullmatch(line):
            self._define(found)
        elif line in _INCREMENTAL:
            self.warn(line)
            self.incremental = True
        elif line in _IGNORED:
            self.warn(line)
        else:
            self.fail(f"header line {line[:40]!r} is not read")

    def _define(self, found: re.Match[str]) -> None:
        number, size = int(found["number"]), decimal(found["size"])
        if number in self.tools or number == 0:
            self.fail(f"tool T{number} is defined twice or is T0")
        if self.notation.unit is None:
            self.fail("a tool before METRIC or INCH")
        self.tools[number] = size * self.notation.unit
        if not 0 < self.tools[number] <= FARTHEST:
            self.fail(f"tool T{number} has no size, or one that no drill has")
        self.said[number] = (self.function, self.plating)

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
        elif found := re.fullmatch(r"G00?([XY].*)", line):
            self._up("a move")
            self.routing, self.at = True, self._point(found[1])
        elif found := re.fullmatch(r"G0?1([XY].*)", line):
            if self.route is None:
                self.fail("a routed line with the tool up (M15 is missing)")
            self.at = self._point(found[1])
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
        elif line == "M25":
            self._up("a pattern")
            self.warn("a repeated pattern (M25)")
            self.pattern, self.copied = len(self.holes), None
        elif line == "M01" and self.pattern is not None:
            self._up("the end of a pattern")
            self.copied, self.pattern = (self.holes[self.pattern :], (0.0, 0.0)), None
        elif line.startswith("M02X") or line.startswith("M02Y"):
            self._copy(line[3:])
        elif line == "M08" and self.copied:
            self.copied = None
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
        elif line in _INCREMENTAL or line == "G90":
            self.warn(line)
            self.incremental = line != "G90"
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
            centre = (start[0] + self.notation.length(found["i"]), start[1] + self.notation.length(found["j"]))
        else:
            radius, across = self.notation.length(found["radius"]), math.dist(start, end)
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
        step = [self.notation.length(found[axis]) if found[axis] else 0.0 for axis in ("rx", "ry")]
        for _ in range(int(found["count"])):
            self.at = (self.at[0] + step[0], self.at[1] + step[1])
            self._hole((self.at,))

    def _copy(self, text: str) -> None:
        """Repeat the pattern, a step beyond its last copy."""
        found = _PLACE.fullmatch(text)
        if self.copied is None or not found:
            self.fail("a copy without a pattern before it (M25 to M01)")
        holes, (dx, dy) = self.copied
        dx += self.notation.length(found["x"]) if found["x"] else 0.0
        dy += self.notation.length(found["y"]) if found["y"] else 0.0
        if len(self.holes) + len(holes) > MOST_HOLES:
            self.fail(f"the file has more than {MOST_HOLES} holes")
        self.copied = (holes, (dx, dy))
        self.holes += [replace(h, path=tuple((x + dx, y + dy) for x, y in h.path)) for h in holes]

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
        function, plated = self.said[self.tool]
        self.holes.append(ReadHole(path, self.tools[self.tool], function, self.number, plated))

    def _point(self, text: str) -> tuple[float, float]:
        found = _PLACE.fullmatch(text)
        if not found or not text:
            self.fail(f"place {text[:40]!r} is not understood")
        if (found["x"] is None or found["y"] is None) and self.at is None and not self.incremental:
            self.fail("the first place must give both X and Y")
        before = self.at or (0.0, 0.0)
        if self.incremental:
            steps = [0.0 if found[axis] is None else self.notation.length(found[axis]) for axis in "xy"]
            return (before[0] + steps[0], before[1] + steps[1])
        x = before[0] if found["x"] is None else self.notation.length(found["x"])
        y = before[1] if found["y"] is None else self.notation.length(found["y"])
        return (x, y)
