"""Margins: how much room there is wherever board and parts come near the host, as measured and at worst."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from modboard.fit.distance import EXACT
from modboard.fit.heights import ceilings, floors
from modboard.fit.plan import STEPS
from modboard.fit.room import Room, Solid
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

    At worst, distances lose the ± of the face they are measured to and that of the board's outline, heights the ± of
    what is above or below, of where the board is held, and of its thickness.  Things whose heights do not meet have no
    margin in plan: above or below each other is measured instead.
    """
    if board.description.cavity is None:
        return ()
    room = Room(board, board.description.cavity)
    found = [m for solid in (room.plate, *room.solids) for m in (*_beside(room, solid), *_upright(room, solid))]
    return tuple(sorted(found, key=lambda m: (round(m.worst, 6), m.between, m.kind)))


def _beside(room: Room, solid: Solid) -> Iterator[Margin]:
    """Measure the board, a part's body or its leads against walls (openings that it passes are free) and obstacles."""
    gap = room.to_walls(solid)
    yield Margin(f"{solid.words} and the wall", "beside", gap.at, gap.nominal, gap.worst)
    for obstacle in room.cavity.obstacles:
        name = f"{solid.words} and {obstacle.name}"
        if room.reaches(obstacle, solid):
            if solid.what != "board" or not obstacle.through:
                gap = room.to_obstacle(solid, obstacle)
                yield Margin(name, "beside", gap.at, gap.nominal, gap.worst)
        elif solid.what != "board" and obstacle.kind not in STEPS and obstacle.outline.intersects(solid.outline):
            over = obstacle.bottom >= solid.high - EXACT
            clear = obstacle.bottom - solid.high if over else solid.low - (obstacle.top or 0.0)
            loose = room.cavity.within(obstacle.bottom_to if over else obstacle.top_to)
            loose += room.height_to(solid) if over else room.low_to(solid)
            yield Margin(name, "above" if over else "below", solid.middle, clear, clear - loose)


def _upright(room: Room, solid: Solid) -> Iterator[Margin]:
    """Measure what stands above the board under the lid, and what hangs below it over the floor."""
    for bound in ceilings(room, solid):
        clear = bound.level - solid.high
        yield Margin(f"{solid.words} and {bound.name}", "above", solid.middle, clear, clear - bound.loose)
    for bound in floors(room, solid):
        clear = solid.low - bound.level
        yield Margin(f"{solid.words} and {bound.name}", "below", solid.middle, clear, clear - bound.loose)


def tightest(board: Board, count: int = TIGHTEST) -> tuple[Margin, ...]:
    """Return the places with least room at worst, one for each pair of things."""
    seen: dict[str, Margin] = {}
    for margin in margins(board):
        seen.setdefault(margin.between, margin)
    return tuple(list(seen.values())[:count])
