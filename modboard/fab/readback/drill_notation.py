"""How a drill file writes coordinates: unit, decimal point or digits, and which zeros are left out."""

from __future__ import annotations

import re
from dataclasses import dataclass

from modboard.fab.readback.limits import FARTHEST
from modboard.fab.readback.notation import INCH, NotationError

# Usual whole and decimal digits; the first of each unit is what a header that names none stands for.
USUAL_DIGITS = {1.0: ((3, 3), (3, 2), (4, 2), (4, 3), (4, 4)), INCH: ((2, 4), (2, 3), (2, 5), (3, 5))}
_UNIT = re.compile(r"(?P<unit>METRIC|INCH)(?:,(?P<zeros>LZ|TZ))?(?:,(?P<whole>0{1,9})\.(?P<decimals>0{1,9}))?")
_UNIT_CODES = {"M71": "METRIC", "M72": "INCH"}
_FORMAT_NOTE = re.compile(r"FILE_FORMAT\s*=\s*(\d):(\d)")


class UnsaidZerosError(NotationError):
    """A coordinate whose missing digits could be at either end, for the file does not say."""


@dataclass
class DrillNotation:
    """What is known so far; `unit` is the mm in one unit of the file, `zeros` LZ or TZ: those that are kept."""

    unit: float | None = None
    zeros: str = ""
    digits: tuple[int, int] = (0, 0)
    given: tuple[int, int] | None = None  # digits by a note in a comment, or by who calls

    def set_unit(self, line: str) -> str | None:
        """Take METRIC or INCH with what follows, M71 or M72; return what is not of XNC in it, None for another line."""
        found = _UNIT.fullmatch(_UNIT_CODES.get(line, line))
        if not found:
            return None
        unit = 1.0 if found["unit"] == "METRIC" else INCH
        if self.unit not in (None, unit):
            raise NotationError("the unit is given twice")
        again = self.unit is not None
        self.unit, self.zeros = unit, found["zeros"] or self.zeros
        if found["whole"]:
            self.digits = (len(found["whole"]), len(found["decimals"]))
        elif not again:
            self.digits = self.given or USUAL_DIGITS[unit][0]
        if line in ("METRIC", "INCH"):
            return "the unit given twice" if again else ""
        return f"{line[:40]} (zeros left out or other digits)" if "," in line else line

    def note(self, comment: str) -> None:
        """Take the digits from a comment such as ``FILE_FORMAT=2:4``."""
        if found := _FORMAT_NOTE.search(comment):
            self.given = (int(found[1]), int(found[2]))
            if self.unit is not None:
                self.digits = self.given

    def length(self, text: str) -> float:
        """Return the mm that `text` stands for."""
        unit = self.unit or 1.0
        if "." in text:
            return self._near(decimal(text) * unit, text)
        sign, plain = (-1, text[1:]) if text[:1] == "-" else (1, text.lstrip("+"))
        whole, decimals = self.digits
        if not plain or len(plain) > whole + decimals:
            raise NotationError(f"{text[:40]} has more than {whole + decimals} digits")
        if not self.zeros and len(plain) < whole + decimals and plain.strip("0"):
            raise UnsaidZerosError(
                f"{text[:40]} has no decimal point, and the header does not say which zeros are left out"
            )
        # LZ: leading zeros are kept, so the missing digits are at the end; TZ the other way round.
        padded = plain.ljust(whole + decimals, "0") if self.zeros == "LZ" else plain
        return self._near(float(sign * int(padded) / 10**decimals * unit), text)

    def _near(self, value: float, text: str) -> float:
        if abs(value) > FARTHEST:
            raise NotationError(f"{text[:40]} is more than {FARTHEST / 1000:g} m away")
        return value


def decimal(text: str) -> float:
    """Return the value of a plain decimal number."""
    if len(text) > 40 or not re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)", text):
        raise NotationError(f"{text[:40]!r} is not a number")
    return float(text)
