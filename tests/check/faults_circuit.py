"""Faults of the circuit: pins swapped, moved and forgotten, supplies wrong."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from modboard import Design
from modboard.artwork.model import Artwork
from modboard.describe.model import PinRef
from modboard.layout.board import Board
from modboard.library.devices import device
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


def two_wires(volts: float) -> Design:
    """Return a design of two wires and a resistor between them, one at `volts` to the other."""
    design = Design("wires", outline=(20, 15), acknowledge_high_voltage=True)
    design.part("J1", "wire-pads-1x2", pins="LIVE GND")
    design.part("R1", "resistor", "1M")
    design.net("LIVE", "J1.LIVE R1.1", volts=volts)
    design.net("GND", "J1.GND R1.2")
    return design


def not_safe_to_touch(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """What a design says that has a net above 42.4 V, the peak of the touch limit (IEC 62368-1)."""
    said = two_wires(chance.choice((-1, 1)) * chance.uniform(42.41, 400.0)).described()
    spoilt = replace(board, description=replace(board.description, cautions=said.cautions))
    return Spoilt((spoilt, art), ["the whole board"])


def host_cut_open(chance: Random, board: Board, art: Artwork) -> Spoilt:
    design = two_wires(5.0)
    design.cut(f"track at IC{chance.randrange(1, 40)} pin 8", undo="5 mm of wire")
    said = design.described()
    spoilt = replace(board, description=replace(board.description, cautions=said.cautions, cuts=said.cuts))
    return Spoilt((spoilt, art), ["host: track at IC"])


def lead_forgotten(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """One lead of a two-lead part on no net."""
    two = [p for p in board.description.parts if p.device and len(p.device.pins) == 2]
    part = chance.choice(two)
    assert part.device is not None
    key = (part.reference, chance.choice(part.device.pins).number)
    return Spoilt((rewired(board, {key: ""}), art), [f"{key[0]} pin {key[1]}"])


def contact_forgotten(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """One of J1's contacts, which all have names, on no net."""
    key = ("J1", chance.choice("1234"))
    return Spoilt((rewired(board, {key: ""}), art), [f"J1 pin {key[1]}"])


def with_value(board: Board, reference: str, value: str) -> Board:
    """Return the board with another value of one part; copper stays as it is."""
    parts = tuple(replace(p, value=value) if p.reference == reference else p for p in board.description.parts)
    return replace(board, description=replace(board.description, parts=parts))


def one_of(chance: Random, board: Board, *kinds: str) -> str:
    return chance.choice([p.reference for p in board.description.parts if p.kind in kinds])


def value_misspelt(chance: Random, board: Board, art: Artwork) -> Spoilt:
    reference = one_of(chance, board, "resistor", "capacitor", "electrolytic")
    word = chance.choice(("big", "see list", "?", "k", "4k7k", "1..5k", "n100n", "ten", "u", "--"))
    return Spoilt((with_value(board, reference, f"{word}"), art), [reference])


def value_forgotten(chance: Random, board: Board, art: Artwork) -> Spoilt:
    reference = one_of(chance, board, "resistor", "capacitor", "electrolytic")
    return Spoilt((with_value(board, reference, chance.choice(("", " "))), art), [reference])


# Three figures of IEC 60063: E24, and E96 as its rounded powers.
E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
MADE = {10 * figures for figures in E24} | {round(100 * 10 ** (k / 96)) for k in range(96)}


def value_nobody_makes(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Three figures that are in neither E24 nor E96, by some power of ten."""
    reference = one_of(chance, board, "resistor")
    figures = chance.choice(sorted(set(range(100, 1000)) - MADE))
    letter = chance.choice("RkM")
    value = f"{figures // 100}{letter}{figures % 100:02d}"
    return Spoilt((with_value(board, reference, value), art), [reference])


def resistor_overloaded(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """R4 between two nets of known volts, of a value that takes 1.01 to 20 times its quarter watt."""
    volts = chance.uniform(3.0, 24.0)
    rating = board.description.part("R4").footprint.watts
    assert rating is not None
    ohms = volts**2 / (rating * chance.uniform(1.01, 20.0))
    ends = {name for pin, name in board.description.net_of().items() if pin[0] == "R4"}
    high = chance.choice(sorted(ends))
    said = with_nets(board, lambda n: replace(n, volts=volts if n.name == high else 0.0) if n.name in ends else n)
    return Spoilt((with_value(said, "R4", f"{ohms:.4f}"), art), ["R4"])


def capacitor_for_less_volts(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """C1 or C6 across RAW, for fewer volts than RAW has."""
    reference = chance.choice(("C1", "C6"))
    rating = chance.choice((4, 6.3, 10, 16, 25, 35, 50))
    volts = rating * chance.uniform(1.001, 3.0)
    space = chance.choice(("", " "))
    spoilt = with_nets(board, lambda net: replace(net, volts=volts) if net.name == "RAW" else net)
    return Spoilt((with_value(spoilt, reference, f"10u {rating:g}{space}V"), art), [reference])


def pin_order_not_said(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Q1, a type that is sold in two pin orders, taken without saying which, as any of several such types."""
    kind = chance.choice(("2N3904", "2N3906", "BC547"))
    parts = tuple(
        replace(p, kind=kind, device=device(kind), pins_said=False) if p.reference == "Q1" else p
        for p in board.description.parts
    )
    return Spoilt((replace(board, description=replace(board.description, parts=parts)), art), ["Q1"])


def regulator_fed_too_much(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The 78L05 and the 78L08 bear 30 V (data sheet)."""
    volts = chance.uniform(30.001, 60.0)
    spoilt = with_nets(board, lambda net: replace(net, volts=volts) if net.name == "RAW" else net)
    return Spoilt((spoilt, art), [chance.choice(("U1 pin 3", "U2 pin 3")), "net RAW"])


def regulator_overheated(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """From 12 V, 7 V over the 78L05 and 4 V over the 78L08, which bear 0.6 W in still air."""
    net, regulator, across = chance.choice((("V5", "U1", 7.0), ("V8", "U2", 4.0)))
    amps = chance.uniform(0.601, 3.0) / across
    spoilt = with_nets(board, lambda n: replace(n, amps=amps) if n.name == net else n)
    return Spoilt((spoilt, art), [regulator, f"to {net}"])


def regulator_asked_for_too_much(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The 78L05 and the 78L08 give 100 mA (data sheet)."""
    net, pin = chance.choice((("V5", "U1 pin 1"), ("V8", "U2 pin 1")))
    amps = chance.uniform(0.1001, 1.0)
    spoilt = with_nets(board, lambda n: replace(n, amps=amps) if n.name == net else n)
    return Spoilt((spoilt, art), [pin, f"net {net}"])


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
    Kind("pin-order", pin_order_not_said, LAMP),
    Kind("regulator-input", regulator_fed_too_much, LAMP),
    Kind("regulator-current", regulator_asked_for_too_much, LAMP),
    Kind("dissipation", regulator_overheated, LAMP),
    Kind("led-resistor", lamp_without_resistor, LAMP),
    Kind("base-resistor", base_without_resistor, LAMP),
    Kind("volts-sign", rail_without_its_sign, LAMP),
    Kind("touch-voltage", not_safe_to_touch),
    Kind("host-cut", host_cut_open),
    Kind("lead-open", lead_forgotten, LAMP),
    Kind("contact-open", contact_forgotten, LAMP),
    Kind("value-missing", value_forgotten),
    Kind("value-unreadable", value_misspelt),
    Kind("value-series", value_nobody_makes),
    Kind("resistor-rating", resistor_overloaded, LAMP),
    Kind("capacitor-rating", capacitor_for_less_volts, LAMP),
)
