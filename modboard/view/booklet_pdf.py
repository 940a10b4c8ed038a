"""The booklet on paper, A4 or Letter: the same leaves as the page, and sheets at true size to lay things on."""

from __future__ import annotations

from modboard.artwork.model import Artwork
from modboard.bench.sheet import BenchSheet
from modboard.view.booklet_leaves import Leaf, leaves
from modboard.view.booklet_marks import marks
from modboard.view.paper import ACCENT, BOLD, MARGIN, PLAIN, RULE, SIZES, SOFT, Paper
from modboard.view.paper_board import BoardPictures
from modboard.view.paper_rows import Row, rows
from modboard.view.paper_true import true_size_pages

SHARE = 0.44  # of the width, for the picture
HIGHEST = 62.0  # mm of picture
GAP = 6.0  # mm between picture and words
FOOT = 8.0  # mm for the line at the foot of each page


def booklet_pdfs(sheet: BenchSheet, artwork: Artwork) -> dict[str, bytes]:
    """Return the booklet by file name, one for each size of paper."""
    return {f"booklet-{size}.pdf": booklet_pdf(sheet, artwork, size) for size in SIZES}


def booklet_pdf(sheet: BenchSheet, artwork: Artwork, size: str) -> bytes:
    """Return the booklet for paper "a4" or "letter"; equal sheets give equal bytes."""
    d = sheet.board.description
    paper = Paper(size, f"{d.title} rev {d.revision}: bench booklet")
    pages = _Pages(paper, f"{d.title} · rev {d.revision}")
    pictures = BoardPictures(paper, artwork)
    for number, leaf in enumerate(leaves(sheet), 1):
        _leaf(pages, pictures, leaf, number)
    pages.end()
    true_size_pages(paper, pictures, sheet, pages.foot)
    return paper.bytes()


class _Pages:
    """Where the pen is on the page, and what stands at the foot of each."""

    def __init__(self, paper: Paper, title: str) -> None:
        self.paper, self.title = paper, title
        self.number = 1
        self.top = paper.height - MARGIN
        self.low = MARGIN + FOOT
        self.fresh = True

    def turn(self) -> None:
        """End this page, begin the next."""
        self.foot()
        self.top, self.fresh = self.paper.height - MARGIN, True

    def end(self) -> None:
        """End the last page, unless nothing is on it."""
        if not self.fresh:
            self.turn()

    def foot(self, words: str = "pictures not to scale") -> None:
        """Write the foot of the page and turn it."""
        paper = self.paper
        paper.line([(MARGIN, MARGIN + 4.5), (paper.width - MARGIN, MARGIN + 4.5)], 0.1, RULE)
        paper.type(MARGIN, MARGIN, paper.wrapped(f"{self.title} · {words}", 150.0, PLAIN, 7.5)[0], PLAIN, 7.5, SOFT)
        paper.type(paper.width - MARGIN - 6.0, MARGIN, str(self.number), BOLD, 9.0, SOFT)
        paper.turn()
        self.number += 1


def _leaf(pages: _Pages, pictures: BoardPictures, leaf: Leaf, number: int) -> None:
    """Put a leaf on the page if it fits, else on the next; one longer than a page goes on over it."""
    paper = pages.paper
    width = paper.width - 2 * MARGIN
    title = paper.wrapped(leaf.title, width * (1 - SHARE) - GAP, BOLD, 13.0)
    scale, across, up = pictures.size(width * SHARE, HIGHEST)
    found = rows(paper, leaf.blocks)
    needed = _fill(pages.top, width, len(title), up, across, found)
    if pages.top - needed < pages.low and not pages.fresh:
        pages.turn()
    top = pages.top
    left = MARGIN
    paper.type(left, top - 3.5, leaf.chapter, BOLD, 8.0, ACCENT)
    paper.type(left + paper.length(leaf.chapter, BOLD, 8.0) + 2.0, top - 3.5, str(number), PLAIN, 8.0, SOFT)
    for n, line in enumerate(title):
        paper.type(left, top - 9.8 - n * 6.0, line, BOLD, 13.0)
    corner = (paper.width - MARGIN - across, top - up)
    lit = leaf.net or ""
    done = leaf.done if leaf.chapter != "Bare board" else ()
    pictures.picture(corner, scale, leaf.side, done, leaf.fit, lit, marks(leaf, pictures.artwork.board.parts))
    caption = f"seen from the {leaf.side}" + (f"; {lit} lit" if lit else "")
    for n, line in enumerate(paper.wrapped(caption, across, PLAIN, 7.0)[:1]):
        paper.type(corner[0], corner[1] - 3.0 - n, line, PLAIN, 7.0, SOFT)
    pages.fresh = False
    y, picture_end = top - 12.0 - 6.0 * (len(title) - 1), corner[1] - 5.0
    for n, row in enumerate(found):
        y, room = _room(row, y, picture_end, width, across)
        height = row.height(room)
        after = found[n + 1].height(room) if row.holds and n + 1 < len(found) else 0.0
        if y - height - after < pages.low:
            pages.turn()
            y, picture_end = pages.top, pages.paper.height
            room = width - across - GAP if row.place == "column" else width
            height = row.height(room)
            pages.fresh = False
        row.draw(left, y, room)
        y -= height
    pages.top = min(y, picture_end) - 7.0
    paper.line([(left, pages.top + 3.0), (paper.width - MARGIN, pages.top + 3.0)], 0.15, RULE)
    if pages.top < pages.low + 25.0:
        pages.turn()


def _fill(top: float, width: float, titles: int, up: float, across: float, found: list[Row]) -> float:
    """Return how much of the page's height a leaf takes, in mm."""
    y, end = top - 12.0 - 6.0 * (titles - 1), top - up - 5.0
    for row in found:
        y, room = _room(row, y, end, width, across)
        y -= row.height(room)
    return top - min(y, end)


def _room(row: Row, y: float, picture_end: float, width: float, across: float) -> tuple[float, float]:
    """Return where a row begins and how wide it may be: beside the picture, or below it."""
    if row.place == "below":
        return min(y, picture_end), width
    return y, width - across - GAP if y > picture_end or row.place == "column" else width
