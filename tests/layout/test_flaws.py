"""Flaws that another arrangement might not have, against what the check finds on the same boards."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from modboard import Design
from modboard.artwork.draw import draw
from modboard.check import check
from modboard.describe.model import Description
from modboard.layout.board import Board, PlacedPart
from modboard.layout.flaws import flaws, undecoupled
from modboard.layout.place import place
from modboard.layout.place.pulls import decoupling
from tests.layout.place_cases import surface_board


def test_chips_far_from_their_capacitors_are_those_that_the_check_reports() -> None:
    description = surface_board()
    parts = place(description, 1)
    capacitors = sorted({c for c, *_ in decoupling(description)})
    seen = set()
    for moved in itertools.chain.from_iterable(itertools.combinations(capacitors, n) for n in range(3)):
        put = tuple(replace(p, at=(p.at[0] + 30.0, p.at[1])) if i in moved else p for i, p in enumerate(parts))
        board = Board(description, description.outline, put, (), (), ())
        reported = [f for f in check(board, draw(board)) if f.rule == "no-decoupling"]
        assert undecoupled(board) == len(reported)
        assert flaws(board) == undecoupled(board), "nothing is poured here"
        seen.add(len(reported))
    assert len(seen) > 1, "the capacitors must matter"


@pytest.mark.parametrize(("plus", "minus", "far"), [(14.0, 14.0, 0), (30.0, 14.0, 1), (14.0, 30.0, 1), (30.0, 30.0, 1)])
def test_a_chip_between_two_rails_needs_a_capacitor_at_each(plus: float, minus: float, far: int) -> None:
    """Capacitors at (x, 20) beside an amplifier whose supply pins are at x = 10 and 17.62; judged as the check does."""
    design = Design("rails", outline=(60.0, 40.0))
    design.part("U1", "TL072")
    for name in ("C1", "C2"):
        design.part(name, "capacitor", "100n", footprint="capacitor-disc-2.54")
    design.part("J1", "header-1x3", pins="VP GND VN")
    design.net("VP", "U1.V+ C1.1 J1.VP", volts=12)
    design.net("VN", "U1.V- C2.1 J1.VN", volts=-12)
    design.net("GND", "C1.2 C2.2 J1.GND")
    described = design.described()
    places = ((10.0, 20.0), (plus, 20.0), (minus, 12.0), (5.0, 30.0))
    parts = tuple(PlacedPart(part, at, 0.0) for part, at in zip(described.parts, places, strict=True))
    board = Board(described, described.outline, parts, (), (), ())
    reported = [f for f in check(board, draw(board)) if f.rule == "no-decoupling"]
    assert undecoupled(board) == len(reported) == far


def dealt(description: Description) -> dict[str, str]:
    names = [part.reference for part in description.parts]
    return {names[capacitor]: names[chip] for capacitor, chip, *_ in decoupling(description)}


def test_capacitors_go_to_the_chips_they_are_described_with() -> None:
    """A logic chip and two amplifiers, all on the same rail, each followed by what decouples it (as people write)."""
    design = Design("dealt", outline=(80.0, 60.0))
    design.part("U1", "74HC00")
    design.part("C1", "capacitor", "100n")
    for k in (2, 3):
        design.part(f"U{k}", "TL072")
        design.part(f"C{2 * k - 2}", "capacitor", "100n")
        design.part(f"C{2 * k - 1}", "capacitor", "100n")
    design.part("C6", "capacitor", "100n")
    design.net("V5", "U1.VCC U2.V+ U3.V+ C1.1 C2.1 C4.1 C6.1", volts=5)
    design.net("VM5", "U2.V- U3.V- C3.1 C5.1", volts=-5)
    design.net("GND", "U1.GND C[1..6].2")
    assert dealt(design.described()) == {"C1": "U1", "C2": "U2", "C3": "U2", "C4": "U3", "C5": "U3", "C6": "U1"}


def test_capacitors_described_after_all_chips_are_dealt_in_their_order() -> None:
    design = Design("dealt", outline=(80.0, 60.0))
    for k in (1, 2, 3):
        design.part(f"U{k}", "74HC00")
    for k in (1, 2, 3, 4):
        design.part(f"C{k}", "capacitor", "100n")
    design.net("V5", "U[1..3].VCC C[1..4].1", volts=5)
    design.net("GND", "U[1..3].GND C[1..4].2")
    assert dealt(design.described()) == {"C1": "U1", "C2": "U2", "C3": "U3", "C4": "U1"}
