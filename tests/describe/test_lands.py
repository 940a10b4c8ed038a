"""Patterns that a rule set can't make are refused at the part's own line, with what else to do."""

from __future__ import annotations

import pytest

from modboard import Design
from modboard.errors import DesignError


def described(footprint: str, kind: str = "electrolytic", rules: str = "pool", waive: str = "") -> None:
    board = Design("one", outline=(40, 40), rules=rules)
    board.part("X1", kind, footprint=footprint)
    board.no_connect([f"X1.{n}" for n in board.footprint_of("X1").numbers()])
    if waive:
        board.waive(waive, "X1", reason="soldered under a lens")
    board.described()


def test_a_can_of_1_5_pitch_is_refused_by_the_easy_tier_with_the_cure():
    """Two rings of 0.30, a hole of 0.60 and a mask web with its expansions, 0.40, need 1.60 (capability tables)."""
    with pytest.raises(
        DesignError, match=r"part X1: electrolytic-4x7-1\.5 .*rules \"pool\".*take pitch 2\.0 or 2\.5.*fine"
    ):
        described("electrolytic-4x7-1.5")
    for cure in ("electrolytic-4x7-2.0", "electrolytic-4x7-2.5"):
        described(cure)
    described("electrolytic-4x7-1.5", rules="fine")
    described("electrolytic-4x7-1.5", waive="mask-web")


@pytest.mark.parametrize(
    ("footprint", "kind", "refused"),
    [
        ("tssop-14", "74HC00", "pool home"), ("to92-inline-1.27", "78L05", "pool fine home"),
        ("to126", "BD139", "home"),
        ("to126-2.54", "BD139", ""), ("sot23-5", "one", ""), ("plcc-socket-32", "27C010", "home"),
        ("chip-0402-r", "resistor", ""), ("dip-14", "74LS00", ""),
    ],
)  # fmt: skip
def test_which_rules_take_which_pattern(footprint, kind, refused):
    for rules in ("pool", "fine", "home"):
        if rules in refused.split():
            with pytest.raises(DesignError, match=f"{footprint} can't be made by rules"):
                described(footprint, kind, rules)
        else:
            described(footprint, kind, rules)
