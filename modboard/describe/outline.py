"""The largest board outline that a measured cavity allows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from modboard.describe import measures
from modboard.describe.cutting import cuttable, grown_ring, polygons, without_slivers
from modboard.describe.faces import moved, obstacle_to, walls_to
from modboard.describe.model import CavityModel, Obstacle
from modboard.describe.polygons import outer_disc, plan
from modboard.errors import CallSite, DesignError
from modboard.geometry import snapped

INCHES_ACROSS = 20.0  # mm; a room no longer than this that holds no board may have been measured in inches
SMALLEST = 5.0  # mm: a board that holds no disc of half this radius is no use, common practice
RIVAL = 1 / 3  # a second piece bigger than this part of the first is a choice for the person, not for the tool
THICKNESS_TO = 0.1  # of the board's thickness that it may be out, ±10 % common practice of board houses
_PASSES = 8


@dataclass(frozen=True)
class BoardOutline:
    """The board's outline (shapely polygon, mm, rounded to 1 nm) and remarks on what was left off."""

    polygon: Any
    notes: tuple[str, ...] = ()


def board_outline(cavity: CavityModel, thickness: float, cutter: float, site: CallSite) -> BoardOutline:
    """Return the largest outline of a board `thickness` mm thick that fits the cavity.

    The board keeps `wall_gap` + `measured_to` from the walls and `gap` + `measured_to` from every obstacle that
    meets its own height.  Inside corners can be cut with a bit of diameter `cutter` mm, arms narrower than 2 mm are
    left off, and where pieces remain apart the greatest is kept.  Straight sides are exact, arcs are chords within
    1 µm, on the safe side.  Raises DesignError if no useful board is left or it falls into halves.
    """
    pieces = _pieces(cavity, cavity.obstacles, thickness, cutter)
    if not pieces:
        x0, y0, x1, y1 = cavity.inside.bounds
        less = cavity.wall_gap + max(walls_to(cavity))
        blame = _at_board(cavity, thickness)
        after = f" and less {_names(blame)}" if blame else ""
        wide, deep = x1 - x0, y1 - y0
        inches = ""
        if max(wide, deep) <= INCHES_ACROSS:
            inches = (
                f"; or are these inches? All lengths are in mm: {wide:g} x {deep:g} inches are "
                f"{wide * 25.4:g} x {deep * 25.4:g}"
            )
        raise DesignError(
            f"the cavity leaves no room for a board: {wide:g} x {deep:g} mm less {less:g} mm "
            f"(wall gap + measuring tolerance) on each side{after}; measure again or lower the gaps{inches}",
            site,
        )
    if len(pieces) > 1 and pieces[1].area > RIVAL * pieces[0].area:
        raise DesignError(
            f"the board falls apart into pieces of {pieces[0].area:.0f} and {pieces[1].area:.0f} mm²: "
            f"{_what_splits(cavity, thickness, cutter)}; measure again, lower a gap or give outline=",
            site,
        )
    notes = tuple(
        f"a piece of {p.area:.0f} mm² near ({p.centroid.x:.1f}, {p.centroid.y:.1f}) is cut off from the board "
        "and left out"
        for p in pieces[1:]
    )
    return BoardOutline(pieces[0], notes)


def given_outline(said: object, cavity: CavityModel | None, site: CallSite) -> Any:
    """Return the outline a person gave: corners (x, y) in order, or (width, height) centred in the cavity, if any."""
    if isinstance(said, Sequence) and len(said) == 2 and not any(isinstance(v, Iterable) for v in said):
        width = measures.length(said[0], "width of the outline", site)
        height = measures.length(said[1], "height of the outline", site)
        board = shapely.box(0.0, 0.0, width, height)
        if cavity is not None:
            x0, y0, x1, y1 = cavity.inside.bounds
            board = affinity.translate(board, (x0 + x1 - width) / 2, (y0 + y1 - height) / 2)
        return snapped(board, 1e-6)
    return snapped(plan(said, "the outline", site), 1e-6)


def meets_board(obstacle: Obstacle, cavity: CavityModel, thickness: float) -> bool:
    """Tell whether an obstacle may be, within the measuring tolerance, at the height of the board itself.

    What carries the board ends at its underside, and what goes through it has its hole there.
    """
    if obstacle.through:
        return False
    if obstacle.carries and obstacle.top is not None and obstacle.top <= cavity.board_at:
        return False
    upper = obstacle.bottom - cavity.within(obstacle.bottom_to) - cavity.board_at_to
    over = upper >= cavity.board_at + thickness * (1 + THICKNESS_TO)
    top = obstacle.top
    under = top is not None and top + cavity.within(obstacle.top_to) + cavity.board_at_to <= cavity.board_at
    return not (over or under)


def _pieces(cavity: CavityModel, obstacles: tuple[Obstacle, ...], thickness: float, cutter: float) -> list[Any]:
    """Return every useful piece of board, greatest first."""
    nearest = min(walls_to(cavity))
    room = moved(cavity.inside, [nearest - to for to in walls_to(cavity)])  # what all walls have in common comes next
    walls = np.asarray(room.exterior.coords)
    ring = walls if not room.exterior.is_ccw else walls[::-1]  # the solid, outside, on its left
    free = room.difference(grown_ring(ring, cavity.wall_gap + nearest, cutter))
    waste = [
        _round_waste(o, cavity, cutter) if _is_disc(o) else _waste(o, cavity, cutter, free)
        for o in obstacles
        if meets_board(o, cavity, thickness)
    ]
    board = free.difference(shapely.union_all(waste))
    for _ in range(_PASSES):
        if board.is_empty:
            return []
        area = board.area
        board = without_slivers(board)
        if board.is_empty:  # nothing but slivers
            return []
        board = cuttable(board, cutter)
        if area - board.area < 1e-4:
            break
    # Simplify first: unions leave points that lie on straight sides.
    tidy = [snapped(_straightened(p), 1e-6) for p in polygons(board)]
    useful = [p for p in tidy if p.geom_type == "Polygon" and not p.buffer(-SMALLEST / 2).is_empty]
    return polygons(shapely.geometrycollections([shapely.normalize(p) for p in useful]))


def _waste(obstacle: Obstacle, cavity: CavityModel, cutter: float, free: Any) -> Any:
    nearest = min(obstacle_to(obstacle, cavity))
    solid = moved(obstacle.outline, [to - nearest for to in obstacle_to(obstacle, cavity)])
    ring = np.asarray(solid.exterior.coords)
    ring = ring if solid.exterior.is_ccw else ring[::-1]
    return solid.union(grown_ring(ring, obstacle.gap + nearest, cutter, free))


def _is_disc(obstacle: Obstacle) -> bool:
    return obstacle.round is not None and len(set(obstacle.sides_to)) <= 1


def _round_waste(obstacle: Obstacle, cavity: CavityModel, cutter: float) -> Any:
    assert obstacle.round is not None
    centre, diameter = obstacle.round
    return outer_disc(centre, max(diameter / 2 + obstacle.gap + max(obstacle_to(obstacle, cavity)), cutter / 2))


def _straightened(polygon: Any) -> Any:
    """Return the polygon without corners that lie on a straight line, to well under 1 nm."""
    return polygon.simplify(1e-9, preserve_topology=True)


def _at_board(cavity: CavityModel, thickness: float) -> list[Obstacle]:
    return [o for o in cavity.obstacles if meets_board(o, cavity, thickness)]


def _what_splits(cavity: CavityModel, thickness: float, cutter: float) -> str:
    """Say which obstacle splits the board: one without which it would hold together."""
    blame = _at_board(cavity, thickness)
    for obstacle in blame:
        rest = tuple(o for o in cavity.obstacles if o is not obstacle)
        whole = _pieces(cavity, rest, thickness, cutter)
        if len(whole) == 1 or (whole and whole[1].area <= RIVAL * whole[0].area):
            return f'"{obstacle.name}" splits it'
    return f"{_names(blame)} split it" if blame else "the walls come too close together between them"


def _names(obstacles: list[Obstacle]) -> str:
    return ", ".join(f'"{o.name}"' for o in obstacles)
