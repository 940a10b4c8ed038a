"""Socket adapters against the published pin tables: what goes where, and what must never be wired."""

from __future__ import annotations

import itertools

import pytest

from modboard.errors import ModboardError
from modboard.library import device
from modboard.library.model import Device, Pin
from modboard.sockets.match import Table, clash, compare, rail

# the byte-wide parts of JEDEC Standard 21-C 3.7.5 and the data sheets beside it, and the narrow memories
BYTE_WIDE = [
    "6116", "2716", "28C16", "2732", "2316", "2332", "2364", "TMS2532",
    "2764", "27128", "27256", "27512", "28C64", "28C256", "6264", "62256",
    "628128", "628512", "27C010", "27C040", "29F010", "29F040",
]  # fmt: skip
NARROW = ["2114", "4116", "4164", "41256", "41464"]


def of(table: Table, name: str) -> tuple[str, str]:
    row = next(r for r in table.rows if r.chip_name == name)
    return row.kind, row.host


def both_ways() -> list[tuple[str, str]]:
    return list(itertools.permutations(BYTE_WIDE, 2))


def test_every_byte_wide_pair_both_ways():
    # addresses, data, ground and supply meet their namesakes whatever the sizes; nothing does harm
    for host_name, chip_name in both_ways():
        host, chip = device(host_name), device(chip_name)
        table = compare(host, chip)
        assert table.conflicts == (), (host_name, chip_name)
        contacts = {p.names[0]: p.number for p in host.pins}
        for row in table.rows:
            if row.chip_name.startswith(("A", "D")) and row.chip_name[1:].isdigit():
                if row.chip_name in contacts:
                    assert (row.host, row.kind) == (contacts[row.chip_name], row.kind), (host_name, chip_name)
                    assert row.kind in ("straight", "moved")
                else:
                    assert row.kind == "new"
            if row.chip_name in ("VCC", "GND"):
                assert row.host_name == row.chip_name
        assert sorted(r.chip for r in table.rows if r.chip) == sorted(p.number for p in chip.pins)
        used = [r.host for r in table.rows if r.host]
        assert sorted(used) == sorted(p.number for p in host.pins)  # each contact once, left over or used


def test_bottom_alignment():
    # JEDEC: 24-pin n sits on 28-pin n + 2; what two parts share is straight there: A0 to A10, D0 to D7, /OE, GND
    table = compare(device("6116"), device("62256"))
    for row in table.of("straight"):
        assert int(row.chip) == int(row.host) + 2
    assert len(table.of("straight")) == 22
    assert of(table, "/WE") == ("moved", "21") and of(table, "VCC") == ("moved", "24")
    assert [r.chip_name for r in table.of("new")] == ["A14", "A12", "A11", "A13"]
    wide = compare(device("62256"), device("628128"))
    assert all(int(row.chip) == int(row.host) + 2 for row in wide.of("straight"))


def test_swapped_pins_of_27256_and_62256():
    # published: A14 and /WE change places between them (27 and 1)
    table = compare(device("27256"), device("62256"))
    assert of(table, "A14") == ("moved", "27")
    assert of(table, "/WE") == ("tied high", "")  # a ROM's socket has no write line
    back = compare(device("62256"), device("27256"))
    assert of(back, "A14") == ("moved", "1") and of(back, "VPP") == ("tied high", "")
    assert any("pin 1 (VPP)" in line and "A14" in line for line in back.plugged)


def test_reading_an_eprom_ties_what_programs_it():
    # data sheets: 2764 and 27128 are read with VPP and /PGM at VCC
    table = compare(device("2364"), device("27128"))
    assert of(table, "VPP")[0] == of(table, "/PGM")[0] == "tied high"
    assert of(table, "/OE")[0] == "tied low" and of(table, "/CE") == ("moved", "20")


def test_4116_socket_to_4164_moves_the_supplies():
    # published: pin 1 is -5 V, pin 8 +12 V, pin 9 +5 V for the 4116; 8 is +5 V and 9 is A7 for the 4164
    table = compare(device("4116"), device("4164"))
    assert table.conflicts == ()
    assert of(table, "VCC") == ("moved", "9") and of(table, "A7") == ("new", "")
    assert {r.host_name for r in table.of("unused")} == {"VBB", "VDD"}
    assert any("pin 8 (VCC) on contact 8 (VDD)" in line for line in table.plugged)
    back = compare(device("4164"), device("4116"))
    assert {r.chip_name for r in back.conflicts} == {"VBB", "VDD"}  # no -5 V and no +12 V there


@pytest.mark.parametrize(("host", "chip"), list(itertools.permutations(NARROW, 2)))
def test_narrow_memories_both_ways(host, chip):
    table = compare(device(host), device(chip))
    assert {r.chip_name for r in table.conflicts} == ({"VBB", "VDD"} if chip == "4116" else set())
    for row in table.of("straight") + table.of("moved"):
        pin, contact = device(chip).find(row.chip), device(host).find(row.host)
        assert pin is not None and contact is not None
        assert clash(device(chip), pin, device(host), contact) == ""


def small(name: str, **types: str) -> Device:
    """A four-pin device; pins in order, named as the keywords."""
    pins = tuple(Pin(str(k + 1), (n,), t) for k, (n, t) in enumerate(types.items()))  # type: ignore[arg-type]
    return Device(name, name, pins, "dip-4")


HOST = small("host", VCC="power-in", GND="power-in", IN="input", OUT="output")
DANGERS = [
    (small("a", VCC="power-in", GND="power-in", IN="output", OUT="output"), {}, "IN", "meet what the host drives"),
    (small("b", VEE="power-in", GND="power-in", IN="input", OUT="output"), {}, "VEE", "has no VEE"),
    (HOST, {"VCC": "GND"}, "VCC", "the supply VCC would meet the host's supply GND"),
    (HOST, {"VCC": "IN"}, "VCC", "fed by the host's signal IN"),
    (HOST, {"OUT": "VCC"}, "OUT", "an output would meet the host's supply VCC"),
]


@pytest.mark.parametrize(("chip", "moves", "pin", "says"), DANGERS)
def test_dangers_are_named(chip, moves, pin, says):
    table = compare(HOST, chip, moves=moves)
    assert [(r.chip_name, says in r.note) for r in table.conflicts if r.chip_name == pin] == [(pin, True)]


def test_an_output_is_never_tied():
    assert compare(HOST, HOST, wishes={"OUT": "low"}).conflicts[0].note.startswith("it is an output")
    assert compare(HOST, HOST, wishes={"VCC": "low"}).conflicts
    assert compare(HOST, HOST, wishes={"IN": "low"}).conflicts == ()


def test_wishes_and_names_that_are_none():
    with pytest.raises(ModboardError, match='host has no pin "INN"; did you mean IN'):
        compare(HOST, HOST, wishes={"INN": "low"})
    with pytest.raises(ModboardError, match='"up" is none of high, low, wire, open, apart'):
        compare(HOST, HOST, wishes={"IN": "up"})
    assert of(compare(HOST, HOST, wishes={"3": "wire"}), "IN") == ("new", "")


def test_a_device_in_its_own_socket_is_straight():
    for name in (*BYTE_WIDE, *NARROW, "74LS245", "LM358"):
        table = compare(device(name), device(name))
        assert {r.kind for r in table.rows if r.chip_name != "NC"} <= {"straight", "unused"}, name
        assert table.conflicts == () and table.plugged == (), name


def test_rails():
    both, one = device("4116"), device("4066")
    assert [rail(both, p) for p in both.pins if p.type == "power-in"] == ["VBB", "VDD", "VCC", "GND"]
    assert rail(one, one.find("VDD")) == "VCC"  # type: ignore[arg-type]


def test_a_table_prints_as_the_command_line_shows_it() -> None:
    table = compare(device("4116"), device("4164"))
    lines = str(table).splitlines()
    assert lines[0].startswith("4164") and all(any(row.chip_name in line for line in lines) for row in table.rows)
    assert table.plugged and all(words in str(table) for words in table.plugged)
