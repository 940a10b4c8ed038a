"""Pin orders left open, regulators fed with too much, and regulators that get too hot."""

from __future__ import annotations

from dataclasses import replace

import pytest

from modboard import Design
from modboard.check.findings import Finding
from modboard.layout.board import PlacedPart
from modboard.library.devices import device
from tests.check.build import findings, net, scene
from tests.check.test_wiring import found, real


def orders(kind: str, **said: str) -> list[Finding]:
    """Return the findings of pin order for one part of a design."""
    design = Design("one", outline=(40, 40))
    design.part("Q1", kind, **said)
    (part,) = design.described().parts
    return findings(scene(parts=[PlacedPart(part, (20.0, 20.0), 0.0, "top")]), "pin-order")


def test_a_type_sold_in_two_orders_wants_its_order_said() -> None:
    """BC547: C B E, but E B C of some makers; PN2222A and P2N2222A are known opposites (data sheets)."""
    for kind, taken in (("BC547", "C B E"), ("2N3904", "E B C"), ("PN2222A", "E B C"), ("P2N2222A", "C B E")):
        (open_,) = orders(kind)
        assert open_.severity == "warning" and f"{taken} is taken" in open_.message
        assert "C B E" in open_.message and "E B C" in open_.message
        assert orders(kind, pins="C B E") == orders(kind, pins="E B C") == []


def test_a_type_of_one_order_says_nothing() -> None:
    for kind in ("2N2222A", "TIP31", "78L05", "2N7000", "74LS00", "MMBT3904", "resistor", "header-1x3"):
        assert orders(kind) == []


def test_the_order_said_moves_names_types_and_all() -> None:
    design = Design("one", outline=(40, 40))
    design.part("Q1", "BC547", pins="E B C")
    design.part("U1", "78L05", pins="IN GND OUT")
    design.net("A", "Q1.C U1.VIN")
    described = design.described()
    assert described.nets[0].pins == (("Q1", "3"), ("U1", "1"))
    assert [p.type for p in described.part("U1").device.pins] == ["power-in", "power-in", "power-out"]  # type: ignore[union-attr]


def test_an_order_that_nobody_sells_is_told() -> None:
    """BC547 is C B E or E B C by maker, 78L05 in TO-92 OUT GND IN (data sheets): the base, the ground in the middle."""
    for order in ("B C E", "B E C", "C E B", "E C B"):
        (odd,) = orders("BC547", pins=order)
        assert odd.severity == "warning" and f"known as C B E and as E B C, not as {order}" in odd.message
        assert "as you say" in odd.cure
    (odd,) = orders("78L05", pins="IN GND OUT")
    assert "known as OUT GND IN, not as IN GND OUT" in odd.message
    assert orders("78L05", pins="OUT GND IN") == orders("78L05", pins="VOUT GND VIN") == []
    assert orders("78L05", pins="A B C") == []  # names of one's own say no order
    assert orders("BC547", pins="B C E", footprint="header-1x3") == []  # led there by wires, in any order


def test_another_package_wants_its_order_said() -> None:
    """A 7805 is IN GND OUT in TO-220 and 78L05 the reverse in TO-92: the order belongs to type and package."""
    (odd,) = orders("7805", footprint="to92")
    assert "not in to92" in odd.message
    assert orders("7805", footprint="to92", pins="OUT GND IN") == []
    for kind, package in (
        ("7805", "to220-flat"),
        ("7805", "header-1x3"),
        ("74LS00", "soic-14"),
        ("555", "dip-8-socket"),
    ):
        assert orders(kind, footprint=package) == []


@pytest.mark.parametrize(("kind", "package"), [("74LS00", "dip-16"), ("74LS00", "soic-16"), ("555", "dip-14-socket")])
def test_a_package_with_more_leads_than_the_chip_is_another(kind: str, package: str) -> None:
    """Pin 14 of a 7400 is its supply (data sheet); with 16 leads no number past 7 is where it should be."""
    (odd,) = orders(kind, footprint=package)
    assert f"not in {package}" in odd.message


@pytest.mark.parametrize(
    ("kind", "nets", "most"),
    [
        ("7805", {"RAW": "U1.1", "OUT": "U1.3", "GND": "U1.2"}, 35.0),  # data sheets: greatest input
        ("78L05", {"RAW": "U1.3", "OUT": "U1.1", "GND": "U1.2"}, 30.0),
        ("1117-3.3", {"RAW": "U1.3", "OUT": "U1.2", "GND": "U1.1"}, 15.0),
    ],
)
def test_input_that_a_regulator_does_not_bear(kind: str, nets: dict[str, str], most: float) -> None:
    part = real("U1", 5, kind)
    assert found("regulator-input", [part], nets, RAW=most) == []
    (over,) = found("regulator-input", [part], nets, RAW=most + 0.1)
    assert over.severity == "error" and over.required == most


def test_adjustable_regulator_bears_volts_from_input_to_output() -> None:
    """LM317: 40 V from input to output, whatever they are to ground (data sheet)."""
    nets = {"RAW": "U1.3", "OUT": "U1.2"}
    assert found("regulator-input", [real("U1", 5, "LM317")], nets, RAW=50, OUT=12) == []
    assert len(found("regulator-input", [real("U1", 5, "LM317")], nets, RAW=53, OUT=12)) == 1


@pytest.mark.parametrize(
    ("kind", "exit_", "rated"),
    [("7805", "3", 1.0), ("78L05", "1", 0.1), ("LM317", "2", 1.5), ("LM317L", "2", 0.1), ("1117-3.3", "2", 0.8),
     ("LM2931", "3", 0.1), ("LM2940", "3", 1.0)],
)  # fmt: skip
def test_current_that_a_regulator_is_not_rated_for(kind: str, exit_: str, rated: float) -> None:
    """Rated currents of the data sheets (from memory): 78xx 1 A, 78Lxx 100 mA, LM317 1.5 A, 1117 800 mA."""

    def over(amps: float | None) -> list[Finding]:
        entry = "1" if exit_ == "3" else "3"
        made = [net("RAW", [("U1", entry)], volts=9.0), net("OUT", [("U1", exit_)])]
        made[1] = replace(made[1], amps=amps)
        return findings(scene(parts=[real("U1", 5, kind)], nets=made), "regulator-current")

    assert over(None) == over(rated) == []
    (more,) = over(rated * 1.01)
    assert more.severity == "warning" and (more.unit, more.required) == ("A", rated)
    assert f"a {kind} gives {rated:g} A" in more.message


def test_heat_of_a_regulator() -> None:
    """7805: 1.5 W in the open; from 9 V that is (9 - 5) V x 0.375 A."""
    watts = device("7805").watts
    assert watts == 1.5

    def heat(amps: float, raw: float = 9.0) -> list[Finding]:
        part = real("U1", 5, "7805")
        made = [net("RAW", [("U1", "1")], volts=raw), net("GND", [("U1", "2")]), net("OUT", [("U1", "3")], volts=5.0)]
        made[2] = replace(made[2], amps=amps)
        return findings(scene(parts=[part], nets=made), "dissipation")

    assert heat(0.375) == []
    (hot,) = heat(0.376)
    assert hot.severity == "warning" and hot.unit == "W" and "without a heat sink" in hot.message
    assert heat(0.376, raw=8.9) == []
