"""Parts that need something to limit their current: light-emitting diodes, and transistor bases that are driven."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.check.drivers import place
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.wiring import DRIVING, Contact, Wiring, is_bipolar, is_connector, is_led, is_resistor

LED_RESISTOR = Rule(
    "led-resistor",
    "error",
    "a light-emitting diode has a resistor in series",
    "put a resistor between the diode and what drives it",
    source="the current of the diode is set by nothing else",
)
BASE_RESISTOR = Rule(
    "base-resistor",
    "warning",
    "a transistor that switches has a resistor between what drives it and its base",
    "put a resistor in series with the base (1k to 10k is usual)",
    source="the base is a diode to the emitter",
)
RULES = (LED_RESISTOR, BASE_RESISTOR)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every light-emitting diode and every bipolar transistor."""
    for contacts in seen.wiring.by_part.values():
        if contacts and is_led(contacts[0].part):
            yield from led(seen, contacts)
        elif contacts and is_bipolar(contacts[0].part):
            yield from base(seen, contacts)


def led(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Report a diode with nothing in series: both ends on supplies or outputs, or on nets without a resistor.

    A net that goes to a connector may have its resistor beyond it; only the diode's own two nets are looked at, and
    a transistor or another diode there passes the question on to a net beyond that is not followed.
    """
    ends = [c for c in contacts if c.net]
    if len(ends) < 2 or any(limited(seen.wiring, end) for end in ends):
        return
    reference = contacts[0].part.reference
    nets = " and ".join(dict.fromkeys(end.net for end in ends))
    stiff = all(seen.wiring.is_supply(end.net) or driven(seen.wiring, end) for end in ends)
    message = f"nothing limits the current of {reference} between {nets}"
    yield LED_RESISTOR.finding(
        seen.rules,
        place(seen, ends[0]),
        f"{reference}, between {nets}",
        message,
        severity="error" if stiff else "warning",
    )


def limited(wiring: Wiring, end: Contact) -> bool:
    """Tell whether the net at one end of a diode has something that may limit its current."""
    if wiring.is_supply(end.net):
        return False
    return any(is_resistor(c.part) or is_connector(c.part) for c in wiring.others(end.net, end.part.reference))


def driven(wiring: Wiring, end: Contact) -> bool:
    """Tell whether an output drives the net that a contact is on."""
    return any(c.pin.type in (*DRIVING, "three-state", "open-collector") for c in wiring.by_net[end.net])


def base(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Report a base that an output or a supply drives straight while its emitter is on a supply."""
    by_name = {c.name: c for c in contacts if c.net}
    if not {"B", "E"} <= set(by_name):
        return
    at_base, emitter = by_name["B"], by_name["E"]
    stiff = seen.wiring.is_supply(at_base.net) or driven(seen.wiring, at_base)
    if stiff and at_base.net != emitter.net and seen.wiring.is_supply(emitter.net):
        where = f"{at_base.words}, net {at_base.net}"
        message = f"{at_base.net} drives the base with no resistor between, and the emitter is on {emitter.net}"
        yield BASE_RESISTOR.finding(seen.rules, place(seen, at_base), where, message)
