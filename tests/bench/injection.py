"""Every single fault put into a board, and whether the bench sheet finds it.

By hand, over the demos and all circuits: ``python -m tests.bench.injection [NAME ...]``.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from modboard.bench.kinds import kind_of, value_of
from modboard.bench.sheet import bench_sheet
from modboard.describe.load import load
from modboard.describe.model import Part
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
    copper_faults,
    harmful,
    looked_at,
    probe,
)

ROOT = Path(__file__).parents[2]
KINDS = ("cut", "via", "plating", "bridge", "joint", "blob")


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

    def line(self, name: str) -> str:
        """Return one row of the table."""
        cells = " ".join(f"{self.caught[k]:>5}/{self.real[k]:<5}" for k in KINDS)
        total, real = sum(self.caught.values()), sum(self.real.values())
        share = f"{100 * total / real:6.2f} %" if real else "     –"
        return (
            f"{name:24} {self.pads:4} {self.nets:4} {self.probes:5} {self.silences:5} {sum(self.tried.values()):6} "
            f"{cells} {self.looked:4} {share}"
        )


def resistance(part: Part) -> float | None:
    """Return what a part passes either way in Ω, None for open."""
    kind = kind_of(part)
    return {"resistor": value_of(part), "inductor": 1.0}.get(kind)


def inject(board: Board, *, fitted: bool = True) -> Account:
    """Try every single fault: copper on the bare board (if plated), joints once fitted."""
    sheet, faulty = bench_sheet(board), Faulty(board)
    on = [p for p in board.pads if p.net]
    account = Account(len(on), len(board.description.nets), len(sheet.whole.probes), len(sheet.apart))
    plated = board.description.rules.layers_plated
    sound = Meter(faulty, None, not plated, resistance)
    for fault in copper_faults(faulty):
        account.tried[fault.kind] += 1
        meter = Meter(faulty, fault, not plated, resistance)
        if harmful(faulty, fault, sound, meter):
            _count(account, fault, caught_bare(sheet, meter))
    for fault in bridges(faulty, lands_only=True) if fitted else ():
        account.tried["blob"] += 1
        blob = Fault("blob", fault.net, fault.layer, fault.area)
        read = caught_fitted(sheet, Meter(faulty, fault, True, resistance))
        account.looked += not read and looked_at(sheet, fault)
        _count(account, blob, read or looked_at(sheet, fault))
    for name in [n for n, p in faulty.names.items() if p.net and fitted]:
        fault = Fault("joint", faulty.names[name].net or "", thing=name)
        account.tried["joint"] += 1
        meter = Meter(faulty, fault, True, resistance)
        _count(account, fault, any(not probe(meter, p.red, p.black) for p in sheet.whole.probes))
    return account


def _count(account: Account, fault: Fault, caught: bool) -> None:
    account.real[fault.kind] += 1
    if caught:
        account.caught[fault.kind] += 1
    else:
        account.missed.append(fault)


def main() -> None:
    """Print the table."""
    files = sorted((ROOT / "designs").glob("*.py")) + sorted((ROOT / "tests" / "circuits").glob("[a-z]*.py"))
    chosen = [f for f in files if not sys.argv[1:] or f.stem in sys.argv[1:]]
    print(f"{'found/real':24} pads nets beeps quiet  tried {'  '.join(f'{k:^10}' for k in KINDS)}  eye")
    for path in chosen:
        try:
            print(inject(layout(load(path))).line(path.stem), flush=True)
        except ModboardError as error:
            print(f"{path.stem:24} {error}", flush=True)


if __name__ == "__main__":
    main()
