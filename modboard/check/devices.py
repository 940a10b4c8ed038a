"""What a device's own data have to say: pin orders left open, too much at a regulator's input, and too much heat."""

from __future__ import annotations

from collections.abc import Iterator

from modboard.check.drivers import place
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.supplies import fixed_output
from modboard.check.wiring import Contact
from modboard.describe.model import Part
from modboard.library import device as drawer
from modboard.library import device_names
from modboard.library.families import family_of, family_stems

PIN_ORDER = Rule(
    "pin-order",
    "warning",
    "a type that is sold in more than one pin order, or put into another package, has its order said",
    'look at the part in hand (a meter finds base and type) and say its order, as in pins="E B C"',
    source="the orders of the device in the drawer, from memory of data sheets",
)
REGULATOR_INPUT = Rule(
    "regulator-input",
    "error",
    "a regulator bears the voltage at its input",
    "feed it from a lower voltage, or take a type that bears more",
    source="greatest input of the type, data sheets, from memory",
)
DISSIPATION = Rule(
    "dissipation",
    "warning",
    "a regulator without a heat sink bears the heat of its greatest current",
    "feed it from a lower voltage, draw less, or give it a heat sink and waive this",
    source="rating of the device at 25 °C in still air, data sheets, from memory",
)
REGULATOR_CURRENT = Rule(
    "regulator-current",
    "warning",
    "a regulator gives no more current than it is rated for",
    "take a regulator for more, or share the load out between two nets with one each",
    source="rated current of the type, data sheets, from memory",
)
RULES = (PIN_ORDER, REGULATOR_INPUT, REGULATOR_CURRENT, DISSIPATION)

HAIR = 1e-9  # V, A or W, rounding
ACTIVE = ("Q", "U", "D")  # customary reference letters of what has a pin order to mistake
LOOK_AGAIN = "look at the part in hand once more (a meter finds base and type); waive this if it is as you say"
ALIKE = (  # packages whose pins are numbered alike
    frozenset({"dip", "soic", "tssop"}),
    frozenset({"to18", "to39"}),
)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every part whose type the drawer knows."""
    for contacts in seen.wiring.by_part.values():
        if contacts and contacts[0].part.device:
            yield from order_open(seen, contacts)
            yield from regulator(seen, contacts)


def order_open(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Report a part whose pin order nobody can know: its type is sold in several, or its package is another.

    Of an order that is said, report one that nobody is known to sell.
    """
    part = contacts[0].part
    device = part.device
    if device is None:
        return
    if part.pins_said:
        said, sold = order_said(part)
        if said not in sold:
            orders = " and as ".join(" ".join(order) for order in sold)
            message = (
                f"{device.name} in {part.footprint.name} is known as {orders}, not as {' '.join(said)} as said here"
            )
            yield PIN_ORDER.finding(seen.rules, place(seen, contacts[0]), part.reference, message, cure=LOOK_AGAIN)
        return
    taken = " ".join(pin.names[0] for pin in device.pins if pin.names)
    if len(device.orders) > 1:
        orders = " and as ".join(" ".join(order) for order in device.orders)
        message = f"{part.kind} is sold as {orders} (pads 1 to {len(device.pins)}); {taken} is taken"
        yield PIN_ORDER.finding(seen.rules, place(seen, contacts[0]), part.reference, message)
    elif other_package(part):
        message = f"the order {taken} is known of a {device.name} in {device.footprint}, not in {part.footprint.name}"
        yield PIN_ORDER.finding(seen.rules, place(seen, contacts[0]), part.reference, message)


def order_said(part: Part) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return the order that a design says of a part of three pins, and those the type is sold in.

    Both are empty alike where there is nothing to compare: another package, other names, more pins (whose order, as of
    a memory's address lines, one may well change) or a device that is not of the drawer.
    """
    nothing = ((), ((),))
    device = part.device
    if device is None or len(device.pins) != 3 or device.name not in device_names():
        return nothing
    own = drawer(device.name)
    known = {family_of(name).stem for name in (own.footprint, *own.alternatives)}
    meant = [own.find(pin.names[0]) for pin in device.pins if pin.names]
    said = tuple(pin.names[0] for pin in meant if pin is not None and pin.names)
    usual = tuple(pin.names[0] for pin in own.pins if pin.names)
    if part.footprint.family not in known or own.prefix not in ACTIVE or sorted(said) != sorted(usual):
        return nothing
    return said, own.orders or (usual,)


def other_package(part: Part) -> bool:
    """Tell whether an active part of three pins or more is in a package that the drawer does not know it in.

    Headers, wire pads and the like count their contacts as the device does and are no package.
    """
    device, own = part.device, part.footprint
    if device is None or len(device.pins) < 3 or device.prefix not in ACTIVE:
        return False
    if own.name in (device.footprint, *device.alternatives) or own.family not in family_stems():
        return False
    known = {family_of(name).stem for name in (device.footprint, *device.alternatives)}
    alike = set().union(*(group for group in ALIKE if group & known))
    if own.family not in known | alike:
        return not family_of(own.name).prefix
    too_many = len(own.numbers()) > len(device.pins)
    return too_many and any("{pins}" in form for form in family_of(own.name).forms)


def regulator(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Compare a regulator's greatest input, its greatest current and the heat of that with what it bears."""
    device = contacts[0].part.device
    by_name = {c.name: c for c in contacts if c.net}
    if device is None or not {"IN", "OUT"} <= set(by_name):
        return
    wiring, entry, exit_ = seen.wiring, by_name["IN"], by_name["OUT"]
    fed, said, fixed = wiring.volts(entry.net), wiring.volts(exit_.net), fixed_output(device.name)
    base = wiring.volts(by_name["GND"].net) if "GND" in by_name else None
    gives = said if fixed is None or base is None else fixed[0] + base
    against = gives if base is None else base
    if fed is not None and against is not None and device.supply:
        across, most = abs(fed - against), device.supply[1]
        if across > most + HAIR:
            where = f"{entry.words}, net {entry.net}"
            message = f"a {device.name} gets {across:g} V; it bears {most:g} V"
            yield REGULATOR_INPUT.finding(seen.rules, place(seen, entry), where, message, across, most, unit="V")
    drawn = seen.nets[exit_.net].amps
    if drawn is not None and device.amps is not None and drawn > device.amps + HAIR:
        where = f"{exit_.words}, net {exit_.net}"
        message = f"the net draws up to {drawn:g} A; a {device.name} gives {device.amps:g} A"
        yield REGULATOR_CURRENT.finding(seen.rules, place(seen, exit_), where, message, drawn, device.amps, unit="A")
    amps = next((a for c in (exit_, entry) if (a := seen.nets[c.net].amps) is not None), None)
    if fed is None or gives is None or amps is None or device.watts is None:
        return
    heat = abs(fed - gives) * amps
    if heat > device.watts + HAIR:
        message = (
            f"{abs(fed - gives):g} V at {amps:g} A make {heat:.3g} W; a {device.name} without a heat sink "
            f"bears {device.watts:g} W"
        )
        where = f"{contacts[0].part.reference}, from {entry.net} to {exit_.net}"
        yield DISSIPATION.finding(seen.rules, place(seen, exit_), where, message, heat, device.watts, unit="W")
