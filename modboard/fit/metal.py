"""Bare metal of the host beside, under and over the board: what carries volts keeps away from it or is insulated."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.faces import obstacle_to, walls_to
from modboard.fit.distance import EXACT
from modboard.fit.room import Room

AIR = 1.0  # mm between anything live and bare metal, the worst case; common practice below 50 V

METAL_GAP = Rule(
    "metal-gap",
    "warning",
    "leads, solder and copper keep 1 mm of air to bare metal of the host, every ± included",
    "lay insulating sheet (fish paper or polyimide tape, 0.25 mm or more) on the metal there, or give it more room",
    source="common practice",
)
RULES = (METAL_GAP,)


@dataclass(frozen=True, eq=False)
class Live:
    """Something that carries volts: its plan (shapely) from height `low` to `high`."""

    words: str
    plan: Any
    low: float
    high: float


def inspect(room: Room) -> Iterator[Finding]:
    """Measure every lead and both faces' copper against walls, floor, lid and obstacles of bare metal, each apart."""
    metal = [o for o in room.cavity.obstacles if o.metal]
    if not metal and not room.cavity.metal:
        return
    for live in live_things(room):
        for worst, what in (*_to_room(room, live), *_to_obstacles(room, live)):
            if worst >= AIR - EXACT:
                continue
            at = live.plan.representative_point()
            message = f"{live.words} may come within {max(0.0, worst):.2f} mm of the bare metal of {what}"
            if worst <= EXACT:
                message = f"{live.words} may touch the bare metal of {what}"
            yield METAL_GAP.finding(room.rules, (at.x, at.y), f"{live.words} and {what}", message, max(0.0, worst), AIR)


def live_things(room: Room) -> list[Live]:
    """Return the leads of every part, and the copper on each face of the board."""
    found = [Live(s.words, s.outline, s.low, s.high) for s in room.solids if s.what == "leads"]
    for side, level in (("top", room.topside), ("bottom", room.underside)):
        copper = [p.shape.covering_polygon() for p in room.board.pads if side in p.layers]
        copper += [t.shape.covering_polygon() for t in room.board.tracks if t.layer == side]
        copper += [v.shape.covering_polygon() for v in room.board.vias]
        copper += [p.area for p in room.board.pours if p.layer == side]
        if copper:
            found.append(Live(f"the {side} copper", shapely.union_all(copper), level, level))
    return found


def _to_room(room: Room, live: Live) -> Iterator[tuple[float, str]]:
    """Walk the worst distance to floor, lid and walls, if they are metal."""
    if not room.cavity.metal:
        return
    cavity = room.cavity
    held = cavity.board_at_to
    yield live.low - (held or cavity.measured_to), "the floor"
    if cavity.height is not None:
        yield cavity.height - live.high - cavity.within(cavity.height_to) - room.level_to(live.high), "the lid"
    walls = shapely.get_parts(cavity.inside.boundary)
    away = min(float(live.plan.distance(w)) for w in walls) if cavity.inside.covers(live.plan) else 0.0
    yield away - max(walls_to(cavity)) - room.made_to, "the wall"


def _to_obstacles(room: Room, live: Live) -> Iterator[tuple[float, str]]:
    """Walk the worst straight distance to every metal obstacle: beside it, over or under it, or across a corner."""
    for obstacle in room.cavity.obstacles:
        if not obstacle.metal or (obstacle.through and live.words.endswith("copper")):
            continue
        cavity = room.cavity
        beside = float(live.plan.distance(obstacle.outline)) - max(obstacle_to(obstacle, cavity)) - room.made_to
        over = obstacle.bottom - cavity.within(obstacle.bottom_to) - room.level_to(live.high) - live.high
        under = -math.inf
        if obstacle.top is not None:
            under = live.low - obstacle.top - cavity.within(obstacle.top_to) - room.level_to(live.low)
        if obstacle.carries:  # it meets the board's face
            under = live.low - (obstacle.top or 0.0)
        yield math.hypot(max(0.0, beside), max(0.0, over, under)), obstacle.name
