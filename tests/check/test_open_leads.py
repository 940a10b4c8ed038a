"""Leads that lead nowhere: the forgotten ground."""

from __future__ import annotations

from dataclasses import replace

from modboard.artwork.draw import draw
from modboard.check.circuit import open_leads
from modboard.check.inspection import Inspection
from modboard.describe.model import PinRef
from modboard.layout.board import Board
from modboard.library.model import Device, Pin
from tests.sample import sample_board


def without(*gone: PinRef, marked: tuple[PinRef, ...] = ()) -> Board:
    """Return the sample board with R1 and J1 as known devices and some pins taken off their nets."""
    board = sample_board()
    known = {
        "R1": Device("resistor", "", (Pin("1", ("1",)), Pin("2", ("2",))), ""),
        "J1": Device("header", "", tuple(Pin(str(k), (name,)) for k, name in enumerate(("GND", "V", "S", "O"), 1)), ""),
    }
    parts = tuple(
        replace(placed, part=replace(placed.part, device=known.get(placed.part.reference))) for placed in board.parts
    )
    nets = tuple(replace(net, pins=tuple(p for p in net.pins if p not in gone)) for net in board.description.nets)
    described = replace(
        board.description, parts=tuple(p.part for p in parts), nets=nets, unconnected=marked
    )  # fmt: skip
    return replace(board, description=described, parts=parts)


def found(board: Board) -> list[tuple[str, str, str]]:
    """Return (rule, severity, where) of what is reported."""
    return [(f.rule, f.severity, f.where) for f in open_leads(Inspection(board, draw(board)))]


def test_whole_circuit_is_silent() -> None:
    assert found(without()) == []


def test_a_two_lead_part_needs_both_leads_joined() -> None:
    assert found(without(("R1", "2"))) == [("lead-open", "error", "R1 pin 2")]


def test_a_named_contact_left_open_is_a_warning() -> None:
    assert found(without(("J1", "1"))) == [("contact-open", "warning", "J1 pin 1 (GND)")]


def test_a_mark_says_it_is_meant() -> None:
    assert found(without(("R1", "2"), marked=(("R1", "2"),))) == []


def test_a_part_on_no_net_at_all_is_spare() -> None:
    assert found(without(("R1", "1"), ("R1", "2"))) == []
