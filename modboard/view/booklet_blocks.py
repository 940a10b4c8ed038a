"""What a leaf of the booklet is made of: plain values, which one back end turns into HTML and another into PDF."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Sort = Literal["plain", "strong", "lead", "count", "remark", "warn", "heading"]


@dataclass(frozen=True)
class Words:
    """A paragraph."""

    text: str
    sort: Sort = "plain"


@dataclass(frozen=True)
class Figures:
    """Counts in large type: (number, what of)."""

    items: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class Ticks:
    """Lines with a box to tick, each with the key it is remembered under."""

    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Fact:
    """A name and what it is; `bands` are drawn as a resistor before the words."""

    name: str
    text: str
    bands: tuple[str, ...] = ()
    strong: bool = False
    sort: str = ""  # "ifnot" for what the page repeats when a reading is wrong


@dataclass(frozen=True)
class Facts:
    """Names and what they are, one under the other."""

    rows: tuple[Fact, ...]


@dataclass(frozen=True)
class Pair:
    """Two probes, the good answer and the bad one; `net` is what red touches where that is not the heading's."""

    key: str
    red: str
    black: str
    good: str
    bad: str
    expect: str
    remarks: tuple[str, ...] = ()
    net: str = ""


@dataclass(frozen=True)
class Pairs:
    """Probe pairs, numbered."""

    rows: tuple[Pair, ...]


@dataclass(frozen=True)
class Entry:
    """A reading to write down, judged against limits in `unit`."""

    key: str
    low: float | None
    high: float | None
    unit: str


@dataclass(frozen=True)
class Cell:
    """A cell of a table; empty ones that a person must fill are `blank`."""

    text: str = ""
    key: str = ""  # a box to tick, named by the text
    colour: str = ""  # a piece of wire in this colour before the words
    strong: bool = False
    blank: bool = False


@dataclass(frozen=True)
class Table:
    """Rows under a head; `marked` rows are warnings."""

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[float, ...]  # shares of the whole width, for paper
    marked: tuple[int, ...] = ()
    sort: str = ""


@dataclass(frozen=True)
class Hint:
    """Where the page writes what the answers tell; nothing on paper."""


Block = Words | Figures | Ticks | Facts | Pairs | Entry | Table | Hint
