"""Touch-safe voltages: IEC 62368-1 ES1 (60 V DC, 42.4 V peak, 30 V rms) and IEC 61140 (120 V DC, 50 V rms) from memory.

A caution above the first, a refusal above the second unless the design says that it knows.
"""

from __future__ import annotations

import math

import pytest

from modboard import Design
from modboard.describe.model import Description
from modboard.errors import DesignError


def described(acknowledged: bool = False, **said: dict[str, float]) -> Description:
    """Return a design of nets A and B with what is said of them, and GND."""
    design = Design("wires", outline=(30, 20), acknowledge_high_voltage=acknowledged)
    design.part("J1", "wire-pads-1x3", pins="A B GND")
    design.part("R1", "resistor", "1M")
    design.part("R2", "resistor", "1M")
    design.net("A", "J1.A R1.1", **said.get("A", {}))
    design.net("B", "J1.B R2.1", **said.get("B", {}))
    design.net("GND", "J1.GND R1.2 R2.2")
    return design.described()


@pytest.mark.parametrize(
    ("said", "caution"),
    [({"volts": 42.4}, False), ({"volts": 42.5}, True), ({"volts": -60.0}, True), ({"volts": 120.0}, True),
     ({"ac_volts": 30.0}, False), ({"ac_volts": 30.1}, True), ({"ac_volts": 50.0}, True)],
)  # fmt: skip
def test_caution_above_what_is_safe_to_touch(said: dict[str, float], caution: bool) -> None:
    cautions = described(A=said).cautions
    assert [c.startswith("CAUTION: net A") for c in cautions] == [True] * caution


@pytest.mark.parametrize("said", [{"volts": 120.1}, {"volts": -230.0}, {"ac_volts": 50.1}, {"ac_volts": 230.0}])
def test_refused_above_extra_low_voltage_unless_acknowledged(said: dict[str, float]) -> None:
    with pytest.raises(DesignError, match=r"acknowledge_high_voltage=True"):
        described(A=said)
    (danger,) = described(acknowledged=True, A=said).cautions
    assert danger.startswith("DANGER: net A") and "qualified person" in danger


def test_two_windings_in_opposite_phase_add_up() -> None:
    """40 V rms each way is 80 V rms between the two, more than 50."""
    with pytest.raises(DesignError, match="113"):
        described(A={"ac_volts": 40.0}, B={"ac_volts": 40.0})
    assert described(A={"ac_volts": 24.0}, B={"ac_volts": 24.0}).cautions != ()


def test_nets_above_one_limit_share_a_caution() -> None:
    (caution,) = described(A={"volts": 50.0}, B={"volts": 45.0}).cautions
    assert caution.startswith("CAUTION: nets A (50 V) and B (45 V) have these volts to other nets, above the touch")


def test_peak_and_both_signs_set_the_gap() -> None:
    """IPC-2221 table 6-1 B4: 0.4 mm from 101 V; 72 V rms is 101.8 V peak, and so is 36 V against another 36 V."""
    (a, _, _) = described(acknowledged=True, A={"ac_volts": 72.0}).nets
    assert a.ac and a.volts == pytest.approx(72 * math.sqrt(2)) and a.gap == 0.4
    both = described(acknowledged=True, A={"ac_volts": 36.0}, B={"ac_volts": 36.0}).nets
    assert [n.gap for n in both] == [0.4, 0.4, 0.25]


def test_volts_are_said_one_way_only() -> None:
    with pytest.raises(DesignError, match="contradict"):
        described(A={"volts": 5.0, "ac_volts": 5.0})
    with pytest.raises(DesignError, match="effective value"):
        described(A={"ac_volts": -5.0})
