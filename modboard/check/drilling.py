"""How holes are made: slots wide enough for the cutter, plating that reaches into deep holes, few sizes of drill."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import shapely

from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import name_of, spot
from modboard.describe.drills import ALIKE
from modboard.geometry import TOLERANCE

SLOT_WIDTH = Rule(
    "slot-width",
    "error",
    "slots, and what is cut out of the outline, are wide enough for the cutter",
    "widen the slot, or drill round holes instead",
    source="capability tables: 1.2 in the easy tier, 0.6 to 0.8 in the standard tier",
)
ASPECT_RATIO = Rule(
    "aspect-ratio",
    "error",
    "plated holes are not deeper for their width than plating reaches",
    "enlarge the hole, or take a thinner board",
    source="capability tables, thickness over finished hole",
)
DRILL_SIZES = Rule(
    "drill-sizes",
    "warning",
    "holes that differ by next to nothing are of one size, and there are few sizes",
    "give holes that may as well be alike the same diameter",
    source="common practice: eight tools, sizes closer than 0.05 mm merged",
)
RULES = (SLOT_WIDTH, ASPECT_RATIO, DRILL_SIZES)

SLOT_LEAST = {"A": 1.0, "B": 0.8, "C": 0.5}  # mm by producibility level; 1.0 is the cutter every board house has
ASPECT_MOST = {"A": 5.0, "B": 6.0, "C": 10.0}  # thickness over hole by producibility level, capability tables
CHORDS = 0.002  # mm that chords take off the width of a round cut-out: the outline's arcs are true to a micrometre
TOOLS = 8  # sizes in one job that cost nothing extra, common practice


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at slots, plated holes and the list of drills."""
    least = SLOT_LEAST[seen.rules.level]
    most = ASPECT_MOST[seen.rules.level]
    for drill in seen.artwork.drills:
        if drill.to is not None and drill.diameter < least - TOLERANCE:
            message = f"the slot is {drill.diameter:.3f} mm wide, the least is {least:.3f} mm"
            yield SLOT_WIDTH.finding(seen.rules, drill.at, name_of(drill), message, drill.diameter, least)
        ratio = seen.rules.thickness / drill.diameter
        if drill.plated and seen.rules.layers_plated and drill.diameter * most < seen.rules.thickness - TOLERANCE:
            message = f"the board is {ratio:.2f} times as thick as the hole is wide, {most:g} times can be plated"
            yield ASPECT_RATIO.finding(seen.rules, drill.at, name_of(drill), message, ratio, most, unit="times")
    yield from notches(seen)
    yield from tools(seen)


def notches(seen: Inspection) -> Iterator[Finding]:
    """Report slots, notches and cut-outs of the outline that the cutter along the edge cannot enter.

    What a disc of the cutter's size cannot reach from outside the board is a mere corner if it ends within half the
    cutter from what the disc reaches: a corner of 60 degrees does, and is left round.
    """
    cutter, outline = seen.rules.cutter, seen.board.outline
    x0, y0, x1, y1 = outline.bounds
    free = shapely.box(x0 - 2 * cutter, y0 - 2 * cutter, x1 + 2 * cutter, y1 + 2 * cutter).difference(outline)
    reached = free.buffer(-cutter / 2, quad_segs=64).buffer(cutter / 2, quad_segs=64)
    for piece in shapely.get_parts(free.difference(reached.buffer(TOLERANCE))):
        deep = shapely.distance(shapely.points(shapely.get_coordinates(piece)), reached).max()
        if deep <= cutter / 2:
            continue
        centre = shapely.maximum_inscribed_circle(piece, tolerance=TOLERANCE * 100)
        wide, at = 2 * float(centre.length), centre.coords[0]
        if wide < cutter - CHORDS:
            message = f"the edge leaves {wide:.3f} mm for a cutter of {cutter:.3f} mm"
            where = f"the outline at {spot(at)}"
            source = seen.rules.source("cutter")
            yield SLOT_WIDTH.finding(seen.rules, at, where, message, wide, cutter, source=source)


def tools(seen: Inspection) -> Iterator[Finding]:
    """Report sizes of one plating that differ by less than a drill's steps, and more sizes than come free."""
    sizes = {True: set[float](), False: set[float]()}
    for drill in seen.artwork.drills:
        sizes[drill.plated].add(round(drill.diameter, 6))
    for plated, name in ((True, "plated"), (False, "bare")):
        ordered = sorted(sizes[plated])
        for one, other in pairwise(ordered):
            if other - one < ALIKE - TOLERANCE:
                at = next(d.at for d in seen.artwork.drills if d.plated is plated and abs(d.diameter - one) < TOLERANCE)
                where = f"the {name} holes of {one:g} and {other:g} mm"
                message = f"the {name} holes of {one:g} mm and {other:g} mm may as well be alike"
                yield DRILL_SIZES.finding(seen.rules, at, where, message, other - one, ALIKE)
    count = sum(map(len, sizes.values()))
    if count > TOOLS:
        message = f"the board has holes of {count} sizes, of which some makers charge those beyond {TOOLS}"
        yield DRILL_SIZES.finding(seen.rules, None, "the whole board", message, count, TOOLS, unit="sizes")
