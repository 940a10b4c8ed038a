"""Fit in plan: board and parts against walls, posts and whatever else stands in the room, where heights meet."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.model import Obstacle
from modboard.describe.outline import meets_board
from modboard.fit.distance import EXACT
from modboard.fit.room import Room, Solid

STEPS = ("floor step", "lid step")  # kinds that are floor and lid to what is under or over them

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
        if not obstacle.through:
            yield from board_to_obstacle(room, obstacle)
    for solid in room.solids:
        yield from part_to_walls(room, solid)
        for obstacle in room.cavity.obstacles:
            yield from part_to_obstacle(room, solid, obstacle)


def board_to_walls(room: Room) -> Iterator[Finding]:
    """Measure the outline against the walls: in the worst case it must go in, and nominally keep the gap asked."""
    gap = room.to_walls(room.plate)
    asked = room.cavity.wall_gap + gap.loose - room.made_to
    required = max(asked, gap.loose)
    if gap.nominal >= required - EXACT:
        return
    impossible = gap.worst < -EXACT
    if gap.nominal < 0:
        message = (
            f"the board reaches {-gap.nominal:.2f} mm into the wall: {required - gap.nominal:.2f} mm too large here"
        )
    else:
        message = f"the board is {gap.nominal:.2f} mm from the wall, {required - gap.nominal:.2f} mm too near"
    if gap.nominal >= 0 and impossible:
        message += f"; tolerances of {gap.loose:.2f} mm may make it touch"
    yield BOARD_TO_WALL.finding(
        room.rules, gap.at, "board and wall", message, gap.nominal, required,
        severity="error" if impossible else "warning",
    )  # fmt: skip


def board_to_obstacle(room: Room, obstacle: Obstacle) -> Iterator[Finding]:
    """Measure the outline against an obstacle that meets the board's own height.

    Within the tolerances, that is; one that ends at the board's underside carries it and does not count.
    """
    if not at_the_board(room, obstacle):
        return
    gap = room.to_obstacle(room.plate, obstacle)
    required = max(obstacle.gap + gap.loose - room.made_to, gap.loose)
    if gap.nominal < required - EXACT:
        message = (
            f"the board is {gap.nominal:.2f} mm away, {required - gap.nominal:.2f} mm too near"
            if gap.nominal
            else "the board runs into it"
        )
        if not gap.nominal and not room.reaches(obstacle, room.plate):
            message = "the board comes so near in height that the tolerances may make it touch"
        yield BOARD_TO_OBSTACLE.finding(
            room.rules, gap.at, f"board and {obstacle.name}", message, gap.nominal, required,
            severity="error" if gap.worst < -EXACT else "warning",
        )  # fmt: skip


def at_the_board(room: Room, obstacle: Obstacle) -> bool:
    """Tell whether an obstacle may be at the board's own height with every ± against it, and does not carry it."""
    if obstacle.top is not None and abs(obstacle.top - room.underside) <= EXACT:
        return False
    return meets_board(obstacle, room.cavity, room.rules.thickness)


def part_to_walls(room: Room, solid: Solid) -> Iterator[Finding]:
    """Measure a solid against the walls; ground behind openings that it fits through in height is free."""
    gap = room.to_walls(solid)
    if gap.worst < -EXACT:
        message = (
            f"{solid.words} {solid.verb('reaches', 'reach')} {-gap.nominal:.2f} mm into the wall"
            if gap.nominal < 0
            else f"{solid.words} {solid.verb('is', 'are')} {gap.nominal:.2f} mm from the wall"
        )
        message += f": {-gap.worst:.2f} mm too near with the tolerances"
        yield PART_TO_WALL.finding(room.rules, gap.at, f"{solid.words} and wall", message, gap.nominal, gap.loose)


def part_to_obstacle(room: Room, solid: Solid, obstacle: Obstacle) -> Iterator[Finding]:
    """Measure a solid against an obstacle, if their heights may meet within the tolerances.

    Over a step of the floor and under one of the lid it is the heights that are measured, in `heights`, unless the
    step carries the board.
    """
    if not room.reaches(obstacle, solid, worst=True):
        return
    gap = room.to_obstacle(solid, obstacle)
    if obstacle.kind in STEPS and not obstacle.carries and gap.nominal <= 0:
        return
    if gap.worst < -EXACT:
        near = (
            f"{solid.words} {solid.verb('is', 'are')} {gap.nominal:.2f} mm from {obstacle.name}, "
            f"{-gap.worst:.2f} mm too near"
        )
        message = near if gap.nominal else f"{solid.words} {solid.verb('runs', 'run')} into {obstacle.name}"
        where = f"{solid.words} and {obstacle.name}"
        yield PART_TO_OBSTACLE.finding(room.rules, gap.at, where, message, gap.nominal, gap.loose)
