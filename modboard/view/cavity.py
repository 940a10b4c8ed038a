"""The cavity drawn round the board: walls hatched, posts, openings with their names, and its dimensions."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import box

from modboard.artwork import font
from modboard.describe.model import CavityModel, Obstacle, Opening, Wall
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.dimensions import figure, horizontal, vertical
from modboard.view.sheet import Projection, Sheet

WALL = 4.0  # mm on the sheet; how thick walls really are is not known
NAME_ROW = 4.5  # mm on the sheet for the name of an opening
FIRST_ROW, NEXT_ROW = 6.0, 7.5  # mm on the sheet from wall or name to the first dimension line, and to the next
BELOW = 2.5  # mm more below than at the sides, so that figures outside the corner do not meet
MITRE = 2


def draw_walls(sheet: Sheet, project: Projection, cavity: CavityModel) -> None:
    """Draw the walls as a hatched band with its openings left out, and every post and obstacle."""
    thick = WALL / project.scale
    band = cavity.inside.buffer(thick, join_style=MITRE).difference(cavity.inside)
    gaps = [_through_wall(o, cavity, thick) for o in cavity.openings]
    wall = project.area(band.difference(shapely.union_all(gaps)) if gaps else band)
    sheet.hatch(wall, colours.CAVITY_HATCH)
    sheet.area(wall, colour=colours.SOFT_INK, weight=colours.THIN)
    face = project.area(cavity.inside.exterior)
    openings = project.area(shapely.union_all(gaps)) if gaps else box(0, 0, 0, 0)
    for piece in shapely.get_parts(face.difference(openings)):
        sheet.line(list(piece.coords), colours.THICK)
    for opening in cavity.openings:
        _name_opening(sheet, project, opening, cavity)


def _through_wall(opening: Opening, cavity: CavityModel, thick: float) -> Any:
    """Return the area of the wall that `opening` takes away, in board coordinates."""
    x0, y0, x1, y1 = cavity.inside.bounds
    low, high = opening.centre - opening.width / 2, opening.centre + opening.width / 2
    reach, slack = 1.5 * thick, 1e-6
    return {
        "left": box(x0 - reach, low, x0 + slack, high),
        "right": box(x1 - slack, low, x1 + reach, high),
        "bottom": box(low, y0 - reach, high, y0 + slack),
        "top": box(low, y1 - slack, high, y1 + reach),
    }[opening.wall]


def _name_opening(sheet: Sheet, project: Projection, opening: Opening, cavity: CavityModel) -> None:
    """Letter name, width and place of an opening outside its wall."""
    x0, y0, x1, y1 = cavity.inside.bounds
    along = opening.centre
    at = {"left": (x0, along), "right": (x1, along), "bottom": (along, y0), "top": (along, y1)}[opening.wall]
    x, y = project(at)
    away = WALL + 1.2 + colours.LETTERS / 2
    dx, dy = {"left": (-away, 0.0), "right": (away, 0.0), "bottom": (0.0, away), "top": (0.0, -away)}[opening.wall]
    axis = "y" if opening.wall in ("left", "right") else "x"
    text = f"{opening.name}: {figure(opening.width)} wide, centre {axis} = {figure(opening.centre)}"
    sheet.text(text, (x + dx, y + dy), turn=90.0 if dx else 0.0, align="centre", widest=60.0)


def draw_obstacles(sheet: Sheet, project: Projection, cavity: CavityModel) -> None:
    """Draw posts and other obstacles hatched, with their names."""
    for obstacle in cavity.obstacles:
        area = project.area(obstacle.outline)
        sheet.area(area, fill=colours.PAPER)
        sheet.hatch(area, colours.CAVITY_HATCH, spacing=1.0)
        if obstacle.round:
            centre, diameter = obstacle.round
            sheet.circle(project(centre), diameter * project.scale, colour=colours.INK, weight=colours.THICK)
        else:
            sheet.area(area, colour=colours.INK, weight=colours.THICK)
        _name_obstacle(sheet, area, obstacle)


def _name_obstacle(sheet: Sheet, area: Any, obstacle: Obstacle) -> None:
    size = f"Ø{figure(obstacle.round[1])}" if obstacle.round else ""
    height = colours.SMALL_LETTERS
    x, y = area.representative_point().coords[0]
    x0, _, x1, _ = area.bounds
    room = max(x1 - x0 - 1.0, 9.0)
    words = obstacle.name.split() or [""]
    lines: list[str] = []
    for word in words:  # broken into lines as narrow as the thing, where words allow
        if lines and font.length(f"{lines[-1]} {word}", height) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    if size:
        lines.append(size)
    pitch = 1.6 * height
    for row, line in enumerate(lines):
        down = (row - (len(lines) - 1) / 2) * pitch
        sheet.text(line, (x, y + down), height, align="centre", halo=True, widest=max(room, 14.0))


def first_level(project: Projection, board: Board, wall: Wall) -> float:
    """Return the sheet coordinate of the dimension line nearest to the drawing on one side."""
    cavity = board.description.cavity
    x0, y0, x1, y1 = (cavity.inside.union(board.outline) if cavity else board.outline).bounds
    away = FIRST_ROW
    if cavity:
        away += WALL + (NAME_ROW if any(o.wall == wall for o in cavity.openings) else 0.0)
    x, y = project((x0 if wall == "left" else x1, y0 if wall == "bottom" else y1))
    return {"left": x - away, "right": x + away, "bottom": y + away, "top": y - away}[wall]


def dimension_cavity(sheet: Sheet, project: Projection, board: Board) -> None:
    """Dimension gaps and board in one chain, the cavity in the next row; below and to the left."""
    bx0, by0, bx1, by1 = board.outline.bounds
    row, column = first_level(project, board, "bottom") + BELOW, first_level(project, board, "left")
    horizontal(sheet, project((bx0, by0)), project((bx1, by0)), row, bx1 - bx0)
    vertical(sheet, project((bx0, by0)), project((bx0, by1)), column, by1 - by0)
    cavity = board.description.cavity
    if cavity is None:
        return
    cx0, cy0, cx1, cy1 = cavity.inside.bounds
    if bx0 - cx0 > 1e-3:
        horizontal(sheet, project((cx0, cy0)), project((bx0, by0)), row, bx0 - cx0, "before")
    if cx1 - bx1 > 1e-3:
        horizontal(sheet, project((bx1, by0)), project((cx1, cy0)), row, cx1 - bx1, "after")
    if by0 - cy0 > 1e-3:
        vertical(sheet, project((cx0, cy0)), project((bx0, by0)), column, by0 - cy0, "before")
    if cy1 - by1 > 1e-3:
        vertical(sheet, project((bx0, by1)), project((cx0, cy1)), column, cy1 - by1, "after")
    horizontal(sheet, project((cx0, cy0)), project((cx1, cy0)), row + NEXT_ROW, cx1 - cx0)
    vertical(sheet, project((cx0, cy0)), project((cx0, cy1)), column - NEXT_ROW, cy1 - cy0)


def dimension_holes(sheet: Sheet, project: Projection, board: Board, most: int = 2) -> None:
    """Dimension mounting holes from the board's left and lower edges, above and to the right; at most `most` rows."""
    x0, y0, x1, y1 = board.outline.bounds
    holes = board.description.holes
    for hole in holes:
        reach = hole.diameter / 2 + 1.5 / project.scale
        (x, y), dash = hole.at, "3 0.6 0.6 0.6"
        sheet.line([project((x - reach, y)), project((x + reach, y))], colours.THIN / 2, dashes=dash)
        sheet.line([project((x, y - reach)), project((x, y + reach))], colours.THIN / 2, dashes=dash)
    row, column = first_level(project, board, "top"), first_level(project, board, "right")
    for k, (x, hole) in enumerate(list({round(h.at[0], 3): h for h in holes}.items())[:most]):
        horizontal(sheet, project((x0, y1)), project((x, hole.at[1])), row - k * NEXT_ROW, x - x0)
    for k, (y, hole) in enumerate(list({round(h.at[1], 3): h for h in holes}.items())[:most]):
        vertical(sheet, project((x1, y0)), project((hole.at[0], y)), column + k * NEXT_ROW, y - y0)


def cavity_notes(board: Board) -> list[str]:
    """Return what is known of the cavity's heights, in words."""
    cavity = board.description.cavity
    if cavity is None:
        return []
    lines = [f"Cavity measured to ±{figure(cavity.measured_to)}; room kept to the walls {figure(cavity.wall_gap)}."]
    if cavity.height is not None:
        clear = cavity.height - cavity.board_at - board.description.rules.thickness
        lines.append(
            f"Floor to lid {figure(cavity.height)}, floor to board {figure(cavity.board_at)}, "
            f"clear above the board {figure(clear)}."
        )
    return lines
