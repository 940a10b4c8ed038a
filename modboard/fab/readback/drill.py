"""Drill text → holes and slots: XNC and its usual Excellon neighbours.

Read: both units, coordinates with a decimal point or with leading or trailing zeros left out, tools defined in the
header, hits, routed slots (G00, M15, G01, M16) and chained ones (G85), attributes in comments.  Anything else raises
ReadError.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NoReturn

import shapely

from modboard.fab.readback.layer import Fields
from modboard.fab.readback.trouble import ReadError

INCH = 25.4
_POINT = r"(?:X(?P<x>[-+]?[\d.]+))?(?:Y(?P<y>[-+]?[\d.]+))?"
_PLACE = re.compile(_POINT)
_SLOT = re.compile(r"X(?P<x>[-+]?[\d.]+)Y(?P<y>[-+]?[\d.]+)G85X(?P<x2>[-+]?[\d.]+)Y(?P<y2>[-+]?[\d.]+)")
_TOOL = re.compile(r"T(?P<number>\d{1,3})(?:[FS][\d.]+)*C(?P<size>[\d.]+)(?:[FSBHZ][\d.]+)*")
_UNIT = re.compile(r"(?P<unit>METRIC|INCH)(?:,(?P<zeros>LZ|TZ))?(?:,(?P<whole>0+)\.(?P<decimals>0+))?")
_IGNORED = {"G90", "FMAT,2", "VER,1", "ATC,ON", "ATC,OFF", "ICI,OFF", "DETECT,ON"}


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
        return ReadDrills(self.name, self.attributes, self.tools, tuple(self.holes))

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
        elif found := _UNIT.fullmatch(line):
            if self.unit is not None:
                self.fail("the unit is given twice")
            metric = found["unit"] == "METRIC"
            self.unit, self.zeros = (1.0 if metric else INCH), found["zeros"] or ""
            standard = (3, 3) if metric else (2, 4)
            self.digits = (len(found["whole"]), len(found["decimals"])) if found["whole"] else standard
        elif found := _TOOL.fullmatch(line):
            number = int(found["number"])
            if number in self.tools or number == 0:
                self.fail(f"tool T{number} is defined twice or is T0")
            if self.unit is None:
                self.fail("a tool before METRIC or INCH")
            self.tools[number] = self._decimal(found["size"]) * self.unit
            if self.tools[number] <= 0:
                self.fail(f"tool T{number} has no size")
            self.functions[number] = self.function
        elif line not in _IGNORED:
            self.fail(f"header line {line[:40]!r} is not read")

    def _body(self, line: str) -> None:
        if found := re.fullmatch(r"T(\d{1,3})", line):
            self._select(int(found[1]))
        elif found := _SLOT.fullmatch(line):
            start = (self._length(found["x"]), self._length(found["y"]))
            self.at = (self._length(found["x2"]), self._length(found["y2"]))
            self._hole((start, self.at))
        elif line.startswith("G00"):
            self._up("a move")
            self.routing, self.at = True, self._point(line[3:])
        elif line.startswith("G01") and line != "G01":
            if self.route is None:
                self.fail("a routed line with the tool up (M15 is missing)")
            self.at = self._point(line[3:])
            self.route.append(self.at)
        elif line == "M15":
            if not self.routing or self.at is None or self.route is not None:
                self.fail("M15 without G00, or twice")
            self.route = [self.at]
        elif line in ("M16", "M17"):
            if self.route is None:
                self.fail("M16 without M15")
            self._hole(tuple(self.route))
            self.route = None
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
        elif line not in _IGNORED:
            self.fail(f"line {line[:40]!r} is not read")

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
            return self._decimal(text) * unit
        if not self.zeros:
            self.fail(f"{text} has no decimal point, and the header does not say which zeros are left out")
        sign, plain = (-1, text[1:]) if text[0] == "-" else (1, text.lstrip("+"))
        whole, decimals = self.digits
        if len(plain) > whole + decimals:
            self.fail(f"{text} has more than {whole + decimals} digits")
        # LZ: leading zeros are kept, so the missing digits are at the end; TZ the other way round.
        padded = plain.ljust(whole + decimals, "0") if self.zeros == "LZ" else plain
        return float(sign * int(padded) / 10**decimals * unit)

    def _decimal(self, text: str) -> float:
        if not re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)", text):
            self.fail(f"{text!r} is not a number")
        return float(text)
