"""Fit in plan: board and parts against walls, posts and whatever else stands in the room, where heights meet."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.model import Obstacle
from modboard.fit.room import EXACT, Room, Solid, apart, clearance, closest

BOARD_TO_WALL = Rule(
    "board-to-wall",
    "error",
    "the board goes into the cavity and keeps its gap to the walls, the measuring and outline tolerances included",
    "make the outline smaller at this place, or measure the cavity again",
    source="the cavity as measured",
)
BOARD_TO_OBSTACLE = Rule(
    "board-to-obstacle",
    "error",
    "the board keeps its gap to posts and obstacles at its own height",
    "notch the outline round it, or change the board's height",
    source="the cavity as measured",
)
PART_TO_WALL = Rule(
    "part-to-wall",
    "error",
    "parts clear the walls, except through an opening",
    "move the part inwards, or choose a smaller one",
    source="the cavity as measured",
)
PART_TO_OBSTACLE = Rule(
    "part-to-obstacle",
    "error",
    "parts clear posts and obstacles that reach their height",
    "move the part away, lay it down, or choose a lower one",
    source="the cavity as measured",
)
RULES = (BOARD_TO_WALL, BOARD_TO_OBSTACLE, PART_TO_WALL, PART_TO_OBSTACLE)


def inspect(room: Room) -> Iterator[Finding]:
    """Measure the board, then each part."""
    yield from board_to_walls(room)
    for obstacle in room.cavity.obstacles:
        yield from board_to_obstacle(room, obstacle)
    for solid in room.solids:
        yield from part_to_walls(room, solid)
        for obstacle in room.cavity.obstacles:
            yield from part_to_obstacle(room, solid, obstacle)


def board_to_walls(room: Room) -> Iterator[Finding]:
    """Measure the outline against the walls: in the worst case it must go in, and nominally keep the gap asked."""
    outline, inside = room.board.outline, room.cavity.inside
    gap = clearance(outline, inside)
    asked = room.cavity.wall_gap + room.cavity.measured_to
    required = max(asked, room.in_plan)
    if gap >= required - EXACT:
        return
    impossible = gap < room.in_plan - EXACT
    if gap < 0:
        message = f"the board reaches {-gap:.2f} mm into the wall: {required - gap:.2f} mm too large here"
    else:
        message = f"the board is {gap:.2f} mm from the wall, {required - gap:.2f} mm too near"
    if gap >= 0 and impossible:
        message += f"; tolerances of {room.in_plan:.2f} mm may make it touch"
    at = closest(outline, inside)
    yield BOARD_TO_WALL.finding(
        room.rules, at, "board and wall", message, gap, required, severity="error" if impossible else "warning"
    )


def board_to_obstacle(room: Room, obstacle: Obstacle) -> Iterator[Finding]:
    """Measure the outline against an obstacle that meets the board's own height.

    One that ends at the board's underside carries it and does not count.
    """
    if not reaches(obstacle, room.underside, room.topside):
        return
    gap, at = apart(room.board.outline, obstacle)
    required = max(obstacle.gap + room.cavity.measured_to, room.in_plan)
    if gap < required - EXACT:
        impossible = gap < room.in_plan - EXACT
        message = (
            f"the board is {gap:.2f} mm away, {required - gap:.2f} mm too near" if gap else "the board runs into it"
        )
        yield BOARD_TO_OBSTACLE.finding(
            room.rules,
            at,
            f"board and {obstacle.name}",
            message,
            gap,
            required,
            severity="error" if impossible else "warning",
        )


def reaches(obstacle: Obstacle, low: float, high: float, slack: float = 0.0) -> bool:
    """Tell whether an obstacle is anywhere between two heights, or nearer to them than `slack`."""
    below = obstacle.top is not None and obstacle.top + slack <= low + EXACT
    above = obstacle.bottom - slack >= high - EXACT
    return not (below or above)


def part_to_walls(room: Room, solid: Solid) -> Iterator[Finding]:
    """Measure a solid against the walls; ground behind openings that it fits through in height is free."""
    free = [room.corridor(o) for o in room.cavity.openings if room.passes_in_height(o, solid)]
    ground = shapely.union_all([room.cavity.inside, *free])
    gap = clearance(solid.outline, ground)
    required = room.in_plan
    if gap < required - EXACT:
        short = required - gap
        message = (
            f"{solid.words} reaches {-gap:.2f} mm into the wall"
            if gap < 0
            else f"{solid.words} is {gap:.2f} mm from the wall"
        )
        message += f": {short:.2f} mm too near with the tolerances"
        yield PART_TO_WALL.finding(
            room.rules, closest(solid.outline, ground), f"{solid.words} and wall", message, gap, required
        )


def part_to_obstacle(room: Room, solid: Solid, obstacle: Obstacle) -> Iterator[Finding]:
    """Measure a solid against an obstacle, if their heights may meet within the measuring tolerance."""
    if not reaches(obstacle, solid.low, solid.high, room.cavity.measured_to):
        return
    gap, at = apart(solid.outline, obstacle)
    required = room.in_plan
    if gap < required - EXACT:
        near = f"{solid.words} is {gap:.2f} mm from {obstacle.name}, {required - gap:.2f} mm too near"
        message = near if gap else f"{solid.words} runs into {obstacle.name}"
        where = f"{solid.words} and {obstacle.name}"
        yield PART_TO_OBSTACLE.finding(room.rules, at, where, message, gap, required)
