"""Supplies: pins on the wrong one, parts the wrong way round between two, regulators without head-room."""

from __future__ import annotations

import re
from collections.abc import Iterator

from modboard.check.drivers import place
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.wiring import GROUND, Contact, Wiring, kind_of

SUPPLY_PIN_NET = Rule(
    "supply-pin-net",
    "error",
    "supply pins are on the supply that they ask for, the right way round",
    "move the pin to its own supply; a file of your own part says may_be_ground where its data sheet allows that",
    source="the pin names of the device",
)
SUPPLY_VOLTS = Rule(
    "supply-volts",
    "error",
    "the voltage across a chip's supply pins is what the chip works at",
    "feed the chip from another net, or correct the volts= of the nets",
    source="data sheet range of the device",
)
POLARITY = Rule(
    "polarity",
    "error",
    "a polarised part stands the right way round between its nets",
    "swap its two pins in the design, or correct the volts= of the nets",
    source="the volts of the nets",
)
HEAD_ROOM = Rule(
    "regulator-head-room",
    "error",
    "a regulator is fed with as much more than it gives as it needs",
    "feed it from a higher voltage, or take a low-drop regulator",
    source="typical data sheets, from memory",
)
REGULATOR_OUTPUT = Rule(
    "regulator-output",
    "error",
    "a net fed by a fixed regulator has the voltage that the regulator gives",
    "correct the volts= of the net, or take the regulator for it",
    source="the type number",
)
VOLTS_SIGN = Rule(
    "volts-sign",
    "warning",
    "the volts of a negative rail have their minus sign, so that gaps to positive nets count both",
    "write the volts of the net with a minus sign",
    source="the name of the net, or the regulator on it",
)
RULES = (VOLTS_SIGN, SUPPLY_PIN_NET, SUPPLY_VOLTS, POLARITY, HEAD_ROOM, REGULATOR_OUTPUT)

FIXED = (  # what the type number says, and least volts over the output at the rated current (data sheets, from memory)
    (re.compile(r"78(\d\d)"), 1.0, 2.0),
    (re.compile(r"78L(\d\d)"), 1.0, 1.7),
    (re.compile(r"79(\d\d)"), -1.0, 1.1),
    (re.compile(r"79L(\d\d)"), -1.0, 1.7),
    (re.compile(r"1117-(\d\.\d)"), 1.0, 1.2),
)
ADJUSTABLE = {"LM317": 2.0, "LM317L": 2.0, "1117-adj": 1.2}  # V over the output, data sheets, from memory
WRONG_WAY = 0.5  # V; what electrolytics bear the wrong way round for long is less, common practice
OUTPUT_SHARE = 0.1  # of the regulator's voltage that a net's may differ: a design may round its figures
OVER = 1.1  # times the greatest supply voltage: less is a fault to look at, more kills chips; common practice
HAIR = 1e-9  # V, rounding
CONDUCTS = 1.5  # V between two supplies that no diode in order would stand between


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at the rails, then at every part that stands between supplies."""
    for name, net in seen.nets.items():
        if net.volts is not None and net.volts > 0 and seen.wiring.is_negative(name):
            message = f"{name} looks like a negative rail but is said to have {net.volts:g} V"
            at = seen.pad_places.get(net.pins[0]) if net.pins else None
            yield VOLTS_SIGN.finding(seen.rules, at, f"net {name}", message, net.volts, -net.volts, unit="V")
    for contacts in seen.wiring.by_part.values():
        yield from supply_pins(seen, contacts)
        yield from polarised(seen, contacts)
        yield from regulators(seen, contacts)


def supply_pins(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Compare the nets of a chip's ground pins with those of its others, and the volts between with its range."""
    wiring = seen.wiring
    part = contacts[0].part if contacts else None
    fed = [c for c in contacts if c.pin.type == "power-in" and c.net]
    if part is None or part.device is None or len(fed) < 2 or any(c.pin.type == "power-out" for c in contacts):
        return
    grounds = [c for c in fed if GROUND.fullmatch(c.name)]
    rest = [c for c in fed if c not in grounds and not c.pin.may_be_ground]
    for ground in grounds:
        for other in rest:
            if ground.net == other.net:
                where = f"{ground.words} and {other.words}, net {ground.net}"
                message = f"{part.reference} has its ground and its supply on one net"
                yield SUPPLY_PIN_NET.finding(seen.rules, place(seen, other), where, message)
                return
    if grounds and rest and not wiring.is_ground(grounds[0].net):
        for other in rest:
            if GROUND.fullmatch(other.net):
                where = f"{grounds[0].words} on net {grounds[0].net} and {other.words} on net {other.net}"
                message = f"{part.reference} has its supply on the ground and its ground on another net"
                yield SUPPLY_PIN_NET.finding(seen.rules, place(seen, other), where, message)
                return
    yield from range_of(seen, wiring, fed)


def range_of(seen: Inspection, wiring: Wiring, fed: list[Contact]) -> Iterator[Finding]:
    """Compare the greatest voltage between a chip's supply pins with the range of its data sheet."""
    part = fed[0].part
    known = [volts for c in fed if (volts := wiring.volts(c.net)) is not None]
    if part.device is None or part.device.supply is None or len(known) < len(fed):
        return
    across = max(known) - min(known)
    least, greatest = part.device.supply
    if not least - HAIR <= across <= greatest + HAIR:
        where = f"{part.reference}, between {' and '.join(sorted({c.net for c in fed}))}"
        message = f"{part.kind} gets {across:g} V across its supply; it works at {least:g} to {greatest:g} V"
        limit = least if across < least else greatest
        deadly = across > OVER * greatest
        yield SUPPLY_VOLTS.finding(
            seen.rules, place(seen, fed[0]), where, message, across, limit, unit="V",
            severity="error" if deadly else "warning",
        )  # fmt: skip


def polarised(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Report capacitors whose + is below their -, and diodes that join two supplies in the direction they conduct."""
    wiring = seen.wiring
    by_name = {c.name: c for c in contacts if c.net}
    if {"+", "-"} <= set(by_name):
        plus, minus = by_name["+"], by_name["-"]
        high, low = wiring.volts(plus.net), wiring.volts(minus.net)
        if high is not None and low is not None and high < low - WRONG_WAY:
            where = f"{plus.part.reference}, + on net {plus.net} and - on net {minus.net}"
            message = f"{plus.part.reference} has {low - high:g} V across it the wrong way round"
            yield POLARITY.finding(seen.rules, place(seen, plus), where, message, high - low, 0.0, unit="V")
    if set(by_name) == {"K", "A"} and len(contacts) == 2 and "light" not in kind_of(contacts[0].part):
        anode, cathode = by_name["A"], by_name["K"]
        high, low = wiring.volts(anode.net), wiring.volts(cathode.net)
        both = wiring.is_supply(anode.net) and wiring.is_supply(cathode.net)
        if both and high is not None and low is not None and high > low + CONDUCTS:
            where = f"{anode.part.reference}, A on net {anode.net} and K on net {cathode.net}"
            message = f"the diode conducts: {high - low:g} V from {anode.net} to {cathode.net} with nothing between"
            yield POLARITY.finding(seen.rules, place(seen, anode), where, message, high - low, CONDUCTS, unit="V")


def regulators(seen: Inspection, contacts: list[Contact]) -> Iterator[Finding]:
    """Compare what a regulator is fed with and what it feeds with its type, as far as volts are known."""
    device = contacts[0].part.device if contacts else None
    by_name = {c.name: c for c in contacts if c.net}
    if device is None or not {"IN", "OUT"} <= set(by_name):
        return
    entry, exit_ = by_name["IN"], by_name["OUT"]
    fed, fixed = seen.wiring.volts(entry.net), fixed_output(device.name)
    said = seen.wiring.volts(exit_.net)
    gives = said if fixed is None else fixed[0]
    base = seen.wiring.volts(by_name["GND"].net) if "GND" in by_name else 0.0
    if base is None or (base and fixed is None):
        return
    if fixed is not None:
        gives = fixed[0] + base
        if said is not None and abs(said - gives) > OUTPUT_SHARE * abs(fixed[0]):
            where = f"{exit_.words}, net {exit_.net}"
            message = f"the net is said to have {said:g} V, a {device.name} gives {gives:g} V"
            yield REGULATOR_OUTPUT.finding(seen.rules, place(seen, exit_), where, message, said, gives, unit="V")
    drop = fixed[1] if fixed is not None else ADJUSTABLE.get(device.name)
    if fed is None or gives is None or drop is None:
        return
    over = fed - gives if gives >= base else gives - fed
    if over < drop - HAIR:
        where = f"{entry.words}, net {entry.net}"
        message = (
            f"{fed:g} V in and {gives:g} V out leave {over:g} V over the regulator; a {device.name} needs {drop:g} V"
        )
        yield HEAD_ROOM.finding(seen.rules, place(seen, entry), where, message, over, drop, unit="V")


def fixed_output(name: str) -> tuple[float, float] | None:
    """Return (volts out, least volts across) of a fixed regulator by its type number; None for any other part."""
    for pattern, sign, drop in FIXED:
        if match := pattern.fullmatch(name):
            return sign * float(match[1]), drop
    return None
