"""Leads, pegs and screws find their holes: there, in their place, and as wide as they ask."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from modboard.artwork.model import Drill, Owner
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import pad_name, spot
from modboard.geometry import TOLERANCE
from modboard.library.model import Hole

HOLE_FIT = Rule(
    "hole-fit",
    "error",
    "every lead, peg and screw has a hole, in its place and no narrower than it asks",
    "put the hole back as the footprint has it",
    source="the footprints of the design; drilled holes stand within 0.05 mm, common practice",
)
RULES = (HOLE_FIT,)

OFF_PLACE = 0.05  # mm that a hole may stand beside its place: what drilling machines hold, common practice


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look for the hole of each lead, peg and screw of the board."""
    asked = [
        (pad_name(Owner(reference=p.reference, number=p.number, pin_name=p.pin_name)), p.hole)
        for p in seen.board.pads
        if p.hole
    ]
    asked += [(f"the hole at {spot(hole.at)}", hole) for hole in seen.board.bare_holes]
    drills = seen.artwork.drills
    tree = shapely.STRtree([d.shape.core for d in drills])
    for name, hole in asked:
        core = hole.shape().core
        near = [drills[k] for k in tree.query(core, predicate="dwithin", distance=hole.diameter / 2)]
        if not near:
            message = f"the hole of {hole.diameter:.3f} mm is not drilled"
            yield HOLE_FIT.finding(seen.rules, hole.at, name, message)
            continue
        drill = min(near, key=lambda d: (off_place(hole, d), -d.diameter))
        off = off_place(hole, drill)
        if off > OFF_PLACE + TOLERANCE:
            message = f"the hole is drilled {off:.3f} mm beside its place"
            yield HOLE_FIT.finding(seen.rules, hole.at, name, message, off, OFF_PLACE)
        elif drill.diameter < hole.diameter - TOLERANCE:
            message = f"the hole is {drill.diameter:.3f} mm wide, what goes into it asks {hole.diameter:.3f} mm"
            yield HOLE_FIT.finding(seen.rules, hole.at, name, message, drill.diameter, hole.diameter)


def off_place(hole: Hole, drill: Drill) -> float:
    """Return how far (mm) the drilled hole is from the one asked for: of slots, the end that is farther off."""
    ends, drilled = (hole.at, hole.to or hole.at), (drill.at, drill.to or drill.at)
    return min(max(math.dist(a, b) for a, b in zip(ends, way, strict=True)) for way in (drilled, drilled[::-1]))
