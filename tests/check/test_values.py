"""Values against IEC 60063, and resistors against what the volts of their nets make in them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from modboard import Design
from modboard.artwork.draw import draw
from modboard.check.inspection import Inspection
from modboard.check.values import inspect
from modboard.layout.board import Board, PlacedPart


def seen(
    kind: str,
    value: str,
    *,
    volts: tuple[float | None, float | None] = (None, None),
    ac: tuple[float | None, float | None] = (None, None),
    footprint: str | None = None,
) -> list[tuple[str, str]]:
    """What is found of one part between the nets A and B of those volts."""
    design = Design("one", outline=(60, 40))
    design.part("X1", kind, value, footprint=footprint)
    design.part("J1", "wire-pads-1x2")
    for net, number, its, effective in (("A", "1", volts[0], ac[0]), ("B", "2", volts[1], ac[1])):
        design.net(net, f"X1.{number} J1.{number}", volts=its, ac_volts=effective)
    described = design.described()
    parts = tuple(PlacedPart(p, (10.0, 10.0 + 15 * i), 0.0) for i, p in enumerate(described.parts))
    board = Board(replace(described, wishes={}), described.outline, parts, (), (), ())
    return [(f.rule, f.message) for f in inspect(Inspection(board, draw(board)))]


@pytest.mark.parametrize("value", ["4k7", "75R", "49R9", "1k 1%", "0R", "100", "910k"])
def test_values_that_are_sold(value):
    assert seen("resistor", value) == []


def test_value_outside_its_series_with_neighbours():
    # IEC 60063: 4.8 is not in E24, whose neighbours are 4.7 and 5.1; 1.3 is not in E12 (10 %)
    assert seen("resistor", "4k8") == [("value-series", "4k8 is not in E24 or E96; E24 has 4k7 and 5k1")]
    assert seen("resistor", "130R 10%") == [("value-series", "130R 10% is not in E12; E12 has 120R and 150R")]
    assert seen("capacitor", "105n") == [("value-series", "105n is not in E24; E24 has 100n and 110n")]
    assert seen("capacitor", "100n") == seen("inductor", "10u") == seen("electrolytic", "47u 16V") == []


def test_value_that_says_nothing():
    assert seen("resistor", "big") == [("value-unreadable", '"big" is no value of a resistor')]
    assert seen("electrolytic", "220") == [("value-unreadable", '"220" is no value of an electrolytic')]
    assert seen("crystal", "big") == []


@pytest.mark.parametrize(
    ("kind", "wanted"),
    [("resistor", "resistance"), ("capacitor", "capacitance"), ("electrolytic", "capacitance"),
     ("inductor", "inductance"), ("resistor-axial-12.7", "resistance"), ("diode", "type"), ("zener", "voltage or type"),
     ("crystal", "frequency")],
)  # fmt: skip
def test_value_that_is_not_said(kind, wanted):
    ((rule, message),) = seen(kind, "")
    assert rule == "value-missing" and message == f"no value is given: the {wanted} of this {kind} is missing"


@pytest.mark.parametrize("kind", ["1N4148", "led", "header-1x2", "wire-pads-1x2"])
def test_what_is_bought_by_its_name_wants_no_value(kind):
    assert seen(kind, "") == []


# 12 V AC (effective) has 16.97 V at its peak, and heats like 12 V DC: 144/560 = 0.257 W, 144/620 = 0.232 W
def test_alternating_volts_heat_by_their_effective_value():
    assert seen("resistor", "620R", ac=(12, None), volts=(None, 0)) == []
    ((rule, message),) = seen("resistor", "560R", ac=(12, None), volts=(None, 0))
    assert rule == "resistor-rating" and message.startswith("12 V across 560R makes 0.257 W")
    # the two ends of a centre-tapped winding are in opposite phase: 24 V, 576/2200 = 0.262 W, 576/2400 = 0.24 W
    assert [r for r, _ in seen("resistor", "2k2", ac=(12, 12))] == ["resistor-rating"]
    assert seen("resistor", "2k4", ac=(12, 12)) == []
    # 12 V AC to 5 V DC: squares add, 144 + 25 = 169, 13 V; 169/680 = 0.2485 W, 169/620 = 0.273 W
    assert seen("resistor", "680R", ac=(12, None), volts=(None, 5)) == []
    assert [r for r, _ in seen("resistor", "620R", ac=(12, None), volts=(None, 5))] == ["resistor-rating"]
    # a capacitor bears or does not bear the peak, 16.97 V
    assert [r for r, _ in seen("capacitor", "100n 16V", ac=(12, None), volts=(None, 0))] == ["capacitor-rating"]


# V²/R against the rating of the body: 5 V across 100 Ω is 0.25 W, across 91 Ω 0.275 W (makers: 1/4 W at pitch 10.16)
def test_quarter_watt_at_its_limit():
    assert seen("resistor", "100R", volts=(5, 0)) == []
    ((rule, message),) = seen("resistor", "91R", volts=(5, 0))
    assert rule == "resistor-rating"
    assert message == "5 V across 91R makes 0.275 W; a body like resistor-axial-10.16 bears 0.25 W"


@pytest.mark.parametrize(
    ("footprint", "watts"),
    [  # makers' ratings by body
        ("resistor-axial-7.62", 0.125), ("resistor-axial-12.7", 0.5), ("resistor-axial-15.24", 1.0),
        ("resistor-axial-20.32", 2.0), ("chip-0603-r", 0.1), ("chip-0805-r", 0.125), ("chip-1206-r", 0.25),
    ],
)  # fmt: skip
def test_rating_is_the_bodys(footprint, watts):
    just, over = 100 / (watts * 0.999), 100 / (watts * 1.001)  # 10 V
    assert "resistor-rating" in [r for r, _ in seen("resistor", f"{over:.4f}", volts=(10, 0), footprint=footprint)]
    assert "resistor-rating" not in [r for r, _ in seen("resistor", f"{just:.4f}", volts=(10, 0), footprint=footprint)]


def test_volts_of_opposite_sign_add_up():
    # 12 V to -12 V is 24 V: 24²/2200 = 0.262 W; from 12 V to a signal of at most 12 V it is 12 V
    assert [r for r, _ in seen("resistor", "2k2", volts=(12, -12))] == ["resistor-rating"]
    assert seen("resistor", "2k2", volts=(12, 12)) == []
    assert [r for r, _ in seen("resistor", "470R", volts=(12, 12))] == ["resistor-rating"]


def test_unknown_volts_accuse_nobody():
    assert seen("resistor", "1R", volts=(12, None)) == []


def rated(value: str, volts: tuple[float | None, float | None]) -> list[str]:
    return [rule for rule, _ in seen("electrolytic", value, volts=volts)]


@pytest.mark.parametrize(
    ("value", "volts", "bears"),
    [("10u 16V", (16, 0), True), ("10u 16V", (16.01, 0), False), ("10u/6.3V", (6.3, 0), True),
     ("10u 6,3 V", (6.31, 0), False), ("10uF25V", (25.1, 0), False), ("10u 16V", (12, -12), False),
     ("10u", (99, 0), True), ("10u 16V", (None, 0), True)],
)  # fmt: skip
def test_capacitor_bears_what_its_value_says(value, volts, bears):
    assert ("capacitor-rating" in rated(value, volts)) is not bears


def test_steady_nets_are_at_their_volts():
    """A sense resistor between two steady 5 V nets bears next to nothing across it; between swinging ones it may."""
    design = Design("sense", outline=(60, 40))
    design.part("J1", "wire-pads-1x2", pins="V5 GND")
    design.part("U1", "7805")
    design.part("R1", "resistor", "0R33")
    design.part("R2", "resistor", "1k")
    design.net("V5", "U1.OUT R1.1", volts=5)
    design.net("SENSE", "R1.2 R2.1", volts=5)
    design.net("RAW", "J1.V5 U1.IN", volts=9)
    design.net("GND", "J1.GND U1.GND R2.2")
    described = design.described()
    parts = tuple(PlacedPart(p, (10.0, 10.0 + 8 * i), 0.0) for i, p in enumerate(described.parts))
    board = Board(replace(described, wishes={}), described.outline, parts, (), (), ())
    assert [f.rule for f in inspect(Inspection(board, draw(board)))] == []
