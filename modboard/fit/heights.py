"""Fit in height: what stands above the board under the lid, and what hangs below it over the floor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.fit.distance import EXACT
from modboard.fit.room import LID_MARGIN, Room, Solid

UNDER_LID = Rule(
    "under-lid",
    "error",
    "parts end below the lid with a margin, every ± included",
    "choose a lower part, lay it down, or mount the board lower",
    source=f"the cavity as measured; margin {LID_MARGIN:g} mm, common practice",
)
OVER_FLOOR = Rule(
    "over-floor",
    "error",
    "parts and leads below the board end above the floor with a margin, every ± included",
    "mount the board higher, trim leads shorter, or move parts to the top",
    source=f"the cavity as measured; margin {LID_MARGIN:g} mm, common practice",
)
BOARD_UNDER_LID = Rule(
    "board-under-lid",
    "error",
    "the board itself ends below the lid",
    "mount the board lower",
    source="the cavity as measured",
)
RULES = (UNDER_LID, OVER_FLOOR, BOARD_UNDER_LID)


@dataclass(frozen=True)
class Bound:
    """What limits the room above or below the board: its height over the floor, its name, and the ± of the distance."""

    level: float
    name: str
    loose: float


def inspect(room: Room) -> Iterator[Finding]:
    """Measure each part against all that limits it in height, at its tightest solid, and the board against the lid.

    Every limit is told apart, as every obstacle is in plan: waiving one must not hide another.
    """
    yield from _board(room)
    for reference in dict.fromkeys(s.reference for s in room.solids):
        solids = [s for s in room.solids if s.reference == reference]
        over = [(bound, s, bound.level - s.high) for s in solids for bound in ceilings(room, s)]
        under = [(bound, s, s.low - bound.level) for s in solids for bound in floors(room, s)]
        for rule, found, words, place in ((UNDER_LID, over, "tall", "under"), (OVER_FLOOR, under, "low", "over")):
            for name in dict.fromkeys(bound.name for bound, _, _ in found):
                limited = [f for f in found if f[0].name == name]
                bound, solid, clear = min(limited, key=lambda f: f[2] - f[0].loose)
                margin = LID_MARGIN + bound.loose
                if clear < margin - EXACT:
                    message = f"{margin - clear:.1f} mm too {words} {place} {name}: {solid.words}"
                    where = f"{solid.words} {place} {name}"
                    yield rule.finding(room.rules, solid.middle, where, message, clear, margin)


def _board(room: Room) -> Iterator[Finding]:
    for bound in ceilings(room, room.plate):
        clear = bound.level - room.topside
        if clear < bound.loose - EXACT:
            message = f"the board's upper face is at {room.topside:.2f} mm, {bound.name} at {bound.level:.2f} mm"
            at = None if bound.name in ("the lid", CLEAR_ABOVE) else room.plate.middle
            yield BOARD_UNDER_LID.finding(room.rules, at, f"board under {bound.name}", message, clear, bound.loose)


CLEAR_ABOVE, CLEAR_BELOW = "the clear height above the board", "the clear height below the board"


def ceilings(room: Room, solid: Solid) -> list[Bound]:
    """Return what limits a solid above the board: the lid, its steps over the solid, the clear height."""
    if solid.what != "board" and solid.high <= room.topside + EXACT:
        return []
    cavity, loose = room.cavity, room.height_to(solid)
    found = []
    if cavity.height is not None:
        found.append(Bound(cavity.height, "the lid", cavity.within(cavity.height_to) + loose))
    if cavity.clear_above is not None:
        found.append(Bound(room.topside + cavity.clear_above, CLEAR_ABOVE, cavity.within(cavity.clear_above_to)))
    for step in cavity.obstacles:
        if step.kind == "lid step" and solid.what != "board" and step.outline.intersects(solid.outline):
            found.append(Bound(step.bottom, step.name, cavity.within(step.bottom_to) + loose))
    return found


def floors(room: Room, solid: Solid) -> list[Bound]:
    """Return what limits a solid that hangs below the board: the floor, its steps under the solid, the clear height."""
    if solid.low >= room.underside - EXACT:
        return []
    cavity = room.cavity
    # The floor is where heights are measured from: only where the board is held, or the depth below it, is in doubt.
    found = [Bound(0.0, "the floor", cavity.board_at_to or cavity.measured_to)]
    if cavity.clear_below is not None and room.underside - cavity.clear_below > 0:
        level = room.underside - cavity.clear_below
        found.append(Bound(level, CLEAR_BELOW, cavity.within(cavity.clear_below_to)))
    for step in cavity.obstacles:
        if step.kind == "floor step" and not step.carries and step.outline.intersects(solid.outline):
            found.append(Bound(step.top or 0.0, step.name, cavity.within(step.top_to) + cavity.board_at_to))
    return found
