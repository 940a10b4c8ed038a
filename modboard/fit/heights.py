"""Fit in height: what stands above the board under the lid, and what hangs below it over the floor."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.fit.room import EXACT, LID_MARGIN, Room

UNDER_LID = Rule(
    "under-lid",
    "error",
    "parts end below the lid with a margin, the measuring tolerance included",
    "choose a lower part, lay it down, or mount the board lower",
    source=f"the cavity as measured; margin {LID_MARGIN:g} mm, common practice",
)
OVER_FLOOR = Rule(
    "over-floor",
    "error",
    "parts and leads below the board end above the floor with a margin, the measuring tolerance included",
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


def inspect(room: Room) -> Iterator[Finding]:
    """Measure the highest and the lowest solid of each part against lid and floor, and the board against the lid."""
    margin = LID_MARGIN + room.cavity.measured_to
    ceiling, lid = ceiling_of(room)
    floor, ground = floor_of(room)
    if ceiling is not None and room.topside > ceiling - room.cavity.measured_to + EXACT:
        clear = ceiling - room.topside
        message = f"the board's upper face is at {room.topside:.2f} mm, {lid} at {ceiling:.2f} mm"
        yield BOARD_UNDER_LID.finding(room.rules, None, f"board under {lid}", message, clear, room.cavity.measured_to)
    for reference in dict.fromkeys(s.reference for s in room.solids):
        solids = [s for s in room.solids if s.reference == reference]
        highest = max(solids, key=lambda s: s.high)
        lowest = min(solids, key=lambda s: s.low)
        if ceiling is not None and highest.high > room.topside + EXACT:
            clear = ceiling - highest.high
            if clear < margin - EXACT:
                message = f"{margin - clear:.1f} mm too tall under {lid}: {highest.words}"
                yield UNDER_LID.finding(
                    room.rules, highest.middle, f"{highest.words} under {lid}", message, clear, margin
                )
        if lowest.low < room.underside - EXACT:
            clear = lowest.low - floor
            if clear < margin - EXACT:
                message = f"{margin - clear:.1f} mm too low over {ground}: {lowest.words}"
                yield OVER_FLOOR.finding(
                    room.rules, lowest.middle, f"{lowest.words} over {ground}", message, clear, margin
                )


def ceiling_of(room: Room) -> tuple[float | None, str]:
    """Return the height of whatever limits the room above the board, and its name; None if nothing was measured."""
    limits = []
    if room.cavity.height is not None:
        limits.append((room.cavity.height, "the lid"))
    if room.cavity.clear_above is not None:
        limits.append((room.topside + room.cavity.clear_above, "the clear height above the board"))
    return min(limits, default=(None, ""), key=lambda limit: limit[0])


def floor_of(room: Room) -> tuple[float, str]:
    """Return the height of whatever limits the room below the board, and its name."""
    if room.cavity.clear_below is not None and room.underside - room.cavity.clear_below > 0:
        return room.underside - room.cavity.clear_below, "the clear height below the board"
    return 0.0, "the floor"
