"""Faults put into clean boards at random: each must be found by its rule, at its place; clean boards have none.

A few of each kind here; `python -m tests.check.faults --each 100` tries more and prints a table.
"""

from __future__ import annotations

import importlib
import pkgutil

import pytest

import modboard.check
import modboard.fit
from modboard.check import Rule, check, rules
from tests.check.clean import BOARDS
from tests.check.faults import KINDS, found, missed, spoilt
from tests.check.spoiling import Kind

TRIES = 2
FAULTLESS: dict[str, str] = {}  # rule: why no fault of it can be put into a clean board


@pytest.mark.parametrize("name", BOARDS)
def test_clean_board_has_no_findings(name: str) -> None:
    assert check(*BOARDS[name]()) == ()


@pytest.mark.parametrize("kind", KINDS, ids=[kind.name for kind in KINDS])
def test_fault_is_found_at_its_place(kind: Kind) -> None:
    for seed in range(TRIES):
        fault = spoilt(kind, seed)
        assert missed(kind, seed, found(kind, fault.scene), fault) == ""


def test_every_rule_that_can_be_reported_brings_its_faults() -> None:
    """A new rule fails here until a module of faults has a kind for it, or `FAULTLESS` says why there can be none."""
    named = {kind.rule for kind in KINDS}
    known = {rule.name for rule in rules()}
    assert len(known) == len(rules())
    assert known - named == set(FAULTLESS), "rules without a kind of fault, or reasons that are out of date"
    assert named <= known and all(FAULTLESS.values())


def test_every_rule_that_a_family_names_is_listed() -> None:
    """A rule that a module can report but does not list would escape the test above."""
    modules = [
        importlib.import_module(f"{room.__name__}.{found.name}")
        for room in (modboard.check, modboard.fit)
        for found in pkgutil.iter_modules(room.__path__)
    ]
    named = {value.name for module in modules for value in vars(module).values() if isinstance(value, Rule)}
    assert named == {rule.name for rule in rules()}


def test_same_board_gives_the_same_findings() -> None:
    fault = spoilt(KINDS[0], 1)
    assert check(*fault.scene) == check(*fault.scene) != ()
