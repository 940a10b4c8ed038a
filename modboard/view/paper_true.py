"""The last sheets of the printed booklet, at true size: lay parts on the board, bend leads and cut wires by the lines.

A ruler stands on each sheet: if it does not measure what it says, the printer has scaled the page.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from modboard.bench.colours import WIRE_COLOURS
from modboard.bench.handling import bend
from modboard.bench.sheet import BenchSheet
from modboard.bench.wiring import Wire
from modboard.view.paper import BOLD, INK, MARGIN, PLAIN, SOFT, Paper
from modboard.view.paper_board import AIR, BoardPictures

RULER = 100.0  # mm
UPRIGHT = 50.0  # mm
FOOT_WORDS = "true size: print at 100 %, not fitted to the page"
Foot = Callable[[str], None]


class _Sheets:
    """Pages filled from the top, each with its rulers."""

    def __init__(self, paper: Paper, foot: Foot) -> None:
        self.paper, self._foot = paper, foot
        self.y = 0.0
        self.begin()

    def begin(self) -> None:
        """Write the head of a page and its rulers."""
        paper, top = self.paper, self.paper.height - MARGIN
        paper.type(MARGIN, top - 4.0, "At true size", BOLD, 13.0)
        words = f"Print at 100 %. The rulers must measure {RULER:.0f} and {UPRIGHT:.0f} mm; if not, go by no line here."
        for n, line in enumerate(paper.wrapped(words, 150.0, PLAIN, 8.5)):
            paper.type(MARGIN, top - 10.0 - 4.0 * n, line, PLAIN, 8.5)
        ruler(paper, (MARGIN, top - 20.0), RULER)
        ruler(paper, (paper.width - MARGIN - 8.0, top - 20.0 - UPRIGHT), UPRIGHT, upright=True)
        self.y = top - 28.0
        self.width = paper.width - 2 * MARGIN

    def need(self, height: float) -> None:
        """Turn the page if less than this is left."""
        if self.y - height < MARGIN + 8.0:
            self.end()
            self.begin()

    def end(self) -> None:
        """Finish the page."""
        self._foot(FOOT_WORDS)

    def heading(self, words: str) -> None:
        """Write a heading."""
        self.paper.type(MARGIN, self.y - 4.0, words, BOLD, 10.0)
        self.y -= 8.0

    @property
    def beside_ruler(self) -> bool:
        """Tell whether the upright ruler stands to the right of what comes next."""
        return self.y > self.paper.height - MARGIN - 22.0 - UPRIGHT


def true_size_pages(paper: Paper, pictures: BoardPictures, sheet: BenchSheet, foot: Foot) -> None:
    """Add the sheets: both sides of the board, the bending gauge, and the wires that fit on the page."""
    sheets = _Sheets(paper, foot)
    _board(sheets, pictures)
    _gauge(sheets, sheet)
    _wires(sheets, sheet.wires)
    sheets.end()


def ruler(paper: Paper, at: tuple[float, float], length: float, *, upright: bool = False) -> None:
    """Draw a ruler of `length` mm from `at`, ticks each millimetre."""

    def place(along: float, across: float) -> tuple[float, float]:
        return (at[0] + across, at[1] + along) if upright else (at[0] + along, at[1] + across)

    paper.line([place(0.0, 0.0), place(length, 0.0)], 0.15)
    for k in range(int(length) + 1):
        paper.line([place(k, 0.0), place(k, 3.5 if k % 10 == 0 else 2.5 if k % 5 == 0 else 1.5)], 0.1)
    x, y = place(length, 4.0) if not upright else place(length - 3.0, 4.0)
    paper.type(x - (0.0 if upright else 3.0), y, f"{length:.0f} mm", PLAIN, 6.5)


def _board(sheets: _Sheets, pictures: BoardPictures) -> None:
    x0, y0, x1, y1 = pictures.bounds
    across, up = x1 - x0 + 2 * AIR, y1 - y0 + 2 * AIR
    room = sheets.width
    if across > room or up > sheets.paper.height - 2 * MARGIN - 60.0:
        words = f"The board ({across - 2 * AIR:.0f} × {up - 2 * AIR:.0f} mm) is larger than this page: not drawn here."
        sheets.paper.type(MARGIN, sheets.y - 4.0, words)
        sheets.y -= 10.0
        return
    two = 2 * across + 6.0 <= room - (12.0 if sheets.beside_ruler else 0.0)
    x = MARGIN
    for side, words in (("top", "Top, with its parts: lay them on"), ("bottom", "Bottom, as seen turned over")):
        if side == "top" or not two:
            if sheets.beside_ruler and across > room - 12.0:
                sheets.y = sheets.paper.height - MARGIN - 24.0 - UPRIGHT
            sheets.need(up + 10.0)
        sheets.paper.type(x, sheets.y - 4.0, words, PLAIN, 8.5, SOFT)
        pictures.true_size((x, sheets.y - 7.0 - up), "top" if side == "top" else "bottom", names=True)
        if two and side == "top":
            x += across + 6.0
        else:
            sheets.y -= up + 12.0
            x = MARGIN


def _gauge(sheets: _Sheets, sheet: BenchSheet) -> None:
    """Draw how far apart leads must be, for parts whose leads one bends."""
    pitches: dict[float, list[str]] = {}
    for step in sheet.build:
        for placed in sheet.board.parts:
            if placed.part.reference in step.references and bend(placed.part) and step.stage == "board":
                a, b = placed.part.footprint.lands[:2]
                pitches.setdefault(round(math.dist(a.at, b.at), 2), []).append(placed.part.reference)
    if not pitches:
        return
    sheets.need(20.0)
    sheets.heading("Bending gauge: hold the part on the line, bend its leads at the two marks")
    for pitch, references in sorted(pitches.items()):
        sheets.need(10.0)
        paper, x, y = sheets.paper, MARGIN + 4.0, sheets.y - 4.0
        paper.line([(x, y), (x + pitch, y)], 0.15, SOFT)
        for k in (0.0, pitch):
            paper.line([(x + k, y - 2.5), (x + k, y + 2.5)], 0.15)
            paper.ring((x + k, y), 0.45, 0.1, INK, "#ffffff")
        words = f"{pitch:.2f} mm: {' '.join(references)}"
        for n, line in enumerate(paper.wrapped(words, sheets.width - max(40.0, pitch + 8.0), PLAIN, 8.0)):
            paper.type(MARGIN + max(36.0, pitch + 8.0), y - 1.0 - 3.6 * n, line, PLAIN, 8.0)
            sheets.y -= 3.6 if n else 0.0
        sheets.y -= 7.0
    sheets.y -= 4.0


def _wires(sheets: _Sheets, wires: tuple[Wire, ...]) -> None:
    """Draw each wire as long as it must be cut, its stripped ends thin."""
    known = [w for w in wires if w.length]
    if not known:
        return
    sheets.need(24.0)
    sheets.heading("Wires: lay each along its line, cut at the ends, strip as far as the thin part goes")
    for wire in known:
        sheets.need(11.0)
        paper, x, y = sheets.paper, MARGIN, sheets.y - 7.0
        assert wire.length
        words = (
            f"{wire.order}. {wire.colour}: {wire.pad} {wire.name} to {wire.host}; {wire.length:g} mm, {wire.awg} AWG"
        )
        long = wire.length > sheets.width
        words += " (longer than this page: measure)" if long else ""
        paper.type(x, y + 3.0, paper.wrapped(words, sheets.width, PLAIN, 8.0)[0], PLAIN, 8.0)
        if not long:
            end = x + wire.length
            paper.line([(x, y), (end, y)], 0.3, "#b08d57")
            inner = [(x + wire.strip_board, y), (end - wire.strip_host, y)]
            paper.line(inner, 1.5, "#777777")
            paper.line(inner, 1.2, WIRE_COLOURS[wire.colour])
            for k in (x, end):
                paper.line([(k, y - 2.0), (k, y + 2.0)], 0.15)
            paper.type(x + 0.5, y - 3.4, "board", PLAIN, 5.5, SOFT)
            paper.type(end - 5.0, y - 3.4, "host", PLAIN, 5.5, SOFT)
        sheets.y -= 12.0
