"""From what was negotiated to a board: tidied, poured, what pours leave apart joined, needless copper taken away."""

from __future__ import annotations

from dataclasses import replace

from modboard.layout.board import Board, Pour, Track, Via
from modboard.layout.joined import Group, Item, spare, trimmed
from modboard.layout.pour import Copper, poured
from modboard.layout.route.branch import squared
from modboard.layout.route.links import LINK_PRICE, linked, links_of
from modboard.layout.route.mend import mended
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.paths import copper_of
from modboard.layout.route.pieces import nodes_of, of_net, open_connections, pieces_apart
from modboard.layout.route.problem import Problem
from modboard.layout.route.spread import spread_apart, teardrops
from modboard.layout.route.terms import Prices, Task
from modboard.layout.route.tidy import tidied

VIA_LENGTH = 3.0  # mm of track that a via is worth
LINK_LENGTH = 12.0  # mm, where every via is a wire link soldered by hand


def merit(board: Board) -> tuple[int, float]:
    """Return how good a board is, less being better: open connections, then length and what vias are worth (mm)."""
    length = sum(t.shape.core.length for t in board.tracks if len(t.points) > 1)
    via = VIA_LENGTH if board.description.rules.layers_plated else LINK_LENGTH
    links = LINK_PRICE * links_of(board.description)
    return len(board.unrouted), float(length + via * len(board.vias) + links)


def laid(problem: Problem, negotiation: Negotiation, passes: int, seed: int) -> Board:
    """Return the board of what is negotiated: shortened, tidied, roughly poured, what the pours leave apart joined."""
    description, parts = problem.description, problem.parts
    negotiation.improve(passes)
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
    return Board(description, description.outline, parts, *joined, open_connections(problem, *joined))


def _joined(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], prices: Prices, seed: int, rough: bool
) -> tuple[tuple[Track, ...], tuple[Via, ...], tuple[Pour, ...]]:
    """Return the copper with pours and, as far as there is room, tracks between what these leave apart."""
    least = 0
    while True:
        pours = _poured(problem, tracks, vias, rough=rough)
        apart = pieces_apart(problem, tracks, vias, pours)
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


def finished(problem: Problem, board: Board, prices: Prices, seed: int) -> Board:
    """Return a roughly poured board with exact pours, without the copper that these make needless."""
    tracks, vias = _needed(problem, board.tracks, board.vias, board.pours)
    pours = _poured(problem, tracks, vias)
    if pieces_apart(problem, tracks, vias, pours):  # by a neck, or a track taken away had widened one
        tracks, vias, pours = _joined(problem, board.tracks, board.vias, prices, seed, rough=False)
    needed = _needed(problem, tracks, vias, pours)
    if needed != (tracks, vias):  # a via may have met rough copper only
        again = _poured(problem, *needed)
        if len(open_connections(problem, *needed, again)) <= len(open_connections(problem, tracks, vias, pours)):
            tracks, vias, pours = *needed, again
    if not problem.description.rules.one_sided:
        return _closed(problem, tracks, vias, pours)
    linked_up = _linked_up(problem, tracks, vias)
    if linked_up.unrouted and (tracks, vias) != (
        board.tracks,
        board.vias,
    ):  # lands of links may cut off what was joined
        linked_up = min(linked_up, _linked_up(problem, board.tracks, board.vias), key=merit)
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
    unrouted = open_connections(problem, tracks, vias, pours)
    return Board(description, description.outline, parts, tracks, vias, pours, unrouted)


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
            items = of_net(problem, net, tracks, vias, pours)
            gone = {k for k in spare(items, problem.description.rules.thermal_gap) if items[k] not in drawn}
            left = [item for k, item in enumerate(items) if k not in gone]
            kept += [old if old in drawn else new for old, new in zip(left, trimmed(left), strict=True)]
    return tuple(t for t in kept if isinstance(t, Track)), tuple(v for v in kept if isinstance(v, Via))


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
        ends = tuple(nodes_of(fixed, piece, half) for piece in pieces)
        tasks.append(Task(problem.number_of[name], ends, fixed.zone(net)))
    plain = replace(prices, layers=(100, 100))
    negotiation = Negotiation(fixed.maps, tasks, fixed.pad_at(), plain, seed, fixed.ways)
    if not negotiation.run(40):
        negotiation.settle()
    return _copper(fixed, negotiation)
