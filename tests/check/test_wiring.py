"""Rules of the circuit alone: which nets they find fault with, and which they leave in peace."""

from __future__ import annotations

import pytest

from modboard.check.findings import Finding
from modboard.describe.model import PinRef
from modboard.layout.board import PlacedPart
from modboard.library.devices import device
from modboard.library.model import Device, Pin, PinType
from tests.check.build import box_part, findings, net, scene


def chip(
    reference: str, at: float, *types: PinType, names: str = "", supply: tuple[float, float] | None = None
) -> PlacedPart:
    """Return a part whose pins have the types given and are numbered from 1."""
    named = names.split() or [f"P{k + 1}" for k in range(len(types))]
    pins = tuple(Pin(str(k + 1), (name,), kind) for k, (name, kind) in enumerate(zip(named, types, strict=True)))
    return standing(reference, at, Device("chip", "Chip", pins, "block", supply=supply))


def standing(reference: str, at: float, made: Device) -> PlacedPart:
    """Return a device as a block with a lead for each pin."""
    leads = [(pin.number, (0.0, -2.54 * k)) for k, pin in enumerate(made.pins)]
    return box_part(reference, (at, 38.0), (2, 2), leads=leads, device=made, kind=made.name)


def real(reference: str, at: float, kind: str) -> PlacedPart:
    """Return a device of the library as a block."""
    return standing(reference, at, device(kind))


def found(rule: str, parts: list[PlacedPart], nets: dict[str, str], **volts: float) -> list[Finding]:
    """Return the findings of one rule; `nets` maps names to "U1.1 R1.2"."""

    def pins(words: str) -> list[PinRef]:
        return [(word.split(".")[0], word.split(".")[1]) for word in words.split()]

    made = [net(name, pins(words), volts=volts.get(name)) for name, words in nets.items()]
    return findings(scene(parts=parts, nets=made), rule)


OUT: PinType = "output"
IN: PinType = "input"
OC: PinType = "open-collector"
THREE: PinType = "three-state"


def test_outputs_of_two_parts_on_one_net_fight() -> None:
    two = [chip("U1", 5, OUT), chip("U2", 15, OUT)]
    (fight,) = found("outputs-tied", two, {"N": "U1.1 U2.1"})
    assert fight.severity == "error" and "U1 pin 1 (P1) and U2 pin 1 (P1)" in fight.where
    assert found("outputs-tied", two, {"N": "U1.1", "M": "U2.1"}) == []


def test_outputs_of_one_part_may_be_paralleled_with_a_warning() -> None:
    (fight,) = found("outputs-tied", [chip("U1", 5, "output", "output")], {"N": "U1.1 U1.2"})
    assert fight.severity == "warning"


def test_open_collectors_and_three_states_share_a_net_but_not_with_an_output() -> None:
    bus = [chip("U1", 5, THREE), chip("U2", 15, THREE), chip("U3", 25, OUT)]
    assert found("outputs-tied", bus[:2], {"N": "U1.1 U2.1"}) == []
    assert [f.severity for f in found("outputs-tied", bus, {"N": "U1.1 U2.1 U3.1"})] == ["warning"]


def test_output_on_a_supply_is_a_short() -> None:
    parts = [chip("U1", 5, OUT), chip("U2", 15, "power-out")]
    assert [f.severity for f in found("outputs-tied", parts, {"V5": "U1.1 U2.1"})] == ["error"]


def test_two_regulators_do_not_feed_one_net() -> None:
    parts = [real("U1", 5, "7805"), real("U2", 15, "78L05")]
    (tied,) = found("supplies-tied", parts, {"V5": "U1.3 U2.1", "A": "U1.1 U2.3"})
    assert tied.severity == "error" and "net V5" in tied.where
    assert found("supplies-tied", parts, {"V5": "U1.3", "V5B": "U2.1", "A": "U1.1 U2.3"}) == []


@pytest.mark.parametrize(("helper", "silent"), [("R1", True), ("C1", False), ("J1", True), ("U2", False), ("D1", True)])
def test_open_collector_wants_something_that_pulls_up(helper: str, silent: bool) -> None:
    parts = [chip("U1", 5, OC)]
    if helper == "U2":
        parts.append(chip("U2", 15, IN))
    else:
        kind = {"R1": "resistor", "C1": "capacitor", "D1": "1N4148"}.get(helper)
        parts.append(real(helper, 15, kind) if kind else chip("J1", 15, "passive"))
    assert (found("no-pull-up", parts, {"N": f"U1.1 {helper}.1"}) == []) is silent


def test_inputs_with_nothing_to_drive_them() -> None:
    parts = [chip("U1", 5, IN), chip("U2", 15, IN), chip("U3", 25, OUT)]
    assert len(found("undriven-net", parts, {"N": "U1.1 U2.1"})) == 1
    assert found("undriven-net", parts, {"N": "U1.1 U2.1 U3.1"}) == []
    assert found("undriven-net", parts, {"GND": "U1.1 U2.1"}) == []


def test_net_of_one_pin() -> None:
    parts = [chip("U1", 5, "input", "input"), chip("U2", 15, OUT)]
    (single,) = found("single-pin-net", parts, {"N": "U1.1", "M": "U2.1 U1.2"})
    assert single.where == "net N, at U1 pin 1 (P1)"


SUPPLIED = chip("U1", 5, "power-in", "power-in", names="VCC GND", supply=(4.75, 5.25))


def test_supply_pins_the_wrong_way_round_or_on_one_net() -> None:
    assert found("supply-pin-net", [SUPPLIED], {"VCC": "U1.1", "GND": "U1.2"}) == []
    (swapped,) = found("supply-pin-net", [SUPPLIED], {"VCC": "U1.2", "GND": "U1.1"})
    assert swapped.severity == "error" and "ground on another net" in swapped.message
    (shorted,) = found("supply-pin-net", [SUPPLIED], {"GND": "U1.1 U1.2"})
    assert "on one net" in shorted.message


def test_the_lowest_supply_of_an_analogue_switch_may_be_ground() -> None:
    """CD4051 data sheet (from memory): VEE may be joined to VSS where no signal goes below ground."""
    switch = real("U1", 5, "4051")  # VEE is pin 7, VSS 8, VDD 16
    assert found("supply-pin-net", [switch], {"VDD": "U1.16", "GND": "U1.7 U1.8"}) == []
    (tied,) = found("supply-pin-net", [switch], {"GND": "U1.16 U1.8", "VN": "U1.7"})
    assert "on one net" in tied.message


def test_that_a_supply_may_be_ground_is_said_by_the_device_not_by_its_name() -> None:
    plain = chip("U1", 5, "power-in", "power-in", "power-in", names="VDD VSS VEE", supply=(3.0, 15.0))
    (tied,) = found("supply-pin-net", [plain], {"VDD": "U1.1", "GND": "U1.2 U1.3"})
    assert "U1 pin 3 (VEE)" in tied.where
    # MC1488 data sheet (from memory): V- of -7.5 to -15 V makes the low level of its lines
    (driver,) = found("supply-pin-net", [real("U1", 5, "1488")], {"V12": "U1.14", "GND": "U1.1 U1.7"})
    assert "U1 pin 1 (V-)" in driver.where


@pytest.mark.parametrize(
    ("volts", "severity"), [(4.75, ""), (5.25, ""), (4.7, "warning"), (5.3, "warning"), (9, "error")]
)
def test_supply_volts_against_the_range_of_the_device(volts: float, severity: str) -> None:
    said = found("supply-volts", [SUPPLIED], {"VCC": "U1.1", "GND": "U1.2"}, VCC=volts)
    assert [f.severity for f in said] == ([severity] if severity else [])


def test_supply_volts_of_two_rails_are_added() -> None:
    """A TL071 works at 10 to 36 V between its pins (its data sheet): ±5 V is enough, 0 and 5 V is not."""
    parts = [real("U1", 5, "TL071")]
    nets = {"VPLUS": "U1.7", "VMINUS": "U1.4"}
    assert found("supply-volts", parts, nets, VPLUS=5, VMINUS=-5) == []
    assert len(found("supply-volts", parts, nets, VPLUS=5, VMINUS=0)) == 1


def test_electrolytic_the_wrong_way_round() -> None:
    parts = [real("C1", 5, "electrolytic")]
    assert found("polarity", parts, {"V5": "C1.1", "GND": "C1.2"}, V5=5) == []
    (turned,) = found("polarity", parts, {"V5": "C1.2", "GND": "C1.1"}, V5=5)
    assert turned.severity == "error" and turned.measured == -5
    assert found("polarity", parts, {"GND": "C1.1", "VM": "C1.2"}, VM=-5) == []
    assert len(found("polarity", parts, {"GND": "C1.2", "VM": "C1.1"}, VM=-5)) == 1


def test_diode_that_joins_two_supplies() -> None:
    parts = [real("D1", 5, "1N4001")]
    assert found("polarity", parts, {"V12": "D1.1", "GND": "D1.2"}, V12=12) == []
    assert len(found("polarity", parts, {"V12": "D1.2", "GND": "D1.1"}, V12=12)) == 1
    # A diode that protects against reversal stands between two nets of nearly one voltage.
    assert found("polarity", parts, {"VIN": "D1.2", "V12": "D1.1"}, VIN=12, V12=11.3) == []


@pytest.mark.parametrize(
    ("kind", "volts", "fits"),
    [("7805", 7.0, True), ("7805", 6.9, False), ("78L12", 13.7, True), ("78L12", 13.6, False),
     ("1117-3.3", 4.5, True), ("1117-3.3", 4.4, False), ("7905", -6.1, True), ("7905", -6.0, False)],
)  # fmt: skip
def test_head_room_of_a_regulator(kind: str, volts: float, fits: bool) -> None:
    """Data sheets: 2.0 V for the 7805, 1.7 for the 78L, 1.1 for the 79 series, 1.2 for the 1117 (from memory)."""
    part = real("U1", 5, kind)
    assert part.part.device is not None
    place = {pin.names[0]: pin.number for pin in part.part.device.pins}
    nets = {"RAW": f"U1.{place['IN']}", "OUT": f"U1.{place['OUT']}", "GND": f"U1.{place['GND']}"}
    assert (found("regulator-head-room", [part], nets, RAW=volts) == []) is fits


def test_regulator_gives_what_its_number_says() -> None:
    parts = [real("U1", 5, "7805")]
    nets = {"RAW": "U1.1", "OUT": "U1.3", "GND": "U1.2"}
    assert found("regulator-output", parts, nets, RAW=12, OUT=5) == []
    (wrong,) = found("regulator-output", parts, nets, RAW=15, OUT=12)
    assert (wrong.measured, wrong.required) == (12, 5)


def test_led_wants_a_resistor() -> None:
    lamp, resistor = real("D1", 5, "led"), real("R1", 15, "resistor")
    (bare,) = found("led-resistor", [lamp], {"V5": "D1.2", "GND": "D1.1"}, V5=5)
    assert bare.severity == "error" and "D1, between" in bare.where
    assert found("led-resistor", [lamp, resistor], {"V5": "R1.1", "MID": "R1.2 D1.2", "GND": "D1.1"}, V5=5) == []
    # A resistor elsewhere on the supply does not help.
    assert len(found("led-resistor", [lamp, resistor], {"V5": "D1.2 R1.1", "GND": "D1.1 R1.2"}, V5=5)) == 1


def test_base_wants_a_resistor_where_it_switches() -> None:
    switch, gate, resistor = real("Q1", 5, "2N3904"), chip("U1", 15, OUT), real("R1", 25, "resistor")
    nets = {"GND": "Q1.1", "DRIVE": "Q1.2 U1.1"}
    (bare,) = found("base-resistor", [switch, gate], nets)
    assert bare.where.startswith("Q1 pin 2 (B)")
    assert found("base-resistor", [switch, gate, resistor], {"GND": "Q1.1", "A": "U1.1 R1.1", "B": "R1.2 Q1.2"}) == []
    follower = {"OUT": "Q1.1 R1.1", "DRIVE": "Q1.2 U1.1", "GND": "R1.2"}
    assert found("base-resistor", [switch, gate, resistor], follower) == []


def test_negative_rail_said_without_its_sign() -> None:
    """The rest of the rules take it as negative; one warning asks for the sign."""
    parts = [real("C1", 5, "electrolytic"), real("U1", 15, "7912")]
    nets = {"GND": "C1.1 U1.1", "RAW": "C1.2 U1.2", "N12": "U1.3"}
    for sign in (1, -1):
        for rule in ("polarity", "regulator-output", "regulator-head-room"):
            assert found(rule, parts, nets, RAW=sign * 18, N12=sign * 12) == []
    assert [f.where for f in found("volts-sign", parts, nets, RAW=18, N12=12)] == ["net N12", "net RAW"]
    assert found("volts-sign", parts, nets, RAW=-18, N12=-12) == []


def test_supplies_joined_through_a_bead_or_a_link_of_no_ohms_fight() -> None:
    bead = Device("bead", "Ferrite bead", (Pin("1", (), "passive"), Pin("2", (), "passive")), "block", prefix="FB")
    parts = [real("U1", 5, "78L05"), real("U2", 15, "78L05"), standing("FB1", 25, bead)]
    nets = {"RAW": "U1.3 U2.3", "A": "U1.1 FB1.1", "B": "U2.1 FB1.2", "GND": "U1.2 U2.2"}
    (tied,) = found("supplies-tied", parts, nets)
    assert "nets A and B" in tied.where and "U1" in tied.where and "U2" in tied.where
    assert (
        found(
            "supplies-tied",
            [*parts[:2], real("R1", 25, "resistor")],
            {k: v.replace("FB1", "R1") for k, v in nets.items()},
        )
        == []
    )


def test_output_on_a_supply_is_shorted() -> None:
    gate = chip("U1", 5, OUT, "power-in", "power-in", names="Y VCC GND")
    (tied,) = found("outputs-tied", [gate], {"GND": "U1.1 U1.3", "V5": "U1.2"})
    assert tied.severity == "error" and "GND" in tied.where


def test_resistor_to_ground_pulls_no_open_collector_up() -> None:
    parts = [chip("U1", 5, OC), chip("U2", 15, IN), real("R1", 25, "resistor")]
    assert len(found("no-pull-up", parts, {"N": "U1.1 U2.1 R1.1", "GND": "R1.2"})) == 1
    assert found("no-pull-up", parts, {"N": "U1.1 U2.1 R1.1", "V5": "R1.2"}) == []
