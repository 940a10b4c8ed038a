"""Two sections through the tightest places: board, parts, leads, floor, lid and whatever stands there, to scale.

Each runs along the line that its margin is measured on, so that the room it shows is the room there is, with figures.
"""

from __future__ import annotations

from typing import Any

import shapely

from modboard.artwork import font
from modboard.describe.faces import inside_at
from modboard.fit.margins import Margin
from modboard.fit.room import Room
from modboard.geometry import Position
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.dimensions import ARROW, ARROW_WIDTH, horizontal, ratio, vertical
from modboard.view.fit_cuts import BEYOND, Cut, cuts
from modboard.view.fit_plan import PAGE, band
from modboard.view.lettering import Lettering
from modboard.view.sheet import Projection, Sheet

THICK = 3.0  # mm on the sheet of walls, floor and lid; how thick they are is not known
WIDE, HIGH = 205.0, 46.0  # mm on the sheet, the most that a room takes
LINE = 3.9  # mm between the words of a name
EACH = 94.0  # mm from one section to the next


def fit_sections(board: Board) -> str:
    """Return an SVG sheet of the sections through the two tightest places that can be cut."""
    cavity = board.description.cavity
    assert cavity is not None, "a board without a room has no sections"
    room = Room(board, cavity)
    name = board.description.title or board.description.name
    sheet = Sheet(*PAGE, f"{name}: sections through the tightest places")
    title = f"{name}: sections through the tightest places"
    sheet.text(title, (14.0, 14.0), colours.TITLE_LETTERS, widest=PAGE[0] - 28.0)
    letters = Lettering(sheet)
    for number, cut in enumerate(cuts(room)):
        _section(sheet, letters, room, cut, 22.0 + EACH * number)
    return sheet.svg()


def _section(sheet: Sheet, letters: Lettering, room: Room, cut: Cut, top: float) -> None:
    cavity = room.cavity
    u0, _, u1, _ = cut.turned(cavity.inside.union(room.board.outline)).bounds
    parts_end = max([s.high for s in room.solids] + [room.topside])
    height = cavity.height if cavity.height is not None else parts_end + 3.0
    scale = min(WIDE / (u1 - u0), HIGH / max(height, parts_end))
    project = Projection(scale, ((u0 + u1) / 2, height / 2), (PAGE[0] / 2, top + 43.0))
    words = f"{cut.words}, scale {ratio(scale)}: {cut.margin.words}"
    sheet.text(words, (14.0, top + 3.0), colours.LETTERS, widest=PAGE[0] - 28.0)
    ends = _shell(sheet, room, project, cut, height)
    _behind(sheet, room, project, cut, ends)
    named: list[tuple[str, Any]] = []
    for obstacle in cavity.obstacles:
        ceiling = height if obstacle.top is None else obstacle.top
        for a, b in cut.spans(obstacle.outline):
            box = project.area(shapely.box(a, obstacle.bottom, b, ceiling))
            sheet.area(box, fill=colours.PAPER)
            sheet.hatch(box, colours.CAVITY_HATCH, spacing=1.0)
            sheet.area(box, colour=colours.INK)
            named.insert(0, (obstacle.name, box))
    for solid in (room.plate, *room.solids):
        concerned = cut.margin.between.startswith(f"{solid.words} and ")
        for a, b in cut.spans(solid.outline):
            box = project.area(shapely.box(a, solid.low, b, solid.high))
            usual = colours.LAMINATE if solid.what == "board" else colours.BODY
            sheet.area(box, fill=band(cut.margin.worst)[0] if concerned else usual, colour=colours.INK)
            if solid.what == "body":
                named.append((solid.reference, box))
    _tight(sheet, letters, project, cut, height)
    for name, box in named:
        _name(letters, name, box)
    _dimensions(sheet, room, project, height, ends)


def _shell(sheet: Sheet, room: Room, project: Projection, cut: Cut, height: float) -> Position:
    """Draw walls (leaning where they do), floor and lid, less the openings that are cut; return where the room ends."""
    low, high = cut.spans(inside_at(room.cavity, 0.0)), cut.spans(inside_at(room.cavity, height))
    if len(high) != len(low):
        high = low
    rooms = [
        shapely.Polygon([(a, 0.0), (b, 0.0), (d, height), (c, height)])
        for (a, b), (c, d) in zip(low, high, strict=True)
    ]
    inner = shapely.union_all(rooms)
    shell = inner.buffer(THICK / project.scale, join_style="mitre").difference(inner)
    for opening in room.cavity.openings:
        bottom, top = opening.bottom or 0.0, height if opening.top is None else opening.top
        for a, b in cut.spans(room.corridor(opening)):
            shell = shell.difference(shapely.box(a - 1e-6, bottom, b + 1e-6, top))
    if room.cavity.height is None:  # nobody measured the lid
        shell = shell.difference(shapely.box(-BEYOND, height, BEYOND, height + BEYOND))
    area = project.area(shell)
    sheet.hatch(area, colours.CAVITY_HATCH)
    sheet.area(area, colour=colours.SOFT_INK)
    return (low[0][0], low[-1][1]) if low else (0.0, 0.0)


def _behind(sheet: Sheet, room: Room, project: Projection, cut: Cut, ends: Position) -> None:
    """Draw what stands in front of the section or behind it as one shape, dashed, as far as the section reaches."""
    boxes = []
    for solid in room.solids:
        if solid.what == "body" and not cut.spans(solid.outline):
            u0, _, u1, _ = cut.turned(solid.outline).bounds
            u0, u1 = max(u0, ends[0]), min(u1, ends[1])
            if u0 < u1:
                boxes.append(shapely.box(u0, solid.low, u1, solid.high))
    sheet.area(project.area(shapely.union_all(boxes)), colour=colours.SOFT_INK, weight=0.13, stroke_dasharray="1.2 0.8")


def _name(letters: Lettering, name: str, box: Any) -> None:
    """Letter a name in its box if it is wide enough, a word to a line if that helps, else over the box, else not."""
    x0, y0, x1, y1 = box.bounds
    middle, high, words = (x0 + x1) / 2, y1 - y0, name.split()
    wide = [font.length(text, colours.SMALL_LETTERS) <= 1.3 * (x1 - x0) for text in (name, *words)]
    inside = [(middle, y0 + high * share) for share in (0.5, 0.35, 0.65, 0.2, 0.8)]
    if not wide[0] and all(wide[1:]) and len(words) * LINE < high:
        for number, word in enumerate(words):
            first = y0 + high / 2 + (number - (len(words) - 1) / 2) * LINE
            letters.put(word, [(middle, first)])
        return
    letters.put(name, [*(inside if wide[0] else ()), (middle, y0 - 2.2), *inside])


def _tight(sheet: Sheet, letters: Lettering, project: Projection, cut: Cut, height: float) -> None:
    """Point at the room from both sides with arrows, and letter it at the end of a line above the lid."""
    margin, solid = cut.margin, cut.solid
    colour = band(margin.worst)[0]
    ua, ub = (cut.along(end)[0] for end in cut.ends)
    if margin.kind == "beside":
        level = (max(solid.low, 0.0) + min(solid.high, height)) / 2
        start, end = project((ua, level)), project((ub, level))
    elif margin.kind == "above":
        start, end = project((ua, solid.high)), project((ua, solid.high + margin.nominal))
    else:
        start, end = project((ua, solid.low)), project((ua, solid.low - margin.nominal))
    _arrows(sheet, start, end)
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    over = min(project((0.0, height))[1], project((0.0, solid.high))[1]) - THICK - 4.5
    sheet.line([(x, y), (x, over + 2.2)], 0.25, colour)
    words = _figures(margin)
    half = font.length(words, colours.LETTERS) / 2
    x = min(max(x, 14.0 + half), PAGE[0] - 14.0 - half)
    letters.put(words, [(x, over)], colours.LETTERS, must=True)


def _figures(margin: Margin) -> str:
    if margin.worst >= 0:
        return f"{margin.worst:.2f} at worst ({margin.nominal:.2f} as measured)"
    measured = f"{margin.nominal:.2f} to spare" if margin.nominal >= 0 else f"{-margin.nominal:.2f}"
    return f"{-margin.worst:.2f} too much at worst ({measured} as measured)"


def _arrows(sheet: Sheet, start: Position, end: Position) -> None:
    """Draw two arrows at a gap that is level or upright on the sheet: within it if there is room, else from outside."""
    upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
    (u0, v), (u1, _) = sorted(((p[1], p[0]) if upright else (p[0], p[1])) for p in (start, end))

    def point(u: float, v: float) -> Position:
        return (v, u) if upright else (u, v)

    inside = u1 - u0 >= 2 * ARROW + 1.0
    reach = 0.0 if inside else 2.2 * ARROW
    sheet.line([point(u0 - reach, v), point(u1 + reach, v)], 0.3)
    for tip, way in ((u0, 1.0 if inside else -1.0), (u1, -1.0 if inside else 1.0)):
        back = tip + way * ARROW
        corners = [point(tip, v), point(back, v - ARROW_WIDTH / 2), point(back, v + ARROW_WIDTH / 2)]
        sheet.area(shapely.Polygon(corners), fill=colours.INK)


def _dimensions(sheet: Sheet, room: Room, project: Projection, height: float, ends: Position) -> None:
    """Dimension floor to board, board to lid, and the room's length."""
    left, base = project((ends[0], 0.0))
    column = left - THICK - 9.0
    under, over = project((0.0, room.underside))[1], project((0.0, room.topside))[1]
    vertical(sheet, (left - THICK, base), (left - THICK, under), column, room.underside, "before")
    if room.cavity.height is not None:
        lid = project((0.0, height))[1]
        vertical(sheet, (left - THICK, over), (left - THICK, lid), column, height - room.topside)
    right = project((ends[1], 0.0))[0]
    foot = base + THICK
    horizontal(sheet, (left, foot), (right, foot), foot + 7.0, ends[1] - ends[0])
