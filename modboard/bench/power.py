"""The power-up ladder: from a dead board to a working one, never two risks at once, each rung with what to expect."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from modboard.bench.continuity import Spot
from modboard.bench.kinds import kind_of
from modboard.bench.rails import Rail, ground, rails
from modboard.bench.readings import Network
from modboard.bench.values import ohms_in_words
from modboard.layout.board import Board

Rung = Literal["caution", "ohms", "first power", "volts", "chips", "function"]
LEAST_LIMIT = 0.02  # A; bench supplies hardly limit below (common practice)
MOST_FIRST = 0.2  # A; a board without its load wants no more, and no track of it burns (common practice)
LEAST_OHMS = 100.0  # Ω below which a 5 V rail of such a board is looked on as shorted if nothing explains it

CAUTIONS = (
    "Unplug the host and wait: capacitors in supplies and near picture tubes stay charged, sometimes for days. "
    "Measure before you touch.",
    "Nothing here is for mains voltage. Leave closed what is mains inside: that is for people qualified for it.",
    "An iron burns and flux fumes harm: rest it in its stand, work in moving air, wash your hands after.",
    "Wear glasses when you cut leads. They fly.",
)


@dataclass(frozen=True)
class PowerStep:
    """One rung: what to do, where the probes go, what is right, and what to do if it is not."""

    rung: Rung
    title: str
    action: str
    expect: str
    if_wrong: str
    red: Spot | None = None
    black: Spot | None = None
    low: float | None = None  # in `unit`; None: no figure is asked for
    high: float | None = None
    unit: str = ""


def ladder(board: Board, network: Network) -> tuple[PowerStep, ...]:
    """Return the rungs in order, cautions first."""
    found = rails(board)
    description = board.description
    sockets = [p.reference for p in description.parts if p.fitted and kind_of(p) == "socket"]
    steps = [PowerStep("caution", "Before any power", text, "", "") for text in (*description.cautions, *CAUTIONS)]
    zero = ground(description)
    out = f" Chips out of {', '.join(sockets)}." if sockets else ""
    steps += [_cold(rail, network, zero or "", out) for rail in found]
    fed = [r for r in found if not r.made_here]
    wires = {p.reference for p in description.parts if kind_of(p) == "wire pads"}
    steps += [_first(rail, out, rail.points[0][0].pad.rpartition(".")[0] in wires) for rail in fed]
    for rail in found:
        steps += [_volts(rail, red, black, bool(sockets)) for red, black in rail.points]
    if sockets:
        steps.append(
            PowerStep(
                "chips",
                "Chips in",
                f"Power off; wait ten seconds. Put the chips into {', '.join(sockets)}, notch to notch, no pin bent "
                "under. Power on again with the same current limit and feel for anything that gets hot.",
                "No chip too hot to hold a finger on; current below the limit.",
                "Power off at once. A chip the wrong way round, or in the wrong socket.",
            )
        )
        steps += [_volts(rail, *rail.points[-1], False) for rail in fed]
    words = " ".join(note if note.endswith((".", "!", "?")) else f"{note}." for note in description.own_notes)
    steps.append(
        PowerStep(
            "function",
            "Does it do its job?",
            f"Now try what the board is for: {description.title}. {words}".strip(),
            "It works.",
            "Power off. Take the readings of the power pages again, then hear the joints of the part that is quiet.",
        )
    )
    return tuple(steps)


def _cold(rail: Rail, network: Network, zero: str, out: str) -> PowerStep:
    red, black = rail.points[0]
    ohms = network.ohms(rail.net.name, zero)
    others = [b.reference for b in network.branches if {b.one, b.other} == {rail.net.name, zero}]
    if math.isinf(ohms):
        expect, low = f"climbs as capacitors charge and ends above {ohms_in_words(1000)}", LEAST_OHMS
    else:
        by = f" ({' and '.join(others)})" if others else ""
        expect, low = f"{ohms_in_words(ohms)}{by}, or less through what else is fitted", min(LEAST_OHMS, 0.5 * ohms)
    return PowerStep(
        "ohms",
        f"{rail.net.name} against ground, no power",
        f"Ohms range.{out} Red on {red.pad}, black on {black.pad}; wait until it settles.",
        expect,
        f"Below {ohms_in_words(low)}: do not power it. Look for a bridge on {rail.net.name}, then for an electrolytic "
        "or diode the wrong way round.",
        red,
        black,
        low,
        None,
        "Ω",
    )


def _first(rail: Rail, out: str, holes: bool) -> PowerStep:
    """First power; `holes` says that the supply goes to empty holes for wires."""
    red, black = rail.points[0]
    limit = current_limit(rail.net.amps)
    ohms = abs(rail.volts) / limit
    watts = math.ceil(rail.volts**2 / ohms * 4) / 4
    kind = "V AC" if rail.alternating else "V"
    hold = " A clipped-off lead in each hole gives its clips a hold." if holes else ""
    return PowerStep(
        "first power",
        f"First power: {rail.volts:g} {kind} on {rail.net.name}",
        f"Not in the host yet: a bench supply to {red.pad} ({'+' if rail.volts > 0 else '-'}) and {black.pad}, set to "
        f"{abs(rail.volts):g} {kind}, current limit {limit * 1000:.0f} mA.{out}{hold} No limiter? Put "
        f"{ohms_in_words(_e12_above(ohms))} in the supply wire, of at least {watts:g} W: it can take a "
        "dead short. Take it out before the next page: the rail reads low through it.",
        f"The supply does not limit; less than {limit * 1000:.0f} mA.",
        "It limits, or something smells or warms: power off, and back to the resistance across the rail.",
        red,
        black,
        0.0,
        limit * 1000,
        "mA",
    )


def current_limit(amps: float | None) -> float:
    """Return the limit for first power in A: what the net is said to carry, rounded up to 10 mA; 50 mA if not said.

    Never more than `MOST_FIRST`: nothing hangs on the board yet.
    """
    return min(MOST_FIRST, max(LEAST_LIMIT, math.ceil((amps if amps else 0.05) * 100 - 1e-9) / 100))


def _volts(rail: Rail, red: Spot, black: Spot, empty: bool) -> PowerStep:
    socket = " (socket still empty)" if empty else ""
    if rail.alternating:
        return PowerStep(
            "volts", f"{rail.net.name} at {red.pad}", f"Volts AC. Red on {red.pad}, black on {black.pad}.",
            f"about {abs(rail.volts):g} V AC", "Check the transformer's wiring, power off.", red, black,
            abs(rail.volts) * 0.8, abs(rail.volts) * 1.2, "V",
        )  # fmt: skip
    return PowerStep(
        "volts",
        f"{rail.net.name} at {red.pad}{socket}",
        f"Volts DC. Red on {red.pad}, black on {black.pad}.",
        f"{rail.volts:g} V: {rail.low:.2f} to {rail.high:.2f}",
        "Nothing: a break between here and the supply. Low: something draws too much. High: the supply or regulator is "
        "wrong, fit no chip.",
        red,
        black,
        rail.low,
        rail.high,
        "V",
    )


def _e12_above(ohms: float) -> float:
    """Return the next higher value of the E12 series (IEC 60063)."""
    series = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2, 10.0)
    power = 10.0 ** math.floor(math.log10(ohms))
    return float(next(e for e in series if e * power >= ohms * (1 - 1e-9)) * power)
