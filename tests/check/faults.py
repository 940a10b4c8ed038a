"""Seeded faults: put one fault into a clean board and demand that the right rule names the right place.

Every kind of fault is data: a rule, a function that puts the fault in, the boards it can be put into.  A new rule
brings its faults along by adding them to the `KINDS` of a module beside this one.

`python -m tests.check.faults --each 100` tries a hundred of each kind and prints a table.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from random import Random
from types import ModuleType

from modboard import fit
from modboard.check import FAMILIES, check, inspected, waivers
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from tests.check import (
    faults_circuit,
    faults_copper,
    faults_fit,
    faults_holes,
    faults_parts,
    faults_sly,
    faults_surface,
    faults_wishes,
)
from tests.check.build import Scene
from tests.check.clean import BOARDS
from tests.check.spoiling import Kind, Spoilt

MODULES = (
    faults_copper,
    faults_holes,
    faults_surface,
    faults_parts,
    faults_fit,
    faults_circuit,
    faults_wishes,
    faults_sly,
)
KINDS: tuple[Kind, ...] = tuple(kind for module in MODULES for kind in module.KINDS)


def spoilt(kind: Kind, seed: int) -> Spoilt:
    """Return the fault number `seed` of a kind, in the boards in turn."""
    scene = BOARDS[kind.boards[seed % len(kind.boards)]]()
    return kind.inject(Random(f"{kind.name} {seed}"), *scene)


def found(kind: Kind, scene: Scene) -> Sequence[Finding]:
    """Return what the rule's own family finds: all others are left out to save time."""
    board, artwork = scene
    if kind.rule in {rule.name for rule in waivers.RULES}:
        return check(board, artwork)
    cavity = board.description.cavity
    if cavity is not None and kind.rule in {rule.name for rule in fit.RULES}:
        room = fit.Room(board, cavity)
        own = [f for f in fit.FAMILIES if kind.rule in {rule.name for rule in f.RULES}]
        return [finding for family in own for finding in family.inspect(room)]
    return inspected(Inspection(board, artwork), families_with(kind.rule))


def families_with(rule: str) -> list[ModuleType]:
    """Return the families that may report a rule: the one that lists it, and any that borrows it."""
    return [f for f in FAMILIES if any(rule == value.name for value in vars(f).values() if hasattr(value, "demand"))]


def missed(kind: Kind, seed: int, findings: Sequence[Finding], fault: Spoilt) -> str:
    """Return "" if the right rule names the right place among the findings, else what was wanted and what there is."""
    if any(f.rule == kind.rule and all(word in f.where for word in fault.words) for f in findings):
        return ""
    there = sorted({(f.rule, f.where) for f in findings if f.rule == kind.rule})
    return f"{kind.name}, seed {seed}: no {kind.rule} at {list(fault.words)}; of that rule: {there}"


def main() -> None:
    """Try `--each` faults of each kind and print how many of them were found."""
    parser = argparse.ArgumentParser(description="Put faults into clean boards and count those that are found.")
    parser.add_argument("--each", type=int, default=100, help="faults of each kind")
    parser.add_argument(
        "--first", type=int, default=0, help="number of the first fault: others than those of the tests"
    )
    parser.add_argument("--kind", default="", help="only kinds whose name has this in it")
    said = parser.parse_args()
    for name, make in BOARDS.items():
        findings = check(*make())
        print(f"untouched board {name!r}: {len(findings)} findings", flush=True)
    print(f"{'rule':22} {'fault':34} {'put in':>7} {'found':>6} {'missed':>7} {'s':>6}", flush=True)
    total = lost = 0
    for kind in (k for k in KINDS if said.kind in k.name):
        begun = time.perf_counter()
        misses = []
        for seed in range(said.first, said.first + said.each):
            fault = spoilt(kind, seed)
            if text := missed(kind, seed, found(kind, fault.scene), fault):
                misses.append(text)
        took = time.perf_counter() - begun
        counts = f"{said.each:7} {said.each - len(misses):6} {len(misses):7} {took:6.1f}"
        print(f"{kind.rule:22} {kind.name:34} {counts}", flush=True)
        for text in misses[:3]:
            print(f"    {text}", flush=True)
        total, lost = total + said.each, lost + len(misses)
    print(f"{len(KINDS)} kinds, {total} faults, {lost} missed")
    sys.exit(bool(lost))


if __name__ == "__main__":
    main()
