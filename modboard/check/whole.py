"""The board as a whole: copper on both sides alike where a large board would warp, and every net open to a probe."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import shapely
from shapely.geometry import Polygon

from modboard.check.copper import drawn
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.layout.board import COPPER_LAYERS, CopperLayer

COPPER_BALANCE = Rule(
    "copper-balance",
    "warning",
    "a large board has about as much copper on one side as on the other, so that it stays flat",
    "pour copper on the emptier side as well",
    source="common practice: coverage of the sides within 25 percent of the board's area, for boards over 100 mm",
)
TEST_ACCESS = Rule(
    "test-access",
    "warning",
    "a probe can touch every net once the board is built",
    "leave part of a land of the net uncovered, or add a wire pad to it as a test point",
    source="common practice: half a millimetre of bare copper for a hand-held probe",
)
RULES = (COPPER_BALANCE, TEST_ACCESS)

LARGE = 100.0  # mm diagonal from which warping is felt: 0.75 percent bow (IPC-6012, from memory) of less is unseen
BALANCE = 0.25  # of the board's area by which the sides may differ, common practice
PROBE = 0.5  # mm across that a hand-held probe needs, common practice


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Weigh both sides, then look for a place to probe each net."""
    yield from balance(seen)
    yield from access(seen)


def balance(seen: Inspection) -> Iterator[Finding]:
    """Compare how much of each side is copper, on boards large enough to warp."""
    x0, y0, x1, y1 = seen.board.outline.bounds
    if math.hypot(x1 - x0, y1 - y0) <= LARGE:
        return
    covered = {
        side: shapely.union_all([f.shape.polygon(8) for f in drawn(seen.artwork, "copper", side)]).area
        / seen.board.outline.area
        for side in COPPER_LAYERS
    }
    apart = abs(covered["top"] - covered["bottom"])
    if apart > BALANCE:
        message = f"copper covers {covered['top']:.0%} of the top and {covered['bottom']:.0%} of the bottom"
        yield COPPER_BALANCE.finding(
            seen.rules, None, "the whole board", message, 100 * apart, 100 * BALANCE, unit="% of the area"
        )


def access(seen: Inspection) -> Iterator[Finding]:
    """Report nets of two pins or more without bare copper that no fitted body covers."""
    bare = {side: openings(seen, side) for side in COPPER_LAYERS}
    cover = {side: shapely.union_all(bodies(seen, side)) for side in COPPER_LAYERS}
    reachable: set[str] = set()
    for layer in seen.copper.layers.values():
        for item in layer.items:
            if item.net in reachable or not (item.is_pad or item.feature.function == "via-pad"):
                continue
            land = item.shape.polygon(8)
            shown = land if bare[layer.layer] is None else land.intersection(bare[layer.layer])
            shown = shown.difference(cover[layer.layer])
            if not shown.buffer(-PROBE / 2 * 0.98).is_empty:  # chords cut up to 2 percent off a disc
                reachable.add(item.net)
    for net in seen.description.nets:
        if len(net.pins) > 1 and net.name not in reachable:
            at = seen.pad_places.get(net.pins[0])
            message = f"bodies and mask leave less than {PROBE:g} mm of bare copper on {net.name} anywhere"
            yield TEST_ACCESS.finding(seen.rules, at, f"net {net.name}", message)


def openings(seen: Inspection, side: CopperLayer) -> Any:
    """Return what the mask of one side leaves bare; None if there is no mask."""
    if not seen.rules.mask:
        return None
    return shapely.union_all([f.shape.polygon(8) for f in drawn(seen.artwork, "mask", side)])


def bodies(seen: Inspection, side: CopperLayer) -> list[Any]:
    """Return the outlines of the fitted bodies that lie on one side; what stands clear of the board is no cover."""
    return [
        Polygon(body.outline)
        for placed in seen.board.parts
        if placed.body_side == side and placed.part.fitted
        for body in placed.bodies()
    ]
