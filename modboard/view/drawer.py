"""Contact sheets of footprints at their true size, to lay over the part: A4 pages with a bar to check the print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import shapely
from shapely import affinity
from shapely.geometry import Polygon

from modboard.artwork import font
from modboard.geometry import Position
from modboard.library.footprints import footprint
from modboard.library.model import Footprint
from modboard.view import colours
from modboard.view.pdf import pdf
from modboard.view.sheet import Sheet, tidy

WIDE, TALL = 210.0, 297.0  # mm, A4
MARGIN, GAP = 12.0, 5.0  # mm
HEAD = 16.0  # mm for the title and the bar
BAR = 50.0  # mm
LINES = 3 * 2.7 + 1.5  # mm for the words below a footprint


@dataclass(frozen=True)
class Cell:
    """A footprint with the room it takes on the sheet; `x0`, `y0` are its least coordinates."""

    part: Footprint
    x0: float
    y0: float
    width: float
    height: float

    @property
    def words(self) -> tuple[str, str, str]:
        """Name; size over lands and bodies with height; distances from the first pad to the next and last, and hole."""
        lands = self.part.lands
        far = dict.fromkeys((1, len(lands) - 1)) if len(lands) > 1 else ()
        apart = [f"{lands[0].number}-{lands[k].number} {math.dist(lands[0].at, lands[k].at):.2f}" for k in far]
        hole = next((f"hole {land.hole.diameter:.2f}" for land in lands if land.hole), "")
        star = " *" if self.part.measure_yours else ""
        size = f"{self.width:.1f} x {self.height:.1f}, {self.part.height:.1f} high"
        return (self.part.name + star, size, ", ".join(w for w in (*apart, hole) if w))


def contact_sheets(names: Sequence[str]) -> list[str]:
    """Return A4 pages (SVG) with the named footprints at 1:1, largest first, seen from the top.

    Raises LibraryError for a name that is none.  What is longer than a page is wide runs over its edge.
    """
    cells = sorted((cell(footprint(name)) for name in names), key=lambda c: (-c.height, c.part.name))
    pages: list[str] = []
    filled = list(pages_of(cells))
    for number, page in enumerate(filled, 1):
        sheet = Sheet(WIDE, TALL, f"Footprints at true size, page {number}")
        said = (
            f"Footprints at true size, from above; mm; * varies by maker, measure yours; page {number} of {len(filled)}"
        )
        sheet.text(said, (MARGIN, MARGIN), widest=WIDE - 2 * MARGIN)
        ruler = [(MARGIN, MARGIN + 5.0 + d) for d in (-1.0, 1.0)]
        sheet.line([(MARGIN, MARGIN + 5.0), (MARGIN + BAR, MARGIN + 5.0)], colours.THIN)
        for x in (0.0, BAR):
            sheet.line([(tidy(px + x), py) for px, py in ruler], colours.THIN)
        sheet.text("this bar is 50 mm long on a true print", (MARGIN + BAR + 3.0, MARGIN + 5.0))
        for at, one in page:
            draw(sheet, one, at)
        pages.append(sheet.svg())
    return pages


def sheet_files(target: Path, names: Sequence[str]) -> dict[Path, bytes]:
    """Return the contact sheets by file: TARGET.svg, TARGET-2.svg and so on, or all in one if `target` is a PDF."""
    pages = contact_sheets(names)
    if target.suffix.lower() == ".pdf":
        return {target: pdf(pages, "Footprints at true size")}
    stems = [target.stem, *(f"{target.stem}-{number}" for number in range(2, len(pages) + 1))]
    return {target.with_stem(stem): page.encode("utf-8") for stem, page in zip(stems, pages, strict=True)}


def cell(part: Footprint) -> Cell:
    """Measure a footprint over lands, bodies and holes."""
    shapes = [land.form.shape(land.at).bounds() for land in part.lands] + [h.shape().bounds() for h in part.holes]
    shapes += [Polygon(body.outline).bounds for body in part.bodies]
    x0, y0, x1, y1 = (f(s[k] for s in shapes) for k, f in ((0, min), (1, min), (2, max), (3, max)))
    return Cell(part, x0, y0, x1 - x0, y1 - y0)


def pages_of(cells: Sequence[Cell]) -> Iterator[list[tuple[Position, Cell]]]:
    """Fill pages row by row; each cell with the sheet position of its upper left corner."""
    page: list[tuple[Position, Cell]] = []
    x, y, row = MARGIN, MARGIN + HEAD, 0.0
    for one in cells:
        room = max(one.width, *(font.length(w, colours.SMALL_LETTERS) for w in one.words))
        if x > MARGIN and x + room > WIDE - MARGIN:
            x, y, row = MARGIN, y + row + GAP, 0.0
        if page and y + one.height + LINES > TALL - MARGIN:
            yield page
            page, x, y, row = [], MARGIN, MARGIN + HEAD, 0.0
        page.append(((x, y), one))
        x, row = x + room + GAP, max(row, one.height + LINES)
    if page:
        yield page


def draw(sheet: Sheet, one: Cell, at: Position) -> None:
    """Draw a footprint with its upper left corner at `at`, and its words below."""

    def placed(area: shapely.Geometry) -> shapely.Geometry:
        """From the part's frame (y up) to the sheet's (y down)."""
        return affinity.affine_transform(area, (1, 0, 0, -1, at[0] - one.x0, at[1] + one.y0 + one.height))

    for body in one.part.bodies:
        sheet.area(placed(Polygon(body.outline)), fill=colours.BODY, colour=colours.SOFT_INK, weight=0.12)
    for land in one.part.lands:
        sheet.area(placed(land.form.shape(land.at).polygon(8)), fill=colours.PAD, colour=colours.INK, weight=0.1)
        if land.hole:
            sheet.area(placed(land.hole.shape().polygon(8)), fill=colours.HOLE, colour=colours.HOLE_RIM, weight=0.1)
    for hole in one.part.holes:
        sheet.area(placed(hole.shape().polygon(8)), fill=colours.HOLE, colour=colours.HOLE_RIM, weight=0.1)
    if one.part.lands:
        first = one.part.lands[0]
        point = (at[0] - one.x0 + first.at[0], at[1] + one.y0 + one.height - first.at[1])
        sheet.circle(point, 0.5, fill=colours.FINDING, colour="none")
    for number, words in enumerate(one.words):
        place = (at[0], at[1] + one.height + 2.4 + number * 2.7)
        sheet.text(words, place, colours.SMALL_LETTERS, colour=colours.INK if number == 0 else colours.SOFT_INK)
