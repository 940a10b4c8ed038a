"""Route one placement: signals by negotiation, pours flooded round them, what a pour leaves apart joined by tracks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from modboard.describe.model import Description, Net
from modboard.describe.one_sided import SHORTEST_LINK
from modboard.layout.board import COPPER_LAYERS, Board, PlacedPart
from modboard.layout.flaws import flaws
from modboard.layout.pour import pour_layers
from modboard.layout.quiet import kinds
from modboard.layout.route.crowding import crowding
from modboard.layout.route.finish import LINK_LENGTH, VIA_LENGTH, finished, laid, merit
from modboard.layout.route.grid import Lattice
from modboard.layout.route.links import LINK_PRICE
from modboard.layout.route.negotiate import HOPELESS, Negotiation
from modboard.layout.route.pieces import pad_task, pieces_apart
from modboard.layout.route.problem import Problem, drawn_copper
from modboard.layout.route.terms import Prices, Routed, Stand
from modboard.layout.route.walled import Walled, walled_nets, walled_pins

PITCH = 0.127  # mm; a twentieth of 0.1 inch, so that in-line and DIP pads lie on nodes
POUR_SIDE = 140  # percent: signals are led off the side that is poured
COMPONENT_SIDE_UNPLATED = 170  # percent: without plated holes the solder side is easier
AGAIN = 10.0, 25.0, 3.0  # first prices of sharing, in turn, where nets that a pour left apart bargain with all others
DENSE = 0.12  # share of both layers that the shortest tracks would take with their gaps; more is a crowded board
ACROSS = 130  # percent: on crowded boards the top prefers tracks along x, the bottom along y


@dataclass(frozen=True)
class Effort:
    """How hard to try: negotiation rounds, and rounds of each bargaining for nets that a pour left apart; passes of
    improvement afterwards, lattice pitch (mm).
    """

    rounds: int = 70
    again: int = 40
    passes: int = 2
    pitch: float = PITCH
    sketch: bool = False  # break off if the rounds do not suffice


@dataclass(frozen=True)
class Begun:
    """A routing so far: where the bargaining stands, and if it is for tracks of nets that a pour left apart, the board
    that left them apart, their numbers, what was routed then, and the history charged.
    """

    stand: Stand
    best: Board | None
    severed: tuple[int, ...]
    before: dict[int, Routed]
    charged: NDArray[np.float32] | None


@dataclass(frozen=True)
class Sketch:
    """A routing of `parts` broken off early: how many clashes were left (less is more promising), the nets that could
    not be joined even on a board without other tracks, whether going on looks hopeless, and what is needed to go on.
    """

    parts: tuple[PlacedPart, ...]
    clashes: int
    crowded: NDArray[np.float32]  # as in an Outcome
    lattice: Lattice
    walled: frozenset[str] = frozenset()
    hopeless: bool = False
    begun: Begun | None = None


@dataclass(frozen=True)
class Outcome:
    """A routed board with what the outer loop needs to choose: score (mm, less is better), flaws that another
    arrangement might not have (quiet nets led near noisy ones are one), and where it was crowded.
    """

    board: Board
    score: float
    flaws: int
    crowded: NDArray[np.float32]  # history charged per node, both layers added: rows upwards, columns to the right
    lattice: Lattice


def route(
    description: Description,
    parts: tuple[PlacedPart, ...],
    *,
    seed: int = 0,
    effort: Effort | None = None,
    begun: Begun | None = None,
) -> Outcome:
    """Route `parts` as placed; connections that cannot be made are listed in the board's `unrouted`.

    What a sketch of the same parts, seed and effort has `begun` is gone on with: the result is the same, but sooner.
    """
    outcome = _attempt(description, parts, seed, replace(effort or Effort(), sketch=False), begun)
    assert isinstance(outcome, Outcome)
    if outcome.board.unrouted and kinds(description):  # better whole and too near than not whole
        alike = replace(description, nets=tuple(replace(n, quiet=False, noisy=False) for n in description.nets))
        other = _attempt(alike, parts, seed, replace(effort or Effort(), sketch=False))
        assert isinstance(other, Outcome)
        if merit(other.board) < merit(outcome.board):
            flawed = other.flaws + (not other.board.unrouted)
            outcome = replace(other, board=replace(other.board, description=description), flaws=flawed)
    return outcome


def sketch(
    description: Description, parts: tuple[PlacedPart, ...], *, seed: int = 0, effort: Effort
) -> Outcome | Sketch:
    """Route `parts` if that is easy, else break off and say how many clashes were left."""
    return _attempt(description, parts, seed, replace(effort, sketch=True))


def walled_in(description: Description, parts: tuple[PlacedPart, ...], seed: int, pitch: float) -> tuple[Walled, ...]:
    """Return the pins that no track could get to if nothing else were routed on the board as placed."""
    problem = Problem(description, parts, pitch, *drawn_copper(description), seed)
    tasks = [pad_task(problem, net) for net in _bargaining(description)]
    prices = _prices(description, pitch)
    return walled_pins(problem, Negotiation(problem.maps, tasks, problem.pad_at(), prices, seed, problem.ways))


def _bargaining(description: Description) -> list[Net]:
    """Return the nets that are routed: all, or all that are not poured where holes are plated.

    Without plated holes a pour can't be trusted to get everywhere, and bargains as tracks.
    """
    rules = description.rules
    return [net for net in description.nets if len(net.pins) > 1 and not (net.pour and rules.layers_plated)]


def _attempt(
    description: Description, parts: tuple[PlacedPart, ...], seed: int, effort: Effort, begun: Begun | None = None
) -> Outcome | Sketch:
    problem = Problem(description, parts, effort.pitch, *drawn_copper(description), seed)
    tasks = [pad_task(problem, net) for net in _bargaining(description)]
    tasks = [task for task in tasks if len(task.groups) > 1]
    prices = _prices(description, effort.pitch)
    if crowding(problem) > DENSE and not description.rules.one_sided:
        prices = replace(prices, across=ACROSS)
    dear = problem.dear()
    negotiation = Negotiation(problem.maps, tasks, problem.pad_at(), prices, seed, problem.ways, dear=dear)
    best: Board | None = None
    severed: tuple[int, ...] = ()
    before: dict[int, Routed] = {}
    charged: NDArray[np.float32] | None = None
    if begun is not None:
        best, severed, before, charged = begun.best, begun.severed, begun.before, begun.charged
        negotiation.add([pad_task(problem, problem.nets[net]) for net in severed])
        negotiation.go_on_from(begun.stand)
    while True:
        if not _bargained(negotiation, effort, severed, before):
            if effort.sketch:
                begun = Begun(negotiation.stand(), best, severed, before, charged)
                walled = () if severed else walled_nets(negotiation)
                named = frozenset(problem.nets[tasks[i].net].name for i in walled)
                clashes = max(negotiation.clash_log[-1], 1)
                crowded = _by_place(problem, negotiation.hist - dear if charged is None else charged + negotiation.hist)
                hopeless = not severed and negotiation.hopeless()
                return Sketch(parts, clashes, crowded, problem.lattice, named, hopeless, begun)
            negotiation.settle()
        if charged is None:
            charged = negotiation.hist - dear
        board = laid(problem, negotiation, effort.passes, seed)
        if best is None or merit(board) < merit(best):
            best = board
        more = _severed(problem, negotiation, board)
        if not more:
            break
        severed, before = severed + more, dict(negotiation.routed)
        negotiation.begin(AGAIN[0], negotiation.add([pad_task(problem, problem.nets[net]) for net in more]))
    board = finished(problem, best, negotiation.prices, seed)
    crowded = _by_place(problem, charged)
    if effort.sketch and board.unrouted:
        return Sketch(parts, len(board.unrouted), crowded, problem.lattice)
    return Outcome(board, merit(board)[1], flaws(board), crowded, problem.lattice)


def _by_place(problem: Problem, charged: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return what is charged per node of both layers as one sum per place."""
    n = problem.lattice.nodes
    return (charged[:n] + charged[n:]).reshape(problem.lattice.height, problem.lattice.width)


def _bargained(negotiation: Negotiation, effort: Effort, severed: tuple[int, ...], before: dict[int, Routed]) -> bool:
    """Go on bargaining, and if it is for the nets `severed`, begin again at other prices; return whether all is whole.

    What is laid already (`before`) should move no more than it must, and no one price gets that right on every board.
    """
    if not severed:
        if negotiation.run(min(effort.rounds, HOPELESS[0])):
            return True
        if effort.sketch and negotiation.hopeless():
            return False
        return negotiation.run(effort.rounds)
    if negotiation.run(effort.again):
        return True
    if effort.sketch or any(tree.joined < len(negotiation.tasks[index].groups) for index, tree in before.items()):
        return False
    for pressure in AGAIN[1:]:
        negotiation.lay(before)
        negotiation.begin(pressure, [index for index in range(len(negotiation.tasks)) if index not in before])
        if negotiation.run(effort.again):
            return True
    return False


def _severed(problem: Problem, negotiation: Negotiation, board: Board) -> tuple[int, ...]:
    """Return the numbers of the nets that their pours leave apart and that have not bargained yet."""
    bargaining = {task.net for task in negotiation.tasks}
    apart = (problem.number_of[name] for name in pieces_apart(problem, board.tracks, board.vias, board.pours))
    return tuple(net for net in apart if net not in bargaining)


def _prices(description: Description, pitch: float) -> Prices:
    length = VIA_LENGTH if description.rules.layers_plated else LINK_LENGTH
    sides = {layer for net in description.nets for layer in pour_layers(net)}
    layers = [100, 100]
    if description.rules.one_sided:
        shortest = round(SHORTEST_LINK / pitch)
        return Prices(int(LINK_PRICE / 2 / pitch * 100), (100, 100), (0, 12, -1), least_run=shortest)
    if description.rules.layers_plated:
        if len(sides) == 1:
            layers[COPPER_LAYERS.index(next(iter(sides)))] = POUR_SIDE
    else:
        layers[0] = COMPONENT_SIDE_UNPLATED
    return Prices(int(length / pitch * 100), (layers[0], layers[1]))
