"""The blocks of a leaf as rows on paper: each knows how high it is at a given width, and how to draw itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial

from modboard.bench.colours import BAND_COLOURS, WIRE_COLOURS
from modboard.view.booklet_blocks import Block, Entry, Fact, Facts, Figures, Hint, Pair, Pairs, Table, Ticks, Words
from modboard.view.paper import ACCENT, BOLD, INK, ITALIC, PLAIN, RULE, SOFT, Paper

LEADING = 4.3  # mm from line to line of 9 point type
NAME = 24.0  # mm for the name of a fact
FONTS = {"lead": ITALIC, "strong": BOLD, "warn": BOLD, "heading": BOLD}


@dataclass(frozen=True)
class Row:
    """`height(width)` in mm, and `draw(x, top, width)`; `holds` keeps it on one page with the next.

    `place` says what it does beside a picture: goes beside it where that ends lower ("flows"), keeps that width also
    further down, so that answers stay in one column ("column"), or begins below it ("below").
    """

    height: Callable[[float], float]
    draw: Callable[[float, float, float], None]
    holds: bool = False
    place: str = "flows"


def rows(paper: Paper, blocks: Iterable[Block]) -> list[Row]:
    """Return the rows of some blocks."""
    found: list[Row] = []
    number = 0
    for block in blocks:
        if isinstance(block, Words):
            found.append(_words(paper, block))
        elif isinstance(block, Figures):
            found.append(Row(lambda _: 13.0, _figures(paper, block)))
        elif isinstance(block, Ticks):
            found += [_tick(paper, words) for _, words in block.items]
        elif isinstance(block, Facts):
            found += [_fact(paper, row) for row in block.rows]
        elif isinstance(block, Pairs):
            for row in block.rows:
                number += 1
                found.append(_pair(paper, row, number))
        elif isinstance(block, Entry):
            found.append(_entry(paper, block))
        elif isinstance(block, Table):
            found += _table(paper, block)
        else:
            assert isinstance(block, Hint)
    return found


def _words(paper: Paper, block: Words) -> Row:
    font = FONTS.get(block.sort, PLAIN)
    colour = {"warn": ACCENT, "count": SOFT}.get(block.sort, INK)
    inset = 3.0 if block.sort == "remark" else 0.0
    before = 2.0 if block.sort == "heading" else 0.4

    def lines(width: float) -> list[str]:
        return paper.wrapped(block.text, width - inset, font)

    def draw(x: float, top: float, width: float) -> None:
        found = lines(width)
        if inset:
            paper.line([(x + 0.5, top - 0.8), (x + 0.5, top - before - len(found) * LEADING)], 0.8, "#d98f00")
        for n, line in enumerate(found):
            paper.type(x + inset, top - before - 3.2 - n * LEADING, line, font, 9.0, colour)

    return Row(lambda w: before + 1.4 + LEADING * len(lines(w)), draw, block.sort == "heading")


def _figures(paper: Paper, block: Figures) -> Callable[[float, float, float], None]:
    def draw(x: float, top: float, width: float) -> None:
        step = width / max(1, len(block.items))
        for n, (count, what) in enumerate(block.items):
            paper.type(x + n * step, top - 6.0, str(count), BOLD, 16.0)
            paper.type(x + n * step, top - 10.0, what, PLAIN, 7.5, SOFT)

    return draw


def _tick(paper: Paper, words: str) -> Row:
    def draw(x: float, top: float, width: float) -> None:
        paper.box(x + 0.3, top - 4.3)
        for n, line in enumerate(paper.wrapped(words, width - 6.0)):
            paper.type(x + 6.0, top - 3.8 - n * LEADING, line)

    return Row(lambda w: 2.0 + LEADING * len(paper.wrapped(words, w - 6.0)), draw)


def _fact(paper: Paper, row: Fact) -> Row:
    font = BOLD if row.strong else PLAIN
    drawn = 17.0 if row.bands else 0.0

    def lines(width: float) -> list[str]:
        return paper.wrapped(row.text, width - NAME - drawn, font)

    def draw(x: float, top: float, width: float) -> None:
        for n, line in enumerate(paper.wrapped(row.name, NAME - 2.0)):
            paper.type(x, top - 3.4 - n * LEADING, line, PLAIN, 9.0, SOFT)
        if row.bands:
            _bands(paper, x + NAME, top - 2.2, row.bands)
        for n, line in enumerate(lines(width)):
            paper.type(x + NAME + drawn, top - 3.4 - n * LEADING, line, font)

    def height(width: float) -> float:
        return 0.8 + LEADING * max(1, len(lines(width)), len(paper.wrapped(row.name, NAME - 2.0)))

    return Row(height, draw)


def _bands(paper: Paper, x: float, y: float, colours: tuple[str, ...]) -> None:
    """Draw a resistor about the height `y`, 15 mm wide."""
    paper.line([(x, y), (x + 15.0, y)], 0.5, "#888888")
    paper.area(
        [[(x + 1.5, y - 1.6), (x + 13.5, y - 1.6), (x + 13.5, y + 1.6), (x + 1.5, y + 1.6)]], "#e6d5b0", INK, 0.1
    )
    for k, colour in enumerate(colours):
        left = x + 2.6 + 1.9 * k + (1.2 if k == len(colours) - 1 else 0.0)
        box = [(left, y - 1.6), (left + 1.1, y - 1.6), (left + 1.1, y + 1.6), (left, y + 1.6)]
        paper.area([box], BAND_COLOURS[colour])


def _pair(paper: Paper, row: Pair, number: int) -> Row:
    def notes(width: float) -> list[str]:
        return [line for remark in row.remarks for line in paper.wrapped(remark, width - 7.0, PLAIN, 7.5)]

    def draw(x: float, top: float, width: float) -> None:
        base = top - 4.2
        paper.type(x, base, str(number), BOLD, 8.0, SOFT)
        paper.ring((x + 8.0, base + 1.1), 1.1, 0.0, INK, "#d0201a")
        end = paper.type(x + 10.2, base, row.red)
        paper.ring((end + 4.0, base + 1.1), 1.1, 0.0, INK, "#1c1c1c")
        end = paper.type(end + 6.2, base, row.black)
        right = x + width
        for words in (row.bad, row.good):
            right -= paper.length(words, PLAIN, 8.0)
            paper.type(right, base, words, PLAIN, 8.0)
            right -= 4.4
            paper.box(right, base - 0.4)
            right -= 3.5
        if row.net and row.net != row.red:
            for line in paper.wrapped(row.net, max(4.0, right - end - 2.0), PLAIN, 7.5)[:1]:
                paper.type(end + 2.0, base, line, PLAIN, 7.5, SOFT)
        for n, line in enumerate(notes(width)):
            paper.type(x + 7.0, base - 3.8 - n * 3.4, line, PLAIN, 7.5, SOFT)
        bottom = top - 6.0 - 3.4 * len(notes(width))
        paper.line([(x, bottom), (x + width, bottom)], 0.1, RULE)

    return Row(lambda w: 6.2 + 3.4 * len(notes(w)), draw, place="column")


def _entry(paper: Paper, block: Entry) -> Row:
    def draw(x: float, top: float, width: float) -> None:
        end = paper.type(x, top - 5.0, "Your reading")
        paper.line([(end + 2.0, top - 5.6), (end + 24.0, top - 5.6)], 0.2)
        paper.type(end + 25.5, top - 5.0, block.unit)

    return Row(lambda _: 7.5, draw)


def _table(paper: Paper, block: Table) -> list[Row]:
    def columns(width: float) -> list[tuple[float, float]]:
        starts = [sum(block.widths[:n]) * width for n in range(len(block.widths))]
        return [(start, share * width - 1.5) for start, share in zip(starts, block.widths, strict=True)]

    def cells(row: int, width: float) -> list[list[str]]:
        found = []
        for cell, (_, whole) in zip(block.rows[row], columns(width), strict=True):
            font = BOLD if cell.strong or row in block.marked else PLAIN
            room = whole - (8.0 if cell.colour else 0.0)
            text = "" if cell.key else cell.text
            found.append([line for part in text.split("\n") for line in paper.wrapped(part, room, font, 8.5)])
        return found

    def draw_row(row: int) -> Callable[[float, float, float], None]:
        def draw(x: float, top: float, width: float) -> None:
            texts = cells(row, width)
            for cell, lines, (start, room) in zip(block.rows[row], texts, columns(width), strict=True):
                left = x + start
                if cell.key:
                    paper.box(left, top - 4.6)
                if cell.blank:
                    paper.line([(left, top - 5.0), (left + room, top - 5.0)], 0.15, SOFT)
                if cell.colour:
                    paper.line([(left, top - 3.2), (left + 6.5, top - 3.2)], 0.6, "#b08d57")
                    box = [
                        (left + 1.0, top - 4.2),
                        (left + 5.5, top - 4.2),
                        (left + 5.5, top - 2.2),
                        (left + 1.0, top - 2.2),
                    ]
                    paper.area([box], WIRE_COLOURS[cell.colour], "#777777")
                    left += 8.0
                marked = row in block.marked
                for n, line in enumerate(lines):
                    font = BOLD if cell.strong or marked else PLAIN
                    paper.type(left, top - 4.0 - n * 3.9, line, font, 8.5, ACCENT if marked else INK)
            bottom = top - height(row, width) + 0.2
            paper.line([(x, bottom), (x + width, bottom)], 0.1, RULE)

        return draw

    def height(row: int, width: float) -> float:
        return 2.2 + 3.9 * max(1, *(len(lines) for lines in cells(row, width)))

    def head(x: float, top: float, width: float) -> None:
        for words, (start, _) in zip(block.head, columns(width), strict=True):
            paper.type(x + start, top - 4.0, words, BOLD, 8.5, SOFT)

    place = "below" if len(block.widths) > 3 else "flows"
    found = [Row(lambda _: 5.6, head, True, place)] if any(block.head) else []
    for n in range(len(block.rows)):
        found.append(Row(partial(height, n), draw_row(n), place=place))
    return found
