"""Faults put into clean boards at random: each must be found by its rule, at its place; clean boards have none.

A few of each kind here; `python -m tests.check.faults --each 100` tries more and prints a table.
"""

from __future__ import annotations

import pytest

from modboard.check import check, rules
from tests.check.clean import BOARDS
from tests.check.faults import KINDS, found, missed, spoilt
from tests.check.spoiling import Kind

TRIES = 2
UNFAULTED = {  # rules that need a board of another sort; they have limit tests or tests of their own
    "copper-balance",  # boards over 100 mm
    "land-size",  # home etching
    "opening-pass",
    "part-to-edge",
}


@pytest.mark.parametrize("name", BOARDS)
def test_clean_board_has_no_findings(name: str) -> None:
    assert check(*BOARDS[name]()) == ()


@pytest.mark.parametrize("kind", KINDS, ids=[kind.name for kind in KINDS])
def test_fault_is_found_at_its_place(kind: Kind) -> None:
    for seed in range(TRIES):
        fault = spoilt(kind, seed)
        assert missed(kind, seed, found(kind, fault.scene), fault) == ""


def test_every_rule_has_its_faults() -> None:
    """Values are checked by tests of their own."""
    named = {kind.rule for kind in KINDS}
    known = {rule.name for rule in rules()}
    assert named <= known and len(known) == len(rules())
    assert UNFAULTED & named == set()


def test_same_board_gives_the_same_findings() -> None:
    fault = spoilt(KINDS[0], 1)
    assert check(*fault.scene) == check(*fault.scene) != ()
