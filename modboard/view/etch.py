"""Sheets for etching at home, true to scale: the copper of each side, and a template to drill by, as SVG and PDF.

A print whose ink lies on the copper (toner transfer, film) shows the side mirrored, so that it reads right on the
copper; what is drawn or exposed straight on shows it as it is seen.  Copper is drawn wider by what the etchant takes
away sideways under the resist, half to all of its thickness on each edge (common practice).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import affinity

from modboard.artwork import font
from modboard.artwork.drawings import drill_drawing
from modboard.artwork.measure import COPPER, smallest_gap
from modboard.artwork.model import Artwork
from modboard.errors import ModboardError, nearest
from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, CopperLayer
from modboard.view.sheet import Sheet

PAPER = (210.0, 297.0)  # mm, A4 (ISO 216)
MARGIN = 12.0  # mm that a printer cannot print on, with something to spare
ROOM_BELOW = 45.0  # mm for ruler and notes
MARK_AWAY, MARK_ARM, MARK_RING = 6.0, 3.0, 3.0  # mm: registration marks beyond the board's corners
CENTRE_DOT = 0.5  # mm left bare in the middle of a land, where the drill finds its way (common practice)
LEAST_LAND = 3 * CENTRE_DOT  # mm; a smaller land would be spoilt by the dot
UNDERCUT = 0.75  # of the copper's thickness, per edge (common practice: 0.5 to 1)
LEAST_GAP = 0.1  # mm that must be left between two nets on the sheet
RULER = 100.0  # mm
HAIR = 0.1  # mm
PROCESSES = {
    "toner": "toner transfer, print face down on the copper",
    "film": "positive film, ink side on the copper",
    "dry-film": "negative film for dry film resist, ink side on the copper",
    "direct": "drawn or exposed straight on, seen as it will be",
}


@dataclass(frozen=True)
class EtchSheet:
    """One page in mm, y up from its lower left corner: black areas, lines with their pens, and what the page is."""

    title: str
    black: Any
    lines: tuple[tuple[tuple[Position, ...], float], ...]


def etch_files(artwork: Artwork, process: str = "toner", undercut: float | None = None) -> dict[str, bytes]:
    """Return the sheets of a board by file name: each side that has copper, and the drill template, as SVG and PDF.

    `undercut` is what the etchant takes from each edge (mm); by default 0.75 of the copper's thickness.
    Raises ModboardError for a process that does not exist, a board that is larger than the page, and an undercut that
    would close a gap.
    """
    sheets = {
        f"etch-{side}": copper_sheet(artwork, side, process, undercut)
        for side in COPPER_LAYERS
        if artwork.layer(COPPER[side]).features
    }
    if artwork.drills:
        sheets["drill-template"] = template_sheet(artwork)
    files: dict[str, bytes] = {}
    for name, sheet in sheets.items():
        files[f"{name}.svg"] = svg(sheet).encode("utf-8")
        files[f"{name}.pdf"] = pdf(sheet)
    return files


def is_mirrored(side: CopperLayer, process: str) -> bool:
    """Tell whether a side is printed left to right reversed, compared with the board seen from the top."""
    return (side == "bottom") if process == "direct" else (side == "top")


def copper_sheet(
    artwork: Artwork, side: CopperLayer, process: str = "toner", undercut: float | None = None
) -> EtchSheet:
    """Return the page with the copper of one side; see `etch_files`."""
    if process not in PROCESSES:
        near = nearest(process, PROCESSES) or list(PROCESSES)
        raise ModboardError(f'there is no etching process "{process}"; did you mean {" or ".join(near)}?')
    widened = _widening(artwork, undercut)
    area = shapely.union_all([f.shape.polygon() for f in artwork.features(COPPER[side])]).buffer(widened)
    dots = [
        shapely.Point(at).buffer(CENTRE_DOT / 2)
        for at in sorted({d.at for d in artwork.drills} | {d.to for d in artwork.drills if d.to})
        if area.contains(shapely.Point(at).buffer(LEAST_LAND / 2))
    ]
    area = area.difference(shapely.union_all(dots)) if dots else area
    outside = _outside(artwork, f"{side.upper()}  {artwork.board.description.name}", with_words=True)
    if process == "dry-film":
        area = artwork.board.outline.buffer(2.0).difference(area)
    place = _Placement(artwork, is_mirrored(side, process))
    title = f"{artwork.board.description.name}: {side} copper, {PROCESSES[process]}"
    notes = [title, f"Widened by {widened:.3f} mm on each edge for undercut. Letters must read right on the copper."]
    lines = [(place.points(line), HAIR) for line in outside]
    return EtchSheet(title, place.area(area), (*lines, *_ruler_and_notes(notes)))


def template_sheet(artwork: Artwork) -> EtchSheet:
    """Return the page with every hole, seen from the top: prick through it, or lay it beside the drill."""
    place = _Placement(artwork, mirrored=False)
    title = f"{artwork.board.description.name}: drill template, seen from the top"
    lines = [(place.points(stroke.points), HAIR) for stroke in drill_drawing(artwork)]
    lines += [(place.points(line), HAIR) for line in _outside(artwork, "", with_words=False)]
    dots = shapely.union_all([shapely.Point(d.at).buffer(0.1) for d in artwork.drills])
    return EtchSheet(
        title,
        place.area(dots),
        (*lines, *_ruler_and_notes([title, "Finished holes; lay the marks over those of the copper."])),
    )


def _widening(artwork: Artwork, undercut: float | None) -> float:
    widened = UNDERCUT * artwork.board.description.rules.copper if undercut is None else undercut
    if not 0 <= widened <= 0.2:
        raise ModboardError(f"an undercut of {widened:g} mm on each edge is not etching; give 0 to 0.2 mm")
    gap = smallest_gap(artwork)
    if gap is not None and gap.value - 2 * widened < LEAST_GAP:
        raise ModboardError(
            f"widened by {widened:g} mm, the gap at {gap.what} would shrink from {gap.value:.3f} to "
            f"{gap.value - 2 * widened:.3f} mm; give a smaller undercut, or wider gaps in the design"
        )
    return widened


class _Placement:
    """From board to page: the board's middle comes to the middle of the page above the ruler."""

    def __init__(self, artwork: Artwork, mirrored: bool) -> None:
        x0, y0, x1, y1 = artwork.board.outline.bounds
        room = (PAPER[0] - 2 * MARGIN, PAPER[1] - 2 * MARGIN - ROOM_BELOW)
        needs = (x1 - x0 + 2 * (MARK_AWAY + MARK_ARM), y1 - y0 + 2 * (MARK_AWAY + MARK_ARM))
        if needs[0] > room[0] or needs[1] > room[1]:
            raise ModboardError(f"a board of {x1 - x0:.0f} × {y1 - y0:.0f} mm does not fit an A4 page with its marks")
        flip = -1.0 if mirrored else 1.0
        dx = PAPER[0] / 2 - flip * (x0 + x1) / 2
        dy = MARGIN + ROOM_BELOW + room[1] / 2 - (y0 + y1) / 2
        self._matrix = (flip, 0.0, 0.0, 1.0, dx, dy)

    def area(self, area: Any) -> Any:
        return affinity.affine_transform(area, self._matrix)

    def points(self, points: Sequence[Position]) -> tuple[Position, ...]:
        flip, _, _, _, dx, dy = self._matrix
        return tuple((flip * x + dx, y + dy) for x, y in points)


def _outside(artwork: Artwork, words: str, with_words: bool) -> list[tuple[Position, ...]]:
    """Return what stands outside the board, the same on every sheet: a mark beyond each corner, and words."""
    x0, _, x1, y1 = artwork.board.outline.bounds
    lines: list[tuple[Position, ...]] = []
    for x, y in mark_places(artwork):
        lines += [((x - MARK_ARM, y), (x + MARK_ARM, y)), ((x, y - MARK_ARM), (x, y + MARK_ARM))]
        lines.append(tuple(shapely.Point(x, y).buffer(MARK_RING / 2).exterior.coords))
    lines += [tuple(ring.coords) for ring in (artwork.board.outline.exterior, *artwork.board.outline.interiors)]
    if with_words:
        height = max(1.0, min(2.5, 2.5 * (x1 - x0) / font.length(words, 2.5)))
        lines += list(font.text(words, ((x0 + x1) / 2, y1 + MARK_AWAY), height, align="centre"))
    return lines


def mark_places(artwork: Artwork) -> tuple[Position, ...]:
    """Return where the registration marks lie, in board coordinates (mm)."""
    x0, y0, x1, y1 = shapely.box(*artwork.board.outline.bounds).buffer(MARK_AWAY, join_style="mitre").bounds
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def _ruler_and_notes(notes: Sequence[str]) -> list[tuple[tuple[Position, ...], float]]:
    """Return the check ruler along both edges of the page, and the notes above it, never mirrored."""
    x, y = (PAPER[0] - RULER) / 2, MARGIN + 4.0
    lines: list[tuple[tuple[Position, ...], float]] = [(((x, y), (x + RULER, y)), HAIR)]
    for k in range(int(RULER) + 1):
        tick = 3.0 if k % 10 == 0 else 2.0 if k % 5 == 0 else 1.0
        lines.append((((x + k, y), (x + k, y + tick)), HAIR))
    upright = (MARGIN + 1.0, MARGIN + ROOM_BELOW)
    lines.append(((upright, (upright[0], upright[1] + RULER)), HAIR))
    for k in range(0, int(RULER) + 1, 10):
        lines.append((((upright[0], upright[1] + k), (upright[0] + 3.0, upright[1] + k)), HAIR))
    words = [*notes, f"Print at 100 %, not fitted to the page: both rulers must measure {RULER:.0f} mm."]
    for row, text in enumerate(words):
        height = min(2.5, 2.5 * (PAPER[0] - 2 * MARGIN) / font.length(text, 2.5))
        at = (MARGIN, MARGIN + 24.0 - row * 5.0)
        lines += [(line, 0.25) for line in font.text(text, at, height)]
    return lines


def svg(sheet: EtchSheet) -> str:
    """Return the page as SVG: one unit is one millimetre."""
    page = Sheet(*PAPER, sheet.title)
    page.area(affinity.affine_transform(sheet.black, (1, 0, 0, -1, 0, PAPER[1])), fill="#000000")
    for points, pen in sheet.lines:
        page.line([(x, PAPER[1] - y) for x, y in points], pen, "#000000")
    return page.svg()


def pdf(sheet: EtchSheet) -> bytes:
    """Return the page as PDF, marked not to be scaled when printed; equal sheets give equal bytes."""
    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    page = Canvas(target, pagesize=(PAPER[0] * mm, PAPER[1] * mm), invariant=1, pageCompression=0)
    page.setTitle(sheet.title)
    page.setViewerPreference("PrintScaling", "None")
    path = page.beginPath()
    for part in shapely.get_parts(sheet.black):
        for ring in (part.exterior, *part.interiors):
            (x, y), *rest = list(ring.coords)[:-1]
            path.moveTo(x * mm, y * mm)
            for x, y in rest:
                path.lineTo(x * mm, y * mm)
            path.close()
    page.drawPath(path, stroke=0, fill=1, fillMode=0)  # 0: even-odd, so that holes stay open
    page.setLineCap(1)
    page.setLineJoin(1)
    for points, pen in sheet.lines:
        page.setLineWidth(pen * mm)
        line = page.beginPath()
        line.moveTo(points[0][0] * mm, points[0][1] * mm)
        for x, y in points[1:]:
            line.lineTo(x * mm, y * mm)
        page.drawPath(line)
    page.showPage()
    page.save()
    return target.getvalue()
