"""Solder mask: webs between openings, what an opening lays bare, and pads left covered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from modboard.artwork.model import Feature, Flash, Region
from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.enclosure import enclosure
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.joins import Joins
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import between, name_of
from modboard.geometry import TOLERANCE
from modboard.layout.board import CopperLayer

MASK_WEB = Rule(
    "mask-web",
    "error",
    "the mask between openings of two pads is wide enough to stay on the board",
    "move the pads apart, reduce the mask expansion, or give pads of one net a common opening",
    limit="mask_web",
)
MASK_TO_COPPER = Rule(
    "mask-to-copper",
    "error",
    "an opening in the mask keeps off copper of other nets, so that solder cannot bridge to it",
    "move the copper away from the pad, or reduce the mask expansion",
    limit="mask_to_copper",
)
MASK_MISSING = Rule(
    "mask-missing",
    "error",
    "the whole of a land is free of mask",
    "put back the opening over the land",
    source="the land must take solder",
)
RULES = (MASK_WEB, MASK_TO_COPPER, MASK_MISSING)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure the mask of both sides, if the rule set has a mask."""
    if not seen.rules.mask:
        return
    for side, (openings, shapes) in seen.openings.items():
        yield from webs(seen, side, openings, shapes)
        yield from bared(seen, side, openings, shapes)
        yield from covered(seen, side, openings)


def webs(seen: Inspection, side: CopperLayer, openings: Sequence[Feature], shapes: ShapeSet) -> Iterator[Finding]:
    """Measure the mask left between openings; two that run into each other leave no web, which only one net may do."""
    close = [(i, j, gap) for i, j, gap in shapes.within(shapes, seen.rules.mask_web) if i < j]
    merged = Joins(len(openings))
    for i, j, gap in close:
        if gap <= TOLERANCE and one_net(openings[i], openings[j]):
            merged.join(i, j)
    for i, j, gap in close:
        one, other = openings[i], openings[j]
        if merged.group(i) == merged.group(j) or one.owner == other.owner != type(one.owner)():
            continue
        same = one_net(one, other)
        where = f"between the mask openings of {name_of(one)} and {name_of(other)}, {side}"
        message = (
            f"the mask between the openings is {gap:.3f} mm wide" if gap > 0 else "the openings run into each other"
        )
        yield MASK_WEB.finding(
            seen.rules,
            between(one.shape, other.shape),
            where,
            message,
            max(gap, 0.0),
            seen.rules.mask_web,
            severity="warning" if same else "error",
        )


def one_net(one: Feature, other: Feature) -> bool:
    """Tell whether solder between the two openings would do no harm: one net, or a hole with no copper."""
    return one.owner.net == other.owner.net or not all(f.owner.net or f.owner.reference for f in (one, other))


def bared(seen: Inspection, side: CopperLayer, openings: Sequence[Feature], shapes: ShapeSet) -> Iterator[Finding]:
    """Measure openings against copper that is not their own."""
    layer = seen.copper.layers[side]
    required = seen.rules.mask_to_copper
    for i, j, gap in layer.shapes.within(shapes, required):
        opening, item = openings[i], layer.items[j]
        if item.potential == potential_of(opening) or item.is_hole or item.feature.function == "washer-pad":
            continue
        if isinstance(opening, Region) and item.is_pad and item.feature.owner.reference == opening.owner.reference:
            continue  # the window round the fingers of a card edge bares them all
        if isinstance(opening, Region) and opening.owner.reference and lies_on_own_finger(seen, layer, item, opening):
            continue
        where = f"between the mask opening of {name_of(opening)} and {name_of(item.feature)}, {side}"
        message = (
            f"copper is {gap:.3f} mm from the opening"
            if gap > 0
            else "the opening lays bare copper that is not its own"
        )
        at = between(opening.shape, item.shape)
        yield MASK_TO_COPPER.finding(seen.rules, at, where, message, max(gap, 0.0), required)


def lies_on_own_finger(seen: Inspection, layer: LayerCopper, item: CopperItem, opening: Feature) -> bool:
    """Tell whether the window bares no more of a track than an opening of its own round its finger would."""
    of_net = [i for i in layer.items if i.is_pad and i.net == item.net]
    fingers = [i.shape.polygon() for i in of_net if i.feature.owner.reference == opening.owner.reference]
    bared = item.shape.polygon().intersection(opening.shape.polygon())
    around = shapely.union_all(fingers).buffer(seen.rules.mask_expansion + TOLERANCE, join_style="mitre")
    return not bared.difference(around).buffer(-TOLERANCE).area


def potential_of(opening: Feature) -> str:
    """Return what the copper under an opening should be joined to, in the words of `CopperItem.potential`."""
    return CopperItem(opening, "top", 0).potential


def covered(seen: Inspection, side: CopperLayer, openings: Sequence[Feature]) -> Iterator[Finding]:
    """Report lands that no opening of their own lays wholly bare."""
    own: dict[tuple[str, str], list[Feature]] = {}
    for opening in openings:
        own.setdefault((opening.owner.reference, opening.owner.number), []).append(opening)
    for item in seen.copper.layers[side].items:
        land = item.feature
        if not (item.is_pad and isinstance(land, Flash)):
            continue
        over = [o for number in (land.owner.number, "") for o in own.get((land.owner.reference, number), [])]
        room = max((enclosure(o.shape, land.shape) for o in over), default=None)
        if room is None or room < -TOLERANCE:
            where = f"{name_of(land)}, {side}"
            message = "the land has no opening in the mask" if room is None else "the mask covers part of the land"
            yield MASK_MISSING.finding(seen.rules, land.at, where, message, room, None if room is None else 0.0)
