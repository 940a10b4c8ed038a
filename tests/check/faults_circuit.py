"""Faults of the circuit: pins swapped, moved and forgotten, supplies wrong."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from modboard.artwork.model import Artwork
from modboard.describe.model import PinRef
from modboard.layout.board import Board
from tests.check.spoiling import Kind, Spoilt, with_nets


def rewired(board: Board, moves: dict[PinRef, str]) -> Board:
    """Return the board with pins put on other nets ("" for none) in its description; copper stays as it is."""

    def pins(name: str, old: tuple[PinRef, ...]) -> tuple[PinRef, ...]:
        stay = [p for p in old if p not in moves]
        return (*stay, *(p for p, to in moves.items() if to == name))

    return with_nets(board, lambda net: replace(net, pins=pins(net.name, net.pins)))


def swapped(board: Board, one: PinRef, other: PinRef) -> Board:
    """Return the board with two pins on each other's nets."""
    nets = board.description.net_of()
    return rewired(board, {one: nets[other], other: nets[one]})


def pins_of(board: Board, *types: str) -> list[tuple[PinRef, str]]:
    """Return the connected pins of the given types with their nets."""
    nets = board.description.net_of()
    keys = [
        (part.reference, pin.number)
        for part in board.description.parts
        for pin in (part.device.pins if part.device else ())
        if pin.type in types
    ]
    return [(key, nets[key]) for key in keys if key in nets]


def supply_pin_off_its_net(chance: Random, board: Board, art: Artwork) -> Spoilt:
    key, _ = chance.choice(pins_of(board, "power-in"))
    return Spoilt((rewired(board, {key: ""}), art), [f"{key[0]} pin {key[1]}"])


def input_off_its_net(chance: Random, board: Board, art: Artwork) -> Spoilt:
    key, _ = chance.choice(pins_of(board, "input"))
    return Spoilt((rewired(board, {key: ""}), art), [f"{key[0]} pin {key[1]}"])


def output_onto_anothers_net(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """An output put on the net of another output."""
    (one, net), (other, _) = chance.sample(pins_of(board, "output"), 2)
    return Spoilt((rewired(board, {other: net}), art), [f"net {net}", f"{one[0]} pin {one[1]}"])


def output_onto_a_supply(chance: Random, board: Board, art: Artwork) -> Spoilt:
    key, _ = chance.choice(pins_of(board, "output"))
    fed = chance.choice(pins_of(board, "power-out"))[1]
    return Spoilt((rewired(board, {key: fed}), art), [f"net {fed}", f"{key[0]} pin {key[1]}"])


def regulators_in_parallel(chance: Random, board: Board, art: Artwork) -> Spoilt:
    (one, net), (other, _) = chance.sample(pins_of(board, "power-out"), 2)
    return Spoilt((rewired(board, {other: net}), art), [f"net {net}", one[0], other[0]])


def pull_up_gone(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The pull-up of U4's first output lies between other nets."""
    net = chance.choice([n.name for n in board.description.nets if n.name not in ("PULLED", "V5")])
    return Spoilt((rewired(board, {("R1", "2"): net}), art), ["net PULLED", "U4 pin 2"])


def driver_gone(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The gate that drives a net of inputs is taken off it."""
    return Spoilt((rewired(board, {("U3", "3"): chance.choice(("", "SET", "V5"))}), art), ["net BOTH"])


def net_of_one_pin(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net = chance.choice([n for n in board.description.nets if len(n.pins) > 1])
    left = chance.choice(net.pins)
    gone = {pin: "" for pin in net.pins if pin != left}
    return Spoilt((rewired(board, gone), art), [f"net {net.name}", f"{left[0]} pin {left[1]}"])


def capacitors_gone(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The capacitors of the 5 V supply put elsewhere than across it."""
    chip = chance.choice(("U3", "U4"))
    elsewhere = chance.choice(("SET", "GATE", "BASE"))
    moves = {(reference, "1"): elsewhere for reference in ("C2", "C3", "C5")}
    return Spoilt((rewired(board, moves), art), [chip])


def supply_pins_swapped(chance: Random, board: Board, art: Artwork) -> Spoilt:
    chip = chance.choice(("U3", "U4"))
    return Spoilt((swapped(board, (chip, "7"), (chip, "14")), art), [chip])


def supply_too_high(chance: Random, board: Board, art: Artwork) -> Spoilt:
    volts = chance.uniform(6.0, 24.0)
    spoilt = with_nets(board, lambda net: replace(net, volts=volts) if net.name == "V5" else net)
    return Spoilt((spoilt, art), [chance.choice(("U3", "U4")), "V5"])


def regulator_starved(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The 78L08 wants 1.7 V over its 8."""
    volts = chance.uniform(5.0, 9.6)
    spoilt = with_nets(board, lambda net: replace(net, volts=volts) if net.name == "RAW" else net)
    return Spoilt((spoilt, art), ["U2 pin 3", "net RAW"])


def regulator_of_another_voltage(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net, regulator = chance.choice((("V5", "U1"), ("V8", "U2")))
    volts = chance.choice((3.3, 6.0, 9.0, 12.0))
    spoilt = with_nets(board, lambda n: replace(n, volts=volts) if n.name == net else n)
    return Spoilt((spoilt, art), [f"net {net}", regulator])


def electrolytic_turned(chance: Random, board: Board, art: Artwork) -> Spoilt:
    volts = chance.uniform(3.0, 30.0)
    turned = swapped(board, ("C1", "1"), ("C1", "2"))
    spoilt = with_nets(turned, lambda net: replace(net, volts=volts) if net.name == "RAW" else net)
    return Spoilt((spoilt, art), ["C1", "RAW"])


def lamp_without_resistor(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The lamp's anode put straight on a supply."""
    net = chance.choice(("V5", "V8", "RAW"))
    return Spoilt((rewired(board, {("D1", "2"): net}), art), ["D1, between", net])


def base_without_resistor(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net = chance.choice(("GATE", "BOTH", "V5", "V8"))
    return Spoilt((rewired(board, {("Q1", "2"): net}), art), ["Q1 pin 2", f"net {net}"])


def rail_without_its_sign(chance: Random, board: Board, art: Artwork) -> Spoilt:
    name = chance.choice(("VN", "VEE", "-12V", "VNEG"))
    volts = chance.uniform(5.0, 15.0)
    spoilt = with_nets(board, lambda net: replace(net, name=name, volts=volts) if net.name == "V8" else net)
    return Spoilt((spoilt, art), [f"net {name}"])


def caution_forgotten(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The description carries a caution, as one of a net above the touch limit does."""
    caution = f"CAUTION: {chance.randrange(61, 120)} V"
    spoilt = replace(board, description=replace(board.description, cautions=(caution,)))
    return Spoilt((spoilt, art), ["the whole board"])


LAMP = ("lamp driver",)
KINDS = (
    Kind("power-pin-open", supply_pin_off_its_net),
    Kind("floating-input", input_off_its_net),
    Kind("outputs-tied", output_onto_anothers_net, LAMP),
    Kind("outputs-tied", output_onto_a_supply, LAMP),
    Kind("supplies-tied", regulators_in_parallel, LAMP),
    Kind("no-pull-up", pull_up_gone, LAMP),
    Kind("undriven-net", driver_gone, LAMP),
    Kind("single-pin-net", net_of_one_pin),
    Kind("no-decoupling", capacitors_gone, LAMP),
    Kind("supply-pin-net", supply_pins_swapped, LAMP),
    Kind("supply-volts", supply_too_high, LAMP),
    Kind("regulator-head-room", regulator_starved, LAMP),
    Kind("regulator-output", regulator_of_another_voltage, LAMP),
    Kind("polarity", electrolytic_turned, LAMP),
    Kind("led-resistor", lamp_without_resistor, LAMP),
    Kind("base-resistor", base_without_resistor, LAMP),
    Kind("volts-sign", rail_without_its_sign, LAMP),
    Kind("touch-voltage", caution_forgotten),
)
