"""Automatic placement: from a description to every part in its place."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from modboard.describe.model import AtEdge, Description, Near, Part
from modboard.errors import DesignError, NoRoomError
from modboard.geometry import Position
from modboard.layout.board import PlacedPart
from modboard.layout.place.anneal import HOTTEST, anneal, deal, deviation, new_state, per_net, settle, threshold_table
from modboard.layout.place.arrays import build, elbow_room, gap_between
from modboard.layout.place.complaints import check_area, check_fixed, no_room_message, nowhere_message
from modboard.layout.place.congestion import Congestion
from modboard.layout.place.ease import eased
from modboard.layout.place.faults import Fault, board_faults, faults
from modboard.layout.place.in_line import in_line
from modboard.layout.place.kernels import Problem, State
from modboard.layout.place.liking import crowd_cost, edge_cost, likes_edge
from modboard.layout.place.moves import refresh, totals
from modboard.layout.place.pulls import Pull, decoupling_pulls, net_pulls, wish_pulls
from modboard.layout.place.room import Room
from modboard.layout.place.rows import in_rows
from modboard.layout.place.sites import Lattice, Sites, collect, edge_sites, open_sites
from modboard.layout.place.standing import Standing
from modboard.layout.place.wishes import fixed_part, sides_of, turns_of, wish_of

COARSE, FINE = 0.635, 0.127  # mm; half a 1.27 mm raster, and a tenth of it for tight boards
OTHER_SIDE = 10.0  # mm of track that a part on the less preferred side must save: parts on both sides are more work
HARD = 1e4  # price of overlap when nothing may overlap any more


@dataclass(frozen=True)
class Trial:
    """One way of trying: lattice pitch (mm), moves per temperature, starts, first price of overlap (per mm²), moves per
    temperature while overlaps are cleared.
    """

    pitch: float
    effort: float
    starts: int
    price: float
    warm: float = 10.0


TRIALS = (
    Trial(COARSE, 6.0, 3, 0.01),
    Trial(FINE, 10.0, 2, 0.05),
    Trial(FINE, 20.0, 2, 0.3),
    Trial(FINE, 30.0, 4, 3.0),
)
PATIENT = Trial(FINE, 50.0, 4, 3.0, 200.0)  # where parts fill all but a sixth one seed in three then finds places for
# all; with four times the moves while hot and a twentieth of them while warm it takes longer and one in thirty does
GROWTH = 0.5, 1.2  # exponents of the cooling with which the price of overlap grows, while hot and while warm
WARM = 0.3  # times the cost per net: below this temperature overlaps are cleared rather than nets shortened
COLDEST = 0.005  # times the cost per net (Betz and Rose 1997)
WARM_PRICE, WARM_WINDOW = 100.0, 3.0  # times the trial's price; mm
DEAL_EFFORT = 8.0  # moves per temperature while like parts trade places
SEARCH = 2.54, 10  # mm and cells: how far the last search looks round each part, whichever is less
SHAKES, ROUNDS = 5, 9
VAIN, LESS = 2, 0.9  # so many shakes one after the other that leave more than such a share of the overlap are enough
MUCH, LITTLE = 20.0, 0.5  # mm² of overlap after annealing: hopeless on a coarse lattice; gone after a search
MANY, FEW = 50, 16  # parts; beyond many fewer and shorter annealings are long enough, up to few more are cheap


def place(
    description: Description,
    seed: int,
    *,
    congestion: Congestion | None = None,
    spread: float = 0.0,
    patient: bool = False,
) -> tuple[PlacedPart, ...]:
    """Return every part of the description in its place, in the order of `description.parts`.

    The same description and figures give the same placement.  `spread` (mm) asks for that much more room round each
    part where there is any; `congestion` says where the last routing was short of room.  To be `patient` is for when
    all else has failed: it takes three times as long.
    Raises ModboardError if fixed parts are in each other's way or off the board, NoRoomError if no legal placement is
    found.
    """
    if not description.parts:
        return ()
    description = in_rows(description)
    fixed = [fixed_part(description, part) for part in description.parts]
    check_fixed(description, [p for p in fixed if p is not None])
    room = Room(description, [p for p in fixed if p is not None])
    check_area(description, room, fixed)
    pulls = [*net_pulls(description), *decoupling_pulls(description), *wish_pulls(description)]
    given = {p.part.reference for p in fixed if p is not None}
    left: list[Fault] = []
    problems: dict[float, tuple[list[list[Sites]], Problem]] = {}
    for number, trial in enumerate((PATIENT,) if patient else TRIALS):
        if trial.pitch not in problems:
            problems[trial.pitch] = pose(description, room, fixed, pulls, trial.pitch, congestion, spread)
        options, problem = problems[trial.pitch]
        placed = solve(description, room, options, problem, trial, seed * 1000 + number * 100)
        left = faults(description, placed, Room(description, ()))
        left = [f for f in left if not f.parts_among(given)]
        if not left:
            return placed
    raise NoRoomError(no_room_message(description, fixed, left))


def pose(
    description: Description,
    room: Room,
    fixed: Sequence[PlacedPart | None],
    pulls: Sequence[Pull],
    pitch: float,
    congestion: Congestion | None,
    spread: float,
) -> tuple[list[list[Sites]], Problem]:
    """Return the places of every part on a lattice of `pitch`, and the problem they make."""
    lattice = Lattice(lattice_origin(fixed), pitch)
    known: dict[tuple[object, ...], Sites] = {}
    options = []
    for part, put in zip(description.parts, fixed, strict=True):
        if put is not None:
            options.append([only_place(put)])
            continue
        found = part_sites(description, room, part, lattice, congestion, known)
        if not found:
            raise DesignError(nowhere_message(description, room.fixed, part), part.site)
        options.append(found)
    free = {side: room.area(side) for side in ("top", "bottom")}
    halo = elbow_room(options, free)
    gap = gap_between(description, options, free, spread)
    return options, build(description, options, [p is not None for p in fixed], pulls, halo, gap, congestion)


def lattice_origin(fixed: Sequence[PlacedPart | None]) -> tuple[float, float]:
    """Return the first pad of the first fixed through-hole part: the others line up with it."""
    for put in fixed:
        if put is not None and put.part.footprint.technology == "through-hole" and put.turn % 90 == 0:
            return put.to_board(put.part.footprint.lands[0].at) if put.part.footprint.lands else put.at
    return (0.0, 0.0)


def only_place(put: PlacedPart) -> Sites:
    """Return the one site of a part whose place is given."""
    one = np.zeros((1, 1))
    standing = Standing(put.part, put.turn, put.side)
    return collect(standing, one + put.at[0], one + put.at[1], one == 0, (*put.at, COARSE), np.zeros(1), True)


def part_sites(
    description: Description,
    room: Room,
    part: Part,
    lattice: Lattice,
    congestion: Congestion | None,
    known: dict[tuple[object, ...], Sites],
) -> list[Sites]:
    """Return the sites of each turn of a part in which it can stand at all."""
    wish = wish_of(description, part)
    found = []
    sides = sides_of(description, part)
    sides = tuple(side for side in sides if room.tall_enough(part, side)) or sides
    for side, turn in itertools.product(sides, turns_of(description, part)):
        shared = not isinstance(wish, AtEdge)
        willing = shared and not isinstance(wish, Near) and likes_edge(part)
        key = (id(part.footprint), part.tall, turn, side, wish.side, willing, room.drawn.key(part))
        if shared and key in known:
            sites = known[key]
        else:
            standing = Standing(part, turn, side)
            if isinstance(wish, AtEdge):
                sites = edge_sites(room, standing, wish, lattice)
            else:
                sites = open_sites(room, standing, lattice)
            if willing:
                sites.cost[:] += edge_cost(sites, description.outline, description.rules.part_to_edge)
            if congestion is not None and len(sites):
                sites.cost[:] += crowd_cost(sites, congestion)
            if side != wish.side:
                sites.cost[:] += OTHER_SIDE
            if shared:
                known[key] = sites
        if len(sites):
            found.append(sites)
    return found


def solve(
    description: Description, room: Room, options: list[list[Sites]], problem: Problem, trial: Trial, seed: int
) -> tuple[PlacedPart, ...]:
    """Return the best of the trial's starts: least overlap first, then least cost."""
    thresholds = threshold_table()
    x0, y0, x1, y1 = description.outline.bounds
    extent = max(x1 - x0, y1 - y0)
    effort, starts = scaled(trial, len(problem.places.movable))
    reach = min(SEARCH[1], round(SEARCH[0] / trial.pitch))
    rough: list[tuple[float, float, int, State]] = []
    for start in range(starts):
        state = scatter(problem, seed + start)
        hot = HOTTEST * deviation(problem, state, trial.price, extent)
        anneal(problem, state, thresholds, effort, hot, WARM, trial.price, GROWTH[0], extent, extent)
        cool(problem, state, thresholds, trial.warm, WARM_PRICE * trial.price, extent)
        over, cost = totals(problem, state)
        rough.append((over, cost, start, state))
        if over > MUCH and trial.pitch == COARSE:
            break  # too tight for this lattice
    rough.sort(key=lambda r: (max(r[0] - LITTLE, 0.0), r[1], r[2]))
    best: tuple[float, float, State, Any] | None = None
    for _, _, _, state in rough[: 1 + len(rough) // 3]:
        settle(problem, state, HARD, reach, ROUNDS)
        clear(problem, state, thresholds, trial, reach, extent)
        over, cost = dealt(problem, state, thresholds, reach)
        at = problem.places.site[state.at] if over == 0.0 else hair_eased(description, room, options, problem, state)
        over = over if at is None else 0.0
        if best is None or (over, cost) < best[:2]:
            best = (over, cost, state, problem.places.site[state.at] if at is None else at)
        if (over > 0.0 and trial.pitch == COARSE) or (over == 0.0 and trial.price > 1.0):
            break  # too tight for this lattice; or very tight, and glad of the first that fits
    assert best is not None
    _, _, state, at = best
    return read_out(description, problem, options, state, in_line(description, options, problem, state, at))


def hair_eased(description: Description, room: Room, options: list[list[Sites]], problem: Problem, state: State) -> Any:
    """Return origins off the lattice at which nothing overlaps, or None."""

    def stands(part: int, at: Position) -> bool:
        if isinstance(wish_of(description, description.parts[part]), AtEdge):
            return False  # its places are those on its edge
        sites = options[part][int(state.variant[part] - problem.places.variant_first[part])]
        return next(board_faults(room, sites.standing.put(at)), None) is None

    return eased(problem, state, stands)


def scaled(trial: Trial, count: int) -> tuple[float, int]:
    """Return moves per temperature and starts for `count` parts: few parts are quick to try often."""
    if count > MANY:
        return trial.effort / 1.5, max(1, trial.starts - 1)
    return trial.effort, trial.starts * (2 if count <= FEW else 1)


def cool(problem: Problem, state: State, thresholds: Any, effort: float, price: float, extent: float) -> None:
    """Cool a warm arrangement, the price of overlap growing until hardly any is left."""
    warm = WARM * per_net(problem, state)
    anneal(problem, state, thresholds, effort, warm, COLDEST, price, GROWTH[1], WARM_WINDOW, extent)


def clear(problem: Problem, state: State, thresholds: Any, trial: Trial, reach: int, extent: float) -> None:
    """Shake out what still overlaps, at ever higher first prices."""
    price = WARM_PRICE * trial.price
    over, _ = totals(problem, state)
    vain = 0
    for _ in range(SHAKES):
        if over == 0.0 or vain == VAIN:
            break
        before = over
        price *= 4.0
        cool(problem, state, thresholds, trial.warm, price, extent)
        settle(problem, state, HARD, reach, ROUNDS)
        over, _ = totals(problem, state)
        vain = 0 if over < LESS * before else vain + 1


def dealt(problem: Problem, state: State, thresholds: Any, reach: int) -> tuple[float, float]:
    """Let like parts trade places, unless that makes nothing better; return (overlap, cost)."""
    before: tuple[float, float] = totals(problem, state)
    variant, at = state.variant.copy(), state.at.copy()
    deal(problem, state, thresholds, DEAL_EFFORT, WARM, COLDEST, HARD)
    if totals(problem, state) < before:
        settle(problem, state, HARD, reach, ROUNDS)
        after: tuple[float, float] = totals(problem, state)
        return after
    state.variant[:], state.at[:] = variant, at
    refresh(problem, state)
    return before


def scatter(problem: Problem, seed: int) -> State:
    """Return a random arrangement."""
    random = np.random.default_rng(seed)
    variant, at = [], []
    for i in range(len(problem.yards.halo)):
        v = int(random.integers(problem.places.variant_first[i], problem.places.variant_first[i + 1]))
        m = problem.places.variant_map[v]
        variant.append(v)
        at.append(int(random.integers(problem.places.site_first[m], problem.places.site_first[m + 1])))
    return new_state(problem, np.array(variant), np.array(at), seed)


def read_out(
    description: Description, problem: Problem, options: list[list[Sites]], state: State, at: Any
) -> tuple[PlacedPart, ...]:
    """Return the parts turned as the state has them, with their origins `at`."""
    found = []
    for i, (part, sites) in enumerate(zip(description.parts, options, strict=True)):
        chosen = sites[int(state.variant[i] - problem.places.variant_first[i])]
        found.append(
            PlacedPart(
                part, (round(float(at[i, 0]), 5), round(float(at[i, 1]), 5)), chosen.standing.turn, chosen.standing.side
            )
        )
    return tuple(found)
