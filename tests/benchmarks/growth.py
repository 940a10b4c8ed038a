"""How routing time grows: ``python tests/benchmarks/growth.py [--nets 10,30,100,300]``.

Random placed boards with the same share of each kind of part, the same area a part and mostly local nets, so that only
the size grows; then one board on ever finer lattices.  Kernels are compiled before the first row.  Seconds are
processor time of one core: setting up the maps, negotiating, improving, tidying and the rest; the exponent is that of
the power law between a row and the one before it.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a file, Python finds only its own folder

from modboard.describe.model import Description
from modboard.layout.board import Board, PlacedPart
from modboard.layout.route.router import PITCH, Effort, route
from tests.layout.boards import random_board

AREA = 150.0  # mm² of board a part
HEADER = (
    f"{'nets':>5} {'parts':>5} {'board mm':>9} {'pitch':>7} {'nodes':>9} {'seconds':>8} "
    f"{'exponent':>8} {'open':>4} vias"
)


def board_of(nets: int, seed: int) -> tuple[Description, tuple[PlacedPart, ...]]:
    """Return a placed board with just so many nets."""
    parts = math.ceil(nets * 0.75)
    while True:
        side = math.sqrt(AREA * parts)
        description, placed = random_board(seed, parts, side, side)
        if len(description.nets) >= nets:
            return replace(description, nets=description.nets[:nets]), placed
        parts += max(1, parts // 10)


def measure(nets: int, pitch: float, seeds: int) -> tuple[float, float, str]:
    """Route boards of a size; return mean seconds, mean nodes, and the row without its exponent."""
    seconds, nodes, opened, vias, parts, side = 0.0, 0.0, 0, 0, 0, 0.0
    for seed in range(1, seeds + 1):
        description, placed = board_of(nets, seed)
        begun = time.process_time()
        outcome = route(description, placed, seed=seed, effort=Effort(pitch=pitch))
        seconds += (time.process_time() - begun) / seeds
        board: Board = outcome.board
        nodes += 2 * outcome.lattice.nodes / seeds
        opened += len(board.unrouted)
        vias += len(board.vias)
        parts, side = len(placed), math.sqrt(board.outline.area)
    lead = f"{nets:5} {parts:5} {side:4.0f}x{side:<4.0f} {pitch:7.4f} {nodes:9.0f} {seconds:8.2f}"
    return seconds, nodes, f"{lead} {{exponent:>8}} {opened:4} {vias / seeds:4.0f}"


def series(name: str, cases: list[tuple[int, float, int]], by_nodes: bool) -> None:
    """Print one series, each row with the exponent of its growth."""
    print(f"{name}\n{HEADER}")
    before: tuple[float, float] | None = None
    for nets, pitch, seeds in cases:
        seconds, nodes, row = measure(nets, pitch, seeds)
        size = nodes if by_nodes else float(nets)
        exponent = "-" if before is None else f"{math.log(seconds / before[1]) / math.log(size / before[0]):.2f}"
        print(row.format(exponent=exponent), flush=True)
        before = (size, seconds)


def main() -> None:
    """Print both series."""
    parser = argparse.ArgumentParser(description="Measure how routing time grows.")
    parser.add_argument("--nets", default="10,30,100,300", help="numbers of nets, separated by commas")
    parser.add_argument("--pitches", default="0.254,0.127,0.0635,0.03175", help="lattice pitches, mm")
    parser.add_argument("--seeds", type=int, default=2, help="boards of each size")
    asked = parser.parse_args()
    measure(5, PITCH, 1)  # warm
    sizes = [int(n) for n in asked.nets.split(",")]
    series("more nets at equal density", [(n, PITCH, asked.seeds) for n in sizes], by_nodes=False)
    pitches = [float(p) for p in asked.pitches.split(",")]
    series("the board of 30 nets on finer lattices", [(30, p, asked.seeds) for p in pitches], by_nodes=True)


if __name__ == "__main__":
    main()
