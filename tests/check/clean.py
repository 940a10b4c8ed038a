"""Clean boards to put faults into: one laid out by hand, one by the tool, with a circuit that gives every rule work."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

from modboard import Design
from modboard.artwork.draw import draw
from modboard.check import check
from modboard.layout import layout
from tests.check.build import Scene
from tests.sample import sample_artwork, sample_board


@cache
def by_hand() -> Scene:
    """Return the sample board: through-hole and surface parts, a slot, vias, a pour, a screw, a cavity."""
    return sample_board(), sample_artwork()


@cache
def lamp_driver() -> Scene:
    """Return a lamp driver: gates, an open-collector driver with its pull-up, two regulators, a transistor, lamps."""
    design = Design("lamp-driver", outline=(62, 44))
    design.part("J1", "wire-pads-1x4", pins="RAW GND SET HOLD")
    design.part("U1", "78L05")
    design.part("U2", "78L08")
    design.part("U3", "74LS00")
    design.part("U4", "74LS05")
    design.part("Q1", "2N3904", pins="E B C")
    design.part("D1", "led")
    design.part("D2", "1N4148")
    for number in (1, 2, 3, 4):
        design.part(f"R{number}", "resistor", "1k")
    design.part("C1", "electrolytic", "100u")
    for number in (2, 3, 4, 5, 6):
        design.part(f"C{number}", "capacitor", "100n")
    design.net("GND", "J1.GND U1.GND U2.GND U3.GND U4.GND Q1.E C1.- C2.2 C3.2 C4.2 C5.2 C6.2 U3.3A U3.3B U3.4A U3.4B "
               "U4.3A U4.4A U4.5A U4.6A", pour="bottom")  # fmt: skip
    design.net("RAW", "J1.RAW U1.IN U2.IN C1.+ C6.1", volts=12, amps=0.2)
    design.net("V5", "U1.OUT U3.VCC U4.VCC R1.1 C2.1 C3.1 C5.1", volts=5, amps=0.08)
    design.net("V8", "U2.OUT C4.1 R2.1 D2.K", volts=8, amps=0.1)
    design.net("SET", "J1.SET U3.1A")
    design.net("HOLD", "J1.HOLD U3.1B U3.2B")
    design.net("BOTH", "U3.1Y U3.2A U4.1A")
    design.net("GATE", "U3.2Y R3.1")
    design.net("BASE", "R3.2 Q1.B")
    design.net("PULLED", "U4.1Y R1.2 U4.2A")
    design.net("SINK", "U4.2Y R4.1")
    design.net("LAMP", "R2.2 D1.A R4.2")
    design.net("COLLECTOR", "D1.K Q1.C D2.A")
    design.no_connect("U3.3Y U3.4Y U4.3Y U4.4Y U4.5Y U4.6Y")
    design.place("C1", near="U1.IN")
    design.place("C6", near="U2.IN")
    design.place("C3", near="U3.VCC")
    design.place("C5", near="U4.VCC")
    for seed in range(1, 6):
        board = layout(replace(design.described(), seed=seed))
        artwork = draw(board)
        if not check(board, artwork):
            return artwork.board, artwork
    raise AssertionError("none of five arrangements of the lamp driver is without findings")


BOARDS: dict[str, Callable[[], Scene]] = {"by hand": by_hand, "lamp driver": lamp_driver}
