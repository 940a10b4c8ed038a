"""Faults put into a clean board at random: each must be found by its rule, at its place; the clean board has none.

`MODBOARD_FAULTS=100 pytest tests/check/test_faults.py` tries a hundred of each kind.
"""

from __future__ import annotations

import os
from random import Random

import pytest

from modboard.check import check, rules
from tests.check.faults import FAULTS, Fault
from tests.sample import sample_artwork, sample_board

TRIES = int(os.environ.get("MODBOARD_FAULTS", "4"))


def test_clean_board_has_no_findings() -> None:
    assert check(sample_board(), sample_artwork()) == ()


@pytest.mark.parametrize(("rule", "fault"), FAULTS, ids=[fault.__name__ for _, fault in FAULTS])
def test_fault_is_found_at_its_place(rule: str, fault: Fault) -> None:
    for seed in range(TRIES):
        spoilt = fault(Random(f"{fault.__name__} {seed}"), sample_board(), sample_artwork())
        found = check(*spoilt.scene)
        right = [f for f in found if f.rule == rule and all(word in f.where for word in spoilt.words)]
        assert right, f"seed {seed}: no {rule} at {spoilt.words}, but {[(f.rule, f.where) for f in found]}"


def test_every_fault_names_a_rule_there_is() -> None:
    assert {rule for rule, _ in FAULTS} <= {rule.name for rule in rules()}
    assert len({rule.name for rule in rules()}) == len(rules())


def test_same_board_gives_the_same_findings() -> None:
    spoilt = FAULTS[0][1](Random(1), sample_board(), sample_artwork())
    assert check(*spoilt.scene) == check(*spoilt.scene) != ()
