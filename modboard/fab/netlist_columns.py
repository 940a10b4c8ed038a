"""Records of IPC-D-356A put into their columns, and names cut down to what the columns hold.

Columns are counted from 1, as in the standard.  Lengths go out in units of 0.001 mm (``UNITS CUST 1``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from modboard.errors import ModboardError
from modboard.geometry import Position

WIDEST = 80
LARGEST_SIZE = 9999  # four digits, i.e. 9.999 mm
LARGEST_PLACE = 999_999  # six digits, i.e. 999.999 mm
NET_COLUMNS, REFERENCE_COLUMNS, PIN_COLUMNS = 14, 6, 4
LONG_NAME_COLUMNS = 58  # columns 15 to 72 of an NNAME line


@dataclass(frozen=True)
class TestRecord:
    """One 317, 327 or 367 record.

    `side` is "00" for both, "01" top, "02" bottom.  `hole` is (diameter, plated).  `sizes` is the land along x and y
    before it is turned, y zero for a round one; None for a hole without a land.  `mask` counts 1 for a land covered on
    top and 2 for one covered on the bottom.
    """

    __test__ = False  # not a test class, whatever its name makes a test runner think

    code: str
    net: str
    reference: str
    pin: str
    middle: bool
    hole: tuple[float, bool] | None
    side: str
    at: Position
    sizes: tuple[float, float] | None
    turn: float
    mask: int

    def line(self) -> str:
        """Return the record as one line of at most 80 columns."""
        columns = [" "] * WIDEST
        _put(columns, 1, self.code)
        _put(columns, 4, self.net)
        _put(columns, 21, self.reference)
        if self.pin:
            _put(columns, 27, "-")
            _put(columns, 28, self.pin)
        if self.middle:
            _put(columns, 32, "M")
        if self.hole:
            _put(columns, 33, f"D{four_digits(self.hole[0])}{'P' if self.hole[1] else 'U'}")
        _put(columns, 39, f"A{self.side}X{six_digits(self.at[0])}Y{six_digits(self.at[1])}")
        if self.sizes:
            turn = round(self.turn % 360) % 360
            _put(columns, 58, f"X{four_digits(self.sizes[0])}Y{four_digits(self.sizes[1])}R{turn:03d}")
            _put(columns, 73, f"S{self.mask}")
        return "".join(columns).rstrip()


def _put(columns: list[str], first: int, text: str) -> None:
    columns[first - 1 : first - 1 + len(text)] = text


def four_digits(length: float) -> str:
    """Return a size in 0.001 mm; above 9.999 mm it is held there, as the columns hold no more."""
    return f"{min(round(length * 1000), LARGEST_SIZE):04d}"


def six_digits(length: float) -> str:
    """Return a signed coordinate in 0.001 mm.  Raises ModboardError beyond ±999.999 mm."""
    units = round(length * 1000)
    if abs(units) > LARGEST_PLACE:
        raise ModboardError(
            f"test netlist: {length:.3f} mm does not fit its six columns; move the board nearer to 0, 0"
        )
    return f"{units:+07d}"


def chains(head: str, pen: str, polylines: Iterable[Sequence[Position]]) -> list[str]:
    """Return a 378 or 389 record and its continuations: polylines, ``*`` where the pen is lifted.

    `head` fills columns 1 to 22, `pen` is the aperture (``X0250``).  A line breaks at a blank only, so that a lifted
    pen stays with the coordinates on either side of it.
    """
    words: list[str] = [pen]
    for number, points in enumerate(polylines):
        places = _without_repeats([f"X{six_digits(x)}Y{six_digits(y)}" for x, y in points])
        if number:
            words[-1] += "*" + places.pop(0)
        words += places
    lines, line = [], head
    for word in words:
        glue = "" if line == head and len(head) == 22 else " "
        if len(line) + len(glue) + len(word) > WIDEST:
            lines.append(line)
            line, glue = f"0{head[1:3]}", " "
        line += glue + word
    return [*lines, line]


def _without_repeats(places: list[str]) -> list[str]:
    kept = places[:1] + [b for a, b in pairwise(places) if a != b]
    return kept if len(kept) > 1 else places[:2]


def ascii_text(text: str) -> str:
    """Return `text` in printable ASCII; other characters become ``?``."""
    return "".join(c if 32 <= ord(c) < 127 else "?" for c in text)


def net_names(nets: Iterable[str]) -> tuple[dict[str, str], list[str]]:
    """Return what stands for each net in columns 4 to 17, and the NNAME lines that say so.

    A name of up to 14 characters without blanks stands for itself; any other, and any that could be taken for one of
    the format's own words, gets an alias NNAMEnnnnn.  Long names over 58 characters are shortened uniquely.
    """
    short: dict[str, str] = {}
    lines: list[str] = []
    used: set[str] = set()
    for net in sorted(set(nets)):
        plain = ascii_text(net).replace(" ", "_")
        if plain == net and len(net) <= NET_COLUMNS and net != "N/C" and not net.startswith("NNAME"):
            short[net] = net
            continue
        alias = f"{len(lines) + 1:05d}"
        short[net] = f"NNAME{alias}"
        lines.append(f"P  NNAME{alias} {_unused(plain, LONG_NAME_COLUMNS, used)}")
    return short, lines


def cut_names(names: Iterable[str], columns: int, what: str) -> tuple[dict[str, str], list[str]]:
    """Return a distinct text of at most `columns` characters for each name, and comment lines for changed ones."""
    short: dict[str, str] = {}
    lines: list[str] = []
    every = sorted(set(names), key=lambda n: (len(n), n))
    used: set[str] = {n for n in every if len(n) <= columns and ascii_text(n).replace(" ", "_") == n}
    for name in every:
        if name in used:
            short[name] = name
            continue
        short[name] = _unused(ascii_text(name).replace(" ", "_"), columns, used)
        lines.append(f"C  {what} {short[name]} = {ascii_text(name)}"[:72])
    return short, lines


def _unused(text: str, columns: int, used: set[str]) -> str:
    """Return `text`, cut to `columns`, its end replaced by a number if somebody else has that name already."""
    candidate, number = text[:columns], 1
    while candidate in used:
        number += 1
        candidate = f"{text[: columns - len(str(number))]}{number}"
    used.add(candidate)
    return candidate
