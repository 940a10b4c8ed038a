"""Every single fault put into a board, and whether the bench sheet finds it.

What a buzz-out cannot tell, and so is not tried: copper or a joint that still conducts but barely (a hairline crack, a
neck half etched, a joint that fails when warm), a break in a loop that parts no pads, and what only current shows.

By hand, over the demos and all circuits: ``python -m tests.bench.injection [NAME ...]``.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from modboard.bench.kinds import kind_of, value_of
from modboard.bench.sheet import bench_sheet
from modboard.describe import rule_sets
from modboard.describe.design import Design
from modboard.describe.load import load
from modboard.describe.model import Part
from modboard.describe.rules import Rules
from modboard.errors import ModboardError
from modboard.layout import layout
from modboard.layout.board import Board
from tests.bench.meter import (
    Fault,
    Faulty,
    Meter,
    bridges,
    caught_bare,
    caught_fitted,
    caught_whole,
    copper_faults,
    harmful,
    joints,
    looked_at,
    refused,
    threes,
)
from tests.bench.naming import named

ROOT = Path(__file__).parents[2]
KINDS = ("cut", "neck", "via", "plating", "bridge", "joint", "blob", "three")


@dataclass
class Account:
    """What came of it: faults tried, those that change a circuit, those found, and those missed."""

    pads: int
    nets: int
    probes: int
    silences: int
    tried: Counter[str] = field(default_factory=Counter)
    real: Counter[str] = field(default_factory=Counter)
    caught: Counter[str] = field(default_factory=Counter)
    looked: int = 0  # blobs that no reading tells, at a place that a step asks to look at
    missed: list[Fault] = field(default_factory=list)
    unnamed: list[Fault] = field(default_factory=list)  # breaks on the bare board whose hint names other places only

    def line(self, name: str) -> str:
        """Return one row of the table."""
        cells = " ".join(f"{self.caught[k]:>5}/{self.real[k]:<5}" for k in KINDS)
        total, real = sum(self.caught.values()), sum(self.real.values())
        share = f"{100 * total / real:6.2f} %" if real else "     –"
        return (
            f"{name:24} {self.pads:4} {self.nets:4} {self.probes:5} {self.silences:5} {sum(self.tried.values()):6} "
            f"{cells} {self.looked:4} "
            f"{len(self.unnamed):5} {share}"
        )


def resistance(part: Part) -> float | None:
    """Return what a part passes either way in Ω, None for open."""
    kind = kind_of(part)
    return {"resistor": value_of(part), "inductor": 1.0}.get(kind)


class SoundBoardRefused(AssertionError):
    """The plan fails on a board with nothing wrong, so that nothing it finds means anything."""


def inject(board: Board) -> Account:
    """Try every single fault: copper on the bare board, or once fitted what only wires join; then joints and blobs.

    Raise SoundBoardRefused if a board without fault does not pass every step.
    """
    sheet, faulty = bench_sheet(board), Faulty(board)
    on = [p for p in board.pads if p.net]
    account = Account(len(on), len(board.description.nets), len(sheet.whole.probes), len(sheet.apart))
    plated = board.description.rules.layers_plated
    bare, fitted = Meter(faulty, None, False, resistance), Meter(faulty, None, True, resistance)
    if wrong := refused(sheet, bare, fitted):
        raise SoundBoardRefused(f"a sound board fails {len(wrong)} steps, first: {wrong[0]}")
    for fault in copper_faults(faulty):
        account.tried[fault.kind] += 1
        meter = Meter(faulty, fault, False, resistance)
        if harmful(bare, meter):
            _count(account, fault, caught_bare(sheet, meter))
            if fault.kind != "bridge" and not named(sheet, faulty, fault, meter):
                account.unnamed.append(fault)
        elif not plated and harmful(fitted, meter := Meter(faulty, fault, True, resistance)):
            _count(account, fault, caught_whole(sheet, meter) or caught_fitted(sheet, meter))
    for fault in bridges(faulty, lands_only=True):
        account.tried["blob"] += 1
        blob = Fault("blob", fault.net, fault.layer, fault.area)
        read = caught_fitted(sheet, Meter(faulty, fault, True, resistance))
        looked = not read and looked_at(sheet, fault)
        account.looked += looked
        _count(account, blob, read or looked)
    for fault in threes(faulty):
        account.tried["three"] += 1
        read = caught_fitted(sheet, Meter(faulty, fault, True, resistance))
        looked = not read and looked_at(sheet, fault)
        account.looked += looked
        _count(account, Fault("three", fault.net, fault.layer, fault.area), read or looked)
    for fault in joints(faulty):
        account.tried["joint"] += 1
        meter = Meter(faulty, fault, True, resistance)
        if harmful(fitted, meter):
            _count(account, fault, caught_whole(sheet, meter))
    return account


def _count(account: Account, fault: Fault, caught: bool) -> None:
    account.real[fault.kind] += 1
    if caught:
        account.caught[fault.kind] += 1
    else:
        account.missed.append(fault)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.injection", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help="demos or circuits; all if none")
    parser.add_argument(
        "--rules", choices=rule_sets.NAMES, default="pool", help="for designs that say nothing of rules"
    )
    parser.add_argument("--one-sided", action="store_true", help="all copper on the bottom, wire links above")
    chosen = parser.parse_args()
    assert Design.__init__.__kwdefaults__
    Design.__init__.__kwdefaults__["rules"] = Rules.named(chosen.rules, one_sided=chosen.one_sided)
    files = sorted((ROOT / "designs").glob("*.py")) + sorted((ROOT / "tests" / "circuits").glob("[a-z]*.py"))
    print(f"{'found/real':24} pads nets beeps quiet  tried {'  '.join(f'{k:^10}' for k in KINDS)}  eye unnamed")
    for path in [f for f in files if not chosen.names or f.stem in chosen.names]:
        try:
            print(inject(layout(load(path))).line(path.stem), flush=True)
        except (ModboardError, SoundBoardRefused) as error:
            print(f"{path.stem:24} {error}", flush=True)


if __name__ == "__main__":
    main()
