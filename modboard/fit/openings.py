"""Openings: a part placed at one is in line, passes, and can be reached by its plug; wires that must leave can."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.model import AtEdge, Opening
from modboard.fit.distance import EXACT
from modboard.fit.room import Room, Solid
from modboard.geometry import Position

ALIGNED = 0.5  # mm that a part's middle may be off the opening's, common practice
REACH = 2.0  # mm that a part's front may stand back from the inner face of the wall, common practice
SEATED = 0.5  # mm that a plug may lack to be fully home, common practice
WIRE = 1.5  # mm, insulated hook-up wire of 7 × 0.2 mm with room to pull it, common practice
FILLED = 0.5  # part of an opening that round wires fill, common practice
# mm, the thickest metal of the plug that must get through: shell over the barrel, pin, barrel (from memory)
METAL = {"phono-jack": 8.3, "jack-3.5mm": 3.5, "dc-jack": 5.5}
BEFORE = 2.0  # mm inside the wall that wires need to bend away, common practice

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
PLUG_CLEAR = Rule(
    "plug-clear",
    "error",
    "the body of the plug passes through the opening, or stops outside with the plug fully home",
    "let the part overhang until its front is flush with the wall's outer face, or choose a plug with a slimmer body",
    source="the cavity and the plug as measured",
)
WIRES_LEAVE = Rule(
    "wires-leave",
    "error",
    "wires that leave the cavity have an opening with room for them, and nothing in front of it",
    "move what stands in front, take another opening, or add opening(..., wires=True) where the wires leave",
    source="wire of 1.5 mm, half of an opening filled, common practice",
)
RULES = (OPENING_LINE, OPENING_REACH, OPENING_PASS, PLUG_CLEAR, WIRES_LEAVE)


def inspect(room: Room) -> Iterator[Finding]:
    """Measure every part that was placed at the edge facing an opening, alongside it, and the way of the wires."""
    for opening in room.cavity.openings:
        for reference, solids in at_opening(room, opening).items():
            yield from measured(room, opening, reference, solids)
    yield from wires(room)


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
    """Measure one part at one opening: in line, near enough, through if it stands in it, and open to its plug."""
    back = stand_back(room, opening, solids)
    facing = front_solids(room, opening, solids)
    low, high = along(opening, facing)
    where = f"{reference} at the opening {opening.name}"
    off = (low + high) / 2 - opening.centre
    at = front_point(opening, solids)
    # In a window wider than itself a part may stand anywhere: all of its front is seen.
    allowed = max(ALIGNED, opening.width / 2 - room.cavity.within(opening.side_to) - (high - low) / 2)
    if abs(off) > allowed + EXACT:
        message = f"{reference} is {abs(off):.2f} mm out of line with {opening.name}"
        yield OPENING_LINE.finding(room.rules, at, where, message, abs(off), allowed)
    if back > REACH + EXACT:
        message = f"the front of {reference} stands {back:.2f} mm back from the wall"
        yield OPENING_REACH.finding(room.rules, at, where, message, back, REACH)
    if back < -EXACT:
        yield from through(room, opening, reference, solids, at)
    part = next(p.part for p in room.board.parts if p.part.reference == reference)
    least = METAL.get(part.footprint.family)
    if opening.plug is not None:
        yield from plugged(room, opening, reference, facing, back, at, opening.plug)
    elif least is not None:
        yield from plugged(room, opening, reference, facing, back, at, (least, least), "metal")


def front_solids(room: Room, opening: Opening, solids: list[Solid]) -> list[Solid]:
    """Return the solids of a part that look through the opening: those in it, else those foremost, else all."""
    corridor = room.corridor(opening)
    standing = [s for s in solids if s.outline.intersection(corridor).area > EXACT]
    if standing:
        return standing
    fronts = [(stand_back(room, opening, [s]), s) for s in solids]
    nearest = min(back for back, _ in fronts)
    return [s for back, s in fronts if back <= nearest + EXACT]


def front_point(opening: Opening, solids: list[Solid]) -> Position:
    """Return the middle of the part's face towards the wall."""
    x0, y0, x1, y1 = shapely.union_all([s.outline for s in solids]).bounds
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    faces = {"left": (x0, middle_y), "right": (x1, middle_y), "bottom": (middle_x, y0), "top": (middle_x, y1)}
    return faces[opening.wall]


def stand_back(room: Room, opening: Opening, solids: list[Solid]) -> float:
    """Return how far (mm) the part's front is from the wall's inner face; negative where it stands in the opening."""
    face = room.wall_face(opening)
    if face is None:
        return 0.0
    x0, y0, x1, y1 = shapely.union_all([s.outline for s in solids]).bounds
    return float({"left": x0 - face, "right": face - x1, "bottom": y0 - face, "top": face - y1}[opening.wall])


def through(room: Room, opening: Opening, reference: str, solids: list[Solid], at: Position) -> Iterator[Finding]:
    """Compare a part that stands in the opening with the opening's sides and heights, worst case."""
    corridor = room.corridor(opening)
    standing = [s for s in solids if s.outline.intersects(corridor)]
    side_to, top_to, bottom_to = (
        room.cavity.within(t) for t in (opening.side_to, opening.top_to, opening.bottom_to)
    )  # fmt: skip
    lacks: list[tuple[float, str, float]] = []
    for solid in standing:
        low, high = along(opening, [solid])
        half, held, below_to = opening.width / 2, room.height_to(solid), room.low_to(solid)
        lacks.append((high - (opening.centre + half - side_to), "beside it", side_to))
        lacks.append((opening.centre - half + side_to - low, "beside it", side_to))
        if opening.top is not None:
            lacks.append((solid.high + held - (opening.top - top_to), "above it", top_to + held))
        if opening.bottom is not None:
            lacks.append((opening.bottom + bottom_to - (solid.low - below_to), "below it", bottom_to + below_to))
    lack, side, loose = max(lacks, default=(0.0, "", 0.0))
    if lack > EXACT:
        message = f"{reference} does not pass through {opening.name}: {lack:.2f} mm lack {side}"
        where = f"{reference} in the opening {opening.name}"
        yield OPENING_PASS.finding(room.rules, at, where, message, loose - lack, loose)


def plugged(
    room: Room, opening: Opening, reference: str, facing: list[Solid], back: float, at: Position,
    plug: tuple[float, float], what: str = "body",
) -> Iterator[Finding]:  # fmt: skip
    """Ask whether the plug's body goes through the opening at worst, or else stops at the wall with the plug home.

    Of one that nobody measured it is the metal that is asked about.  The plug is on the axis of what looks through the
    opening; its body stops at the wall's outer face.
    """
    wide, tall = plug
    low, high = along(opening, facing)
    middle, half = (low + high) / 2, opening.width / 2
    side_to = room.cavity.within(opening.side_to)
    spare = [middle - wide / 2 - (opening.centre - half + side_to), opening.centre + half - side_to - middle - wide / 2]
    axis = (min(s.low for s in facing) + max(s.high for s in facing)) / 2
    held = max(room.height_to(s) for s in facing)
    if opening.top is not None:
        spare.append(opening.top - room.cavity.within(opening.top_to) - held - axis - tall / 2)
    if opening.bottom is not None:
        spare.append(axis - tall / 2 - opening.bottom - room.cavity.within(opening.bottom_to) - held)
    lacks = back + opening.thick  # from the part's front to the wall's outer face
    if min(spare) < -EXACT and lacks > SEATED + EXACT:
        message = (
            f"the plug's {what} of {wide:g} × {tall:g} mm does not pass through {opening.name}, "
            f"{-min(spare):.2f} mm lack, and stops {lacks:.2f} mm before {reference} is reached"
        )
        where = f"the plug of {reference} at the opening {opening.name}"
        yield PLUG_CLEAR.finding(room.rules, at, where, message, lacks, SEATED)


def wires(room: Room) -> Iterator[Finding]:
    """Ask whether the wires that are said to go to a place outside the walls have a way out."""
    ways = [o for o in room.cavity.openings if o.wires]
    leaving = [
        w
        for w in room.board.description.wires
        if w.at is not None and not room.cavity.inside.covers(shapely.Point(w.at))
    ]
    count = len(leaving) if leaving else len(room.board.description.wires)
    if leaving and not ways:
        pin = f"{leaving[0].pin[0]}.{leaving[0].pin[1]}"
        more = f" and {len(leaving) - 1} more" if len(leaving) > 1 else ""
        message = f"the wire from {pin}{more} must leave the cavity, and no opening is kept for wires"
        yield WIRES_LEAVE.finding(room.rules, None, "wires out of the cavity", message)
    for opening in ways:
        yield from _way_out(room, opening, max(1, count), len(ways))


def _way_out(room: Room, opening: Opening, count: int, ways: int) -> Iterator[Finding]:
    """Compare the room of an opening with its share of the wires, and look for what stands in front of it."""
    share = -(-count // ways)
    low, high = opening_heights(room, opening)
    across = opening.width - 2 * room.cavity.within(opening.side_to)
    up = high - low - room.cavity.within(opening.top_to) - room.cavity.within(opening.bottom_to)
    holds = 0
    if min(across, up) >= WIRE - EXACT:
        holds = max(1, math.floor(FILLED * across * up / (math.pi * WIRE**2 / 4) + EXACT))
    where = f"wires through the opening {opening.name}"
    if holds < share:
        message = f"{opening.name} has room for {holds} wires of {WIRE:g} mm, and {share} must leave"
        yield WIRES_LEAVE.finding(room.rules, None, where, message, float(holds), float(share), unit="wires")
        return
    corridor = room.corridor(opening)
    if corridor.is_empty:
        return
    before = corridor.buffer(BEFORE, join_style="mitre").intersection(room.cavity.inside)
    middle = (low + high) / 2
    blocking = [
        s
        for s in (room.plate, *room.solids)
        if s.low < middle < s.high and s.outline.buffer(EXACT).covers(_core(before))
    ]
    if blocking:
        stands = f"{blocking[0].words} {blocking[0].verb('stands', 'stand')}"
        message = f"{stands} in front of {opening.name}, where wires must leave"
        yield WIRES_LEAVE.finding(room.rules, blocking[0].middle, where, message)


def _core(area: object) -> object:
    """Return the middle of an area, along the wall."""
    return shapely.buffer(area, -WIRE / 2)


def opening_heights(room: Room, opening: Opening) -> tuple[float, float]:
    """Return from and to which height an opening reaches, as high as the lid where nobody said."""
    low = opening.bottom or 0.0
    high = opening.top if opening.top is not None else room.cavity.height
    return low, high if high is not None else low + opening.width
