"""Published switchboxes and channels through the board router: ``python tests/benchmarks/instances.py FILE.json…``.

Every answer is judged by code that shares nothing with the router (`plain_judge`).  Length is in the file's own metric
(with one unit of stub per pin where its published figures count them); the sum is length plus vias; "over" is the sum
against the published best, "proven" where the file calls that optimal.  Exit status 1 if an answer is wrong or a net
is left open.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a file, Python finds only its own folder

from modboard.errors import ModboardError
from modboard.layout.route.plain import Node, Persistence, PlainProblem, PlainSolution, solve
from modboard.layout.route.plain_file import problem, read
from tests.benchmarks.plain_judge import Point, judge, published_best

WARM_UP = {"columns": 4, "rows": 4, "pins": [[1, 1, 1, 0], [1, 4, 4, 1], [1, 4, 1, 0]]}
HEADER = (
    f"{'instance':44} {'joined':>7} {'length':>6} {'vias':>4} {'sum':>5}  "
    f"{'published':>14} {'over':>7} {'seconds':>7}  judged"
)


def in_file_terms(solution: PlainSolution) -> dict[str, list[tuple[Point, Point]]]:
    """Return a solution's edges in the coordinates of the file."""

    def point(node: Node) -> Point:
        return (node[0] + 1, node[1] + 1, node[2])

    return {net: [(point(a), point(b)) for a, b in edges] for net, edges in solution.edges.items()}


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Solve plain grid problems and compare with what was published.")
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE.json")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--effort", type=float, default=1.0, help="times the usual number of nodes searched")
    parser.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    usual = Persistence()
    persistence = replace(usual, first=usual.first * asked.effort, last=usual.last * asked.effort)
    failed = 0
    with ProcessPoolExecutor(asked.cores, mp_context=get_context("spawn")) as processes:
        warm = problem(WARM_UP)  # compile before the clock runs
        list(processes.map(solve, [warm] * asked.cores))
        print(HEADER, flush=True)
        for path in asked.files:
            try:
                failed += report(path, read(path), asked.seed, persistence, processes)
            except ModboardError as error:
                print(error)
                failed += 1
    return 1 if failed else 0


def report(
    path: Path, stated: PlainProblem, seed: int, persistence: Persistence, processes: ProcessPoolExecutor
) -> bool:
    """Solve one file, judge the answer and print its row; return whether anything is wrong with it."""
    said = json.loads(path.read_text(encoding="utf-8"))
    begun = time.perf_counter()
    solution = solve(stated, seed=seed, persistence=persistence, executor=processes)
    seconds = time.perf_counter() - begun
    verdict = judge(said, in_file_terms(solution))
    total = verdict.length + verdict.vias
    best = published_best(said)
    against, over = "-", "-"
    if best:
        against = f"{best.length}+{best.vias}={best.length + best.vias}"
        over = f"{100 * (total / (best.length + best.vias) - 1):+.2f}%"
    judged = "; ".join(verdict.faults[:3]) or ("right" if verdict.joined == verdict.nets else "legal, not whole")
    if best and best.proven:
        judged += f"; published {best.length + best.vias} is proven optimal"
    print(
        f"{said.get('name', path.stem)[:44]:44} {verdict.joined:3}/{verdict.nets:<3} {verdict.length:6} "
        f"{verdict.vias:4} {total:5}  {against:>14} {over:>7} {seconds:7.1f}  {judged}",
        flush=True,
    )
    return bool(verdict.faults) or verdict.joined < verdict.nets


if __name__ == "__main__":
    sys.exit(main())
