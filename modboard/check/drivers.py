"""Who drives a net: outputs against each other, outputs that cannot pull up, nets that nothing drives."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.wiring import (
    GROUND,
    SUPPLY,
    Contact,
    Wiring,
    is_connector,
    is_resistor,
    kind_of,
    letter_of,
)
from modboard.check.words import listed
from modboard.describe.values import read

OUTPUTS_TIED = Rule(
    "outputs-tied",
    "error",
    "a net has one output that drives it both ways",
    "give each output a net of its own, join them through gates or diodes, or use open-collector outputs",
    source="the pin types of the device",
)
SUPPLIES_TIED = Rule(
    "supplies-tied",
    "error",
    "a net is fed by one supply only",
    "give each regulator a net of its own, or join them through diodes",
    source="the pin types of the device",
)
NO_PULL_UP = Rule(
    "no-pull-up",
    "warning",
    "an output that can only pull one way has something that pulls the other way",
    "add a resistor from the net to its supply",
    source="the pin types of the device",
)
UNDRIVEN = Rule(
    "undriven-net",
    "warning",
    "a net of inputs has something that drives it",
    "lead the net to an output, a connector, or through a resistor to a level",
    source="the pin types of the device",
)
SINGLE_PIN = Rule(
    "single-pin-net",
    "warning",
    "a net joins two pins or more",
    "add the missing pin, or mark the one with no_connect instead of naming a net",
    source="the netlist of the design",
)
RULES = (OUTPUTS_TIED, SUPPLIES_TIED, NO_PULL_UP, UNDRIVEN, SINGLE_PIN)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every net's pins."""
    for net, contacts in seen.wiring.by_net.items():
        if len(contacts) == 1:
            where = f"net {net}, at {contacts[0].words}"
            message = f"the net {net} has one pin only, so nothing is joined to it"
            yield SINGLE_PIN.finding(seen.rules, place(seen, contacts[0]), where, message)
            continue
        yield from fights(seen, net, contacts)
        yield from one_way(seen, seen.wiring, net, contacts)


def place(seen: Inspection, contact: Contact) -> tuple[float, float] | None:
    """Return where a contact's pad is."""
    return seen.pad_places.get((contact.part.reference, contact.pin.number))


def fights(seen: Inspection, net: str, contacts: list[Contact]) -> Iterator[Finding]:
    """Report outputs that drive one net both ways; outputs of one chip may be paralleled, which is worth a look."""
    driving = [c for c in contacts if c.pin.type == "output"]
    feeding = [c for c in contacts if c.pin.type == "power-out"]
    where = f"net {net}, at {listed(c.words for c in (*driving, *feeding))}" if driving or feeding else ""
    if len({c.part.reference for c in feeding}) > 1:
        message = "two supplies feed one net: the one with the higher voltage drives current into the other"
        yield SUPPLIES_TIED.finding(seen.rules, place(seen, feeding[1]), where, message)
    beyond = [c for c in across_shorts(seen.wiring, contacts) if c.pin.type == "power-out"]
    if len(feeding) == 1 and beyond and (net, feeding[0].part.reference) < (beyond[0].net, beyond[0].part.reference):
        where = f"nets {net} and {beyond[0].net}, at {feeding[0].words} and {beyond[0].words}"
        message = "two supplies are joined by a part that stops no direct current"
        yield SUPPLIES_TIED.finding(seen.rules, place(seen, feeding[0]), where, message)
    if driving and not feeding and (GROUND.fullmatch(net) or SUPPLY.fullmatch(net)):
        message = f"an output is joined to the supply {net}: it is shorted whenever it goes to the other level"
        yield OUTPUTS_TIED.finding(seen.rules, place(seen, driving[0]), where, message)
    if driving and feeding:
        message = "an output is joined to a supply: it is shorted whenever it goes to the other level"
        yield OUTPUTS_TIED.finding(seen.rules, place(seen, driving[0]), where, message)
    elif len(driving) > 1:
        apart = len({c.part.reference for c in driving}) > 1
        message = "outputs drive one net: where one is high and one low, both are overloaded"
        yield OUTPUTS_TIED.finding(
            seen.rules, place(seen, driving[1]), where, message, severity="error" if apart else "warning"
        )
    switched = [c for c in contacts if c.pin.type in ("three-state", "open-collector")]
    if driving and switched:
        where = f"net {net}, at {listed(c.words for c in (*driving, *switched))}"
        message = (
            f"{driving[0].words} drives the net at all times, so that {switched[0].words} fights it when it drives"
        )
        yield OUTPUTS_TIED.finding(seen.rules, place(seen, driving[0]), where, message, severity="warning")


def across_shorts(wiring: Wiring, contacts: list[Contact]) -> Iterator[Contact]:
    """Yield what lies beyond ferrite beads and resistors of 0 ohms on a net: direct current passes them unhindered."""
    for contact in contacts:
        found = read(contact.part.value, "resistor") if is_resistor(contact.part) else None
        if "ferrite" in kind_of(contact.part) or (found is not None and found.value == 0):
            for other in wiring.by_part[contact.part.reference]:
                if other.net and other.net != contact.net:
                    yield from wiring.others(other.net, contact.part.reference)


def one_way(seen: Inspection, wiring: Wiring, net: str, contacts: list[Contact]) -> Iterator[Finding]:
    """Report nets that only open collectors or only inputs are on; what is beyond a connector may do the rest."""
    helping = [c for c in contacts if helps(c) and not pulls_down(wiring, c)]
    driving = [c for c in contacts if c.pin.type in ("output", "power-out", "three-state", "bidirectional")]
    if helping or driving or wiring.is_supply(net):
        return
    pulling = [c for c in contacts if c.pin.type == "open-collector"]
    if pulling:
        where = f"net {net}, at {listed(c.words for c in pulling)}"
        message = f"{pulling[0].words} is an open collector and nothing pulls the net the other way"
        yield NO_PULL_UP.finding(seen.rules, place(seen, pulling[0]), where, message)
        return
    asking = [c for c in contacts if c.pin.type == "input"]
    if asking:
        where = f"net {net}, at {listed(c.words for c in asking)}"
        yield UNDRIVEN.finding(seen.rules, place(seen, asking[0]), where, "nothing drives the inputs on the net")


def pulls_down(wiring: Wiring, contact: Contact) -> bool:
    """Tell whether a pin belongs to a resistor to ground beside an open collector, which pulls down as well."""
    if not is_resistor(contact.part) or len(ends := wiring.by_part[contact.part.reference]) != 2:
        return False
    collectors = any(c.pin.type == "open-collector" for c in wiring.by_net[contact.net])
    return collectors and any(end.net != contact.net and GROUND.fullmatch(end.net) for end in ends)


def helps(contact: Contact) -> bool:
    """Tell whether a pin may set a level: any of a connector, or of a plain part that direct current flows through."""
    if is_connector(contact.part):
        return True
    plain = contact.pin.type == "passive"
    return plain and letter_of(contact.part) != "C" and "capacitor" not in kind_of(contact.part)
