"""Two sections through the tightest places: board, parts, leads, floor, lid and whatever stands there, to scale."""

from __future__ import annotations

import shapely

from modboard.describe.faces import inside_at
from modboard.fit.margins import Margin, tightest
from modboard.fit.room import Room, Solid
from modboard.geometry import Position
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.dimensions import horizontal, vertical
from modboard.view.fit_plan import PAGE, band
from modboard.view.sheet import Projection, Sheet

BEYOND = 1000.0  # mm
THICK = 3.0  # mm on the sheet of walls, floor and lid; how thick they are is not known
NEAR = 0.05  # mm: what ends this near to the line of the section is cut too


def fit_sections(board: Board) -> str:
    """Return an SVG sheet of a section along x and one along y, through the two tightest places that have one."""
    cavity = board.description.cavity
    assert cavity is not None, "a board without a room has no sections"
    room = Room(board, cavity)
    name = board.description.title or board.description.name
    sheet = Sheet(*PAGE, f"{name}: sections through the tightest places")
    sheet.text(f"{name}: sections through the tightest places", (14.0, 14.0), colours.TITLE_LETTERS)
    places = [m for m in tightest(board, 50) if m.at is not None]
    for number, (margin, axis) in enumerate(_chosen(room, places)):
        _section(sheet, room, margin, axis, 22.0 + 94.0 * number)
    return sheet.svg()


def _chosen(room: Room, places: list[Margin]) -> list[tuple[Margin, str]]:
    """Return the two tightest places and the axis each is cut along, so that the room between the two things shows."""
    found = [(m, _axis(room, m)) for m in places[:1]]
    other = next((m for m in places[1:] if m.at != places[0].at), None)
    if other is not None:
        axis = _axis(room, other) if other.kind == "beside" else ("y" if found[0][1] == "x" else "x")
        found.append((other, axis))
    return found


def _axis(room: Room, margin: Margin) -> str:
    """Return the axis that the room at a place lies along: the nearer wall's for a gap beside, else the longer."""
    assert margin.at is not None
    x0, y0, x1, y1 = room.cavity.inside.bounds
    if margin.kind != "beside":
        return "x" if x1 - x0 >= y1 - y0 else "y"
    names = [o for o in room.cavity.obstacles if margin.between.endswith(f" and {o.name}")]
    x, y = margin.at
    if names:
        cx, cy = names[0].outline.centroid.coords[0]
        return "x" if abs(cx - x) >= abs(cy - y) else "y"
    return "x" if min(abs(x - x0), abs(x1 - x)) <= min(abs(y - y0), abs(y1 - y)) else "y"


def _section(sheet: Sheet, room: Room, margin: Margin, axis: str, top: float) -> None:
    cavity, at = room.cavity, margin.at
    assert at is not None
    level = at[1] if axis == "x" else at[0]
    x0, y0, x1, y1 = cavity.inside.union(room.board.outline).bounds
    u0, u1 = (x0, x1) if axis == "x" else (y0, y1)
    height = cavity.height if cavity.height is not None else max([s.high for s in room.solids] + [room.topside]) + 3.0
    scale = min(210.0 / (u1 - u0), 52.0 / height)
    project = Projection(scale, ((u0 + u1) / 2, height / 2), (PAGE[0] / 2, top + 42.0))
    words = f"along {axis} at {'y' if axis == 'x' else 'x'} = {level:.1f}: {margin.words}"
    sheet.text(words, (14.0, top + 3.0), colours.LETTERS, widest=PAGE[0] - 28.0)
    _shell(sheet, room, project, axis, level, height, (u0, u1))
    for obstacle in cavity.obstacles:
        ceiling = height if obstacle.top is None else obstacle.top
        for a, b in _spans(obstacle.outline, axis, level):
            box = project.area(shapely.box(a, obstacle.bottom, b, ceiling))
            sheet.area(box, fill=colours.PAPER)
            sheet.hatch(box, colours.CAVITY_HATCH, spacing=1.0)
            sheet.area(box, colour=colours.INK)
            x, y = box.centroid.coords[0]
            sheet.text(obstacle.name, (x, y), colours.SMALL_LETTERS, align="centre", halo=True, widest=22.0)
    for solid in (room.plate, *room.solids):
        _solid(sheet, project, solid, axis, level, margin)
    _figures(sheet, room, project, margin, axis, height, (u0, u1))


def _shell(
    sheet: Sheet, room: Room, project: Projection, axis: str, level: float, height: float, ends: Position
) -> None:
    """Draw walls (leaning where they do), floor and lid, with the openings that the section cuts."""
    spans = _spans(inside_at(room.cavity, 0.0), axis, level), _spans(inside_at(room.cavity, height), axis, level)
    low = (spans[0][0][0], spans[0][-1][1]) if spans[0] else ends
    high = (spans[1][0][0], spans[1][-1][1]) if spans[1] else low
    inner = shapely.Polygon([(low[0], 0.0), (low[1], 0.0), (high[1], height), (high[0], height)])
    thick = THICK / project.scale
    shell = inner.buffer(thick, join_style="mitre").difference(inner)
    for opening in room.cavity.openings:
        if (opening.wall in ("left", "right")) == (axis == "x") and abs(level - opening.centre) <= opening.width / 2:
            bottom, top = opening.bottom or 0.0, height if opening.top is None else opening.top
            a, b = (low[0] - BEYOND, low[0] + 1e-6) if opening.wall in ("left", "bottom") else (low[1] - 1e-6, BEYOND)
            shell = shell.difference(shapely.box(a, bottom, b, top))
    if room.cavity.height is None:  # nobody measured the lid
        shell = shell.difference(shapely.box(-BEYOND, height, BEYOND, height + BEYOND))
    area = project.area(shell)
    sheet.hatch(area, colours.CAVITY_HATCH)
    sheet.area(area, colour=colours.SOFT_INK)


def _solid(sheet: Sheet, project: Projection, solid: Solid, axis: str, level: float, margin: Margin) -> None:
    cut = _spans(solid.outline, axis, level)
    seen = cut or ([_bounds(solid, axis)] if solid.what == "body" else [])
    concerned = margin.between.startswith(f"{solid.words} and ")
    for a, b in seen:
        box = project.area(shapely.box(a, solid.low, b, solid.high))
        if not cut:  # behind the section
            sheet.area(box, colour=colours.SOFT_INK, weight=0.13, stroke_dasharray="1.2 0.8")
            continue
        fill = band(margin.worst)[0] if concerned else colours.LAMINATE if solid.what == "board" else colours.BODY
        sheet.area(box, fill=fill, colour=colours.INK)
        if solid.what == "body":
            x, y = box.centroid.coords[0]
            sheet.text(solid.reference, (x, y), colours.SMALL_LETTERS, align="centre", halo=True, widest=20.0)


def _figures(
    sheet: Sheet, room: Room, project: Projection, margin: Margin, axis: str, height: float, ends: Position
) -> None:
    """Dimension floor to board, board to lid, and the room's length."""
    left, base = project((ends[0], 0.0))
    column = left - THICK - 9.0
    vertical(sheet, (left - THICK, base), (left - THICK, project((0.0, room.underside))[1]), column, room.underside)
    if room.cavity.height is not None:
        under, over = project((0.0, room.topside))[1], project((0.0, height))[1]
        vertical(sheet, (left - THICK, under), (left - THICK, over), column, height - room.topside)
    right = project((ends[1], 0.0))[0]
    horizontal(sheet, (left, base + THICK), (right, base + THICK), base + THICK + 7.0, ends[1] - ends[0])
    assert margin.at is not None
    u = margin.at[0] if axis == "x" else margin.at[1]
    x, top = project((u, height))
    sheet.line([(x, top - THICK - 4.0), (x, base + THICK)], 0.18, band(margin.worst)[0], dashes="3 0.8 0.6 0.8")


def _spans(plan: object, axis: str, level: float) -> list[Position]:
    """Return from where to where along the axis a shape is cut at a level."""
    found: list[Position] = []
    for at in (level, level - NEAR, level + NEAR):
        ends = ((-BEYOND, at), (BEYOND, at)) if axis == "x" else ((at, -BEYOND), (at, BEYOND))
        pieces = shapely.get_parts(shapely.intersection(plan, shapely.LineString(ends)))
        found = sorted(
            (p.bounds[0], p.bounds[2]) if axis == "x" else (p.bounds[1], p.bounds[3]) for p in pieces if p.length
        )
        if found:
            return found
    return found


def _bounds(solid: Solid, axis: str) -> Position:
    x0, y0, x1, y1 = solid.outline.bounds
    return (x0, x1) if axis == "x" else (y0, y1)
