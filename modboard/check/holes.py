"""Holes: the ring of copper round them, their sizes, and their distance from each other and from copper."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.artwork.model import Drill, Flash, Owner
from modboard.check.copper import LayerCopper
from modboard.check.enclosure import enclosure
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import between, middle, name_of
from modboard.geometry import TOLERANCE, Shape, circle

ANNULAR_RING = Rule(
    "annular-ring",
    "error",
    "copper surrounds every lead and via hole by the least ring: on both layers, of leads without plating on one",
    "enlarge the land, make the hole smaller, or centre the hole in its land",
    limit="ring_pad",
)
HOLE_SIZE = Rule(
    "hole-size",
    "error",
    "finished holes are of a size the board house drills",
    "choose a hole within the range",
    limit="hole_min",
)
HOLE_TO_HOLE = Rule(
    "hole-to-hole",
    "error",
    "walls of holes keep apart, so that no drill wanders into another hole",
    "move one of the holes, or make one slot of both",
    limit="hole_to_hole",
)
BARE_HOLE_TO_COPPER = Rule(
    "bare-hole-to-copper",
    "error",
    "copper keeps off holes that are not plated",
    "move the copper or the hole",
    limit="bare_hole_to_copper",
)
KEEP_OUT = Rule(
    "keep-out",
    "error",
    "copper and parts stay outside the screw head or washer of a mounting hole",
    "move it off the screw's land, or state a smaller keep-out for the hole",
    source="the design",
)
LAND_SIZE = Rule(
    "land-size",
    "error",
    "drilled lands are large enough to be hit by a hand drill",
    "enlarge the land",
    limit="pad_land_min",
)
RULES = (ANNULAR_RING, HOLE_SIZE, HOLE_TO_HOLE, BARE_HOLE_TO_COPPER, KEEP_OUT, LAND_SIZE)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure every hole."""
    for layer in seen.copper.layers.values():
        bare = bare_leads(seen, layer)
        yield from rings(seen, layer, bare)
        yield from bare_holes(seen, layer, bare)
    yield from sizes(seen)
    yield from spacing(seen)


def rings(seen: Inspection, layer: LayerCopper, bare: set[Drill]) -> Iterator[Finding]:
    """Measure the least ring of each hole on one layer, from its edge to its own land's; `bare` leads need none."""
    if seen.rules.one_sided and layer.layer == "top":
        return  # there is copper at the bottom only
    lands = flashes(layer)
    for drill in seen.pad_drills:
        if drill in bare:
            continue
        via = drill.function == "via-drill"
        required = seen.rules.ring_via if via else seen.rules.ring_pad
        source = seen.rules.source("ring_via" if via else "ring_pad")
        own = lands.get(drill.owner, [])
        around = [(enclosure(f.shape, drill.shape), f) for f in own if f.shape.distance(drill.shape) < 0]
        where = f"{name_of(drill)}, {layer.layer}"
        if not around:
            message = "the hole has no land round it on this side"
            yield ANNULAR_RING.finding(seen.rules, drill.at, where, message, 0.0, required, source=source)
            continue
        ring, land = max(around, key=lambda found: found[0])
        if ring < required - TOLERANCE:
            broken = "breaks out of its land" if ring < 0 else f"leaves a ring of {ring:.3f} mm"
            message = f"the {drill.diameter:.3f} mm hole {broken}, {required:.3f} mm is asked"
            yield ANNULAR_RING.finding(seen.rules, drill.at, where, message, ring, required, source=source)
        # Close leads leave room for a land one way only; the ring guards the other.
        widest = max(land.form.width, land.form.height)
        if widest < seen.rules.pad_land_min - TOLERANCE:
            least = seen.rules.pad_land_min
            message = f"the land is {widest:.3f} mm at its widest, {least:.3f} mm is asked"
            yield LAND_SIZE.finding(seen.rules, drill.at, where, message, widest, least)


def flashes(layer: LayerCopper) -> dict[Owner, list[Flash]]:
    """Return what is flashed on a layer, by owner."""
    found: dict[Owner, list[Flash]] = {}
    for item in layer.items:
        if isinstance(item.feature, Flash):
            found.setdefault(item.feature.owner, []).append(item.feature)
    return found


def bare_leads(seen: Inspection, layer: LayerCopper) -> set[Drill]:
    """Return the leads' holes that go bare through a layer: without plating one land is enough, on the other side."""
    if seen.rules.layers_plated or seen.rules.one_sided:
        return set()
    other = next(x for x in seen.copper.layers.values() if x is not layer)
    here, there = flashes(layer), flashes(other)

    def has_land(lands: dict[Owner, list[Flash]], drill: Drill) -> bool:
        return any(f.shape.distance(drill.shape) < 0 for f in lands.get(drill.owner, []))

    leads = [d for d in seen.pad_drills if d.function != "via-drill"]
    return {d for d in leads if not has_land(here, d) and has_land(there, d)}


def sizes(seen: Inspection) -> Iterator[Finding]:
    """Compare hole diameters (slot widths) with the range of the rule set; a large bare hole can be milled."""
    least, greatest = seen.rules.hole_min, seen.rules.hole_max
    for drill in seen.artwork.drills:
        if drill.diameter < least - TOLERANCE:
            message = f"the hole is {drill.diameter:.3f} mm, the smallest drilled is {least:.3f} mm"
            yield HOLE_SIZE.finding(seen.rules, drill.at, name_of(drill), message, drill.diameter, least)
        elif drill.diameter > greatest + TOLERANCE:
            message = f"the hole is {drill.diameter:.3f} mm, the largest drilled is {greatest:.3f} mm"
            yield HOLE_SIZE.finding(
                seen.rules,
                drill.at,
                name_of(drill),
                message,
                drill.diameter,
                greatest,
                severity="error" if drill.plated else "warning",
                source=seen.rules.source("hole_max"),
            )


def spacing(seen: Inspection) -> Iterator[Finding]:
    """Measure the walls between holes."""
    drills = seen.artwork.drills
    for i, j, gap in seen.drills.within(seen.drills, seen.rules.hole_to_hole):
        if i < j:
            where = f"between {hole_name(drills[i])} and {hole_name(drills[j])}"
            at = between(drills[i].shape, drills[j].shape)
            message = "the holes run into each other" if gap <= 0 else f"the wall between the holes is {gap:.3f} mm"
            yield HOLE_TO_HOLE.finding(seen.rules, at, where, message, gap, seen.rules.hole_to_hole)


def bare_holes(seen: Inspection, layer: LayerCopper, leads: set[Drill]) -> Iterator[Finding]:
    """Measure copper against unplated holes, those of bare `leads` too, and the keep-outs of mounting holes."""
    bare = list(seen.bare_drills)
    if seen.rules.layers_plated:  # then a lead's hole without plating is as bare as any: it cuts into its own land
        bare += [d for d in seen.pad_drills if not d.plated]
    bare += [d for d in seen.pad_drills if d in leads]
    for i, j, gap in layer.shapes.within(ShapeSet([d.shape for d in bare]), seen.rules.bare_hole_to_copper):
        item, drill = layer.items[j], bare[i]
        if item.feature in leads or item.feature.function == "washer-pad":
            continue
        where = f"between {name_of(drill)} and {name_of(item.feature)}, {layer.layer}"
        message = f"copper is {gap:.3f} mm from the hole" if gap > 0 else "the hole cuts into copper"
        at = between(drill.shape, item.shape)
        yield BARE_HOLE_TO_COPPER.finding(seen.rules, at, where, message, gap, seen.rules.bare_hole_to_copper)
    screws = [(f"the mounting hole {h.name}".rstrip(), circle(h.at, h.keep_out)) for h in seen.description.holes]
    for placed in seen.board.parts:
        screwed = [placed.hole(h) for h in placed.part.footprint.holes if h.clear]
        screws += [(f"the screw of {placed.part.reference}", circle(h.at, h.clear)) for h in screwed]
    zones: list[Shape] = [zone for _, zone in screws]
    for i, j, gap in layer.shapes.within(ShapeSet(zones), 0.0):
        item, (screw, zone) = layer.items[j], screws[i]
        if item.feature.function == "washer-pad":
            continue
        where = f"{name_of(item.feature)}, {layer.layer}, at {screw}"
        message = f"copper reaches {-gap:.3f} mm under the screw head ({2 * zone.radius:g} mm across)"
        yield KEEP_OUT.finding(seen.rules, middle(zones[i]), where, message, gap, 0.0)


def hole_name(drill: Drill) -> str:
    """Return 'the hole of R1 pin 2', or where the hole is if it belongs to nothing."""
    name = name_of(drill)
    return name if name.startswith("the hole") else f"the hole of {name}"
