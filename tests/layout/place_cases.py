"""Small circuits to place, written straight as values: what a design file would have said."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

import shapely

from modboard.describe.model import CavityModel, Description, MountingHole, Net, Obstacle, Part, Wish
from modboard.errors import CallSite
from modboard.geometry import circle
from modboard.library import footprint
from modboard.library.model import Device, Pin
from tests.sample import sample_rules

SITE = CallSite("cases.py", 1)


def chip(name: str, pads: int, supply: Sequence[int], ground: Sequence[int], outputs: Sequence[int] = ()) -> Device:
    """Return a device whose supply and ground pads are known."""
    power = {*supply, *ground}
    kinds = {n: "power-in" if n in power else "power-out" if n in outputs else "passive" for n in range(1, pads + 1)}
    pins = tuple(Pin(str(n), (str(n),), kinds[n]) for n in range(1, pads + 1))  # type: ignore[arg-type]
    return Device(name, name, pins, "")


def described(
    parts: Sequence[tuple[str, str, str] | tuple[str, str, str, Device]],
    nets: dict[str, str],
    outline: Any,
    *,
    wishes: dict[str, Wish] | None = None,
    groups: Sequence[Sequence[str]] = (),
    pours: Sequence[str] = (),
    holes: Sequence[MountingHole] = (),
    cavity: CavityModel | None = None,
) -> Description:
    """Return a description; each part is (reference, kind, footprint name[, device]), nets are "R1.1 C2.2"."""
    rules = sample_rules()
    made = tuple(Part(p[0], p[1], p[3] if len(p) > 3 else None, "", footprint(p[2]), SITE) for p in parts)
    netlist = tuple(
        Net(name, tuple((r, n) for r, n in (pin.split(".") for pin in pins.split())), SITE, rules.track, rules.gap,
            pour="bottom" if name in pours else None)
        for name, pins in nets.items()
    )  # fmt: skip
    return Description(
        "case", "Case", "1", made, netlist, (), wishes or {}, tuple(tuple(g) for g in groups), cavity, outline,
        tuple(holes), rules,
    )  # fmt: skip


def board(width: float, height: float) -> Any:
    """Return a rectangular outline with its lower left corner at (0.8, 0.8), as in a cavity with that wall gap."""
    return shapely.box(0.8, 0.8, 0.8 + width, 0.8 + height)


def with_post(outline: Any, x: float, y: float, diameter: float) -> Any:
    """Return the outline with the room for a round post cut out."""
    rest = outline.difference(circle((x, y), diameter + 1.0).covering_polygon())
    return max(getattr(rest, "geoms", [rest]), key=lambda piece: piece.area)


def buffer_amplifier(outline: Any | None = None, **more: Any) -> Description:
    """A two-transistor output buffer with headers for input and output (a textbook emitter follower pair)."""
    parts = [
        ("J1", "header", "header-1x4"), ("J2", "header", "header-1x3"), ("Q1", "2N3904", "to92"),
        ("Q2", "2N3904", "to92"),
        ("R1", "resistor", "resistor-axial-10.16"), ("R2", "resistor", "resistor-axial-10.16"),
        ("R3", "resistor", "resistor-axial-10.16"), ("R4", "resistor", "resistor-axial-10.16"),
        ("R5", "resistor", "resistor-axial-10.16"), ("C1", "capacitor", "capacitor-disc-5.08"),
        ("C2", "electrolytic", "electrolytic-5x11-2.0"), ("C3", "capacitor", "capacitor-disc-5.08"),
    ]  # fmt: skip
    nets = {
        "GND": "J1.1 J2.1 R2.2 R4.2 R5.2 C2.2 C3.2", "V5": "J1.2 Q1.3 Q2.3 R1.1 C2.1 C3.1", "VIN": "J1.3 C1.1",
        "B1": "C1.2 R1.2 R2.1 Q1.2", "E1": "Q1.1 R4.1 Q2.2", "E2": "Q2.1 R5.1 R3.1", "VOUT": "R3.2 J2.2",
        "AUX": "J1.4 J2.3",
    }  # fmt: skip
    return described(parts, nets, outline if outline is not None else board(40, 30), pours=("GND",), **more)


def counter_board(**more: Any) -> Description:
    """Three 16-pin counters and two 14-pin gates on a bus header, each with its decoupling capacitor."""
    wide, narrow = chip("counter", 16, [16], [8]), chip("gate", 14, [14], [7])
    parts: list[Any] = [(f"U{k}", "counter", "dip-16", wide) for k in (1, 2, 3)]
    parts += [(f"U{k}", "gate", "dip-14", narrow) for k in (4, 5)]
    parts += [(f"C{k}", "capacitor", "capacitor-disc-5.08") for k in range(1, 6)]
    parts += [
        ("J1", "header", "header-2x10"),
        ("R1", "resistor", "resistor-axial-10.16"),
        ("C6", "electrolytic", "electrolytic-5x11-2.0"),
    ]
    nets = {
        "GND": "U1.8 U2.8 U3.8 U4.7 U5.7 C1.2 C2.2 C3.2 C4.2 C5.2 C6.2 J1.1 J1.20",
        "VCC": "U1.16 U2.16 U3.16 U4.14 U5.14 C1.1 C2.1 C3.1 C4.1 C5.1 C6.1 J1.2 R1.1",
        "CLK": "J1.3 U1.2 U4.1", "RST": "R1.2 U1.1 U2.1 U3.1 J1.4", "CA": "U1.15 U2.2", "CB": "U2.15 U3.2",
        **{f"Q{k}": f"U{1 + k // 4}.{11 + k % 4} J1.{5 + k}" for k in range(12)},
        "G1": "U4.3 U5.1", "G2": "U5.3 U1.7", "G3": "U4.6 U5.5 J1.17", "G4": "U4.4 U3.15", "G5": "U5.8 J1.18",
    }  # fmt: skip
    return described(parts, nets, more.pop("outline", board(70, 55)), pours=("GND",), **more)


def surface_board(**more: Any) -> Description:
    """Three 8-pin amplifiers with their resistors and capacitors, all surface-mount, wire pads in and out."""
    amp = chip("amplifier", 8, [8], [4])
    parts: list[Any] = [(f"U{k}", "amplifier", "soic-8", amp) for k in (1, 2, 3)]
    parts += [(f"C{k}", "capacitor", "chip-0805-c") for k in range(1, 10)]
    parts += [(f"R{k}", "resistor", "chip-0805-r") for k in range(1, 17)]
    parts += [(f"W{k}", "wire pad", "wire-pad") for k in range(1, 7)]
    nets: dict[str, str] = {
        "GND": "U1.4 U2.4 U3.4 C1.2 C2.2 C3.2 W1.1 R13.2 R14.2 R15.2 C7.2 C8.2 C9.2",
        "VCC": "U1.8 U2.8 U3.8 C1.1 C2.1 C3.1 W2.1 R16.1",
        "BIAS": "R16.2 R13.1 U1.3 U1.5 U2.3 U2.5 U3.3 U3.5 C7.1",
    }
    for k in (1, 2, 3):
        r = 4 * (k - 1) + 1
        nets[f"IN{k}"] = f"C{3 + k}.1 W{2 + k}.1"
        nets[f"A{k}"] = f"C{3 + k}.2 R{r}.1"
        nets[f"N{k}"] = f"R{r}.2 R{r + 1}.1 U{k}.2"
        nets[f"M{k}"] = f"R{r + 1}.2 U{k}.1 R{r + 2}.1"
        nets[f"P{k}"] = f"R{r + 2}.2 R{r + 3}.1 U{k}.6"
        nets[f"O{k}"] = f"R{r + 3}.2 U{k}.7" + (" R14.1" if k == 1 else " R15.1" if k == 2 else " W6.1 C8.1 C9.1")
    return described(parts, nets, more.pop("outline", board(34, 26)), pours=("GND",), **more)


def channels(count: int) -> Description:
    """Return up to six like circuits of three parts each, hung on one chip."""
    parts, nets = [("U1", "chip", "dip-8")], {"GND": "U1.8"}
    for k in range(1, count + 1):
        parts += [(f"R{k}", "resistor", "chip-0805-r"), (f"Q{k}", "transistor", "sot23")]
        parts += [(f"D{k}", "capacitor", "chip-0805-c")]
        nets |= {f"A{k}": f"U1.{k} R{k}.1", f"B{k}": f"R{k}.2 Q{k}.1", f"C{k}": f"Q{k}.3 D{k}.1"}
        nets["GND"] += f" Q{k}.2 D{k}.2"
    return described(parts, nets, board(60, 40))


def random_board(count: int, seed: int, outline: Any, footprints: Sequence[str], **more: Any) -> Description:
    """Return `count` parts with random two- to four-pin nets."""
    chance = random.Random(seed)
    parts = [(f"X{k}", "thing", chance.choice(footprints)) for k in range(count)]
    pins = [(r, n) for r, _, name in parts for n in footprint(name).numbers()]
    chance.shuffle(pins)
    nets, k = {}, 0
    while len(pins) > 1:
        size = min(len(pins), chance.choice((2, 2, 2, 3, 4)))
        nets[f"N{k}"] = " ".join(f"{r}.{n}" for r, n in pins[:size])
        pins, k = pins[size:], k + 1
    return described(parts, nets, outline, **more)


def simple_cavity(outline: Any, obstacles: Sequence[Obstacle] = (), height: float = 20.0) -> CavityModel:
    """Return a room just larger than the board, 3 mm under it."""
    return CavityModel(outline.buffer(0.8, join_style="mitre"), height, 3.0, 0.2, 0.6, tuple(obstacles), ())
