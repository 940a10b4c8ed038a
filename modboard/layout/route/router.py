"""Route one placement: signals by negotiation, pours flooded round them, what a pour leaves apart joined by tracks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from modboard.describe.model import Description, Net
from modboard.describe.one_sided import SHORTEST_LINK
from modboard.layout.board import COPPER_LAYERS, Board, PlacedPart, Pour, Track, Unrouted, Via
from modboard.layout.joined import Group, Item, groups, spare, trimmed
from modboard.layout.pour import Copper, pour_layers, poured
from modboard.layout.quiet import kinds
from modboard.layout.route.branch import squared
from modboard.layout.route.crowding import crowding
from modboard.layout.route.grid import Lattice
from modboard.layout.route.links import LINK_PRICE, linked, links_of
from modboard.layout.route.mend import mended
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.paths import copper_of
from modboard.layout.route.problem import Problem, drawn_copper
from modboard.layout.route.spread import spread_apart, teardrops
from modboard.layout.route.terms import Prices, Routed, Stand, Task
from modboard.layout.route.tidy import tidied
from modboard.layout.route.walled import Walled, walled_nets, walled_pins

PITCH = 0.127  # mm; a twentieth of 0.1 inch, so that in-line and DIP pads lie on nodes
VIA_LENGTH = 3.0  # mm of track that a via is worth
LINK_LENGTH = 12.0  # mm, where every via is a wire link soldered by hand
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
    not be joined even on a board without other tracks, and what is needed to go on.
    """

    parts: tuple[PlacedPart, ...]
    clashes: int
    crowded: NDArray[np.float32]  # as in an Outcome
    lattice: Lattice
    walled: frozenset[str] = frozenset()
    begun: Begun | None = None


@dataclass(frozen=True)
class Outcome:
    """A routed board with what the outer loop needs to choose: score (mm, less is better) and where it was crowded."""

    board: Board
    score: float
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
        if _merit(other.board) < _merit(outcome.board):
            outcome = replace(other, board=replace(other.board, description=description))
    return outcome


def sketch(
    description: Description, parts: tuple[PlacedPart, ...], *, seed: int = 0, effort: Effort
) -> Outcome | Sketch:
    """Route `parts` if that is easy, else break off and say how many clashes were left."""
    return _attempt(description, parts, seed, replace(effort, sketch=True))


def walled_in(description: Description, parts: tuple[PlacedPart, ...], seed: int, pitch: float) -> tuple[Walled, ...]:
    """Return the pins that no track could get to if nothing else were routed on the board as placed."""
    problem = Problem(description, parts, pitch, *drawn_copper(description), seed)
    tasks = [_pad_task(problem, net) for net in _bargaining(description)]
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
    tasks = [_pad_task(problem, net) for net in _bargaining(description)]
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
        negotiation.add([_pad_task(problem, problem.nets[net]) for net in severed])
        negotiation.go_on_from(begun.stand)
    while True:
        if not _bargained(negotiation, effort, severed, before):
            if effort.sketch:
                begun = Begun(negotiation.stand(), best, severed, before, charged)
                walled = () if severed else walled_nets(negotiation)
                named = frozenset(problem.nets[tasks[i].net].name for i in walled)
                clashes = max(negotiation.clash_log[-1], 1)
                crowded = _by_place(problem, negotiation.hist - dear if charged is None else charged + negotiation.hist)
                return Sketch(parts, clashes, crowded, problem.lattice, named, begun)
            negotiation.settle()
        if charged is None:
            charged = negotiation.hist - dear
        board = _laid(problem, negotiation, effort, seed)
        if best is None or _merit(board) < _merit(best):
            best = board
        more = _severed(problem, negotiation, board)
        if not more:
            break
        severed, before = severed + more, dict(negotiation.routed)
        negotiation.begin(AGAIN[0], negotiation.add([_pad_task(problem, problem.nets[net]) for net in more]))
    board = _finished(problem, best, negotiation.prices, seed)
    crowded = _by_place(problem, charged)
    if effort.sketch and board.unrouted:
        return Sketch(parts, len(board.unrouted), crowded, problem.lattice)
    return Outcome(board, _merit(board)[1], crowded, problem.lattice)


def _by_place(problem: Problem, charged: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return what is charged per node of both layers as one sum per place."""
    n = problem.lattice.nodes
    return (charged[:n] + charged[n:]).reshape(problem.lattice.height, problem.lattice.width)


def _bargained(negotiation: Negotiation, effort: Effort, severed: tuple[int, ...], before: dict[int, Routed]) -> bool:
    """Go on bargaining, and if it is for the nets `severed`, begin again at other prices; return whether all is whole.

    What is laid already (`before`) should move no more than it must, and no one price gets that right on every board.
    """
    if not severed:
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
    apart = (problem.number_of[name] for name in _apart(problem, board.tracks, board.vias, board.pours))
    return tuple(net for net in apart if net not in bargaining)


def _merit(board: Board) -> tuple[int, float]:
    """Return how good a board is, less being better: open connections, then length and what vias are worth (mm)."""
    length = sum(t.shape.core.length for t in board.tracks if len(t.points) > 1)
    via = VIA_LENGTH if board.description.rules.layers_plated else LINK_LENGTH
    links = LINK_PRICE * links_of(board.description)
    return len(board.unrouted), float(length + via * len(board.vias) + links)


def _laid(problem: Problem, negotiation: Negotiation, effort: Effort, seed: int) -> Board:
    """Return the board of what is negotiated: shortened, tidied, roughly poured, what the pours leave apart joined."""
    description, parts = problem.description, problem.parts
    negotiation.improve(effort.passes)
    if not description.rules.layers_plated:  # each is soldered by hand
        mended(negotiation)
        negotiation.improve(1)
    tracks, vias = _copper(problem, negotiation)
    tracks, vias = problem.tracks + tracks, problem.vias + vias
    if problem.tracks:
        tracks = squared(description, parts, tracks, vias, problem.tracks)
    tracks = tidied(description, parts, tracks, vias, held=problem.tracks)
    tracks = spread_apart(description, parts, tracks, vias, held=problem.tracks)
    joined = _joined(problem, tracks, vias, negotiation.prices, seed, rough=True)
    return Board(description, description.outline, parts, *joined, _unrouted(problem, *joined))


def _joined(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], prices: Prices, seed: int, rough: bool
) -> tuple[tuple[Track, ...], tuple[Via, ...], tuple[Pour, ...]]:
    """Return the copper with pours and, as far as there is room, tracks between what these leave apart."""
    least = 0
    while True:
        pours = _poured(problem, tracks, vias, rough=rough)
        apart = _apart(problem, tracks, vias, pours)
        pieces = sum(len(p) for p in apart.values())
        if not apart or (least and pieces >= least):
            return tracks, vias, pours
        least = pieces
        more_tracks, more_vias = _join(problem, tracks, vias, apart, prices, seed)
        if not more_tracks and not more_vias:
            return tracks, vias, pours
        tracks, vias = tracks + more_tracks, vias + more_vias


def _poured(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], *, rough: bool = False
) -> tuple[Pour, ...]:
    return poured(Copper(problem.description, problem.parts, problem.pads, tracks, vias), rough=rough)


def _finished(problem: Problem, board: Board, prices: Prices, seed: int) -> Board:
    """Return a roughly poured board with exact pours, without the copper that these make needless."""
    tracks, vias = _needed(problem, board.tracks, board.vias, board.pours)
    pours = _poured(problem, tracks, vias)
    if _apart(problem, tracks, vias, pours):  # by a neck, or a track taken away had widened one
        tracks, vias, pours = _joined(problem, board.tracks, board.vias, prices, seed, rough=False)
    needed = _needed(problem, tracks, vias, pours)
    if needed != (tracks, vias):  # a via may have met rough copper only
        again = _poured(problem, *needed)
        if len(_unrouted(problem, *needed, again)) <= len(_unrouted(problem, tracks, vias, pours)):
            tracks, vias, pours = *needed, again
    if not problem.description.rules.one_sided:
        return _closed(problem, tracks, vias, pours)
    linked_up = _linked_up(problem, tracks, vias)
    if linked_up.unrouted and (tracks, vias) != (
        board.tracks,
        board.vias,
    ):  # lands of links may cut off what was joined
        linked_up = min(linked_up, _linked_up(problem, board.tracks, board.vias), key=_merit)
    return linked_up


def _linked_up(problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...]) -> Board:
    """Return the board with its runs on top made wire links, and poured round their lands."""
    whole = linked(problem.description, problem.parts, tracks, vias)
    problem = Problem(whole.description, whole.parts, problem.pitch)
    pours = _poured(problem, whole.tracks, whole.vias)
    return _closed(problem, whole.tracks, whole.vias, pours)


def _closed(problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]) -> Board:
    """Return the board of all its copper, with teardrops if they are asked for, and what it leaves open."""
    description, parts = problem.description, problem.parts
    if description.teardrops:
        tracks += teardrops(description, parts, tracks, vias)
        pours = _poured(problem, tracks, vias)
    unrouted = _unrouted(problem, tracks, vias, pours)
    return Board(description, description.outline, parts, tracks, vias, pours, unrouted)


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


def _pad_task(problem: Problem, net: Net) -> Task:
    """Return the task of joining a net's pads, and the pieces of it that are drawn already."""
    if any(t.net == net.name for t in problem.tracks) or any(v.net == net.name for v in problem.vias):
        pieces = groups(_of_net(problem, net, problem.tracks, problem.vias, ()))
        ends = tuple(_nodes_of(problem, piece, net.track_width / 2) for piece in pieces)
    else:
        ends = tuple(problem.terminal(pad) for pad in problem.pads_of[net.name])
    return Task(problem.number_of[net.name], ends, problem.zone(net))


def _copper(problem: Problem, negotiation: Negotiation) -> tuple[tuple[Track, ...], tuple[Via, ...]]:
    tracks: list[Track] = []
    vias: list[Via] = []
    for index in sorted(negotiation.routed):
        net = negotiation.tasks[index].net
        name = problem.nets[net].name
        landings = problem.landings(t for t in problem.tracks if t.net == name)
        centres = problem.centres(name)
        more = copper_of(name, net, negotiation.routed[index], problem.lattice, problem.pens, centres, landings)
        tracks += more[0]
        vias += more[1]
    return tuple(tracks), tuple(vias)


def _groups(
    problem: Problem, net: Net, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> list[Group]:
    return [g for g in groups(_of_net(problem, net, tracks, vias, pours)) if g.pads]


def _of_net(
    problem: Problem, net: Net, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> list[Item]:
    items: list[Item] = list(problem.pads_of[net.name])
    items += [t for t in tracks if t.net == net.name]
    items += [v for v in vias if v.net == net.name]
    return items + [p for p in pours if p.net == net.name]


def _needed(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> tuple[tuple[Track, ...], tuple[Via, ...]]:
    """Return the copper without what runs beside a pour that joins the same pads anyway."""
    drawn: tuple[Item, ...] = (*problem.tracks, *problem.vias)
    poured_nets = {net.name for net in problem.nets if net.pour}
    kept: list[Item] = [t for t in tracks if t.net not in poured_nets]
    kept += [v for v in vias if v.net not in poured_nets]
    for net in problem.nets:
        if net.pour:
            items = _of_net(problem, net, tracks, vias, pours)
            gone = {k for k in spare(items, problem.description.rules.thermal_gap) if items[k] not in drawn}
            left = [item for k, item in enumerate(items) if k not in gone]
            kept += [old if old in drawn else new for old, new in zip(left, trimmed(left), strict=True)]
    return tuple(t for t in kept if isinstance(t, Track)), tuple(v for v in kept if isinstance(v, Via))


def _apart(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> dict[str, list[Group]]:
    """Return the poured nets whose pads are not all one piece yet."""
    found = {}
    for net in problem.nets:
        if net.pour and len(net.pins) > 1:
            pieces = _groups(problem, net, tracks, vias, pours)
            if len(pieces) > 1:
                found[net.name] = pieces
    return found


def _join(
    problem: Problem,
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    apart: dict[str, list[Group]],
    prices: Prices,
    seed: int,
) -> tuple[tuple[Track, ...], tuple[Via, ...]]:
    """Return copper that joins the pieces of poured nets, with everything laid so far as fixed obstacles."""
    fixed = replace(problem, tracks=tracks, vias=vias)
    tasks = []
    for name, pieces in apart.items():
        net = problem.nets[problem.number_of[name]]
        half = net.track_width / 2
        ends = tuple(_nodes_of(fixed, piece, half) for piece in pieces)
        tasks.append(Task(problem.number_of[name], ends, fixed.zone(net)))
    plain = replace(prices, layers=(100, 100))
    negotiation = Negotiation(fixed.maps, tasks, fixed.pad_at(), plain, seed, fixed.ways)
    if not negotiation.run(40):
        negotiation.settle()
    return _copper(fixed, negotiation)


def _nodes_of(problem: Problem, group: Group, half: float) -> NDArray[np.int64]:
    """Return the nodes at which a track of half width `half` may join a group."""
    lattice = problem.lattice
    found = [problem.terminal(pad) for pad in group.pads]
    for pour in group.pours:
        inside = lattice.inside(pour.area.buffer(-half))
        found.append(inside + COPPER_LAYERS.index(pour.layer) * lattice.nodes)
    found.append(np.array(sorted(problem.landings(group.tracks)), np.int64))
    for via in group.vias:
        node = lattice.nearest(via.at)
        both = [node, node + lattice.nodes]  # a wire link leaves its hole once only
        found.append(np.array(both[1:] if problem.description.rules.one_sided else both, np.int64))
    return np.unique(np.concatenate(found))


def _unrouted(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> tuple[Unrouted, ...]:
    found = []
    for net in problem.nets:
        pieces = _groups(problem, net, tracks, vias, pours)
        for piece in pieces[1:]:
            start, end = pieces[0].pads[0], piece.pads[0]
            reason = "no way through at these clearances"
            found.append(Unrouted(net.name, (start.reference, start.number), (end.reference, end.number), reason))
    return tuple(found)
