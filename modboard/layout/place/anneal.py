"""Simulated annealing with the adaptive schedule, then a search of every place near where each part ended.

Schedule: Betz and Rose (Field-Programmable Logic, 1997) after Lam and Delosme (DAC 1988), in two stages whose price of
overlap grows as the temperature falls.  Nothing is promised of the result but that the cost was weighed right; overlap
is only priced, and must be looked for afterwards.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.layout.place.kernels import Lengths, Pairs, Problem, State, compiled, draw
from modboard.layout.place.moves import (
    accept,
    middle,
    most_saved,
    propose,
    put_back,
    refresh,
    swap,
    total_length,
    trade,
    turn,
    weigh_joins,
    weigh_move,
    weigh_stand,
)
from modboard.layout.place.teams import TEAM, draw_exchange, draw_step, make

LOGARITHMS = 4096
HOTTEST = 20.0  # times the deviation of the cost over random moves (Betz and Rose 1997)
AIM = 0.44  # accepted share that the move window steers for (Lam and Delosme 1988)
STEPS, EXCHANGES = 4, 4  # moves of several parts at once in a hundred, see teams.py
SMALLEST_WINDOW = 0.7  # mm
MOST_TEMPERATURES = 400
NARROW = 2  # cells
TURNS = 25  # in a hundred moves while like parts trade places
DEALING = 0.9  # of the temperature is left after each step while they do
FLAT = 1e-7  # growths smaller than this are rounding


def threshold_table() -> Any:
    """Return -ln(u) at evenly spaced u: a table, so that every machine draws the same thresholds."""
    u = (np.arange(LOGARITHMS) + 0.5) / LOGARITHMS
    return np.round(-np.log(u), 9)


def new_state(p: Problem, variant: Any, at: Any, seed: int) -> State:
    """Return the full state of an arrangement: a variant and a site for every part."""
    n, nets, pins = len(p.yards.halo), len(p.nets.weight), int(p.nets.pin_first[-1])
    widest = int(np.max(np.diff(p.nets.first), initial=2))
    mixed = (int(seed) * 0x9E3779B97F4A7C15 + 0xD1B54A32D192ED03) & 0xFFFFFFFFFFFFFFFF
    pairs = Pairs(np.zeros((n, n)), np.zeros((n, n)), np.zeros(n), np.zeros(n), np.zeros((2, n)), np.zeros((2, n)))
    lengths = Lengths(
        pin=np.zeros((pins, 2)),
        length=np.zeros(nets),
        span=np.zeros((nets, 4), np.int64),
        new_length=np.zeros(nets),
        new_span=np.zeros((nets, 4), np.int64),
        mark=np.zeros(nets, np.int64),
        tree=np.zeros(widest + 1),
        demand=np.zeros(p.bins.room.shape),
        change=np.zeros(p.bins.room.shape),
        box=np.zeros(4, np.int64),
        crowding=np.zeros(2),
    )
    random = np.array([mixed or 1], np.uint64)
    state = State(
        variant.astype(np.int64),
        at.astype(np.int64),
        pairs,
        lengths,
        random,
        np.zeros(7, np.int64),
        np.zeros((3, 2 * TEAM), np.int64),
    )
    for _ in range(8):
        draw(state.random, 2)
    refresh(p, state)
    return state


@compiled
def deviation(p: Problem, s: State, price: float, extent: float) -> float:
    """Make random moves, so that nothing is left of where parts stood; return the standard deviation of the cost."""
    mean, square, seen = 0.0, 0.0, 0
    for _ in range(30 * len(p.places.movable)):
        if not propose(p, s, extent):
            continue
        over, soft = weigh_move(p, s)
        delta = soft + price * over
        mean += delta
        square += delta * delta
        seen += 1
        accept(p, s)
    refresh(p, s)
    if seen == 0:
        return 0.0
    return float(np.sqrt(max(square / seen - (mean / seen) ** 2, 1e-6)))


@compiled
def per_net(p: Problem, s: State) -> float:
    """Return the cost of length per net, of all nets together at least 1."""
    return float(max(1.0, total_length(s.lengths.length)) / max(1, len(p.nets.weight)))


@compiled
def next_temperature(temperature: float, share: float) -> float:
    """Return the temperature after one at which `share` of the moves was taken (Betz and Rose 1997)."""
    if share > 0.96:
        return temperature * 0.5
    if share > 0.8:
        return temperature * 0.9
    return temperature * (0.95 if share > 0.15 else 0.8)


@compiled
def allows(s: State, growth: float, temperature: float, thresholds: Any) -> Any:
    """Draw whether the temperature allows the cost to grow so much."""
    return growth <= 0.0 or growth < temperature * thresholds[draw(s.random, LOGARITHMS)]


@compiled
def decided(p: Problem, s: State, price: float, temperature: float, thresholds: Any) -> Any:
    """Weigh the move in `s.move` and make it if the temperature allows; return whether it was made.

    Most that are turned down are so by where the parts would stand alone, whatever their nets would save.
    """
    over, soft = weigh_stand(p.yards, p.places.site, p.places.cost, s.variant, s.at, s.pairs, s.move)
    least = (
        soft
        + price * over
        - most_saved(p.nets.touch_first, p.nets.touch, s.lengths.length, s.lengths.crowding, s.move[0], s.move[3])
    )
    if least > 0.0:
        threshold = temperature * thresholds[draw(s.random, LOGARITHMS)]
        if least >= threshold:
            return False
        made = weigh_joins(p.nets, p.bins, p.places.site, s.lengths, s.move, soft) + price * over < threshold
    else:
        made = allows(
            s,
            weigh_joins(p.nets, p.bins, p.places.site, s.lengths, s.move, soft) + price * over,
            temperature,
            thresholds,
        )
    if made:
        accept(p, s)
    else:
        put_back(p, s)
    return made


@compiled
def taken(p: Problem, s: State, window: float, price: float, temperature: float, thresholds: Any) -> int:
    """Draw a move and make it if the temperature allows; return 1 if made, 0 if not, -1 if it led nowhere."""
    kind = draw(s.random, 100)
    if kind < STEPS + EXCHANGES:
        count = draw_step(p, s, window) if kind < STEPS else draw_exchange(p, s)
        if count == 0:
            return -1
        over, soft = make(p, s, count)
        if allows(s, soft + price * over, temperature, thresholds):
            return 1
        make(p, s, count)
        return 0
    if not propose(p, s, window):
        return -1
    return 1 if decided(p, s, price, temperature, thresholds) else 0


@compiled
def anneal(
    p: Problem,
    s: State,
    thresholds: Any,
    effort: float,
    first: float,
    last: float,
    price: float,
    growth: float,
    window: float,
    extent: float,
) -> None:
    """Anneal the state in place.

    `effort` scales the moves per temperature (times parts^4/3), `first` is the first temperature and `last` the last as
    a multiple of the cost per net, `price` the first price of overlap per mm², which grows as the cooling to the
    power `growth`, `window` how far moves go at first and `extent` the board's size, mm.
    """
    temperature = first
    if temperature <= 0.0 or len(p.places.movable) == 0:
        return
    moves = max(1, int(effort * len(p.places.movable) ** (4.0 / 3.0)))
    for _ in range(MOST_TEMPERATURES):
        made, tried = 0, 0
        now = price * (first / temperature) ** growth
        for _ in range(moves):
            done = taken(p, s, window, now, temperature, thresholds)
            if done >= 0:
                tried += 1
                made += done
        share = made / max(1, tried)
        temperature = next_temperature(temperature, share)
        window = min(max(window * (1.0 - AIM + share), SMALLEST_WINDOW), extent)
        refresh(p, s)
        if temperature < last * per_net(p, s):
            break


@compiled
def deal(p: Problem, s: State, thresholds: Any, effort: float, first: float, last: float, price: float) -> None:
    """Deal the places of like parts out among them anew, and turn them about, by annealing.

    Where parts stand so close that hardly any can move or turn, their places may still be in the wrong hands.  `effort`
    is moves per temperature (times parts^4/3), `first` and `last` temperatures as multiples of the cost per net and
    `price` that of overlap, which trades leave as it is.
    """
    places = p.places
    count = len(places.movable)
    moves = int(effort * count ** (4.0 / 3.0))
    temperature = first * per_net(p, s)
    least = last * per_net(p, s)
    while count > 1 and temperature > least:
        for _ in range(moves):
            a = places.movable[draw(s.random, count)]
            if draw(s.random, 100) < TURNS:
                drawn = turn(places, p.yards.rect, s.random, s.variant, s.at, a, s.move)
            else:
                drawn = trade(places, s.variant, s.at, a, places.movable[draw(s.random, count)], s.move)
            if drawn:
                decided(p, s, price, temperature, thresholds)
        temperature *= DEALING
        refresh(p, s)


@compiled
def settle_part(p: Problem, s: State, a: int, price: float, reach: int) -> Any:
    """Put part `a` in the best place within `reach` cells, in any turn; return whether it moved."""
    places = p.places
    cx, cy = middle(p.yards.rect, s.variant[a])
    x, y = places.site[s.at[a], 0] + cx, places.site[s.at[a], 1] + cy
    best, best_v, best_s = -FLAT, -1, -1
    s.move[0], s.move[3] = a, -1
    saved = most_saved(p.nets.touch_first, p.nets.touch, s.lengths.length, s.lengths.crowding, s.move[0], s.move[3])
    for v in range(places.variant_first[a], places.variant_first[a + 1]):
        m = places.variant_map[v]
        ox, oy = middle(p.yards.rect, v)
        pitch, columns, rows = places.map_frame[m, 2], places.map_shape[m, 0], places.map_shape[m, 1]
        ic = min(max(int((x - ox - places.map_frame[m, 0]) / pitch + 0.5), 0), columns - 1)
        jc = min(max(int((y - oy - places.map_frame[m, 1]) / pitch + 0.5), 0), rows - 1)
        for j in range(max(0, jc - reach), min(rows, jc + reach + 1)):
            for i in range(max(0, ic - reach), min(columns, ic + reach + 1)):
                site = places.grid[places.map_first[m] + j * columns + i]
                if site < 0 or (site == s.at[a] and v == s.variant[a]):
                    continue
                s.move[1], s.move[2] = v, site
                over, soft = weigh_stand(p.yards, p.places.site, p.places.cost, s.variant, s.at, s.pairs, s.move)
                if soft + price * over - saved >= best:
                    continue
                cost = weigh_joins(p.nets, p.bins, p.places.site, s.lengths, s.move, soft) + price * over
                if cost < best:
                    best, best_v, best_s = cost, v, site
    if best_s < 0:
        put_back(p, s)
        return False
    s.move[1], s.move[2] = best_v, best_s
    weigh_move(p, s)
    accept(p, s)
    return True


@compiled
def settle(p: Problem, s: State, price: float, reach: int, rounds: int) -> None:
    """Put each part in the best place near it, and swap pairs, as long as that helps."""
    movable = p.places.movable
    for k in range(rounds):
        better = False
        wide = k % 4 == 0  # the wide search costs much and finds little that a narrow one does not
        for a in movable:
            better = settle_part(p, s, a, price, reach if wide else min(reach, NARROW)) or better
        for i in range(len(movable)):
            for j in range(i):
                if not swap(p.places, p.yards.rect, s.variant, s.at, movable[i], movable[j], s.move):
                    continue
                over, soft = weigh_stand(p.yards, p.places.site, p.places.cost, s.variant, s.at, s.pairs, s.move)
                if (
                    soft
                    + price * over
                    - most_saved(
                        p.nets.touch_first, p.nets.touch, s.lengths.length, s.lengths.crowding, s.move[0], s.move[3]
                    )
                    >= -FLAT
                ):
                    continue
                if weigh_joins(p.nets, p.bins, p.places.site, s.lengths, s.move, soft) + price * over < -FLAT:
                    accept(p, s)
                    better = True
                else:
                    put_back(p, s)
        refresh(p, s)
        if wide and not better:
            break
