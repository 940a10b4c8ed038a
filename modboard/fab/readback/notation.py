"""How a Gerber file writes coordinates: unit, digits, and which zeros are left out (GLFS 4.2, and its older forms)."""

from __future__ import annotations

import re
from dataclasses import dataclass

from modboard.fab.readback.limits import FARTHEST

INCH = 25.4
LONGEST = 20  # digits of one number, leading zeros counted
_FORMAT = re.compile(
    r"FS(?P<zeros>[LTD])(?P<mode>[AI])(?:N\d)?(?:G\d)?X(?P<xi>[0-7])(?P<xd>[0-7])Y(?P<yi>[0-7])(?P<yd>[0-7])(?:[DM]\d)*"
)


class NotationError(ValueError):
    """A number or format that is wrong; the caller adds file and line."""


@dataclass
class Notation:
    """What is known so far; `unit` is the mm in one unit of the file."""

    unit: float | None = None
    zeros: str = "L"
    digits: tuple[tuple[int, int], tuple[int, int]] | None = None
    incremental: bool = False
    format: str = ""

    def set_format(self, word: str) -> list[str]:
        """Take an FS command; return the names of deprecated forms in it."""
        if word == self.format:
            return ["the format given twice"]
        found = _FORMAT.fullmatch(word)
        if not found or self.digits is not None:
            raise NotationError(f"format {word[:40]!r} is wrong or given twice")
        self.format = word
        self.zeros, self.incremental = found["zeros"], found["mode"] == "I"
        self.digits = ((int(found["xi"]), int(found["xd"])), (int(found["yi"]), int(found["yd"])))
        old = ["trailing zeros left out (FST)"] if self.zeros == "T" else []
        old += ["incremental coordinates"] if self.incremental else []
        return old + (["x and y in different formats"] if self.digits[0] != self.digits[1] else [])

    def set_unit(self, word: str) -> list[str]:
        """Take MOMM, MOIN, G71 or G70; return the names of deprecated forms: the same unit may be said again."""
        unit = {"MOMM": 1.0, "G71": 1.0, "MOIN": INCH, "G70": INCH}.get(word)
        if unit is None or self.unit not in (None, unit):
            raise NotationError(f"unit {word[:40]!r} is wrong or given twice")
        again = ["the unit given twice"] if self.unit is not None and word.startswith("MO") else []
        self.unit = unit
        return again + ([word] if word.startswith("G") else [])

    def length(self, digits: str, axis: int) -> float:
        """Return the mm that `digits` stand for on axis 0 (x, i) or 1 (y, j)."""
        if self.digits is None or self.unit is None:
            raise NotationError("a coordinate before the format (FS) and the unit (MO)")
        whole, decimals = self.digits[axis]
        sign, plain = (-1, digits[1:]) if digits[0] == "-" else (1, digits.lstrip("+"))
        if len(plain) > whole + decimals and (len(plain) > LONGEST or len(plain.lstrip("0")) > whole + decimals):
            raise NotationError(f"coordinate {digits[:40]} has more digits than the format {whole}.{decimals}")
        if self.zeros == "T":
            plain = plain.ljust(whole + decimals, "0")
        value = float(sign * int(plain) / 10**decimals)
        value = value if self.unit == 1.0 else value * self.unit
        if abs(value) > FARTHEST:
            raise NotationError(f"coordinate {digits} is more than {FARTHEST / 1000:g} m away")
        return value
