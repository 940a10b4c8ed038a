"""Vias: covered by mask on both sides or on none, and clear of surface lands, whose solder they would drink."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from modboard.artwork.model import Drill, Feature, Flash
from modboard.check.copper import drawn
from modboard.check.enclosure import enclosure
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import name_of
from modboard.geometry import TOLERANCE
from modboard.layout.board import CopperLayer

VIA_MASK = Rule(
    "via-mask",
    "warning",
    "mask covers both ends of a small via and neither end of a larger one",
    "open both ends of the via in the mask, or cover both",
    limit="tent_vias_up_to",
    source="IPC-4761: tenting from one side only traps chemicals",
)
VIA_IN_LAND = Rule(
    "via-in-land",
    "warning",
    "vias keep off surface lands, whose solder would run into the hole",
    "move the via beside the land and join them by a track",
)
RULES = (VIA_MASK, VIA_IN_LAND)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every via."""
    vias = [d for d in seen.artwork.drills if d.function == "via-drill"]
    shapes = ShapeSet([d.shape for d in vias])
    open_ends: dict[int, set[CopperLayer]] = {number: set() for number in range(len(vias))}
    for side in seen.copper.layers:
        lands = [f for f in drawn(seen.artwork, "copper", side) if isinstance(f, Flash) and f.function == "surface-pad"]
        for i, j, gap in ShapeSet([f.shape for f in lands]).within(shapes, 0.0):
            where = f"{name_of(vias[i])} and {name_of(lands[j])}, {side}"
            message = f"the hole of the via reaches {-gap:.3f} mm into the land"
            yield VIA_IN_LAND.finding(seen.rules, vias[i].at, where, message, gap, 0.0)
        openings, bare = seen.openings[side]
        over: dict[int, list[Feature]] = {}
        for i, j, _ in bare.within(shapes, 0.0):
            over.setdefault(i, []).append(openings[j])
        for i, found in over.items():
            open_ends[i].add(side)
            if not uncovered(vias[i], found):
                message = f"the edge of an opening crosses the hole of the via on the {side}: part of it is covered"
                yield VIA_MASK.finding(seen.rules, vias[i].at, f"{name_of(vias[i])}, {side}", message)
    if not seen.rules.mask:
        return
    for number, via in enumerate(vias):
        ends = open_ends[number]
        if len(ends) == 1:
            side = next(iter(ends))
            message = f"the mask covers the via on one side only; it is open on the {side}"
            yield VIA_MASK.finding(seen.rules, via.at, name_of(via), message)
        elif not ends and via.diameter > seen.rules.tent_vias_up_to + TOLERANCE:
            most = seen.rules.tent_vias_up_to
            message = f"mask is to span a hole of {via.diameter:.3f} mm; it holds up to {most:.3f} mm"
            yield VIA_MASK.finding(seen.rules, via.at, name_of(via), message, via.diameter, most)


def uncovered(via: Drill, openings: Sequence[Feature]) -> bool:
    """Tell whether openings that reach over a via lay all of its hole bare, one alone or several together."""
    if any(enclosure(opening.shape, via.shape) >= -TOLERANCE for opening in openings):
        return True
    bare = shapely.union_all([opening.shape.covering_polygon() for opening in openings])
    return bool(bare.covers(via.shape.polygon()))
