"""Frame, title block and notes of a sheet, and the scale at which a thing fits on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import box

from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.dimensions import figure, ratio
from modboard.view.sheet import Projection, Sheet, printable

PAPERS = ((297.0, 210.0), (420.0, 297.0), (594.0, 420.0), (841.0, 594.0))  # A4 to A1, ISO 216
SCALES = (20.0, 10.0, 5.0, 4.0, 3.0, 2.0, 1.0)  # ISO 5455, and 3 and 4 for things between
BORDER = 7.0  # mm from the paper's edge to the frame
BLOCK_WIDTH, BLOCK_HEIGHT, ROW = 118.0, 30.0, 7.5  # mm, title block
NOTE_ROW = 4.4


@dataclass(frozen=True)
class Margins:
    """Room in sheet mm that dimensions and names need round the thing drawn."""

    left: float
    right: float
    top: float
    bottom: float


def start(
    board: Board, view: str, bounds: tuple[float, float, float, float], margins: Margins, mirrored: bool = False
) -> tuple[Sheet, Projection]:
    """Return a framed sheet with title block, and the projection that puts `bounds` (board mm) in its middle."""
    x0, y0, x1, y1 = bounds
    for width, height in PAPERS:
        across = width - 2 * BORDER - margins.left - margins.right
        up = height - 2 * BORDER - BLOCK_HEIGHT - margins.top - margins.bottom
        scale = min(across / (x1 - x0), up / (y1 - y0))
        if scale >= 1.0 or (width, height) == PAPERS[-1]:
            break
    scale = next((s for s in SCALES if s <= scale + 1e-9), scale)
    spare_x, spare_y = across - scale * (x1 - x0), up - scale * (y1 - y0)
    at = (
        BORDER + margins.left + spare_x / 2 + scale * (x1 - x0) / 2,
        BORDER + margins.top + spare_y / 2 + scale * (y1 - y0) / 2,
    )
    described = board.description
    sheet = Sheet(width, height, f"{described.title or described.name}: {view}")
    sheet.area(box(BORDER, BORDER, width - BORDER, height - BORDER), colour=colours.INK, weight=colours.THICK)
    _title_block(sheet, board, view, scale)
    return sheet, Projection(scale, ((x0 + x1) / 2, (y0 + y1) / 2), at, mirrored)


def _title_block(sheet: Sheet, board: Board, view: str, scale: float) -> None:
    """Letter what the sheet shows in its lower right corner."""
    described, rules = board.description, board.description.rules
    x0, y0, x1, y1 = board.outline.bounds
    right, bottom = sheet.width - BORDER, sheet.height - BORDER
    left, top = right - BLOCK_WIDTH, bottom - BLOCK_HEIGHT
    sheet.area(box(left, top, right, bottom), fill=colours.PAPER, colour=colours.INK, weight=colours.THICK)
    middle = left + 0.62 * BLOCK_WIDTH
    for row in (1, 2, 3):
        sheet.line([(left, top + row * ROW), (right, top + row * ROW)])
    sheet.line([(middle, top), (middle, bottom)])
    sides = "Copper on one side" if rules.one_sided else "Two layers"
    cells = (
        (described.title or described.name, f"Revision {described.revision or '–'}"),
        (view, f"Scale {ratio(scale)}"),
        (f"Board {figure(x1 - x0)} × {figure(y1 - y0)} × {figure(rules.thickness)} mm", sides),
        (f"Rules: {rules.title or rules.name}", "Dimensions in mm"),
    )
    for row, (wide, narrow) in enumerate(cells):
        y = top + (row + 0.5) * ROW
        height = colours.TITLE_LETTERS if row == 0 else colours.LETTERS
        sheet.text(wide, (left + 2.5, y), height, widest=middle - left - 5.0)
        sheet.text(narrow, (middle + 2.5, y), widest=right - middle - 5.0)


def notes(sheet: Sheet, lines: Sequence[str], colour: str = colours.INK) -> None:
    """Letter notes to the left of the title block; what does not fit is counted in the last line."""
    room = int((BLOCK_HEIGHT - 2.0) / NOTE_ROW)
    shown = [printable(line) for line in lines]
    if len(shown) > room:
        shown = [*shown[: room - 1], f"and {len(shown) - room + 1} more"]
    left = BORDER + 3.0
    widest = sheet.width - 2 * BORDER - BLOCK_WIDTH - 6.0
    top = sheet.height - BORDER - BLOCK_HEIGHT + 3.0
    for row, line in enumerate(shown):
        sheet.text(line, (left, top + row * NOTE_ROW), colours.LETTERS * 0.88, colour=colour, widest=widest)
