"""The plan of a board in its room with every tight place coloured and numbered."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import shapely

from modboard.artwork import font
from modboard.describe.model import CavityModel, Obstacle
from modboard.fit.margins import Margin, margins
from modboard.fit.room import Room, Solid
from modboard.geometry import Position
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.cavity import WALL, dimension_cavity, draw_obstacles, draw_walls
from modboard.view.dimensions import ratio
from modboard.view.fit_cuts import cuts
from modboard.view.lettering import Lettering
from modboard.view.sheet import Projection, Sheet

PAGE = (297.0, 210.0)  # mm, A4 across
LEFT, TOP, WORDS = 30.0, 32.0, 96.0  # mm for wall and openings, the title, and the column of words
BANDS = (  # least worst-case margin in mm, colour (Okabe & Ito 2008), words
    (2.0, "#56B4E9", "2 mm or more"),
    (0.5, "#009E73", "0.5 to 2 mm"),
    (0.0, "#E69F00", "0 to 0.5 mm"),
    (float("-inf"), "#D55E00", "may clash"),
)
LISTED = 10  # margins told beside the plan
KEPT = 3  # of the tightest, whose numbers stand where they are
NAMED = 3  # things with the same margin that are told by name
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
    letters = Lettering(sheet)
    _section_lines(sheet, letters, project, room)
    groups = _groups(found)[:LISTED]
    places = [m for group in groups for m in group[:NAMED] if m.at is not None][:KEPT]
    letters.taken += [_ring_box(project(m.at)) for m in places if m.at is not None]  # the tightest stay in place
    letters.taken += [_name_box(project.area(o.outline), o) for o in cavity.obstacles]
    _names(letters, project, room)
    _rings(sheet, letters, project, groups)
    dimension_cavity(sheet, project, board)
    _legend(sheet, [(colour, words) for _, colour, words in BANDS], "Room at worst, every ± taken off")
    lines = [f"{k}  {_told(group)}" for k, group in enumerate(groups, 1)]
    _column(sheet, ["Tightest places, mm at worst (as measured):", *lines], TOP + 44.0)
    return sheet.svg()


def _names(letters: Lettering, project: Projection, room: Room) -> None:
    """Letter each part once, in its largest body or beside it."""
    bodies: dict[str, Solid] = {}
    for solid in room.solids:
        if solid.what == "body":
            known = bodies.get(solid.reference)
            if known is None or solid.outline.area > known.outline.area + 1e-6:
                bodies[solid.reference] = solid
    for reference, solid in bodies.items():
        x0, y0, x1, y1 = project.area(solid.outline).bounds
        x, y, third = (x0 + x1) / 2, (y0 + y1) / 2, (y1 - y0) / 3
        side = font.length(reference, colours.SMALL_LETTERS) / 2 + 1.0
        letters.put(reference, [(x, y), (x, y - third), (x, y + third), (x, y0 - 2.0), (x, y1 + 2.0), (x1 + side, y),
                                (x0 - side, y)])  # fmt: skip


def _name_box(area: Any, obstacle: Obstacle) -> tuple[float, float, float, float]:
    """Return the ground on the sheet that the name of an obstacle takes at most, a word to a line."""
    x, y = area.representative_point().coords[0]
    words = [*obstacle.name.split(), *(["Ø00.0"] if obstacle.round else [])]
    half = max((font.length(word, colours.SMALL_LETTERS) for word in words), default=0.0) / 2 + 0.5
    up = 0.8 * colours.SMALL_LETTERS * len(words) + 0.5
    return (x - half, y - up, x + half, y + up)


def _section_lines(sheet: Sheet, letters: Lettering, project: Projection, room: Room) -> None:
    """Draw where the sections of the other sheet run, with their letters in the walls at both ends."""
    for cut in cuts(room):
        a = math.radians(cut.angle)
        (x, y), reach = cut.ends[0], 2000.0
        through = shapely.LineString([(x - reach * math.cos(a), y - reach * math.sin(a)),
                                      (x + reach * math.cos(a), y + reach * math.sin(a))])  # fmt: skip
        whole = room.cavity.inside.union(room.board.outline).convex_hull.buffer(WALL / 2 / project.scale)
        line = project.area(through.intersection(whole))
        if line.is_empty:
            continue
        sheet.line(list(line.coords), 0.18, colours.SOFT_INK, dashes="4 0.8 0.8 0.8")
        for place in (line.coords[0], line.coords[-1]):
            letters.put(cut.name, [place], colours.LETTERS, must=True)


def _start(title: str, cavity: CavityModel, board: Board) -> tuple[Sheet, Projection]:
    sheet = Sheet(*PAGE, title)
    x0, y0, x1, y1 = cavity.inside.union(board.outline).bounds
    room = (PAGE[0] - 2 * LEFT - WORDS, PAGE[1] - 2 * TOP)
    scale = min(room[0] / (x1 - x0), room[1] / (y1 - y0))
    sheet.text(f"{title}, scale {ratio(scale)}", (14.0, 14.0), colours.TITLE_LETTERS, widest=PAGE[0] - 28.0)
    return sheet, Projection(scale, ((x0 + x1) / 2, (y0 + y1) / 2), (LEFT + room[0] / 2, TOP + room[1] / 2))


def _groups(found: Sequence[Margin]) -> list[list[Margin]]:
    """Return the margins, each pair of things once; what has the same figures to the same thing is told together."""
    groups: dict[tuple[str, str, str, str], list[Margin]] = {}
    seen: set[str] = set()
    for margin in found:
        if margin.between not in seen:
            seen.add(margin.between)
            second = margin.between.split(" and ", 1)[1]
            key = (second, margin.kind, f"{margin.worst:.2f}", f"{margin.nominal:.2f}")
            groups.setdefault(key, []).append(margin)
    return list(groups.values())


def _told(group: Sequence[Margin]) -> str:
    """Return 'the leads of C1, C2 and 3 more and the floor, below: 1.20 (1.50)'."""
    first, second = group[0].between.split(" and ", 1)
    names = [m.between.split(" and ", 1)[0] for m in group]
    shown = [first, *(n.removeprefix("the leads of ") for n in names[1:NAMED])]
    if len(names) > NAMED:
        shown.append(f"{len(names) - NAMED} more")
    m = group[0]
    return f"{', '.join(shown)} and {second}, {m.kind}: {m.worst:.2f} ({m.nominal:.2f})"


def _ring_box(at: Position) -> tuple[float, float, float, float]:
    half = RING / 2 + 0.2
    return (at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _rings(
    sheet: Sheet, letters: Lettering, project: Projection, groups: Sequence[Sequence[Margin]]
) -> None:  # fmt: skip
    """Number the tight places: the tightest where they are, others beside letters and rings that they would meet."""
    count = 0
    for number, group in enumerate(groups, 1):
        for margin in group[:NAMED]:
            if margin.at is None:
                continue
            at = project(margin.at)
            count += 1
            if count <= KEPT:  # its place was kept free of names
                letters.taken.remove(_ring_box(at))
            x, y = next((p for p in _round(at) if letters.free(_ring_box(p))), at)
            letters.taken.append(_ring_box((x, y)))
            sheet.line([at, (x, y)], 0.25)
            sheet.circle((x, y), RING, fill=colours.PAPER, colour=band(margin.worst)[0], weight=0.6)
            sheet.text(str(number), (x, y), colours.SMALL_LETTERS, align="centre")


def _round(at: Position) -> Iterator[Position]:
    yield at
    for away in range(1, 6):
        for turn in range(0, 360, 30):
            a = math.radians(turn)
            yield (at[0] + away * 0.8 * RING * math.cos(a), at[1] + away * 0.8 * RING * math.sin(a))


def _legend(sheet: Sheet, rows: Sequence[tuple[str, str]], title: str) -> None:
    x = PAGE[0] - WORDS
    sheet.text(title, (x, TOP), colours.LETTERS, widest=WORDS - 8.0)
    for row, (colour, words) in enumerate(rows):
        y = TOP + 7.0 + 6.5 * row
        sheet.area(shapely.box(x, y - 2.0, x + 7.0, y + 2.0), fill=colour, fill_opacity=0.75, colour=colours.SOFT_INK)
        sheet.text(words, (x + 10.0, y), colours.LETTERS)


def _column(sheet: Sheet, lines: Sequence[str], top: float) -> None:
    """Letter lines below each other, broken where they are too long."""
    row, height = 0, colours.LETTERS * 0.88
    for line in lines:
        shown = ""
        for word in line.split(" "):
            if shown and font.length(f"{shown} {word}", height) > WORDS - 8.0:
                sheet.text(shown, (PAGE[0] - WORDS, top + 5.0 * row), height)
                row, shown = row + 1, f"      {word}"
            else:
                shown = f"{shown} {word}" if shown else word
        sheet.text(shown, (PAGE[0] - WORDS, top + 5.0 * row), height, widest=WORDS - 8.0)
        row += 1
