"""Supplies, inputs, capacitors and cautions."""

from __future__ import annotations

from dataclasses import replace

from modboard.library.model import Device, Pin
from tests.check.build import Scene, box_part, findings, net, scene

CHIP = Device(
    "chip",
    "Chip",
    (
        Pin("1", ("VCC",), "power-in"),
        Pin("2", ("GND",), "power-in"),
        Pin("3", ("A",), "input"),
        Pin("4", ("Y",), "output"),
    ),
    "block",
)
LEADS = [(str(n + 1), (2.54 * n, 0.0)) for n in range(4)]


def board(
    nets: dict[str, list[tuple[str, str]]],
    *,
    capacitor: bool = True,
    unconnected: tuple[tuple[str, str], ...] = (),
    cautions: tuple[str, ...] = (),
) -> Scene:
    parts = [box_part("U1", (10, 10), (9, 2), leads=LEADS, device=CHIP)]
    if capacitor:
        parts.append(box_part("C1", (10, 14), (4, 2), leads=[("1", (-1, 0)), ("2", (1, 0))], kind="capacitor"))
    return scene(
        parts=parts, nets=[net(n, pins) for n, pins in nets.items()], unconnected=unconnected, cautions=cautions
    )


WIRED = {
    "VCC": [("U1", "1"), ("C1", "1")],
    "GND": [("U1", "2"), ("C1", "2")],
    "IN": [("U1", "3")],
}


def test_wired_chip_is_fine() -> None:
    made = board(WIRED)
    for rule in ("power-pin-open", "floating-input", "no-decoupling", "touch-voltage"):
        assert findings(made, rule) == []


def test_missing_ground_is_an_error_that_names_the_pin() -> None:
    made = board({**WIRED, "GND": [("C1", "2")]})
    (found,) = findings(made, "power-pin-open")
    assert found.severity == "error" and found.where == "U1 pin 2 (GND)" and found.at == (12.54, 10.0)


def test_floating_input_is_a_warning_unless_marked() -> None:
    nets = {n: p for n, p in WIRED.items() if n != "IN"}
    (found,) = findings(board(nets), "floating-input")
    assert found.severity == "warning" and found.where == "U1 pin 3 (A)"
    assert findings(board(nets, unconnected=(("U1", "3"),)), "floating-input") == []


def test_capacitor_must_be_across_the_supply() -> None:
    assert findings(board(WIRED), "no-decoupling") == []
    without = {"VCC": [("U1", "1")], "GND": [("U1", "2")], "IN": [("U1", "3")]}
    (found,) = findings(board(without, capacitor=False), "no-decoupling")
    assert found.where == "U1" and "no capacitor across GND and VCC" in found.message
    aside = {**without, "VCC": [("U1", "1"), ("C1", "1")], "IN": [("U1", "3"), ("C1", "2")]}
    assert len(findings(board(aside), "no-decoupling")) == 1


def test_capacitor_far_from_a_chip_between_two_rails_is_named_for_what_it_joins() -> None:
    """CHIP's second supply pin on a rail, not on ground: C1 from VCC and C2 from VEE to ground, 20 mm away."""
    parts = [
        box_part("U1", (10, 10), (9, 2), leads=LEADS, device=CHIP),
        box_part("C1", (30, 14), (4, 2), leads=[("1", (-1, 0)), ("2", (1, 0))], kind="capacitor"),
        box_part("C2", (30, 20), (4, 2), leads=[("1", (-1, 0)), ("2", (1, 0))], kind="capacitor"),
    ]
    nets = [
        net("VCC", [("U1", "1"), ("C1", "1")]),
        net("VEE", [("U1", "2"), ("C2", "1")]),
        net("GND", [("C1", "2"), ("C2", "2")]),
    ]
    (found,) = findings(scene(parts=parts, nets=nets), "no-decoupling")
    assert found.message.startswith("the nearest capacitor from a supply pin's net to ground is ")


def test_plug_that_feeds_the_board_asks_for_no_capacitor() -> None:
    made = board({"VCC": [("U1", "1")], "GND": [("U1", "2")], "IN": [("U1", "3")]}, capacitor=False)
    assert len(findings(made, "no-decoupling")) == 1
    described = made[0].description
    chip = described.parts[0]
    plug = replace(chip, footprint=replace(chip.footprint, underside=True))
    hanging = replace(made[0], description=replace(described, parts=(plug,)))
    assert findings((hanging, made[1]), "no-decoupling") == []


def test_cautions_of_the_description_are_passed_on() -> None:
    (found,) = findings(board(WIRED, cautions=("230 V on MAINS: not safe to touch",)), "touch-voltage")
    assert found.severity == "warning" and found.message == "230 V on MAINS: not safe to touch"
