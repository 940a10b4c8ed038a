"""A plain grid problem: rows, columns, two layers, one net per node, four neighbours and layer changes; any via price.

Switchboxes and channels of the literature come in this form.  They run through the board router's own search and
negotiation (`kernels.route_net`, `negotiate.Negotiation`); what completes is polished by `plain_kernels.polish`.
Nothing guarantees completion or the optimum; what could not be joined is listed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import repeat
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from modboard.errors import ModboardError
from modboard.layout.route import kernels, plain_kernels
from modboard.layout.route.grid import Lattice
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.pens import Pen, PenSet
from modboard.layout.route.terms import Prices, Routed, Schedule, Task

Node = tuple[int, int, int]  # column, row, layer; all from 0
Edge = tuple[Node, Node]

EITHER = -1  # the layer of a pin that goes through both: it joins them, and no other net may use either node
OWN_CELL = PenSet((Pen(0.25, 0.0), Pen(0.25, 0.0, 0.1)), ())  # reaches of half a cell: one net per node
BETWEEN_EQUALS = 0.03  # noise on the price of a node, so that every seed breaks ties its own way

HOT, COLD = 1.5, 0.15  # steps: what a move may lose at first and in the end (acceptance about 1/e)

FAST = Schedule(pressure=0.5, growth=1.3, charge=1.0, haste=100, everything=10)
SLOW = Schedule(pressure=0.1, growth=1.05, charge=0.3, haste=100, everything=10)  # routing literature: 0.4-6 % shorter


@dataclass(frozen=True)
class PlainProblem:
    """Pins by net as (column, row, layer or EITHER); nodes and edges that are not there; the price of a layer change.

    Raises ModboardError where a pin lies outside, on a blocked node or on another net's pin.
    """

    columns: int
    rows: int
    pins: dict[str, tuple[Node, ...]]
    blocked: frozenset[Node] = frozenset()
    missing: frozenset[Edge] = frozenset()
    via_cost: int = 1

    def __post_init__(self) -> None:
        owner: dict[Node, str] = {}
        for net, pins in self.pins.items():
            for x, y, layer in pins:
                where = f"net {net}: pin at column {x + 1}, row {y + 1}"
                if not (0 <= x < self.columns and 0 <= y < self.rows and layer in (EITHER, 0, 1)):
                    raise ModboardError(f"{where}, layer {layer} is outside the grid of {self.columns} x {self.rows}")
                for node in nodes_of((x, y, layer)):
                    if node in self.blocked:
                        raise ModboardError(f"{where} lies on a blocked node of layer {node[2]}")
                    if owner.setdefault(node, net) != net:
                        raise ModboardError(f"{where} lies on a pin of net {owner[node]}, layer {node[2]}")

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Nets that need joining, in order; their place here is their number."""
        return tuple(name for name, pins in self.pins.items() if len(set(pins)) > 1)

    @property
    def lattice(self) -> Lattice:
        """The grid as the router's lattice, cells 1 wide."""
        return Lattice((0.0, 0.0), 1.0, self.columns, self.rows)

    def number(self, node: Node) -> int:
        """Return a node's number on the lattice."""
        return node[2] * self.columns * self.rows + node[1] * self.columns + node[0]

    def node(self, number: int) -> Node:
        """Return the node with a number."""
        layer, p = divmod(number, self.columns * self.rows)
        return (p % self.columns, p // self.columns, layer)

    def groups(self, name: str) -> tuple[NDArray[np.int64], ...]:
        """Return a net's pins as groups of nodes, each pin once."""
        pins = set(self.pins[name])
        pins -= {(x, y, layer) for x, y, layer in pins if layer != EITHER and (x, y, EITHER) in pins}
        return tuple(np.array([self.number(n) for n in nodes_of(pin)], np.int64) for pin in sorted(pins))

    def own(self) -> NDArray[np.int32]:
        """Return, for the track pen and the via pen, who may use each node (as `grid.Maps` does)."""
        n = self.columns * self.rows
        track = np.full(2 * n, kernels.FREE, np.int32)
        for node in self.blocked:
            track[self.number(node)] = kernels.BARRED
        for name, pins in self.pins.items():
            net = self.names.index(name) if name in self.names else kernels.BARRED
            for pin in pins:
                for node in nodes_of(pin):
                    track[self.number(node)] = net
        top, bottom = track[:n], track[n:]
        both = np.where(top == kernels.FREE, bottom, np.where(bottom == kernels.FREE, top, kernels.BARRED))
        both = np.where(top == bottom, top, both)
        return np.stack((track, np.concatenate((both, both)).astype(np.int32)))

    def pad_at(self) -> NDArray[np.int32]:
        """Return, per column of nodes, the net whose pin joins the layers there, else -1."""
        found = np.full(self.columns * self.rows, -1, np.int32)
        for net, name in enumerate(self.names):
            for x, y, layer in self.pins[name]:
                if layer == EITHER:
                    found[y * self.columns + x] = net
        return found

    def ways(self) -> NDArray[np.uint16]:
        """Return the ways that lead on from each node: along rows and columns and to the other layer."""
        n = self.columns * self.rows
        plain = sum(1 << d for d in (0, 2, 4, 6)) | kernels.OTHER_LAYER
        found = np.full(2 * n, plain, np.uint16)
        for a, b in self.missing:
            for start, end in ((a, b), (b, a)):
                found[self.number(start)] &= np.uint16(plain & ~(1 << _way(start, end)))
        return found


def nodes_of(pin: Node) -> tuple[Node, ...]:
    """Return the nodes of a pin: one, or both layers'."""
    x, y, layer = pin
    return ((x, y, 0), (x, y, 1)) if layer == EITHER else (pin,)


def _way(start: Node, end: Node) -> int:
    """Return the direction of an edge; raises ModboardError if its ends are no neighbours."""
    step = (end[0] - start[0], end[1] - start[1], end[2] - start[2])
    ways = {(1, 0, 0): 0, (0, 1, 0): 2, (-1, 0, 0): 4, (0, -1, 0): 6, (0, 0, 1): 8, (0, 0, -1): 8}
    if step not in ways:
        raise ModboardError(f"missing edge {start} to {end}: these nodes are no neighbours")
    return ways[step]


@dataclass(frozen=True)
class PlainSolution:
    """Trees by net, as edges between nodes; nets that could not be joined; steps and layer changes of all trees."""

    edges: dict[str, tuple[Edge, ...]]
    unjoined: tuple[str, ...]
    length: int
    vias: int


@dataclass(frozen=True)
class Persistence:
    """How long to try: starts, negotiation rounds of each, and millions of nodes searched in polishing each start and,
    afterwards, each of the best `finalists`, `repeats` times with other seeds.  The millions are for a grid of a
    thousand nodes; smaller ones get down to half as many, larger ones up to twice.
    """

    starts: int = 8
    rounds: int = 50
    first: float = 8.0
    finalists: int = 2
    repeats: int = 2
    last: float = 30.0


@dataclass
class _State:
    """What polishing works on: edges and their number, per net."""

    edges: NDArray[np.int32]
    counts: NDArray[np.int64]
    cost: int = field(default=0)


def solve(
    problem: PlainProblem,
    *,
    seed: int = 0,
    persistence: Persistence | None = None,
    executor: Executor | None = None,
) -> PlainSolution:
    """Return the best solution found; the same for the same seed on any number of cores.

    `executor` may be any `concurrent.futures.Executor`; without one, the calling thread does all.
    """
    persistence = persistence or Persistence()
    run: Callable[..., Iterable[Any]] = executor.map if executor is not None else map
    seeds = [1000 * seed + k for k in range(persistence.starts)]
    states = list(run(begin, repeat(problem), seeds, repeat(persistence)))
    order = sorted(range(len(states)), key=lambda k: (states[k].cost, k))
    if persistence.last > 0:
        chosen = [states[k] for k in order[: persistence.finalists] for _ in range(persistence.repeats)]
        seeds = [1000 * seed + 500 + k for k in range(len(chosen))]
        states += list(run(polished, repeat(problem), chosen, seeds, repeat(persistence.last)))
    return _solution(problem, min(states, key=lambda s: s.cost))


def begin(problem: PlainProblem, seed: int, persistence: Persistence) -> _State:
    """Negotiate with one seed and polish what came out."""
    negotiation = negotiated(problem, seed, SLOW if seed % 2 == 0 else FAST, persistence.rounds)
    n2 = 2 * problem.columns * problem.rows
    state = _State(np.zeros((len(problem.names), n2, 2), np.int32), np.zeros(len(problem.names), np.int64))
    for index, routed in negotiation.routed.items():
        if negotiation.complete(index):
            steps = _steps(routed)
            state.edges[index, : len(steps)] = steps
            state.counts[index] = len(steps)
    return polished(problem, state, seed, persistence.first)


def negotiated(problem: PlainProblem, seed: int, schedule: Schedule, rounds: int) -> Negotiation:
    """Run the board router's negotiation on the problem; what still clashes in the end is taken out."""
    n = problem.columns * problem.rows
    pens = replace(OWN_CELL, of_net=tuple((0, 0, 1) for _ in problem.names))
    maps: Any = SimpleNamespace(
        lattice=problem.lattice, pens=pens, rules=SimpleNamespace(hole_to_hole=0.0), own=problem.own()
    )
    zone = np.zeros(2 * n, np.uint8)
    tasks = [Task(k, problem.groups(name), zone) for k, name in enumerate(problem.names)]
    prices = Prices(via=100 * problem.via_cost, bends=(0, 0, 0), diagonal=2 * kernels.STRAIGHT)
    negotiation = Negotiation(maps, tasks, problem.pad_at(), prices, seed, (problem.ways(),), schedule)
    negotiation.hist[:] = BETWEEN_EQUALS * negotiation.random.random(2 * n)
    if not negotiation.run(rounds):
        negotiation.settle()
    return negotiation


def polished(problem: PlainProblem, state: _State, seed: int, millions: float) -> _State:
    """Return a state polished for so many millions of nodes searched."""
    edges, counts = state.edges.copy(), state.counts.copy()
    groups = [problem.groups(name) for name in problem.names]
    firsts = np.cumsum([0] + [len(g) for g in groups]).astype(np.int64)
    flat = [pin for net in groups for pin in net]
    starts = np.cumsum([0] + [len(pin) for pin in flat]).astype(np.int64)
    nodes = np.concatenate(flat) if flat else np.empty(0, np.int64)
    if not flat:
        return state
    size = min(2.0, max(0.5, 2 * problem.columns * problem.rows / 1000))
    cost = plain_kernels.polish(
        problem.columns, problem.rows, problem.own(), problem.ways(), problem.pad_at(), problem.via_cost,
        firsts, starts, nodes, edges, counts, seed, int(millions * 1e6 * size), HOT, COLD,
    )  # fmt: skip
    return _State(edges, counts, int(cost))


def _steps(routed: Routed) -> NDArray[np.int64]:
    rows = routed.rows[:, 0]
    pairs = np.column_stack((rows[:-1], rows[1:]))
    steps: NDArray[np.int64] = pairs[(pairs >= 0).all(axis=1)]
    return steps


def _solution(problem: PlainProblem, state: _State) -> PlainSolution:
    edges: dict[str, tuple[Edge, ...]] = {}
    pads = problem.pad_at()
    n = problem.columns * problem.rows
    length = vias = 0
    for k, name in enumerate(problem.names):
        steps = state.edges[k, : state.counts[k]]
        edges[name] = tuple((problem.node(int(a)), problem.node(int(b))) for a, b in steps)
        change = steps[:, 0] // n != steps[:, 1] // n
        length += int((~change).sum())
        vias += int((change & (pads[steps[:, 0] % n] != k)).sum())
    unjoined = tuple(name for k, name in enumerate(problem.names) if not state.counts[k])
    return PlainSolution(edges, unjoined, length, vias)
