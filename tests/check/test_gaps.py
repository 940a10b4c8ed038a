"""Gaps between lands of one part, by the volts between them: IPC-2221 table 6-1, column B2, as home boards are bare."""

from __future__ import annotations

import pytest

from modboard import Design
from modboard.artwork.draw import draw
from modboard.check import check
from modboard.check.findings import Finding
from modboard.layout import layout


def findings(**volts: float | None) -> list[Finding]:
    """Return the copper-gap findings of two headers side by side, etched at home: lands 2 mm wide, 0.54 apart."""
    board = Design("lands", outline=[(0, 0), (30, 0), (30, 20), (0, 20)], rules="home")
    for reference in ("J1", "J2"):
        board.part(reference, "header-1x3", pins="A B C")
    for name in "ABC":
        board.net(name, f"J1.{name} J2.{name}", volts=volts.get(name))
    made = layout(board.described())
    assert not made.unrouted
    return [f for f in check(made, draw(made)) if f.rule == "copper-gap"]


@pytest.mark.parametrize(
    ("volts", "places"),
    [
        ({"A": 25.0, "B": 10.0, "C": 0.0}, 0),  # up to 30 V: 0.1 mm, and the rules' 0.4 mm are kept
        ({"A": 25.0, "B": 0.0, "C": -25.0}, 0),  # A and C are 50 V apart, but not beside one another
        ({"A": 25.0, "B": -10.0, "C": -10.0}, 2),  # 35 V between A and B: 0.6 mm, on both headers
        ({"A": 40.0, "B": 0.0, "C": 0.0}, 2),
    ],
)
def test_lands_of_one_part_need_the_gap_of_the_volts_between_them(volts: dict[str, float], places: int) -> None:
    found = findings(**volts)
    assert len(found) == places
    assert all(f.required == pytest.approx(0.6) and f.measured == pytest.approx(0.54, abs=1e-3) for f in found)


def test_lands_whose_volts_nobody_knows_keep_the_gap_of_the_net() -> None:
    found = findings(A=40.0)
    assert len(found) == 2
    assert all("volts=" in f.cure for f in found)
