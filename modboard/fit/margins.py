"""Margins: how much room there is wherever board and parts come near the host, as measured and at worst."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from modboard.fit.heights import ceiling_of, floor_of
from modboard.fit.plan import reaches
from modboard.fit.room import EXACT, Room, Solid, apart, clearance, closest
from modboard.geometry import Position
from modboard.layout.board import Board

TIGHTEST = 3  # places that are told in words


@dataclass(frozen=True)
class Margin:
    """Room (mm) at one place: `nominal` as measured, `worst` with every tolerance against it; negative is a clash.

    `between` names the two things, `kind` says in which direction the room is: "beside", "above" or "below".
    """

    between: str
    kind: str
    at: Position | None
    nominal: float
    worst: float

    @property
    def words(self) -> str:
        """Return 'C3 and the lid: 1.20 mm above it as measured, 0.90 mm at worst, at 12.0, 4.5 mm'."""
        place = "" if self.at is None else f", at {self.at[0]:.1f}, {self.at[1]:.1f} mm"
        side = "between them" if self.kind == "beside" else f"{self.kind} it"
        return f"{self.between}: {self.nominal:.2f} mm {side} as measured, {self.worst:.2f} mm at worst{place}"


def margins(board: Board) -> tuple[Margin, ...]:
    """Return the room everywhere between board or parts and the cavity, tightest first; nothing without a cavity.

    Plan distances lose the measuring and the outline tolerance at worst, heights the measuring tolerance.  Things
    whose heights do not meet have no margin in plan: above or below each other is measured instead.
    """
    if board.description.cavity is None:
        return ()
    room = Room(board, board.description.cavity)
    found = [*_board(room), *(m for solid in room.solids for m in (*_beside(room, solid), *_upright(room, solid)))]
    return tuple(sorted(found, key=lambda m: (round(m.worst, 6), m.between, m.kind)))


def _board(room: Room) -> Iterator[Margin]:
    """Measure the board's outline against walls and what stands at its height."""
    outline, inside = room.board.outline, room.cavity.inside
    gap = clearance(outline, inside)
    yield Margin("the board and the wall", "beside", closest(outline, inside), gap, gap - room.in_plan)
    for obstacle in room.cavity.obstacles:
        if reaches(obstacle, room.underside, room.topside):
            gap, at = apart(outline, obstacle)
            yield Margin(f"the board and {obstacle.name}", "beside", at, gap, gap - room.in_plan)


def _beside(room: Room, solid: Solid) -> Iterator[Margin]:
    """Measure a part's body or leads against walls (openings that it passes are free) and obstacles."""
    free = [room.corridor(o) for o in room.cavity.openings if room.passes_in_height(o, solid)]
    ground = shapely.union_all([room.cavity.inside, *free])
    gap = clearance(solid.outline, ground)
    yield Margin(f"{solid.words} and the wall", "beside", closest(solid.outline, ground), gap, gap - room.in_plan)
    for obstacle in room.cavity.obstacles:
        if reaches(obstacle, solid.low, solid.high):
            gap, at = apart(solid.outline, obstacle)
            yield Margin(f"{solid.words} and {obstacle.name}", "beside", at, gap, gap - room.in_plan)
        elif obstacle.outline.intersects(solid.outline):
            over = obstacle.bottom >= solid.high - EXACT
            gap = obstacle.bottom - solid.high if over else solid.low - (obstacle.top or 0.0)
            at = solid.middle
            kind = "above" if over else "below"
            yield Margin(f"{solid.words} and {obstacle.name}", kind, at, gap, gap - 2 * room.cavity.measured_to)


def _upright(room: Room, solid: Solid) -> Iterator[Margin]:
    """Measure what stands above the board under the lid, and what hangs below it over the floor."""
    slack = room.cavity.measured_to
    ceiling, lid = ceiling_of(room)
    if ceiling is not None and solid.high > room.topside + EXACT:
        gap = ceiling - solid.high
        yield Margin(f"{solid.words} and {lid}", "above", solid.middle, gap, gap - slack)
    if solid.low < room.underside - EXACT:
        floor, ground = floor_of(room)
        gap = solid.low - floor
        yield Margin(f"{solid.words} and {ground}", "below", solid.middle, gap, gap - slack)


def tightest(board: Board, count: int = TIGHTEST) -> tuple[Margin, ...]:
    """Return the places with least room at worst, one for each pair of things."""
    seen: dict[str, Margin] = {}
    for margin in margins(board):
        seen.setdefault(margin.between, margin)
    return tuple(list(seen.values())[:count])
