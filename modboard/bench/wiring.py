"""The wires between board and host: colour, gauge, length, stripping, order; and the way back for each."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from modboard.bench.colours import WIRE_COLOURS
from modboard.bench.copper import pad_name
from modboard.bench.kinds import kind_of
from modboard.bench.rails import ground
from modboard.describe.model import Description, HostWire
from modboard.layout.board import Board, Pad

# Strand and bundle diameters apart: conductor area in mm² by ASTM B258, d = 0.127 × 92^((36 - n)/39) mm.
GAUGES = (30, 28, 26, 24, 22, 20, 18)
DENSITY = 4.0  # A/mm², about 500 circular mils an ampere (common practice for wire in open air)
SLACK = 1.25  # wires do not run straight (common practice)
LOOP = 15.0  # mm more, so that the board can be lifted out with its wires on (common practice)
STRIP_HOST = 4.0  # mm at the host's end: round a pin or into a joint (common practice)
ADJACENT = 6.0  # mm between wires that one could mix up: two pads apart in a row (common practice)
OUT_OF_HOLE = 1.0  # mm of strands beyond the board


@dataclass(frozen=True)
class Wire:
    """One wire: from which pad to where, and how to cut it."""

    order: int
    pad: str
    name: str
    net: str
    host: str
    colour: str
    length: float | None  # mm to cut; None: the host point's position is not known
    strip_board: float
    strip_host: float
    awg: int
    amps: float | None
    drop: float | None  # V lost in the wire at `amps`
    warning: str


@dataclass(frozen=True)
class WayBack:
    """What is touched on the host, how it was joined, and how to undo it."""

    what: str
    undo: str
    cut: bool


def area(awg: int) -> float:
    """Return the conductor's area in mm² (ASTM B258).

    >>> round(area(24), 4)
    0.2047
    """
    return float(math.pi / 4 * (0.127 * 92 ** ((36 - awg) / 39)) ** 2)


def wiring(board: Board) -> tuple[Wire, ...]:
    """Return the wires in the order to fit them: ground first, signals, supplies last."""
    description = board.description
    zero = ground(description)
    hosts = {w.pin: w for w in description.wires}
    pads = [p for p in board.pads if p.net and _takes_wire(description, p, hosts)]
    colours = _colours(pads, hosts, zero, {n.name for n in description.nets if n.volts})
    nets = {n.name: n for n in description.nets}
    supply = {n.name for n in description.nets if n.volts}

    def turn(pad: Pad) -> tuple[int, int]:
        return (0 if pad.net == zero else 2 if pad.net in supply else 1, pads.index(pad))

    rows = []
    for order, pad in enumerate(sorted(pads, key=turn), 1):
        net = nets[pad.net or ""]
        said = hosts.get((pad.reference, pad.number))
        fits = _gauge_of(description, pad)
        need = gauge_for(net.amps)
        awg = fits if fits else min(need, 26)
        length = _length(pad, said)
        warning = ""
        if area(awg) < area(need) - 1e-9:
            warning = f"{net.amps:g} A wants {need} AWG, but the hole takes {awg}: use wire pads for {need} AWG"
        warning = "; ".join(w for w in (warning, _same_beside(pad, pads, colours)) if w)
        drop = None
        if length and net.amps:
            drop = net.amps * length / 1000 * (1 / 58) / area(awg)  # copper, IEC 60028
        rows.append(
            Wire(
                order,
                pad_name(pad),
                pad.pin_name,
                net.name,
                said.host if said else "",
                colours[pad_name(pad)],
                length,
                round(description.rules.thickness + OUT_OF_HOLE, 1),
                STRIP_HOST,
                awg,
                net.amps,
                drop,
                warning,
            )
        )
    return tuple(rows)


def way_back(board: Board) -> tuple[WayBack, ...]:
    """Return how to undo each thing done to the host, in the reverse order of doing it."""
    description = board.description
    hosts = {pad_name_of(w): w for w in description.wires}
    back = []
    for wire in reversed(wiring(board)):
        said = hosts.get(wire.pad)
        where = wire.host or f"host end of the {wire.colour} wire"
        undo = (said.undo if said else "") or f"unsolder the {wire.colour} wire, wick the joint clean"
        back.append(WayBack(where, undo, cut=False))
    for part in description.parts:
        if kind_of(part) == "host plug":
            back.append(
                WayBack(
                    f"host socket that {part.reference} plugs into",
                    "lever the board out evenly from both ends, put the original chip back, notch as before",
                    cut=False,
                )
            )
    back += [WayBack(c.what, c.undo, cut=True) for c in description.cuts]
    back += [WayBack(r.what, r.undo, cut=False) for r in description.removals]
    return tuple(back)


def pad_name_of(wire: HostWire) -> str:
    """Return the pad of a host wire as "J1.2"."""
    return ".".join(wire.pin)


def gauge_for(amps: float | None) -> int:
    """Return the thinnest gauge (AWG) that carries `amps` at 4 A/mm²; 28 where nothing is said."""
    if not amps:
        return 28
    return next((g for g in GAUGES if area(g) * DENSITY >= amps), GAUGES[-1])


def _takes_wire(description: Description, pad: Pad, hosts: dict[tuple[str, str], HostWire]) -> bool:
    return kind_of(description.part(pad.reference)) == "wire pads" or (pad.reference, pad.number) in hosts


def _gauge_of(description: Description, pad: Pad) -> int | None:
    """Return the gauge a wire pad's hole is made for; 24 where its name says none."""
    part = description.part(pad.reference)
    if kind_of(part) != "wire pads":
        return None
    named = re.search(r"(\d+)awg", part.footprint.name)
    return int(named[1]) if named else 24


def _length(pad: Pad, said: HostWire | None) -> float | None:
    if said is None:
        return None
    if said.length is not None:
        return said.length
    if said.at is None:
        return None
    return float(math.ceil((math.dist(pad.at, said.at) * SLACK + LOOP) / 5) * 5)


def _colours(
    pads: list[Pad], hosts: dict[tuple[str, str], HostWire], zero: str | None, supply: set[str]
) -> dict[str, str]:
    """Return a colour for each pad: as asked, black for ground, red for supply, else one not used in the same row.

    Wires nearer than `ADJACENT` never get the same colour, even on one net; only colours asked for can repeat there.
    """
    said = {pad_name(p): hosts[p.reference, p.number].colour for p in pads if (p.reference, p.number) in hosts}
    chosen = {name: colour for name, colour in said.items() if colour}
    at = {pad_name(p): p for p in pads}
    for pad in pads:
        name = pad_name(pad)
        if name in chosen:
            continue
        liked = ["black"] if pad.net == zero else ["red", "orange", "pink"] if pad.net in supply else []
        plain = [c for c in WIRE_COLOURS if c not in ("red", "black")]
        used = list(chosen.values())
        plain.sort(key=lambda c: (used.count(c), list(WIRE_COLOURS).index(c)))
        options = [*liked, *plain, "red", "black"]
        # How far the nearest wire of each colour is; in one row any two wires of different nets count as near.
        room = dict.fromkeys(options, math.inf)
        row = dict.fromkeys(options, False)
        for other, colour in chosen.items():
            room[colour] = min(room.get(colour, math.inf), math.dist(at[other].at, pad.at))
            if at[other].reference == pad.reference and at[other].net != pad.net:
                row[colour] = True
        free = [c for c in options if room[c] >= ADJACENT and not row[c]]
        chosen[name] = free[0] if free else max(options, key=lambda c: (room[c], -options.index(c)))
    return chosen


def _same_beside(pad: Pad, pads: list[Pad], colours: dict[str, str]) -> str:
    """Return a warning if a wire of the same colour, asked for in the design, goes in beside this one."""
    mine = colours[pad_name(pad)]
    for other in pads:
        if other is not pad and colours[pad_name(other)] == mine and math.dist(other.at, pad.at) < ADJACENT:
            return f"{pad_name(other)} beside it is {mine} too: mark one of them"
    return ""
