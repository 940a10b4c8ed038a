"""Values of resistors, capacitors and inductors as people write them, and the series that parts are made in.

`4k7`, `4.7k`, `4K7` and `4700` are one value, as are `100n`, `0.1uF` and `104`.  A tolerance may follow as a letter
(`4k7J`) or in percent (`10k 1%`); whatever else follows is kept as it is (`10u 25V`).

Sources: IEC 60062 letter and three-figure codes (from memory), IEC 60063 series (E3, E48 and E192 from memory).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

Sort = Literal["resistor", "capacitor", "electrolytic", "inductor"]

# tolerance letters in percent, IEC 60062
TOLERANCE = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0, "J": 5.0, "K": 10.0, "M": 20.0}
PREFIX = {
    "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "R": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9,
    "F": 1.0, "H": 1.0,
}  # fmt: skip
UNIT = {"resistor": 1.0, "capacitor": 1e-12, "electrolytic": 1e-12, "inductor": 1e-6}  # what codes count in: Ω, pF, µH
_OHMS = r"(?:ohms?|Ohms?|OHMS?|\u2126|\u03a9)"  # the ohm sign, and the letter omega that looks like it
_UNIT = {"resistor": _OHMS, "capacitor": "F", "electrolytic": "F", "inductor": "H"}
_LETTER = {"resistor": "RrEkKMGm", "capacitor": "pnuµμmRrF", "electrolytic": "pnuµμmF", "inductor": "pnuµμmRrH"}
# other ways of writing a prefix, by sort: "1Meg", "0.1UF", "100NF", and "0.1mfd" on parts of long ago
_OHM_WAYS = ((re.compile(r"(?<=[\d.])[Mm][Ee][Gg]"), "M"),)
_FARAD_WAYS = ((re.compile(r"(?<=[\d.])[Mm][Ff][Dd]"), "uF"), (re.compile(r"(?<=[\d.])[Uu](?=F|\d|$)"), "u"),
               (re.compile(r"(?<=[\d.])N(?=F|\d|$)"), "n"))  # fmt: skip
_WAYS = {"resistor": _OHM_WAYS, "capacitor": _FARAD_WAYS, "electrolytic": _FARAD_WAYS, "inductor": ()}
_LARGE = 0.04  # F; from here, capacitors that keep memories alive, values are said in farads

E24 = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)
FINE = (48, 96, 192)  # rounded powers; E3, E6 and E12 are every eighth, fourth and second of E24
SERIES = (3, 6, 12, 24, *FINE)
SAME = 1e-6  # relative; two values nearer than this are one


@dataclass(frozen=True)
class Quantity:
    """A value in Ω, F or H; `tolerance` in percent if it is said; `rest` is what was written after it."""

    sort: Sort
    value: float
    tolerance: float | None = None
    rest: str = ""

    def __str__(self) -> str:
        return " ".join(w for w in (printed(self.sort, self.value), self.rest) if w)


def read(text: str, sort: Sort) -> Quantity | None:
    """Return the quantity that `text` says, None if it says none.

    Plain figures are ohms for a resistor; for a capacitor or inductor one or two figures are pF or µH, and three are
    the code of IEC 60062 (`104` is 100 nF).  An electrolytic's figures alone say nothing: some mean µF, some the code.

    >>> str(read("4.7K", "resistor")), str(read("0.1uF", "capacitor")), str(read("104", "capacitor"))
    ('4k7', '100n', '100n')
    """
    # a unit may stand apart ("4.7 k", "10 uF"), anything else that stands apart is a remark
    joined = re.sub(
        rf"^(\d[\d.,]*)\s+([{_LETTER[sort]}](?:{_UNIT[sort]})?|{_UNIT[sort]})(?=$|[\s,/;])", r"\1\2", text.strip()
    )
    # a remark may also follow a comma, or a unit at once ("1uF,25V", "10uF25V")
    parted = re.sub(r"(?<=[pnuµμm]F)(?=\d)|(?<=[^\W\d]),", " ", joined)
    word, rest = re.fullmatch(r"([^\s/;±]*)[\s/;]*(.*)", parted, re.DOTALL).groups()  # type: ignore[union-attr]
    for way, letter in _WAYS[sort]:
        word = way.sub(letter, word)
    said = _coded(word, sort) or _lettered(word, sort)
    if said is None:
        return None
    value, letter = said
    percent = re.search(r"(\d+(?:\.\d+)?)\s*%", rest)
    tolerance = float(percent[1]) if percent else TOLERANCE[letter] if letter else None
    if letter and not percent:
        rest = f"{TOLERANCE[letter]:g}% {rest}".strip()
    return Quantity(sort, value, tolerance, rest.strip())


def _coded(word: str, sort: Sort) -> tuple[float, str] | None:
    """Read figures alone: a number of ohms, or for the others pF or µH and from three figures on the code."""
    match = re.fullmatch(r"(\d+)([BCDFGJKM]?)", word)
    if match is None or sort == "electrolytic" or (sort == "resistor" and match[2]):
        return None
    figures, letter = match[1], match[2]
    if len(figures) < 3 and letter == "F":
        return None  # "1F" is a farad, not a picofarad to 1 %
    if sort == "resistor" or len(figures) < 3:
        return _exact(float(figures) * UNIT[sort]), letter
    if len(figures) > 3 or figures[0] == "0":
        return None
    power = {8: -2, 9: -1}.get(int(figures[2]), int(figures[2]))
    return _exact(int(figures[:2]) * 10.0**power * UNIT[sort]), letter


def _lettered(word: str, sort: Sort) -> tuple[float, str] | None:
    """Read figures with a letter for the point or after them, a unit, and a tolerance letter."""
    letters, unit = _LETTER[sort], f"(?:{_UNIT[sort]})?"
    match = re.fullmatch(
        rf"(\d*)(?:[.,](\d+))?([{letters}])(\d*){unit}([BCDFGJKM]?)|(\d*)[.,](\d+){unit}|(\d+){_OHMS}", word
    )
    if match is None:
        return None
    whole, decimals, letter, after, tolerance, plain, fraction, ohms = match.groups()
    if ohms is not None:
        return (float(ohms), "") if sort == "resistor" else None
    if letter is None:  # "0.47": ohms, but of what in a capacitor nobody can tell
        return (_exact(float(f"{plain or 0}.{fraction}")), "") if sort == "resistor" else None
    if not (whole or decimals or after) or (decimals and after):
        return None
    one = UNIT[sort] if letter in "RrE" else PREFIX[letter]
    return _exact(float(f"{whole or 0}.{decimals or after or 0}") * one), tolerance


def _exact(value: float) -> float:
    """Return the value without the dirt of its multiplication."""
    return float(f"{value:.12g}")


_STEPS = {
    "resistor": (("G", 1e9), ("M", 1e6), ("k", 1e3), ("R", 1.0)),
    "capacitor": (("u", 1e-6), ("n", 1e-9), ("p", 1e-12)),
    "electrolytic": (("u", 1e-6), ("n", 1e-9), ("p", 1e-12)),
    "inductor": (("H", 1.0), ("m", 1e-3), ("u", 1e-6), ("n", 1e-9)),
}


def printed(sort: Sort, value: float) -> str:
    """Return a value the one way that parts lists and legends have it: `4k7`, `100R`, `0R22`, `100n`, `2u2`.

    >>> printed("resistor", 4700.0), printed("resistor", 0.22), printed("capacitor", 2.2e-6)
    ('4k7', '0R22', '2u2')
    """
    steps = _STEPS[sort]
    letter, one = next((s for s in steps if value >= s[1] * (1 - SAME)), steps[-1])
    if sort in ("capacitor", "electrolytic") and value >= _LARGE * (1 - SAME):
        letter, one = "F", 1.0
    whole, _, fraction = f"{_exact(value / one):.9f}".rstrip("0").partition(".")
    return f"{whole}{letter}{fraction}"


def series(number: int) -> tuple[float, ...]:
    """Return one decade (1 to 10) of E3, E6, E12, E24, E48, E96 or E192."""
    if number not in SERIES:
        raise ValueError(f"there is no series E{number}; there are {', '.join(f'E{n}' for n in SERIES)}")
    if number <= 24:
        return E24[:: 24 // number]
    # E192 has 9.20 where the rounded power is 9.19 (IEC 60063); E48 and E96 don't reach it
    values = (round(10 ** (k / number), 2) for k in range(number))
    return tuple(9.2 if value == 9.19 else value for value in values)


def within(value: float, number: int) -> bool:
    """Tell whether `value` is in the series of that number; zero (a link) always is."""
    if value == 0:
        return True
    return any(math.isclose(_mantissa(value), v, rel_tol=SAME) for v in series(number))


def neighbours(value: float, number: int) -> tuple[float, float]:
    """Return the next lower and next higher value of a series, for a value (more than 0) that is not in it."""
    decade = 10.0 ** math.floor(math.log10(value) + SAME)
    ladder = [_exact(v * decade * step) for step in (0.1, 1.0, 10.0) for v in series(number)]
    return max(v for v in ladder if v < value), min(v for v in ladder if v > value)


def _mantissa(value: float) -> float:
    found = value / 10.0 ** math.floor(math.log10(value))
    return found / 10 if found >= 10 * (1 - SAME) else found


def made_in(quantity: Quantity) -> tuple[int, ...]:
    """Return the series that makers have a part of this sort and tolerance in.

    IEC 60063 gives E6 to 20 %, E12 to 10 %, E24 to 5 %, E48 to 2 %, E96 to 1 % and E192 to finer; resistors of 2 % and
    less are sold in E24 values too (common practice), and where no tolerance is said either will do.
    """
    tolerance = quantity.tolerance
    if quantity.sort != "resistor":
        return (24,) if tolerance is None or tolerance < 10 else (12,) if tolerance < 20 else (6,)
    if tolerance is None:
        return (24, 96)
    for least, number in ((20, 6), (10, 12), (5, 24)):
        if tolerance >= least:
            return (number,)
    return (24, 48) if tolerance >= 2 else (24, 96) if tolerance >= 1 else (24, 192)


def sort_of(kind: str) -> Sort | None:
    """Return what a device or footprint of that name has a value of, None for all others.

    >>> sort_of("resistor-axial-10.16"), sort_of("resistor-network-8")
    ('resistor', None)
    """
    if kind.startswith("resistor-network"):
        return None
    if kind.startswith(("electrolytic", "tantalum")):
        return "electrolytic"
    return next((s for s in ("resistor", "capacitor", "inductor") if kind == s or kind.startswith(f"{s}-")), None)


def tidied(text: str, kind: str) -> str:
    """Return the value of a part of that kind as it is always printed; as it is if it says none.

    >>> tidied("0.1uF", "capacitor"), tidied("0.1uF", "crystal")
    ('100n', '0.1uF')
    """
    sort = sort_of(kind)
    found = read(text, sort) if sort and text else None
    return str(found) if found else text
