"""Gerber layer text → objects and image.  Knows X2 files as they should be, and their usual neighbours.

Read: C, R, O and P apertures with and without hole, macros (see `macros`), draws with round pens, arcs in
multi-quadrant mode, regions, dark and clear, millimetres and inches, leading or trailing zeros left out, all
attributes.  Everything else (step and repeat, block apertures, single-quadrant arcs, turned or mirrored apertures, pens
that are not round, negative images) raises ReadError with file and line.

Section numbers: Ucamco, Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import hashlib
import math
import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from typing import Any, NoReturn

import shapely
from shapely import affinity

from modboard.fab.readback.apertures import Aperture, aperture_shape, arc_points
from modboard.fab.readback.layer import Fields, ReadLayer, ReadObject
from modboard.fab.readback.macros import MacroError
from modboard.fab.readback.trouble import ReadError

QUARTER_SEGMENTS = 32
INCH = 25.4
_COMMAND = re.compile(r"%(?P<extended>[^%]*)%|(?P<word>[^*%]*)\*")
_OPERATION = re.compile(
    r"(?:X(?P<x>[-+]?\d+))?(?:Y(?P<y>[-+]?\d+))?(?:I(?P<i>[-+]?\d+))?(?:J(?P<j>[-+]?\d+))?D0?(?P<code>[123])"
)
_FORMAT = re.compile(r"FS(?P<zeros>[LTD])(?P<mode>[AI])X(?P<xi>[0-7])(?P<xd>[0-7])Y(?P<yi>[0-7])(?P<yd>[0-7])")
_APERTURE = re.compile(r"ADD(?P<code>\d+)(?P<template>[._$a-zA-Z][._$a-zA-Z0-9]*)(?:,(?P<values>.*))?", re.DOTALL)
_DECIMAL = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)")
_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")


def read_gerber(text: str, name: str = "layer", quarter_segments: int = QUARTER_SEGMENTS) -> ReadLayer:
    """Return what the Gerber file `text` holds; `name` is used in errors.

    `quarter_segments` is the number of chords that stand for a quarter circle.

    Raises ReadError, with file and line, for anything that breaks the format or is not read.
    """
    return _Reader(text, name, quarter_segments).read()


class _Reader:
    def __init__(self, text: str, name: str, quarter_segments: int) -> None:
        self.text, self.name, self.segments = text, name, quarter_segments
        self._newlines = [m.start() for m in re.finditer("\n", text)]
        self._place = 0
        self.unit: float | None = None
        self.zeros = "L"
        self.digits: tuple[int, int] | None = None
        self.at = (0.0, 0.0)
        self.at_known = False
        self.mode = ""
        self.multi_quadrant: bool | None = None
        self.dark = True
        self.contour: list[tuple[float, float]] | None = None
        self.contours: list[list[tuple[float, float]]] | None = None
        self.aperture: int | None = None
        self.apertures: dict[int, Aperture] = {}
        self.macros: dict[str, list[str]] = {}
        self.file_attributes: dict[str, Fields] = {}
        self.aperture_attributes: dict[str, Fields] = {}
        self.object_attributes: dict[str, Fields] = {}
        self.objects: list[ReadObject] = []
        self.checksum_holds: bool | None = None
        self.ended = False

    def read(self) -> ReadLayer:
        for extended, command in self._commands():
            if self.ended:
                self.fail("something follows the end of the file (M02)")
            if extended:
                self._extended(command)
            else:
                self._word(command.replace("\r", "").replace("\n", ""))
        if not self.ended:
            self.fail("the file ends without M02: part of it is missing")
        objects = tuple(self.objects)
        return ReadLayer(self.name, self.file_attributes, objects, self.checksum_holds, self.segments, self.text)

    def fail(self, message: str) -> NoReturn:
        raise ReadError(self.name, self.line(), message)

    def line(self) -> int:
        return bisect_right(self._newlines, self._place) + 1

    def _commands(self) -> Iterator[tuple[bool, str]]:
        place, length = 0, len(self.text)
        while place < length:
            if self.text[place].isspace():
                place += 1
                continue
            self._place = place
            found = _COMMAND.match(self.text, place)
            if not found:
                self.fail("a command does not end with * or %")
            if found["extended"] is not None:
                yield True, found["extended"]
            else:
                yield False, found["word"]
            place = found.end()
        self._place = max(0, length - 1)

    # ----- word commands

    def _word(self, word: str) -> None:
        if found := _OPERATION.fullmatch(word):
            self._operation(found)
        elif re.fullmatch(r"D\d+", word):
            code = int(word[1:])
            if code not in self.apertures:
                self.fail(f"aperture D{code} is used but not defined")
            self.aperture = code
        elif word.startswith("G04") or word.startswith("G4 "):
            comment = word[3:].strip()
            if comment.startswith("#@!"):
                self._attribute(comment[3:].strip())
        elif word in ("G01", "G02", "G03"):
            self.mode = word
        elif word in ("G74", "G75"):
            self.multi_quadrant = word == "G75"
        elif word == "G36":
            if self.contours is not None:
                self.fail("a region starts inside a region")
            self.contours, self.contour = [], None
        elif word == "G37":
            self._end_region()
        elif word == "M02":
            if self.contours is not None:
                self.fail("the file ends inside a region")
            self.ended = True
        else:
            self.fail(f"command {word[:40]!r} is not read")

    def _operation(self, found: re.Match[str]) -> None:
        end = (self._coordinate(found["x"], self.at[0]), self._coordinate(found["y"], self.at[1]))
        code = found["code"]
        if code == "1":
            self._draw(end, found["i"], found["j"])
        elif found["i"] is not None or found["j"] is not None:
            self.fail("I and J belong to D01 only")
        elif code == "2":
            if self.contours is not None:
                self._close_contour()
                self.contour = [end]
        else:
            if self.contours is not None:
                self.fail("a flash inside a region")
            pen = self._selected()
            core = affinity.translate(pen.core, *end)
            self._add("flash", core, pen.radius, pen.attributes, end)
        self.at, self.at_known = end, True

    def _draw(self, end: tuple[float, float], i: str | None, j: str | None) -> None:
        if not self.mode:
            self.fail("a draw before G01, G02 or G03")
        if not self.at_known:
            self.fail("a draw starts from a place that the file has not said")
        path = [self.at, end] if self.mode == "G01" else self._arc(end, i, j)
        if self.mode == "G01" and (i is not None or j is not None):
            self.fail("I and J belong to arcs only")
        if self.contours is not None:
            if self.contour is None:
                self.fail("a contour does not start with D02")
            self.contour += path[1:]
            return
        pen = self._selected()
        if pen.pen is None:
            self.fail("a draw with an aperture that is not a plain circle is not read")
        core = shapely.Point(end) if path[0] == path[-1] and len(path) == 2 else shapely.LineString(path)
        self._add("draw", core, pen.pen / 2, pen.attributes, None)

    def _arc(self, end: tuple[float, float], i: str | None, j: str | None) -> list[tuple[float, float]]:
        if not self.multi_quadrant:
            self.fail("an arc without G75: single-quadrant arcs are not read")
        if i is None or j is None:
            self.fail("an arc needs both I and J")
        centre = (self.at[0] + self._coordinate(i, 0.0), self.at[1] + self._coordinate(j, 0.0))
        radius, other = math.dist(centre, self.at), math.dist(centre, end)
        if radius == 0 or abs(radius - other) > 0.01:
            self.fail(f"an arc's ends are {radius:.4f} and {other:.4f} mm from its centre")
        return arc_points(self.at, end, centre, self.mode == "G03", self.segments)

    def _selected(self) -> Aperture:
        if self.aperture is None:
            self.fail("an object before any aperture is selected")
        return self.apertures[self.aperture]

    def _add(
        self, kind: Any, core: Any, radius: float, attributes: dict[str, Fields], at: tuple[float, float] | None
    ) -> None:
        self.objects.append(
            ReadObject(kind, self.dark, core, radius, {**attributes, **self.object_attributes}, self.line(), at)
        )

    def _close_contour(self) -> None:
        if self.contour is None or self.contours is None:
            return
        if self.contour[0] != self.contour[-1]:
            self.fail("a contour is not closed: its last point is not its first")
        if len(self.contour) < 4:
            self.fail("a contour has fewer than three sides")
        self.contours.append(self.contour)
        self.contour = None

    def _end_region(self) -> None:
        if self.contours is None:
            self.fail("G37 without G36")
        self._close_contour()
        areas = [self._filled(c) for c in self.contours]
        if areas:
            whole = shapely.union_all(areas) if len(areas) > 1 else areas[0]
            self._add("region", whole, 0.0, self.aperture_attributes, None)
        self.contours = self.contour = None
        self.at_known = False

    def _filled(self, contour: list[tuple[float, float]]) -> Any:
        """Return the inside of a contour; cut-ins (GLFS 4.10.3) are allowed, a contour that crosses itself is not."""
        area = shapely.Polygon(contour)
        if area.is_valid:
            return area
        repaired = area.buffer(0)
        if repaired.is_empty or abs(repaired.area - area.area) > 1e-9 * max(1.0, area.area):
            self.fail("a contour crosses itself")
        return repaired

    def _coordinate(self, digits: str | None, otherwise: float) -> float:
        if digits is None:
            return otherwise
        if self.digits is None or self.unit is None:
            self.fail("a coordinate before the format (FS) and the unit (MO)")
        whole, decimals = self.digits
        sign, plain = (-1, digits[1:]) if digits[0] == "-" else (1, digits.lstrip("+"))
        if len(plain) > whole + decimals and plain.lstrip("0") != plain[-(whole + decimals) :].lstrip("0"):
            self.fail(f"coordinate {digits} has more digits than the format {whole}.{decimals}")
        if self.zeros == "T":
            plain = plain.ljust(whole + decimals, "0")
        value = float(sign * int(plain) / 10**decimals)
        return value if self.unit == 1.0 else value * self.unit

    # ----- extended commands

    def _extended(self, content: str) -> None:
        if self.contours is not None:
            self.fail("an extended command inside a region")
        if not content.rstrip().endswith("*"):
            self.fail("an extended command does not end with *%")
        words = [w.strip("\r\n") for w in content.rstrip()[:-1].split("*")]
        if words[0].startswith("AM"):
            if words[0][2:] in self.macros:
                self.fail(f"macro {words[0][2:]} is defined twice")
            self.macros[words[0][2:]] = [w.replace("\r", "").replace("\n", "") for w in words[1:]]
            return
        for word in words:
            self._extended_word(word.replace("\r", "").replace("\n", ""))

    def _extended_word(self, word: str) -> None:
        handlers: dict[str, Callable[[str], None]] = {
            "FS": self._format, "MO": self._set_unit, "AD": self._define, "LP": self._polarity,
            "TF": self._attribute, "TA": self._attribute, "TO": self._attribute, "TD": self._attribute,
        }  # fmt: skip
        handler = handlers.get(word[:2])
        if handler:
            handler(word)
        elif word in ("LMN", "IPPOS") or re.fullmatch(r"LR0+(\.0*)?|LS1(\.0*)?", word):
            return
        else:
            self.fail(f"command %{word[:40]}*% is not read")

    def _format(self, word: str) -> None:
        found = _FORMAT.fullmatch(word)
        if not found or self.digits is not None:
            self.fail(f"format {word!r} is wrong or given twice")
        if found["mode"] == "I":
            self.fail("incremental coordinates are not read")
        if (found["xi"], found["xd"]) != (found["yi"], found["yd"]):
            self.fail("x and y have different formats")
        self.zeros, self.digits = found["zeros"], (int(found["xi"]), int(found["xd"]))

    def _set_unit(self, word: str) -> None:
        if word not in ("MOMM", "MOIN") or self.unit is not None:
            self.fail(f"unit {word!r} is wrong or given twice")
        self.unit = 1.0 if word == "MOMM" else INCH

    def _polarity(self, word: str) -> None:
        if word not in ("LPD", "LPC"):
            self.fail(f"polarity {word!r} is wrong")
        self.dark = word == "LPD"

    def _define(self, word: str) -> None:
        found = _APERTURE.fullmatch(word)
        if not found or int(found["code"]) < 10:
            self.fail(f"aperture {word[:40]!r} is wrong")
        code = int(found["code"])
        if code in self.apertures:
            self.fail(f"aperture D{code} is defined twice")
        if self.unit is None:
            self.fail("an aperture before the unit (MO)")
        values = found["values"].split("X") if found["values"] else []
        if not all(_DECIMAL.fullmatch(v.strip()) for v in values):
            self.fail(f"aperture D{code} has a size that is not a plain decimal number")
        numbers = [float(v) for v in values]
        try:
            core, radius, pen = aperture_shape(found["template"], numbers, self.macros, self.segments)
        except MacroError as error:
            self.fail(f"aperture D{code}: {error}")
        if self.unit != 1.0:
            core = affinity.scale(core, self.unit, self.unit, origin=(0, 0))
        pen = None if pen is None else pen * self.unit
        self.apertures[code] = Aperture(core, radius * self.unit, pen, dict(self.aperture_attributes))

    # ----- attributes

    def _attribute(self, word: str) -> None:
        kind, (name, *fields) = word[:2], [unescaped(f) for f in word[2:].split(",")]
        if kind == "TF":
            if name in self.file_attributes:
                self.fail(f"file attribute {name} is given twice")
            if name == ".MD5":
                self.checksum_holds = self._digest() == ",".join(fields).lower()
            self.file_attributes[name] = tuple(fields)
        elif kind == "TA":
            self.aperture_attributes[name] = tuple(fields)
        elif kind == "TO":
            self.object_attributes[name] = tuple(fields)
        elif kind == "TD":
            for table in (self.aperture_attributes, self.object_attributes):
                if name:
                    table.pop(name, None)
                else:
                    table.clear()

    def _digest(self) -> str:
        """Return the MD5 over everything before this command, line ends left out (GLFS 5.6.9)."""
        before = self.text[: self._place].replace("\r", "").replace("\n", "")
        return hashlib.md5(before.encode(), usedforsecurity=False).hexdigest()


def unescaped(text: str) -> str:
    """Return a field with ``\\uXXXX`` and ``\\UXXXXXXXX`` put back to characters (GLFS 3.4.3)."""
    return _ESCAPE.sub(lambda m: chr(int(m[1] or m[2], 16)), text)
