"""Which nets carry supply, which is ground, and where on the board one can measure them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from modboard.bench.continuity import Spot
from modboard.bench.copper import pad_name, solder_side
from modboard.bench.kinds import kind_of
from modboard.describe.model import Description, Net
from modboard.layout.board import Board

GROUND_NAMES = ("GND", "0V", "VSS", "AGND", "DGND", "GROUND", "COM")
LOGIC_LIMITS = 0.05  # a 5 V rail is good from 4.75 to 5.25 V: the supply range of 74-series data sheets
SUPPLY_NAME = re.compile(r"[+-]?\d|V(\d|CC|DD|EE|SS|IN|OUT|BAT|[PNLS]?$)|AC|DC|BAT|SUPPLY|POWER")  # common practice
CONNECTING = ("connector", "wire pads", "host plug")


@dataclass(frozen=True)
class Rail:
    """A supply net: nominal volts, good limits, whether it is made on this board, and its points (rail, ground)."""

    net: Net
    volts: float
    low: float
    high: float
    made_here: bool
    alternating: bool
    points: tuple[tuple[Spot, Spot], ...]


def ground(description: Description) -> str | None:
    """Return the name of the ground net: by name, else the poured net; None if there is none."""
    named = [n.name for n in description.nets if n.name.upper() in GROUND_NAMES]
    poured = [n.name for n in description.nets if n.pour]
    return next(iter(named or poured), None)


def rails(board: Board) -> tuple[Rail, ...]:
    """Return the supply nets, those fed from outside first.

    Nets whose volts are said for their gaps alone (switched outputs, inputs of other equipment) are none: see `feeds`.
    """
    description = board.description
    zero = ground(description)
    found = []
    for net in description.nets:
        if net.volts is None or net.volts == 0 or net.name == zero:
            continue
        types = {_type(description, pin) for pin in net.pins}
        outside = [p for p in net.pins if kind_of(description.part(p[0])) in CONNECTING]
        if not outside and not {"power-in", "power-out"} & types:
            continue
        if not feeds(description, net, zero):
            continue
        called_out = "OUT" in net.name.upper() or any("OUT" in _name(description, p) for p in outside)
        low, high = _limits(description, net)
        points = _points(board, net, zero) if zero else ()
        if points:
            made = "power-out" in types or called_out or not outside
            found.append(Rail(net, net.volts, low, high, made, net.name.upper().startswith("AC"), points))
    return tuple(sorted(found, key=lambda r: r.made_here))


def feeds(description: Description, net: Net, zero: str | None) -> bool:
    """Tell whether a net with volts is a supply: by a chip's power pin, a capacitor to ground, its name, or alone."""
    if any(_type(description, pin) in ("power-in", "power-out") for pin in net.pins):
        return True
    if SUPPLY_NAME.match(net.name.upper()):
        return True
    on_ground = {reference for n in description.nets if n.name == zero for reference, _ in n.pins}
    here = {reference for reference, _ in net.pins}
    if any(kind_of(description.part(r)) in ("capacitor", "electrolytic") for r in here & on_ground):
        return True
    return sum(1 for n in description.nets if n.volts and n.name != zero) == 1


def _type(description: Description, pin: tuple[str, str]) -> str:
    device = description.part(pin[0]).device
    known = device.find(pin[1]) if device else None
    return known.type if known else "passive"


def _name(description: Description, pin: tuple[str, str]) -> str:
    device = description.part(pin[0]).device
    known = device.find(pin[1]) if device else None
    return known.names[0].upper() if known and known.names else ""


def _limits(description: Description, net: Net) -> tuple[float, float]:
    """Return what all chips on the rail bear, within 5 % of what was said."""
    assert net.volts is not None
    low, high = sorted((net.volts * (1 - LOGIC_LIMITS), net.volts * (1 + LOGIC_LIMITS)))
    for reference, number in net.pins:
        device = description.part(reference).device
        if net.volts > 0 and device and device.supply and _type(description, (reference, number)) == "power-in":
            least, most = device.supply
            if least <= net.volts <= most:
                low, high = max(low, least), min(high, most)
    return low, high


def _points(board: Board, net: Net, zero: str) -> tuple[tuple[Spot, Spot], ...]:
    """Return pairs of (rail, ground) points on one part where it has both, connectors first, then chips."""
    spots: dict[tuple[str, str | None], Spot] = {}
    for pad in board.pads:
        spots.setdefault((pad.reference, pad.net), Spot(pad_name(pad), solder_side(board, pad), pad.at))
    parts = [p for p in board.description.parts if p.fitted]
    order = [p for p in parts if kind_of(p) in CONNECTING]
    order += [p for p in parts if kind_of(p) in ("socket", "chip", "regulator", "oscillator")]
    found = [
        (spots[p.reference, net.name], spots[p.reference, zero])
        for p in order
        if (p.reference, net.name) in spots and (p.reference, zero) in spots
    ]
    if not found:
        rail = [s for (_, name), s in spots.items() if name == net.name]
        zeros = [s for (_, name), s in spots.items() if name == zero]
        found = [(rail[0], zeros[0])] if rail and zeros else []
    return tuple(dict.fromkeys(found))
