"""Plain grid problems: published instances, hidden solutions, random nonsense; all judged without the router's help."""

from __future__ import annotations

import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from modboard.errors import ModboardError
from modboard.layout.route.plain import EITHER, Persistence, PlainProblem, PlainSolution, solve
from modboard.layout.route.plain_file import problem, read
from tests.benchmarks.plain_judge import Verdict, judge, published_best
from tests.layout.plain_cases import hidden_switchbox

PUBLISHED = sorted((Path(__file__).parents[1] / "published").glob("*.json"))
SHORT = Persistence(starts=2, first=5.0, last=0.0)
SHORTEST = Persistence(starts=1, rounds=30, first=0.4, last=0.0)


def as_file(stated: PlainProblem) -> dict[str, object]:
    """Return a problem as the content of a file."""
    pins = [
        [net, x + 1, y + 1, None if layer == EITHER else layer] for net, ends in stated.pins.items()
        for x, y, layer in ends
    ]  # fmt: skip
    return {
        "columns": stated.columns, "rows": stated.rows, "layers": 2, "pins": pins, "metric": "",
        "blocked": [[x + 1, y + 1, layer] for x, y, layer in sorted(stated.blocked)],
        "missing_edges": [
            [a[0] + 1, a[1] + 1, a[2], b[0] + 1, b[1] + 1, b[2]] for a, b in sorted(stated.missing)
        ],
    }  # fmt: skip


def judged(said: dict[str, object], solution: PlainSolution) -> Verdict:
    """Return the independent verdict on a solution."""
    edges = {
        net: [((a[0] + 1, a[1] + 1, a[2]), (b[0] + 1, b[1] + 1, b[2])) for a, b in steps]
        for net, steps in solution.edges.items()
    }
    return judge(said, edges)


@pytest.mark.parametrize("path", PUBLISHED, ids=lambda path: path.stem[:24])
def test_published_instances_come_within_one_percent_of_the_best_known(path: Path) -> None:
    # Sources of instance and best result are named in each file.
    said = json.loads(path.read_text(encoding="utf-8"))
    verdict = judged(said, solve(read(path), persistence=SHORT))
    best = published_best(said)
    assert best is not None
    assert verdict.faults == ()
    assert verdict.joined == verdict.nets == said["nets"]
    assert verdict.length + verdict.vias <= 1.01 * (best.length + best.vias)
    if best.proven:
        assert verdict.length + verdict.vias >= best.length + best.vias


@pytest.mark.parametrize("path", PUBLISHED, ids=lambda path: path.stem[:24])
def test_the_judge_agrees_with_published_solutions_and_finds_what_is_spoilt(path: Path) -> None:
    said = json.loads(path.read_text(encoding="utf-8"))
    if "reference_solution" not in said:
        return
    edges: dict[str, list[tuple[tuple[int, int, int], tuple[int, int, int]]]] = {}
    for net, drawn in said["reference_solution"]["nets"].items():
        edges[net] = [((x, y, 0), (x, y, 1)) for x, y in drawn["vias"]]
        for x1, y1, x2, y2, layer in drawn["segments"]:
            run = [
                (x, y, layer) for x in range(min(x1, x2), max(x1, x2) + 1) for y in range(min(y1, y2), max(y1, y2) + 1)
            ]
            edges[net] += list(pairwise(run))
    verdict = judge(said, edges)
    stated = said["reference_solution"]
    assert (verdict.length, verdict.vias, verdict.faults) == (stated["length"], stated["vias"], ())
    assert verdict.joined == verdict.nets
    net = max(edges, key=lambda name: len(edges[name]))
    assert judge(said, edges | {net: edges[net][1:]}).joined == verdict.nets - 1
    other = min(edges, key=lambda name: (len(edges[name]), name))
    assert any("both use" in fault for fault in judge(said, edges | {net: edges[net] + edges[other]}).faults)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.integers(7, 16), st.integers(7, 16), st.integers(2, 14), st.sampled_from([0.0, 0.4]))
def test_boxes_with_a_hidden_solution_come_out_whole_and_no_dearer(
    seed: int, columns: int, rows: int, nets: int, share: float
) -> None:
    stated, hidden = hidden_switchbox(seed, columns, rows, nets, blocks=min(columns, rows) // 8, share_either=share)
    solution = solve(stated, seed=seed, persistence=Persistence(starts=2, rounds=30, first=1.0, last=0.0))
    verdict = judged(as_file(stated), solution)
    assert verdict.faults == ()
    assert verdict.joined == verdict.nets
    assert (verdict.length, verdict.vias) == (solution.length, solution.vias)
    assert verdict.length + verdict.vias <= hidden


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_any_grid_is_routed_legally_and_what_is_open_is_named(seed: int) -> None:
    random = np.random.default_rng(seed)
    columns, rows = int(random.integers(2, 9)), int(random.integers(2, 9))
    nodes = [(x, y, k) for x in range(columns) for y in range(rows) for k in (0, 1)]
    drawn = [nodes[i] for i in random.permutation(len(nodes))]
    blocked = frozenset(drawn[: len(nodes) // 6])
    pins = drawn[len(nodes) // 6 : len(nodes) // 6 + max(2, len(nodes) // 5)]
    by_net = {str(k): tuple(pins[k::4]) for k in range(4) if pins[k::4]}
    edges = [(a, b) for a in nodes for b in nodes if sorted(abs(p - q) for p, q in zip(a, b, strict=True)) == [0, 0, 1]]
    missing = frozenset(edge for edge in edges if random.random() < 0.08)
    stated = PlainProblem(columns, rows, by_net, blocked, missing)
    solution = solve(stated, persistence=SHORTEST)
    verdict = judged(as_file(stated), solution)
    assert verdict.faults == ()
    assert verdict.nets - verdict.joined == len(solution.unjoined)
    assert (verdict.length, verdict.vias) == (solution.length, solution.vias)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([1, 3, 7]))
def test_one_net_of_two_pins_takes_the_shortest_way(seed: int, via_cost: int) -> None:
    # Reference: scipy's Dijkstra on the grid written out edge by edge.
    random = np.random.default_rng(seed)
    columns, rows = int(random.integers(3, 14)), int(random.integers(3, 14))
    n = columns * rows
    nodes = [(x, y, k) for k in (0, 1) for y in range(rows) for x in range(columns)]
    blocked = frozenset(node for node in nodes[1:-1] if random.random() < 0.2)
    price = np.zeros((2 * n, 2 * n))
    missing = set()
    for i, a in enumerate(nodes):
        for j, b in enumerate(nodes[:i]):
            if sorted(abs(p - q) for p, q in zip(a, b, strict=True)) != [0, 0, 1] or {a, b} & blocked:
                continue
            if random.random() < 0.1:
                missing.add((a, b))
            else:
                price[i, j] = price[j, i] = via_cost if a[2] != b[2] else 1
    exact = dijkstra(csr_matrix(price), indices=0)[-1]
    stated = PlainProblem(columns, rows, {"A": (nodes[0], nodes[-1])}, blocked, frozenset(missing), via_cost)
    solution = solve(stated, persistence=SHORTEST)
    if solution.unjoined:
        assert exact == np.inf
    else:
        assert solution.length + via_cost * solution.vias == exact


def test_the_answer_does_not_depend_on_who_computes_it() -> None:
    stated, _ = hidden_switchbox(3, 14, 12, 12)
    effort = Persistence(starts=3, rounds=20, first=0.3, finalists=2, repeats=1, last=0.3)
    alone = solve(stated, seed=5, persistence=effort)
    with ThreadPoolExecutor(2) as executor:
        assert solve(stated, seed=5, persistence=effort, executor=executor) == alone


def test_a_crossing_with_every_pin_on_one_layer_takes_two_vias() -> None:
    # Two nets whose pins alternate round a box cannot both stay in one plane (Jordan curve theorem): one must leave
    # the layer and come back.
    pins = {"A": ((0, 2, 0), (4, 2, 0)), "B": ((2, 0, 0), (2, 4, 0))}
    solution = solve(PlainProblem(5, 5, pins), persistence=SHORTEST)
    assert (solution.length, solution.vias, solution.unjoined) == (8, 2, ())
    either = {net: tuple((x, y, EITHER) for x, y, _ in ends) for net, ends in pins.items()}
    solution = solve(PlainProblem(5, 5, either), persistence=SHORTEST)
    assert (solution.length, solution.vias, solution.unjoined) == (8, 0, ())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pins": None}, "pins must be a list"),
        ({"columns": "ten"}, "columns must be a whole number"),
        ({"layers": 3}, "3 layers"),
        ({"pins": [["A", 9, 1, 0], ["A", 1, 1, 0]]}, "net A: pin at column 9, row 1, layer 0 is outside"),
        ({"pins": [["A", 1, 1, 0], ["B", 1, 1, 0]]}, "lies on a pin of net A"),
        ({"blocked": [[1, 1, 0]]}, "lies on a blocked node"),
        ({"missing_edges": [[1, 1, 0, 3, 1, 0]]}, "are no neighbours"),
        ({"missing_edges": [[1, 1, 0]]}, "must be [column, row, layer"),
    ],
)
def test_mistakes_in_a_file_are_named(change: dict[str, object], words: str) -> None:
    said: dict[str, object] = {"columns": 4, "rows": 4, "layers": 2, "pins": [["A", 1, 1, 0], ["A", 4, 4, 1]]}
    with pytest.raises(ModboardError) as caught:
        solve(problem(said | change), persistence=SHORTEST)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_command_prints_a_judged_row(tmp_path: Path) -> None:
    path = tmp_path / "cross.json"
    pins = [["A", 1, 3, 0], ["A", 5, 3, 0], ["B", 3, 1, 0], ["B", 3, 5, 0]]
    published = [{"router": "by hand", "length": 8, "vias": 2}]
    said = {"name": "cross", "columns": 5, "rows": 5, "layers": 2, "pins": pins, "published": published}
    path.write_text(json.dumps(said), encoding="utf-8")
    script = Path(__file__).parents[1] / "benchmarks" / "instances.py"
    run = subprocess.run(
        [sys.executable, script, path, "--effort", "0.01", "--cores", "1"],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    row = run.stdout.splitlines()[-1].split()
    assert row[:5] == ["cross", "2/2", "8", "2", "10"]
    assert row[5:7] == ["8+2=10", "+0.00%"]
    assert row[-1] == "right"
