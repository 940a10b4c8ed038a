"""The circuit itself: open supplies, floating inputs, chips without a capacitor, voltages to know of."""

from __future__ import annotations

import math
from collections.abc import Iterator

from modboard.check.drivers import place
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.wiring import Contact
from modboard.describe.host import cut_cautions
from modboard.describe.model import Part
from modboard.layout.board import Pad
from modboard.layout.flaws import DECOUPLING_REACH

POWER_PIN_OPEN = Rule(
    "power-pin-open",
    "error",
    "every supply and ground pin is on a net",
    "put the pin on its supply or ground net, or mark it as not connected",
    source="the pin types of the device",
)
FLOATING_INPUT = Rule(
    "floating-input",
    "warning",
    "every input is on a net",
    "tie the input to a level or a driver, or mark it as not connected",
    source="the pin types of the device",
)
LEAD_OPEN = Rule(
    "lead-open",
    "error",
    "both leads of a two-lead part are on nets",
    "put the lead on its net (a ground forgotten?), or mark it with no_connect",
    source="the circuit",
)
CONTACT_OPEN = Rule(
    "contact-open",
    "warning",
    "every contact that has a name is on a net",
    "put the contact on its net (a ground forgotten?), or mark it with no_connect",
    source="the circuit",
)
NO_DECOUPLING = Rule(
    "no-decoupling",
    "warning",
    "a chip has a capacitor across its supply close by",
    "add a capacitor (100 nF is usual) across the supply and place it next to the chip",
)
TOUCH_VOLTAGE = Rule(
    "touch-voltage",
    "warning",
    "voltages that are not safe to touch are known to whoever builds this",
    "read the caution; cover the parts and keep the distances",
    source="IEC 61140 and IEC 62368-1",
)
HOST_CUT = Rule(
    "host-cut",
    "warning",
    "nothing on the host machine is cut",
    "look for a way without: a wire to a pin, a clip, a plug; if there is none, photograph it first",
    source="common practice: a mod can be undone",
)
RULES = (POWER_PIN_OPEN, FLOATING_INPUT, LEAD_OPEN, CONTACT_OPEN, NO_DECOUPLING, TOUCH_VOLTAGE, HOST_CUT)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at pins, supplies and voltages."""
    for open_ in (c for contacts in seen.wiring.by_part.values() for c in left_open(seen, contacts)):
        if open_.pin.type == "power-in":
            message = f"the supply pin is on no net: {open_.part.kind} will not work without it"
            yield POWER_PIN_OPEN.finding(seen.rules, place(seen, open_), open_.words, message)
        elif open_.pin.type == "input":
            yield FLOATING_INPUT.finding(seen.rules, place(seen, open_), open_.words, "the input is on no net")
    yield from open_leads(seen)
    yield from decoupling(seen)
    cuts = cut_cautions(seen.description.cuts)
    for caution in seen.description.cautions:
        if caution not in cuts:
            yield TOUCH_VOLTAGE.finding(seen.rules, None, "the whole board", caution)
    for cut, words in zip(seen.description.cuts, cuts, strict=True):
        yield HOST_CUT.finding(seen.rules, None, f"host: {cut.what}", words)


def open_leads(seen: Inspection) -> Iterator[Finding]:
    """Report passive pins on no net: a lead of a two-lead part, or a contact that was given a name."""
    for contacts in seen.wiring.by_part.values():
        passive = [c for c in contacts if c.pin.type == "passive"]
        if not any(c.net for c in passive):
            continue  # a spare part, or a board that only holds it
        for open_ in left_open(seen, passive):
            if len(passive) == 2:
                yield LEAD_OPEN.finding(seen.rules, place(seen, open_), open_.words, "the lead is on no net")
            elif open_.name != open_.pin.number:
                yield CONTACT_OPEN.finding(seen.rules, place(seen, open_), open_.words, "the contact is on no net")


def left_open(seen: Inspection, contacts: list[Contact]) -> list[Contact]:
    """Return those contacts of a part with a device that are on no net and not marked to be so."""
    marked = seen.description.unconnected
    return [c for c in contacts if c.part.device and not c.net and (c.part.reference, c.pin.number) not in marked]


def decoupling(seen: Inspection) -> Iterator[Finding]:
    """Report chips with two or more supply nets and no capacitor between two of them near a supply pin.

    Parts with fewer than two supply nets (transistors, connectors) ask for none, nor do plugs under the board: their
    supply pins are where the host feeds this board.
    """
    nets = seen.description.net_of()
    pads: dict[str, list[Pad]] = {}
    for pad in seen.board.pads:
        pads.setdefault(pad.reference, []).append(pad)
    capacitors = [p for p in seen.description.parts if is_capacitor(p) and p.fitted]
    for part in seen.description.parts:
        pins = [p.number for p in part.device.pins if p.type == "power-in"] if part.device else []
        supply = {nets[(part.reference, n)] for n in pins if (part.reference, n) in nets}
        own = [p for p in pads.get(part.reference, []) if p.number in pins and p.net]
        if len(supply) < 2 or not own or not part.fitted or part.footprint.underside:
            continue
        across = [c for c in capacitors if len({p.net for p in pads.get(c.reference, [])} & supply) >= 2]
        nearest, what = nearest_of(across, own, pads), "capacitor across its supply"
        if not any(seen.wiring.is_ground(net) for net in supply):  # between two rails: one to ground at each does too
            grounded = {
                net: [c for c in capacitors if between_ground_and(seen, net, pads.get(c.reference, []))]
                for net in sorted(supply)
            }
            each = [nearest_of(found, [p for p in own if p.net == net], pads) for net, found in grounded.items()]
            farthest = None if None in each else max(e for e in each if e is not None)
            if farthest is not None and (nearest is None or farthest < nearest):
                nearest, what = farthest, "capacitor from a supply pin's net to ground"
        if nearest is None or nearest > DECOUPLING_REACH:
            message = (
                f"no capacitor across {' and '.join(sorted(supply))}"
                if nearest is None
                else f"the nearest {what} is {nearest:.1f} mm away"
            )
            yield NO_DECOUPLING.finding(seen.rules, own[0].at, part.reference, message, nearest, DECOUPLING_REACH)


def nearest_of(capacitors: list[Part], pins: list[Pad], pads: dict[str, list[Pad]]) -> float | None:
    """Return how near (mm) a capacitor's pad comes to a pin on its net; None if there is no such capacitor."""
    near = [math.dist(pin.at, p.at) for c in capacitors for p in pads[c.reference] for pin in pins if p.net == pin.net]
    return min(near, default=None)


def between_ground_and(seen: Inspection, net: str, pads: list[Pad]) -> bool:
    """Tell whether a part's pads are on a net and on a ground."""
    nets = {pad.net for pad in pads}
    return net in nets and any(other and seen.wiring.is_ground(other) for other in nets - {net})


def is_capacitor(part: Part) -> bool:
    """Tell whether a part is a capacitor: by its kind, its device's name or, failing a device, its reference letter."""
    words = f"{part.kind} {part.device.name if part.device else ''}".casefold()
    if "capacitor" in words or "electrolytic" in words:
        return True
    if part.device is not None:
        return part.device.prefix == "C"
    return part.reference.rstrip("0123456789") == "C"
