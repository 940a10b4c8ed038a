"""Values: whether they are said, whether makers sell them, and whether bodies bear what the volts of the nets make."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.describe.model import Part
from modboard.describe.values import Quantity, made_in, neighbours, printed, read, sort_of, within
from modboard.geometry import Position

VALUE_MISSING = Rule(
    "value-missing",
    "warning",
    "a part that is sold in many values has its own said",
    'say it after the kind, as in board.part("R1", "resistor", "4k7")',
    source="the parts list, which nobody could buy from",
)
VALUE_UNREADABLE = Rule(
    "value-unreadable",
    "warning",
    "the value of a resistor, capacitor or inductor says how many ohms, farads or henries",
    'write it like "4k7", "100n" or "10u 25V"',
    source="IEC 60062 (from memory)",
)
VALUE_SERIES = Rule(
    "value-series",
    "warning",
    "values are of a series that parts are made in",
    "take a neighbour from the series, or say the tolerance of the one you have (as in 1%)",
    source="IEC 60063",
)
RESISTOR_RATING = Rule(
    "resistor-rating",
    "warning",
    "a resistor's body bears the greatest power that the volts of its nets can make in it",
    "take a larger body or a higher value, or correct the volts= of the nets",
    source="makers' rating of a body of that size at 70 °C",
)
CAPACITOR_RATING = Rule(
    "capacitor-rating",
    "error",
    "a capacitor bears the greatest voltage that its nets can put across it",
    "take a capacitor for a higher voltage, or correct the volts= of the nets",
    source="the volts written in its value",
)
RULES = (VALUE_MISSING, VALUE_UNREADABLE, VALUE_SERIES, RESISTOR_RATING, CAPACITOR_RATING)

HAIR = 1e-9  # W or V, rounding
UNSAID = {  # devices of the drawer that are any of their kind until a value says which, and what that value is
    "diode": "type", "zener": "voltage or type", "crystal": "frequency", "trimmer": "resistance",
    "trimmer-single-turn": "resistance",
}  # fmt: skip
MEASURED = {"resistor": "resistance", "inductor": "inductance"}  # of all other sorts it is the capacitance
RATED = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s?V(?![A-Za-z])")


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every part that has a value to read; one not fitted is looked at too, for it may be fitted later."""
    for part in seen.description.parts:
        kind = part.device.name if part.device else part.kind
        sort = sort_of(kind)
        at = next((seen.pad_places.get((part.reference, number)) for number in part.footprint.numbers()), None)
        if not part.value.strip():
            wanted = MEASURED.get(sort, "capacitance") if sort else UNSAID.get(kind)
            if wanted and part.fitted:
                message = f"no value is given: the {wanted} of this {kind} is missing"
                yield VALUE_MISSING.finding(seen.rules, at, part.reference, message)
            continue
        if sort is None:
            continue
        found = read(part.value, sort)
        if found is None:
            message = f'"{part.value}" is no value of {"an" if sort[0] in "aeiou" else "a"} {sort}'
            yield VALUE_UNREADABLE.finding(seen.rules, at, part.reference, message)
            continue
        yield from outside_series(seen, part, found, at)
        if sort == "resistor":
            yield from overloaded(seen, part, found, at)
        elif sort in ("capacitor", "electrolytic"):
            yield from overvolted(seen, part, found, at)


def outside_series(seen: Inspection, part: Part, found: Quantity, at: Position | None) -> Iterator[Finding]:
    """Report a value that is in none of the series its tolerance is made in, with its neighbours."""
    numbers = made_in(found)
    if any(within(found.value, number) for number in numbers):
        return
    below, above = (printed(found.sort, v) for v in neighbours(found.value, numbers[0]))
    names = " or ".join(f"E{number}" for number in numbers)
    message = f"{found} is not in {names}; E{numbers[0]} has {below} and {above}"
    yield VALUE_SERIES.finding(seen.rules, at, part.reference, message)


def overloaded(seen: Inspection, part: Part, found: Quantity, at: Position | None) -> Iterator[Finding]:
    """Report more power than the body's rating, where both nets say their volts; what alternates counts effective."""
    rating, across = part.footprint.watts, effective_across(seen, part)
    if rating is None or across is None or found.value == 0:
        return
    power = across**2 / found.value
    if power > rating + HAIR:
        message = (
            f"{across:g} V across {found} makes {power:.3g} W; a body like {part.footprint.name} bears {rating:g} W"
        )
        yield RESISTOR_RATING.finding(seen.rules, at, part.reference, message, power, rating, unit="W")


def overvolted(seen: Inspection, part: Part, found: Quantity, at: Position | None) -> Iterator[Finding]:
    """Report more volts than a capacitor's value says it bears, where both nets say their volts."""
    said, across = RATED.search(found.rest), volts_across(seen, part)
    if said is None or across is None:
        return
    rating = float(said[1].replace(",", "."))
    if across > rating + HAIR:
        message = f"up to {across:g} V stand across {part.reference}, which is for {rating:g} V"
        yield CAPACITOR_RATING.finding(seen.rules, at, part.reference, message, across, rating, unit="V")


def effective_across(seen: Inspection, part: Part) -> float | None:
    """Return the greatest effective voltage (V) across a part of two pins; None if nobody knows.

    What alternates heats like its peak over the root of two (sines); two such nets may be in opposite phase, and what
    alternates and what stands still add by their squares.
    """
    ends = [seen.nets[c.net] for c in seen.wiring.by_part[part.reference] if c.net]
    if len(ends) != 2 or not any(net.ac for net in ends):
        return volts_across(seen, part)
    if ends[0].name == ends[1].name:
        return None
    swings = [seen.wiring.swing(net.name) for net in ends]
    if None in swings:
        return None
    alternating = sum(abs(net.volts or 0.0) for net in ends if net.ac) / math.sqrt(2)
    steady = max(
        (abs(v) for net, swing in zip(ends, swings, strict=True) if swing and not net.ac for v in swing), default=0.0
    )
    return round(math.hypot(alternating, steady), 6)


def volts_across(seen: Inspection, part: Part) -> float | None:
    """Return the greatest voltage (V) that can stand across a part of two pins; None if nobody knows."""
    contacts = [c for c in seen.wiring.by_part[part.reference] if c.net]
    if len(contacts) != 2 or contacts[0].net == contacts[1].net:
        return None
    return seen.wiring.between(contacts[0].net, contacts[1].net)
