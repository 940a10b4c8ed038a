"""Openings: a part placed at one is in line with it and comes near enough to the wall to be reached."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.model import AtEdge, Opening
from modboard.fit.room import EXACT, Room, Solid
from modboard.geometry import Position

ALIGNED = 0.5  # mm that a part's middle may be off the opening's, common practice
REACH = 2.0  # mm that a part's front may stand back from the inner face of the wall, common practice

OPENING_LINE = Rule(
    "opening-line",
    "warning",
    "a part at an opening has its middle in line with the opening's",
    "place the part with its middle at the opening's centre",
)
OPENING_REACH = Rule(
    "opening-reach",
    "warning",
    "the front of a part at an opening comes near the wall",
    "place the part nearer to the edge, let it overhang, or bring the board nearer to the wall",
)
OPENING_PASS = Rule(
    "opening-pass",
    "error",
    "a part that stands in an opening passes through it in width and height",
    "choose a smaller part, change the board's height, or enlarge the opening",
    source="the cavity as measured",
)
RULES = (OPENING_LINE, OPENING_REACH, OPENING_PASS)


def inspect(room: Room) -> Iterator[Finding]:
    """Measure every part that was placed at the edge facing an opening, alongside it."""
    for opening in room.cavity.openings:
        for reference, solids in at_opening(room, opening).items():
            yield from measured(room, opening, reference, solids)


def at_opening(room: Room, opening: Opening) -> dict[str, list[Solid]]:
    """Return the bodies of the parts that were asked to stand at the opening's wall and overlap its width."""
    found: dict[str, list[Solid]] = {}
    for reference, wish in sorted(room.board.description.wishes.items()):
        if not isinstance(wish, AtEdge) or wish.wall != opening.wall:
            continue
        solids = [s for s in room.solids if s.reference == reference and s.what == "body"]
        if solids:
            low, high = along(opening, solids)
            if low < opening.centre + opening.width / 2 and high > opening.centre - opening.width / 2:
                found[reference] = solids
    return found


def along(opening: Opening, solids: list[Solid]) -> tuple[float, float]:
    """Return how far solids reach along the opening's wall: least and greatest coordinate."""
    x0, y0, x1, y1 = shapely.union_all([s.outline for s in solids]).bounds
    return (y0, y1) if opening.wall in ("left", "right") else (x0, x1)


def measured(room: Room, opening: Opening, reference: str, solids: list[Solid]) -> Iterator[Finding]:
    """Measure one part at one opening: in line, near enough, and through if it stands in the opening."""
    low, high = along(opening, solids)
    where = f"{reference} at the opening {opening.name}"
    off = (low + high) / 2 - opening.centre
    at = front_point(opening, solids)
    if abs(off) > ALIGNED + EXACT:
        message = f"{reference} is {abs(off):.2f} mm out of line with {opening.name}"
        yield OPENING_LINE.finding(room.rules, at, where, message, abs(off), ALIGNED)
    back = stand_back(room, opening, solids)
    if back > REACH + EXACT:
        message = f"the front of {reference} stands {back:.2f} mm back from the wall"
        yield OPENING_REACH.finding(room.rules, at, where, message, back, REACH)
    if back < -EXACT:
        yield from through(room, opening, reference, solids, at)


def front_point(opening: Opening, solids: list[Solid]) -> Position:
    """Return the middle of the part's face towards the wall."""
    x0, y0, x1, y1 = shapely.union_all([s.outline for s in solids]).bounds
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    faces = {"left": (x0, middle_y), "right": (x1, middle_y), "bottom": (middle_x, y0), "top": (middle_x, y1)}
    return faces[opening.wall]


def stand_back(room: Room, opening: Opening, solids: list[Solid]) -> float:
    """Return how far (mm) the part's front is from the wall's inner face; negative where it stands in the opening."""
    corridor = room.corridor(opening)
    if corridor.is_empty:
        return 0.0
    wall = corridor.bounds
    x0, y0, x1, y1 = shapely.union_all([s.outline for s in solids]).bounds
    return float(
        {"left": x0 - wall[2], "right": wall[0] - x1, "bottom": y0 - wall[3], "top": wall[1] - y1}[opening.wall]
    )


def through(room: Room, opening: Opening, reference: str, solids: list[Solid], at: Position) -> Iterator[Finding]:
    """Compare a part that stands in the opening with the opening's sides and heights, worst case."""
    corridor = room.corridor(opening)
    standing = [s for s in solids if s.outline.intersects(corridor)]
    slack = room.cavity.measured_to
    where = f"{reference} in the opening {opening.name}"
    lacks: list[tuple[float, str]] = []
    for solid in standing:
        low, high = along(opening, [solid])
        half = opening.width / 2
        lacks.append((high - (opening.centre + half - slack), "beside it"))
        lacks.append((opening.centre - half + slack - low, "beside it"))
        if opening.top is not None:
            lacks.append((solid.high - (opening.top - slack), "above it"))
        if opening.bottom is not None:
            lacks.append((opening.bottom + slack - solid.low, "below it"))
    lack, side = max(lacks, default=(0.0, ""))
    if lack > EXACT:
        message = f"{reference} does not pass through {opening.name}: {lack:.2f} mm lack {side}"
        yield OPENING_PASS.finding(room.rules, at, where, message, slack - lack, slack)
