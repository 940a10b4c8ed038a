"""Copper gap and shorts: copper of different nets must keep apart, by the larger of the gaps that the two nets ask.

A net's gap is for the greatest volts it has to any other.  Two lands of one part, which nobody can move apart, need
what the volts between these two ask, if those are known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from modboard.artwork.model import Drill, Flash
from modboard.calc.spacing import Column, spacing
from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import halfway, name_of
from modboard.geometry import TOLERANCE, Position

COPPER_GAP = Rule(
    "copper-gap",
    "error",
    "copper of two nets keeps the larger of their gaps and of the rule set's gap",
    "move one of the two away, or take a rule set with a smaller gap if the board house can make it",
    limit="gap",
)
SHORT = Rule(
    "short",
    "error",
    "copper of two nets does not touch, on a layer or through a plated hole",
    "move or remove one of the two so that the nets come apart",
    source="the netlist of the design",
)
VOLTAGE_GAP = Rule(
    "voltage-gap",
    "error",
    "the gap that two nets are given stands the volts between them",
    "ask for a larger gap at one of the nets, or correct their volts=",
    source="IPC-2221, table 6-1",
)
LANDS_APART = "give both nets their volts=, without which the worst is assumed, or take a part with lands farther apart"
RULES = (COPPER_GAP, SHORT, VOLTAGE_GAP)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure every pair of copper items that are near each other and belong to different nets."""
    worst: dict[object, tuple[float, float, LayerCopper, int, int, set[str]]] = {}
    for layer in seen.copper.layers.values():
        for i, j, gap, asked in different_nets(layer):
            one, other = layer.items[i], layer.items[j]
            required = asked
            if of_one_part(one, other):
                required = min(asked, gap_of_lands(seen, one.net, other.net))
                if gap >= required - TOLERANCE:
                    continue
            # Only what lies on both layers can be near to one thing twice.
            twice = isinstance(one.feature, Flash | Drill) or isinstance(other.feature, Flash | Drill)
            pair: object = frozenset((one.thing, other.thing)) if twice else (layer.layer, i, j)
            if pair not in worst or gap < worst[pair][0] - TOLERANCE:
                on = worst[pair][5] if pair in worst else set()
                worst[pair] = (gap, required, layer, i, j, on)
            worst[pair][5].add(layer.layer)
    pairs = list(worst.values())
    firsts = [(layer.shapes.cores[i], layer.shapes.radii[i]) for _, _, layer, i, _, _ in pairs]
    seconds = [(layer.shapes.cores[j], layer.shapes.radii[j]) for _, _, layer, _, j, _ in pairs]
    places = halfway(firsts, seconds)
    for at, (gap, required, layer, i, j, layers) in zip(places, pairs, strict=True):
        yield found(seen, at, gap, required, layer.items[i], layer.items[j], layers)
    yield from volts_apart(seen)


def gap_of_lands(seen: Inspection, one: str, other: str) -> float:
    """Return the gap (mm) that two lands of one part need by the rules, by what was asked and by their volts.

    Infinity if nobody knows between which volts either net may be.
    """
    volts = seen.wiring.between(one, other)
    if volts is None:
        return math.inf
    nets = [seen.nets[name] for name in (one, other)]
    asked = max((net.gap for net in nets if not net.gap_by_volts), default=0.0)
    return max(seen.rules.gap, asked, spacing(volts, column_of(seen)))


def column_of(seen: Inspection) -> Column:
    """Return the column of IPC-2221 table 6-1 that the board's outsides belong to."""
    return "B4" if seen.rules.mask else "B2"


def different_nets(layer: LayerCopper) -> Iterator[tuple[int, int, float, float]]:
    """Walk the pairs (item, item, gap, required gap) of a layer that are too close and not of one net."""
    pairs = layer.close
    apart = layer.potentials[pairs.first] != layer.potentials[pairs.second]
    first, second = pairs.first[apart], pairs.second[apart]
    yield from zip(
        np.minimum(first, second).tolist(),
        np.maximum(first, second).tolist(),
        pairs.gap[apart].tolist(),
        pairs.required[apart].tolist(),
        strict=True,
    )


def found(
    seen: Inspection, at: Position, gap: float, required: float, one: CopperItem, other: CopperItem, layers: set[str]
) -> Finding:
    """Word one finding of a pair of items."""
    side = "top" if layers == {"top"} else "bottom" if layers == {"bottom"} else "top and bottom"
    where = f"between {name_of(one.feature)} and {name_of(other.feature)}, {side}"
    nets = f"{one.net or 'no net'} and {other.net or 'no net'}"
    if gap <= TOLERANCE:
        return SHORT.finding(seen.rules, at, where, f"copper of {nets} touches", max(gap, 0.0), required)
    message = f"copper of {nets} is {gap:.3f} mm apart, {required - gap:.3f} mm too close"
    asking = [seen.nets[i.net] for i in (one, other) if i.net in seen.nets and seen.nets[i.net].gap >= required]
    source = asking[0].gap_reason if asking and required > seen.rules.gap else ""
    cure = LANDS_APART if of_one_part(one, other) and required > seen.rules.gap else ""
    return COPPER_GAP.finding(seen.rules, at, where, message, gap, required, source=source, cure=cure)


def of_one_part(one: CopperItem, other: CopperItem) -> bool:
    """Tell whether two items are lands of one part."""
    return one.is_pad and other.is_pad and one.feature.owner.reference == other.feature.owner.reference


def volts_apart(seen: Inspection) -> Iterator[Finding]:
    """Report, once for each net, the pair whose gaps are both too small for the volts between them.

    A net whose volts nobody knows counts as 0 V, as it did when the gaps were given.
    """
    volts = {net.name: seen.wiring.volts(net.name) or net.volts or 0.0 for net in seen.description.nets}
    worst: dict[str, tuple[float, str, float, float, float]] = {}
    for one, other in combinations(seen.description.nets, 2):
        between = abs(volts[one.name] - volts[other.name])
        if one.ac or other.ac:
            between = abs(volts[one.name]) + abs(volts[other.name])
        need, given = spacing(between, column_of(seen)), max(seen.rules.gap, one.gap, other.gap)
        if given < need - TOLERANCE:
            live = max((one, other), key=lambda net: (abs(volts[net.name]), net.name)).name
            found_here = (need - given, f"between the nets {one.name} and {other.name}", between, given, need)
            worst[live] = max(worst.get(live, found_here), found_here)
    for _, where, between, given, need in worst.values():
        message = f"{between:g} V between the nets ask {need:.3f} mm of gap, they are given {given:.3f} mm"
        yield VOLTAGE_GAP.finding(seen.rules, None, where, message, given, need)
