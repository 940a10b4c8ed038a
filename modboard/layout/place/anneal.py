"""Simulated annealing with the adaptive schedule, then a search of every place near where each part ended.

Schedule: Betz and Rose (Field-Programmable Logic, 1997) after Lam and Delosme (DAC 1988).  Nothing is promised of
the result but that the cost was weighed right; overlap is only priced, and must be looked for afterwards.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.layout.place.kernels import Lengths, Pairs, Problem, State, compiled, draw
from modboard.layout.place.moves import accept, middle, propose, put_back, refresh, swap, total_length, weigh_move

LOGARITHMS = 4096
HOTTEST = 20.0  # times the deviation of the cost over random moves (Betz and Rose 1997)
AIM = 0.44  # accepted share that the move window steers for (Lam and Delosme 1988)
COLDEST = 0.005  # times the cost per net (Betz and Rose 1997)
SMALLEST_WINDOW = 0.7  # mm
MOST_TEMPERATURES = 400
NARROW = 2  # cells
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
    )
    random = np.array([mixed or 1], np.uint64)
    state = State(variant.astype(np.int64), at.astype(np.int64), pairs, lengths, random, np.zeros(7, np.int64))
    for _ in range(8):
        draw(state.random, 2)
    refresh(p, state)
    return state


@compiled
def deviation(p: Problem, s: State, price: float, extent: float, wander: bool) -> float:
    """Return the standard deviation of the cost over random moves; they are made if `wander`, else taken back."""
    mean, square, seen = 0.0, 0.0, 0
    for _ in range(30 * len(p.places.movable)):
        if not propose(p, s, extent):
            continue
        over, soft = weigh_move(p, s)
        delta = soft + price * over
        mean += delta
        square += delta * delta
        seen += 1
        if wander:
            accept(p, s)
        else:
            put_back(p, s)
    refresh(p, s)
    if seen == 0:
        return 0.0
    return float(np.sqrt(max(square / seen - (mean / seen) ** 2, 1e-6)))


@compiled
def next_temperature(temperature: float, share: float) -> float:
    """Return the temperature after one at which `share` of the moves was taken (Betz and Rose 1997)."""
    if share > 0.96:
        return temperature * 0.5
    if share > 0.8:
        return temperature * 0.9
    return temperature * (0.95 if share > 0.15 else 0.8)


@compiled
def anneal(
    p: Problem, s: State, thresholds: Any, effort: float, heat: float, price: float, growth: float, extent: float
) -> None:
    """Anneal the state in place.

    `effort` scales the moves per temperature (times parts^4/3), `heat` the first temperature (1 forgets where parts
    stood), `price` is the first price of overlap per mm², which grows as the cooling to the power `growth`, `extent`
    is the board's size, mm.
    """
    count = len(p.places.movable)
    temperature = HOTTEST * heat * deviation(p, s, price, extent, heat >= 1.0)
    if temperature == 0.0:
        return
    start = temperature
    window = extent * min(1.0, np.sqrt(heat))
    moves = max(1, int(effort * count ** (4.0 / 3.0)))
    for _ in range(MOST_TEMPERATURES):
        taken, tried = 0, 0
        now = price * (start / temperature) ** growth
        for _ in range(moves):
            if not propose(p, s, window):
                continue
            tried += 1
            over, soft = weigh_move(p, s)
            delta = soft + now * over
            if delta <= 0.0 or delta < temperature * thresholds[draw(s.random, LOGARITHMS)]:
                accept(p, s)
                taken += 1
            else:
                put_back(p, s)
        share = taken / max(1, tried)
        temperature = next_temperature(temperature, share)
        window = min(max(window * (1.0 - AIM + share), SMALLEST_WINDOW), extent)
        refresh(p, s)
        if temperature < COLDEST * max(1.0, total_length(s.lengths.length)) / max(1, len(p.nets.weight)):
            break


@compiled
def settle_part(p: Problem, s: State, a: int, price: float, reach: int) -> Any:
    """Put part `a` in the best place within `reach` cells, in any turn; return whether it moved."""
    places = p.places
    cx, cy = middle(p.yards.rect, s.variant[a])
    x, y = places.site[s.at[a], 0] + cx, places.site[s.at[a], 1] + cy
    best, best_v, best_s = -FLAT, -1, -1
    s.move[0], s.move[3] = a, -1
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
                over, soft = weigh_move(p, s)
                if soft + price * over < best:
                    best, best_v, best_s = soft + price * over, v, site
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
                over, soft = weigh_move(p, s)
                if soft + price * over < -FLAT:
                    accept(p, s)
                    better = True
                else:
                    put_back(p, s)
        refresh(p, s)
        if wide and not better:
            break
