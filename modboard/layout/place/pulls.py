"""What pulls parts together: nets, decoupling, wishes to be near, groups.  Each pull is a tree over pins."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from modboard.describe.model import Description, Near, Net, Part
from modboard.layout.place.wishes import wish_of

Pin = tuple[int, int]  # part index, land index; the land after the last is the middle of the courtyard

POUR_WEIGHT = 0.12  # pads of a poured net meet copper wherever they are
POUR_PINS = 12  # beyond so many the poured net pulls at nothing
WIDE_WEIGHT = 0.25  # how much more a track twice as wide counts
NEAR_WEIGHT = 5.0
GROUP_WEIGHT = 1.2
SUPPLY_WEIGHT = 4.0  # a decoupling capacitor to the supply pin it serves
GROUND_WEIGHT = 0.4
BULK = 0.4  # a polarised capacitor may stand farther off
SUPPLY_TYPES = ("power-in", "power-out")

Dealt = tuple[int, int, dict[str, int], dict[str, int]]  # capacitor, chip, capacitor land by net, chip land by net


@dataclass(frozen=True)
class Pull:
    """A tree over `pins` whose length costs `weight` per mm; `track` tells whether it will be copper.

    A `firm` pull costs ever more per mm the longer it gets: a capacitor 15 mm off does not decouple.
    """

    name: str
    pins: tuple[Pin, ...]
    weight: float
    track: bool
    firm: bool = False


def lands_of(part: Part, number: str) -> list[int]:
    """Return the indices of the lands with pad number `number`."""
    return [k for k, land in enumerate(part.footprint.lands) if land.number == number]


def net_pulls(description: Description) -> list[Pull]:
    """Return one pull for each net that joins different parts."""
    index = {p.reference: i for i, p in enumerate(description.parts)}
    found = []
    for net in description.nets:
        pins = [(index[r], k) for r, number in net.pins for k in lands_of(description.parts[index[r]], number)]
        if len({part for part, _ in pins}) < 2 or (net.pour and len(pins) > POUR_PINS):
            continue
        found.append(Pull(net.name, tuple(dict.fromkeys(pins)), net_weight(description, net), net.pour is None))
    return found


def net_weight(description: Description, net: Net) -> float:
    """Return what a mm of the net costs: little if poured, more if its tracks are wide."""
    if net.pour:
        return POUR_WEIGHT
    return min(2.0, 1.0 + WIDE_WEIGHT * max(0.0, net.track_width / description.rules.track - 1.0))


def is_capacitor(part: Part) -> bool:
    """Tell whether a part is a capacitor with two pads."""
    words = f"{part.kind} {part.device.name if part.device else ''} {part.footprint.family}".lower()
    named = "capacitor" in words or "electrolytic" in words or (part.device is not None and part.device.prefix == "C")
    return named and len(part.footprint.numbers()) == 2


def supply_pins(
    part: Part, nets: dict[tuple[str, str], str], types: tuple[str, ...] = SUPPLY_TYPES
) -> dict[str, list[int]]:
    """Return the lands of a chip's supply pins of some types by net name."""
    found: dict[str, list[int]] = {}
    for pin in part.device.pins if part.device else ():
        net = nets.get((part.reference, pin.number))
        if net is not None and pin.type in types:
            found.setdefault(net, []).extend(lands_of(part, pin.number))
    return found


def decoupling(description: Description) -> list[Dealt]:
    """Return (capacitor, chip, capacitor land by net, chip land by net) for every decoupling capacitor.

    A capacitor decouples a chip if its two nets are both supply nets of the chip, or if one is and the other lies
    between the chip's supplies (`between_rails`); then only the end at the supply has a land to go to.  Capacitors
    on the same pair of nets are dealt out to the chips one by one, a group or a wish coming first, then the order of
    the description; but each chip's first is rather one described soon after it (`described_before`).
    A chip that goes short, for there are fewer than chips, shares the capacitor that fewest have.
    """
    nets = description.net_of()
    ground = {n.name for n in description.nets if n.pour}
    fed = [(i, p) for i, p in enumerate(description.parts) if not p.footprint.underside]  # a plug is fed by the host
    chips = [(i, s) for i, p in fed if len(s := supply_pins(p, nets)) >= 2]
    dealt: dict[tuple[bool, tuple[str, ...]], list[int]] = {}
    used: dict[tuple[int, str], int] = {}
    capacitors = capacitor_lands(description, nets)
    middles = {i: between_rails(set(s), capacitors.values()) for i, s in chips}
    found = []
    for c, lands in capacitors.items():
        part = description.parts[c]
        if isinstance(wish_of(description, part), Near):
            continue
        serving = [
            (i, s)
            for i, s in chips
            if all(name in s for name in lands) or (any(n in s for n in lands) and middles[i] & set(lands))
        ]
        if not serving:
            continue
        mates = {r for group in description.groups if part.reference in group for r in group}
        kin = [(i, s) for i, s in serving if description.parts[i].reference in mates] or serving
        bulk = part.footprint.polarised
        tally = dealt.setdefault((bulk, tuple(sorted(lands))), [])
        own = set() if bulk else described_before(c, [i for i, _ in kin], capacitors)
        chip, supply = min(kin, key=lambda e: (n := tally.count(e[0]), n == 0 and e[0] not in own, e[0]))
        tally.append(chip)
        target = {}
        for name in (n for n in lands if n in supply):
            turn = used.get((chip, name), 0)
            if name not in ground and not bulk:
                used[chip, name] = turn + 1
            target[name] = supply[name][turn % len(supply[name])]
        found.append((c, chip, lands, target))
    return found + _shared(description, capacitors, found, nets)


def described_before(capacitor: int, chips: list[int], capacitors: Iterable[int]) -> set[int]:
    """Return the last of the chips described before a capacitor: back to any capacitor that comes before them."""
    before = [i for i in chips if i < capacitor]
    if not before:
        return set()
    parted = max((c for c in capacitors if c < before[-1]), default=-1)
    return {i for i in before if i > parted}


def _shared(
    description: Description,
    capacitors: dict[int, dict[str, int]],
    dealt: list[Dealt],
    nets: dict[tuple[str, str], str],
) -> list[Dealt]:
    """Return what chips share to which no capacitor was dealt though some are between two of their supplies."""
    holders = [c for c, *_ in dealt]
    served = {chip for _, chip, *_ in dealt}
    found = []
    for chip, part in enumerate(description.parts):
        supplies = {} if part.footprint.underside else supply_pins(part, nets, ("power-in",))
        across = [c for c, lands in capacitors.items() if set(lands) <= set(supplies)]
        if len(supplies) < 2 or chip in served or not across:
            continue
        shared = min(across, key=lambda c: (holders.count(c), c))
        holders.append(shared)
        found.append((shared, chip, capacitors[shared], {name: supplies[name][0] for name in capacitors[shared]}))
    return found


def capacitor_lands(description: Description, nets: dict[tuple[str, str], str]) -> dict[int, dict[str, int]]:
    """Return the land on each net of every capacitor that lies between two nets, by the number of the part."""
    found = {}
    for c, part in enumerate(description.parts):
        if is_capacitor(part):
            own = {nets.get((part.reference, n)): lands_of(part, n)[0] for n in part.footprint.numbers()}
            if None not in own and len(own) == 2:
                found[c] = {str(name): land for name, land in own.items()}
    return found


def between_rails(supplies: set[str], capacitors: Iterable[Iterable[str]]) -> set[str]:
    """Return the nets to which capacitors lead from two or more supplies of a chip that itself is not on them.

    Such is the ground of an amplifier between two rails, or that of a regulator without a ground pin.
    """
    led: dict[str, set[str]] = {}
    for ends in capacitors:
        a, b = ends
        for rail, other in ((a, b), (b, a)):
            if rail in supplies and other not in supplies:
                led.setdefault(other, set()).add(rail)
    return {net for net, rails in led.items() if len(rails) > 1}


def decoupling_pulls(description: Description) -> list[Pull]:
    """Return the pulls between decoupling capacitors and the supply pins they serve.

    Only the supply end is pulled firmly: with supply and ground in opposite corners of a chip, two firm pulls would
    leave the capacitor half way between, good for neither.
    """
    size = {n.name: (n.pour is not None, len(n.pins)) for n in description.nets}
    found = []
    for capacitor, chip, lands, target in decoupling(description):
        part = description.parts[capacitor]
        scale = BULK if part.footprint.polarised else 1.0
        ground = max(sorted(lands), key=lambda name: (name not in target, size[name]))  # poured, or with most pins
        for name in sorted(target):
            supply = name != ground
            weight = scale * (SUPPLY_WEIGHT if supply else GROUND_WEIGHT)
            pins = ((capacitor, lands[name]), (chip, target[name]))
            firm = supply and not part.footprint.polarised
            found.append(Pull(f"{part.reference} decouples", pins, weight, False, firm))
    return found


def wish_pulls(description: Description) -> list[Pull]:
    """Return the pulls of parts wished near others and of groups."""
    index = {p.reference: i for i, p in enumerate(description.parts)}
    nets = description.net_of()
    found = []
    for i, part in enumerate(description.parts):
        wish = wish_of(description, part)
        if isinstance(wish, Near) and wish.reference in index:
            j = index[wish.reference]
            other = description.parts[j]
            own, target = len(part.footprint.lands), len(other.footprint.lands)
            if wish.pin is not None and lands_of(other, wish.pin):
                target = lands_of(other, wish.pin)[0]
                net = nets.get((wish.reference, wish.pin))
                joined = [
                    k for k, land in enumerate(part.footprint.lands) if net == nets.get((part.reference, land.number))
                ]
                own = joined[0] if joined and net is not None else own
            found.append(
                Pull(f"{part.reference} near {wish.reference}", ((i, own), (j, target)), NEAR_WEIGHT, False, True)
            )
    for group in description.groups:
        members = [index[r] for r in group if r in index]
        if len(members) > 1:
            pins = tuple((i, len(description.parts[i].footprint.lands)) for i in members)
            found.append(Pull(f"group {group[0]}", pins, GROUP_WEIGHT, False))
    return found
