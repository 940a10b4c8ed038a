"""What a meter shows between two nets of a fitted board without power: the resistors and coils as a network.

Chips and capacitors pass no steady current worth counting and are left out; junctions are told apart, for a meter in
its beep or diode range drives some through them.  The network is solved by nodal analysis (Kirchhoff's current law).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from modboard.bench.kinds import junctions, kind_of, value_of
from modboard.bench.values import ohms_in_words
from modboard.describe.model import Description, Part

BEEPS_BELOW = 50.0  # Ω; meters beep below 30 to 50 (common practice)
TELLS_APART = 2.0  # Ω; above this a hobby meter with leads of 0.3 Ω tells a part from a short (common practice)
SHUNT_AMPS = 0.1  # A sent through a resistor too low for the ohms range; any bench supply limits there
LEAST_SHUNT = 0.02  # Ω: 2 mV at SHUNT_AMPS, plain on a meter that shows 0.1 mV; solder across it leaves well under 1 mV
COIL = 1.0  # Ω taken for a coil whose resistance is not said; a few at most for parts of this size (common practice)
CHIRPS_ABOVE = 10e-6  # F; a capacitor this large makes a beeper chirp as it charges (common practice)


@dataclass(frozen=True)
class Branch:
    """A part that passes steady current either way between two nets."""

    reference: str
    one: str
    other: str
    ohms: float
    known: bool = True


@dataclass(frozen=True)
class Expected:
    """What a good board shows between two nets: `ohms`, and remarks in words.

    `verdict` is "silent"; "beep anyway" (read ohms); "millivolts" (too low for that: send `SHUNT_AMPS` through and read
    what is lost, `least` at the least); or "no telling" (only an eye can).
    """

    verdict: str
    ohms: float
    remarks: tuple[str, ...] = ()
    least: float = 0.0  # mV or Ω below which there is a bridge


class Network:
    """The resistances between the nets of a design, and its junctions."""

    def __init__(self, description: Description) -> None:
        """Read the parts that are fitted."""
        net_of = description.net_of()
        self.branches: list[Branch] = []
        self.junctions: list[tuple[str, str, str]] = []  # (part, red net, black net)
        self.large: list[tuple[str, str, str]] = []  # capacitors (part, net, net)
        self.chips: dict[str, list[str]] = {}  # net -> parts on it that may pass current the network leaves out
        for part in description.parts:
            if part.fitted:
                self._add(part, {pad: net for (ref, pad), net in net_of.items() if ref == part.reference})

    def _add(self, part: Part, nets: dict[str, str]) -> None:
        kind, value = kind_of(part), value_of(part)
        pads = list(nets)
        two = (nets[pads[0]], nets[pads[-1]]) if pads else ("", "")
        if kind in ("resistor", "inductor") and len(pads) == 2:
            ohms = value if kind == "resistor" else COIL
            if ohms is not None:
                self.branches.append(Branch(part.reference, *two, max(ohms, 1e-3), kind == "resistor"))
        elif kind == "trimmer" and value is not None and part.device:
            ends = [nets.get(p.number) for p in part.device.pins]
            for one, other in ((ends[0], ends[1]), (ends[1], ends[2])):
                if one and other and one != other:
                    self.branches.append(Branch(part.reference, one, other, value / 2, False))
        elif kind in ("capacitor", "electrolytic") and len(pads) == 2 and value and value >= CHIRPS_ABOVE:
            self.large.append((part.reference, *two))
        for red, black in junctions(part):
            if red in nets and black in nets and nets[red] != nets[black]:
                self.junctions.append((part.reference, nets[red], nets[black]))
        if kind in ("chip", "regulator", "oscillator", "network", "transistor"):
            for net in set(nets.values()):
                self.chips.setdefault(net, []).append(part.reference)

    def ohms(self, one: str, other: str, extra: Iterable[Branch] = ()) -> float:
        """Return the resistance in Ω between two nets; infinity if nothing joins them."""
        branches = [b for b in (*self.branches, *extra) if b.one != b.other]
        nets = reached(one, branches)
        if one == other:
            return 0.0
        if other not in nets:
            return math.inf
        index = {net: k for k, net in enumerate(sorted(nets - {other}))}
        conductance = np.zeros((len(index), len(index)))
        for b in branches:
            if b.one not in nets:
                continue
            for net, far in ((b.one, b.other), (b.other, b.one)):
                if net in index:
                    conductance[index[net], index[net]] += 1 / b.ohms
                    if far in index:
                        conductance[index[net], index[far]] -= 1 / b.ohms
        current = np.zeros(len(index))
        current[index[one]] = 1.0
        return float(np.linalg.solve(conductance, current)[index[one]])

    def expected(self, red: str, black: str) -> Expected:
        """Return what a good fitted board shows between two nets, and what may mislead."""
        ohms = self.ohms(red, black)
        remarks, least = [], 0.0
        through = [b.reference for b in self.branches if {b.one, b.other} == {red, black}]
        by = f" through {', '.join(through)}" if through else ""
        if any(not b.known for b in self.branches if b.reference in through):
            remarks.append("a coil's or trimmer's own resistance is taken as about that")
        if ohms < LEAST_SHUNT:
            verdict = "no telling"
            remarks.append(f"beeps even when good{by}, and no reading tells a bridge from it: look with a lens")
        elif ohms < TELLS_APART:
            verdict = "millivolts"
            lost = 1000 * SHUNT_AMPS * ohms
            sure = all(b.known for b in self.branches if {b.one, b.other} <= reached(red, self.branches))
            least = lost / 2 if sure else 1000 * SHUNT_AMPS * LEAST_SHUNT / 2
            right = f"{lost:.3g} mV is right, " if sure else ""
            more = "" if sure else ", a coil shows more"
            remarks.append(
                f"beeps even when good{by}. Send {SHUNT_AMPS * 1000:.0f} mA from a bench supply (1 V, that current "
                "limit) from red to black and put the meter on millivolts at the same two leads: "
                f"{right}under {least:.2g} mV is a bridge{more}. No supply? Look with a lens"
            )
        elif ohms < BEEPS_BELOW:
            verdict, least = "beep anyway", ohms / 2
            remarks.append(f"may beep even when good{by}: use the ohms range, {ohms_in_words(ohms)} is right")
        else:
            verdict = "silent"
            if math.isfinite(ohms):
                others = sorted({*self.chips.get(red, ()), *self.chips.get(black, ())})
                less = f", or less through {' '.join(others[:4])}" if others else ""
                remarks.append(f"the ohms range shows {ohms_in_words(ohms)}{by}{less}")
        for way, (a, b) in (("red as said", (red, black)), ("probes swapped", (black, red))):
            parts = self.conducting(a, b)
            if parts and verdict == "silent":
                remarks.append(f"{way}, {', '.join(parts)} may conduct: a diode's 0.2 to 0.7 V is no short")
        remarks += [
            f"{ref} charges first: wait until the chirp ends" for ref, a, b in self.large if {a, b} == {red, black}
        ]
        return Expected(verdict, ohms, tuple(remarks), least)

    def conducting(self, red: str, black: str) -> tuple[str, ...]:
        """Return the parts of the shortest way from `red` to `black` through one junction, low resistors allowed."""
        low = [b for b in self.branches if b.ohms < 1000.0]
        start, end = reached(red, low), reached(black, low)
        if black in start:
            return ()
        return tuple(sorted({ref for ref, a, b in self.junctions if a in start and b in end}))


def reached(start: str, branches: Iterable[Branch]) -> set[str]:
    """Return the nets joined to `start` by any chain of branches."""
    beside: dict[str, list[str]] = {}
    for b in branches:
        beside.setdefault(b.one, []).append(b.other)
        beside.setdefault(b.other, []).append(b.one)
    found, stack = {start}, [start]
    while stack:
        for net in beside.get(stack.pop(), []):
            if net not in found:
                found.add(net)
                stack.append(net)
    return found
