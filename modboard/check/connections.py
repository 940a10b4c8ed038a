"""Opens and loose ends: a net's pads must hang together by touching copper and plated holes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from modboard.artwork.model import Drill, Stroke
from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import listed, middle, name_of, spot
from modboard.geometry import TOLERANCE, Position, circle

OPEN = Rule(
    "open",
    "error",
    "all pads of a net are joined by copper",
    "draw the missing track, or give the layout more room",
    source="the netlist of the design",
)
UNROUTED = Rule(
    "unrouted",
    "error",
    "every connection of the design is made",
    "give more room: a larger outline, narrower tracks or gaps, parts turned or moved, or a pour for the net",
    source="the netlist of the design",
)
PAD_MISSING = Rule(
    "pad-missing",
    "error",
    "every pin of a net has a land in the artwork",
    "put the land back into the artwork",
    source="the netlist of the design",
)
DANGLING_TRACK = Rule(
    "dangling-track",
    "warning",
    "both ends of a track meet copper of its net",
    "remove the loose end or lead it to a pad",
)
DANGLING_VIA = Rule(
    "dangling-via", "warning", "a via joins copper on both layers", "remove the via, or lead copper to both its ends"
)
RULES = (OPEN, UNROUTED, PAD_MISSING, DANGLING_TRACK, DANGLING_VIA)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look for nets in pieces, connections not made, and ends that lead nowhere."""
    yield from opens(seen)
    for gap in seen.board.unrouted:
        pads = {(p.reference, p.number): p.at for p in seen.board.pads}
        start, end = (".".join(pin) for pin in (gap.start, gap.end))
        message = f"no way was found for {gap.net} from {start} to {end}: {gap.reason}"
        yield UNROUTED.finding(seen.rules, pads.get(gap.start), f"net {gap.net}, between {start} and {end}", message)
    loose: set[int] = set()
    first = 0
    for layer in seen.copper.layers.values():
        for number, at in loose_ends(layer):
            loose.add(first + number)
            where = f"the track of {layer.items[number].net or 'no net'} at {spot(at)}, {layer.layer}"
            yield DANGLING_TRACK.finding(seen.rules, at, where, "the end of the track meets nothing")
        first += len(layer.items)
    yield from adrift(seen, loose)
    yield from loose_vias(seen)


def opens(seen: Inspection) -> Iterator[Finding]:
    """Report each group of a net's pads that is apart from the net's largest group."""
    pads: dict[str, dict[int, list[CopperItem]]] = {}
    for number, item in enumerate(seen.copper.items):
        if item.is_pad and item.net:
            pads.setdefault(item.net, {}).setdefault(seen.copper.joins.group(number), []).append(item)
    for net in seen.description.nets:
        groups = pads.get(net.name, {})
        drawn = {(i.feature.owner.reference, i.feature.owner.number) for g in groups.values() for i in g}
        for pin in net.pins:
            if pin not in drawn:
                yield PAD_MISSING.finding(
                    seen.rules, None, ".".join(pin), f"net {net.name} has no land for {'.'.join(pin)}"
                )
        named = [(pin_names(items), items) for items in groups.values()]
        named.sort(key=lambda group: (-len(group[0]), group[0]))
        for names, items in named[1:]:
            message = f"net {net.name} is in {len(named)} pieces: {listed(names)} not joined to {listed(named[0][0])}"
            yield OPEN.finding(seen.rules, middle(items[0].shape), f"net {net.name}, at {listed(names)}", message)


def pin_names(items: list[CopperItem]) -> list[str]:
    """Return 'R1.2' for each pad among `items`, once and in order."""
    return sorted({f"{i.feature.owner.reference}.{i.feature.owner.number}" for i in items})


def loose_ends(layer: LayerCopper) -> Iterator[tuple[int, Position]]:
    """Yield (item, place) of track ends whose round cap touches no other copper of the net."""
    ends: list[tuple[int, Position]] = []
    for number, item in enumerate(layer.items):
        if item.is_track and isinstance(item.feature, Stroke):
            ends += [(number, item.feature.points[0]), (number, item.feature.points[-1])]
    caps = ShapeSet([circle(at, 2 * layer.shapes.radii[number]) for number, at in ends])
    asked, found = layer.shapes.near(caps, 0.0)
    tracks = np.array([number for number, _ in ends], dtype=np.intp)
    touches = layer.shapes.gaps(caps, asked, found) <= TOLERANCE
    other = (tracks[asked] != found) & (layer.potentials[tracks[asked]] == layer.potentials[found])
    met = set(asked[touches & other].tolist())
    for end, (number, at) in enumerate(ends):
        if end not in met:
            yield number, at


def adrift(seen: Inspection, loose: set[int]) -> Iterator[Finding]:
    """Report, once for each group, tracks that hang together but are joined to no pad; not those with `loose` ends.

    Pieces of pours are looked at by `pours.islands`.
    """
    items, joins = seen.copper.items, seen.copper.joins
    groups = [joins.group(number) for number in range(len(items))]
    told = {group for group, item in zip(groups, items, strict=True) if item.is_pad or item.is_pour}
    told |= {groups[number] for number in loose}
    for group, item in zip(groups, items, strict=True):
        if item.is_track and item.net and group not in told:
            told.add(group)
            at = middle(item.shape)
            where = f"the track of {item.net} at {spot(at)}, {item.layer}"
            yield DANGLING_TRACK.finding(seen.rules, at, where, "the track is joined to no pad")


def loose_vias(seen: Inspection) -> Iterator[Finding]:
    """Report vias that have other copper of their net on one layer only, or on none."""
    served: dict[tuple[object, ...], set[str]] = {}
    vias: dict[tuple[object, ...], Drill] = {}
    for layer in seen.copper.layers.values():
        for item in layer.items:
            if isinstance(item.feature, Drill) and item.feature.function == "via-drill":
                vias[item.thing] = item.feature
        pairs = layer.close
        joined = (pairs.gap <= TOLERANCE) & (layer.potentials[pairs.first] == layer.potentials[pairs.second])
        for i, j in zip(pairs.first[joined].tolist(), pairs.second[joined].tolist(), strict=True):
            one, other = layer.items[i], layer.items[j]
            if one.thing != other.thing:
                served.setdefault(one.thing, set()).add(layer.layer)
                served.setdefault(other.thing, set()).add(layer.layer)
    for thing, drill in vias.items():
        if len(served.get(thing, set())) < 2:
            yield DANGLING_VIA.finding(
                seen.rules, drill.at, name_of(drill), "the via joins copper on fewer than two layers"
            )
