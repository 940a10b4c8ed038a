"""gerber-writer's text, rewritten line by line into strict Gerber X2.

`gerber_adapter` puts markers into the object stream where attributes change; here they become commands.  Section
numbers are of Ucamco's Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import re

from modboard.fab.attributes import decimal
from modboard.geometry import exact_cos_sin

KEY = "@"  # never part of an .AperFunction value
_EXPONENT = re.compile(r"-?\d+(?:\.\d+)?[eE][-+]?\d+")


def without_exponents(text: str) -> str:
    """Return `text` with numbers such as ``5e-05`` written out (GLFS 3.4.1 knows no exponent)."""
    return _EXPONENT.sub(lambda found: decimal(float(found[0])), text)


def turned_oval_macro(name: str, width: float, height: float, turn: float) -> list[str]:
    """Return the macro of an oval at any turn: its waist (code 21) and two discs (code 1), GLFS 4.5.1."""
    cos, sin = exact_cos_sin(turn)
    short = min(width, height)
    along = (max(width, height) - short) / 2
    dx, dy = (along * cos, along * sin) if width >= height else (-along * sin, along * cos)
    waist = (width - short, height) if width >= height else (width, height - short)
    disc = decimal(short)
    return [
        f"%AM{name}*",
        f"21,1,{decimal(waist[0])},{decimal(waist[1])},0,0,{decimal(turn)}*",
        f"1,1,{disc},{decimal(dx)},{decimal(dy)}*",
        f"1,1,{disc},{decimal(-dx)},{decimal(-dy)}*%",
    ]


class Rewriter:
    """Turns gerber-writer's text into strict X2, line by line."""

    _COMMENT = "G04 #@! "

    def __init__(self, commands: list[list[str]], ovals: dict[int, tuple[float, float, float]]) -> None:
        self._commands = commands
        self._ovals = ovals
        self._out: list[str] = []
        self._function = ""
        self._aperture_function = ""
        self._place: str | None = None
        self._place_known = False
        self._in_region = False

    def rewritten(self, text: str) -> list[str]:
        lines = text.split("\n")
        lines = lines[lines.index("G75*") + 1 : lines.index("M02*")]
        number = 0
        while number < len(lines):
            if lines[number].startswith("%AM"):
                end = next(k for k in range(number, len(lines)) if lines[k] == "%" or lines[k].endswith("*%")) + 1
                self._macro(lines[number:end])
            elif lines[number].startswith("%ADD"):
                self._aperture(lines[number])
                end = number + 1
            elif lines[number].startswith(f"{self._COMMENT}TA.AperFunction,{KEY}"):
                end = self._marker(lines, number)
            else:
                self._body(lines[number])
                end = number + 1
            number = end
        return self._out

    def _macro(self, lines: list[str]) -> None:
        name = lines[0][3:-1]
        number = name.removeprefix("UserPolygon_")
        if number != name and int(number) in self._ovals:
            self._out += turned_oval_macro(name, *self._ovals[int(number)])
        else:
            self._out += [without_exponents(line) for line in lines]

    def _aperture(self, line: str) -> None:
        if self._function != self._aperture_function:
            self._out.append(f"%TA.AperFunction,{self._function}*%")
            self._aperture_function = self._function
        self._out.append(without_exponents(line))

    def _marker(self, lines: list[str], number: int) -> int:
        self._end_of_apertures()
        index = int(lines[number].rstrip("*").rpartition(KEY)[2])
        self._out += self._commands[index]
        return number + 4  # the comment, G36, G37 and the closing comment

    def _body(self, line: str) -> None:
        if line.startswith(f"{self._COMMENT}TA.AperFunction,"):
            self._function = line[len(f"{self._COMMENT}TA.AperFunction,") : -1].partition(KEY)[0]
        elif line.startswith(f"{self._COMMENT}TA") or line == f"{self._COMMENT}TD*":
            pass
        elif line == "G36*":
            self._end_of_apertures()
            if self._function:
                self._out.append(f"%TA.AperFunction,{self._function}*%")
            self._out.append(line)
            self._in_region = True
        elif line == "G37*":
            self._out.append(line)
            if self._function:
                self._out.append("%TD.AperFunction*%")
            self._function = ""
            self._in_region = self._place_known = False
        else:
            self._end_of_apertures()
            self.operation(line)

    def operation(self, line: str) -> None:
        """Copy a body line, moving first where a line would start from a place that the file has not said."""
        if line.startswith("X"):
            if line.endswith("D01*") and not self._in_region and not self._place_known:
                self._out.append(f"{self._place}D02*")
            self._place = line[:-4]
            self._place_known = True
        self._out.append(line)

    def _end_of_apertures(self) -> None:
        if self._aperture_function:
            self._out.append("%TD*%")
            self._aperture_function = ""
            self._function = ""
