"""The plan of a board in its room with every tight place coloured and numbered."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from modboard.describe.model import CavityModel
from modboard.fit.margins import Margin, margins
from modboard.fit.room import Room
from modboard.geometry import Position
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.cavity import draw_obstacles, draw_walls
from modboard.view.sheet import Projection, Sheet

PAGE = (297.0, 210.0)  # mm, A4 across
LEFT, TOP, WORDS = 30.0, 32.0, 96.0  # mm for wall and openings, the title, and the column of words
BANDS = (  # least worst-case margin in mm, colour (Okabe & Ito 2008), words
    (2.0, "#56B4E9", "2 mm or more"),
    (0.5, "#009E73", "0.5 to 2 mm"),
    (0.0, "#E69F00", "0 to 0.5 mm"),
    (float("-inf"), "#D55E00", "may clash"),
)
LISTED = 12  # margins told beside the plan
RING = 4.6  # mm, diameter of a number's ring


def band(worst: float) -> tuple[str, str]:
    """Return colour and words of a worst-case margin in mm."""
    return next((colour, words) for least, colour, words in BANDS if worst >= least - 1e-9)


def fit_plan(board: Board) -> str:
    """Return an SVG sheet of board and parts in the room, each coloured by its least margin, the tightest numbered."""
    cavity = board.description.cavity
    assert cavity is not None, "a board without a room has no margins"
    room, found = Room(board, cavity), margins(board)
    sheet, project = _start(f"{board.description.title or board.description.name}: margins in plan", cavity, board)
    draw_walls(sheet, project, cavity)
    least: dict[str, float] = {}
    for margin in found:
        words = margin.between.split(" and ")[0]
        least[words] = min(least.get(words, float("inf")), margin.worst)
    sheet.area(project.area(board.outline), fill=colours.PAPER)
    sheet.area(
        project.area(board.outline), fill=band(least["the board"])[0], fill_opacity=0.25, colour=colours.INK,
        weight=colours.THICK,
    )  # fmt: skip
    draw_obstacles(sheet, project, cavity)
    for what in ("leads", "body"):
        for solid in room.solids:
            if solid.what == what:
                fill = band(least.get(solid.words, float("inf")))[0]
                opacity = 0.75 if what == "body" else 0.45
                sheet.area(project.area(solid.outline), fill=fill, fill_opacity=opacity, colour=colours.SOFT_INK)
    for solid in room.solids:
        if solid.what == "body":
            at = project(solid.middle)
            sheet.text(solid.reference, at, colours.SMALL_LETTERS, align="centre", halo=True, widest=16.0)
    listed = _once(found)[:LISTED]
    _rings(sheet, project, listed)
    _legend(sheet, [(colour, words) for _, colour, words in BANDS], "Room at worst, every ± taken off")
    lines = [f"{k}  {m.between}, {m.kind}: {m.worst:.2f} ({m.nominal:.2f})" for k, m in enumerate(listed, 1)]
    _column(sheet, ["Tightest places, mm at worst (as measured):", *lines], TOP + 44.0)
    return sheet.svg()


def _start(title: str, cavity: CavityModel, board: Board) -> tuple[Sheet, Projection]:
    sheet = Sheet(*PAGE, title)
    sheet.text(title, (14.0, 16.0), colours.TITLE_LETTERS, widest=PAGE[0] - 28.0)
    x0, y0, x1, y1 = cavity.inside.union(board.outline).bounds
    room = (PAGE[0] - 2 * LEFT - WORDS, PAGE[1] - 2 * TOP)
    scale = min(room[0] / (x1 - x0), room[1] / (y1 - y0))
    return sheet, Projection(scale, ((x0 + x1) / 2, (y0 + y1) / 2), (LEFT + room[0] / 2, TOP + room[1] / 2))


def _once(found: Sequence[Margin]) -> list[Margin]:
    seen: dict[str, Margin] = {}
    for margin in found:
        seen.setdefault(margin.between, margin)
    return list(seen.values())


def _rings(sheet: Sheet, project: Projection, listed: Sequence[Margin]) -> None:
    """Number the tight places, aside of one another where they would meet."""
    taken: list[Position] = []
    for number, margin in enumerate(listed, 1):
        if margin.at is None:
            continue
        x, y = project(margin.at)
        while any(abs(x - a) < RING and abs(y - b) < RING for a, b in taken):
            x += RING
        taken.append((x, y))
        sheet.line([project(margin.at), (x, y)], 0.18)
        sheet.circle((x, y), RING, fill=colours.PAPER, colour=band(margin.worst)[0], weight=0.6)
        sheet.text(str(number), (x, y), colours.SMALL_LETTERS, align="centre")


def _legend(sheet: Sheet, rows: Sequence[tuple[str, str]], title: str) -> None:
    x = PAGE[0] - WORDS
    sheet.text(title, (x, TOP), colours.LETTERS, widest=WORDS - 8.0)
    for row, (colour, words) in enumerate(rows):
        y = TOP + 7.0 + 6.5 * row
        sheet.area(shapely.box(x, y - 2.0, x + 7.0, y + 2.0), fill=colour, fill_opacity=0.75, colour=colours.SOFT_INK)
        sheet.text(words, (x + 10.0, y), colours.LETTERS)


def _column(sheet: Sheet, lines: Sequence[str], top: float) -> None:
    for row, line in enumerate(lines):
        sheet.text(line, (PAGE[0] - WORDS, top + 5.4 * row), colours.LETTERS * 0.88, widest=WORDS - 8.0)
