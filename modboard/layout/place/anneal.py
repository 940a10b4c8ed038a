"""Simulated annealing with the adaptive schedule, then a search of every place near where each part ended."""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.layout.place.kernels import (
    Problem,
    State,
    accept,
    compiled,
    crowding,
    draw,
    find_span,
    middle,
    put_back,
    set_pins,
    site_near,
    spread_demand,
    tree_length,
    weigh_move,
    weigh_pair,
)

LOGARITHMS = 4096
HOTTEST = 20.0  # times the deviation of the cost over random moves (Betz and Rose 1997)
AIM = 0.44  # accepted share that the move window steers for (Lam and Delosme 1988)
COLDEST = 0.005  # times the cost per net


def threshold_table() -> Any:
    """Return -ln(u) at evenly spaced u: a table, so that every machine draws the same thresholds."""
    u = (np.arange(LOGARITHMS) + 0.5) / LOGARITHMS
    return np.round(-np.log(u), 9)


def new_state(p: Problem, variant: Any, at: Any, seed: int) -> State:
    """Return the full state of an arrangement: a variant and a site for every part."""
    n, nets, pins = len(p.side), len(p.net_weight), int(p.pin_first[-1])
    widest = int(np.max(np.diff(p.net_first), initial=2))
    mixed = (int(seed) * 0x9E3779B97F4A7C15 + 0xD1B54A32D192ED03) & 0xFFFFFFFFFFFFFFFF
    state = State(
        variant.astype(np.int64).copy(),
        at.astype(np.int64).copy(),
        np.zeros((pins, 2)),
        np.zeros(nets),
        np.zeros((n, n)),
        np.zeros((n, n)),
        np.zeros(n),
        np.zeros(n),
        np.zeros(p.bin_room.shape),
        np.zeros((nets, 4), np.int64),
        np.zeros(nets),
        np.zeros((2, n)),
        np.zeros((2, n)),
        np.zeros((nets, 4), np.int64),
        np.zeros(nets, np.int64),
        np.zeros(p.bin_room.shape),
        np.zeros(4, np.int64),
        np.zeros(widest + 1),
        np.array([mixed or 1], np.uint64),
    )
    for _ in range(8):
        draw(state.random, 2)
    refresh(p, state)
    return state


@compiled
def refresh(p: Problem, s: State) -> None:
    """Work out every term of the state anew."""
    n = p.side.shape[0]
    for i in range(n):
        set_pins(p, s, i, s.variant[i], s.at[i])
    s.demand[:] = 0.0
    s.mark[:] = 0
    for net in range(p.net_weight.shape[0]):
        s.length[net] = tree_length(p, s, net)
        find_span(p, s, net)
        for k in range(4):
            s.span[net, k] = s.new_span[net, k]
        if p.crowds[net] != 0:
            spread_demand(s.demand, s.span[net], s.length[net])
    for i in range(n):
        s.row_overlap[i] = 0.0
        s.row_soft[i] = 0.0
        for j in range(n):
            if i != j:
                a, b = s.at[i], s.at[j]
                o, q = weigh_pair(
                    p, i, s.variant[i], p.site[a, 0], p.site[a, 1], j, s.variant[j], p.site[b, 0], p.site[b, 1]
                )
                s.overlap[i, j], s.soft[i, j] = o, q
                s.row_overlap[i] += o
                s.row_soft[i] += q


@compiled
def totals(p: Problem, s: State) -> Any:
    """Return (overlap, cost without overlap) of the whole state."""
    cost = s.length.sum() + 0.5 * s.row_soft.sum()
    for i in range(p.side.shape[0]):
        cost += p.site_cost[s.at[i]]
    for j in range(p.bin_room.shape[0]):
        for i in range(p.bin_room.shape[1]):
            cost += crowding(s.demand[j, i], p.bin_room[j, i])
    return 0.5 * s.row_overlap.sum(), cost


@compiled
def propose(p: Problem, s: State, movable: Any, window: float, to: Any) -> bool:
    """Draw a move into `to` (a, va, sa, b, vb, sb); False if it leads nowhere."""
    a = movable[draw(s.random, movable.shape[0])]
    va, sa = s.variant[a], s.at[a]
    x, y = p.site[sa, 0], p.site[sa, 1]
    to[0], to[1], to[3], to[4], to[5] = a, va, -1, 0, 0
    kind = draw(s.random, 100)
    turns = p.variant_first[a + 1] - p.variant_first[a]
    if kind < 60:
        m = p.variant_map[va]
        reach = max(1, int(window / p.map_frame[m, 2]))
        i = p.site_cell[sa, 0] + draw(s.random, 2 * reach + 1) - reach
        j = p.site_cell[sa, 1] + draw(s.random, 2 * reach + 1) - reach
        if p.map_shape[m, 0] == 1:
            i = 0
        if p.map_shape[m, 1] == 1:
            j = 0
        if i < 0 or j < 0 or i >= p.map_shape[m, 0] or j >= p.map_shape[m, 1]:
            return False
        to[2] = p.grid[p.map_first[m] + j * p.map_shape[m, 0] + i]
        return to[2] >= 0 and to[2] != sa
    if kind < 75 and turns > 1:
        vn = p.variant_first[a] + draw(s.random, turns)
        if vn == va:
            return False
        cx, cy = middle(p, va)
        nx, ny = middle(p, vn)
        to[1], to[2] = vn, site_near(p, vn, x + cx - nx, y + cy - ny)
        return to[2] >= 0
    if kind < 85 and p.touch_first[a + 1] > p.touch_first[a]:
        nets = p.touch_first[a + 1] - p.touch_first[a]
        net = p.touch_net[p.touch_first[a] + draw(s.random, nets)]
        pin = p.net_pin[p.net_first[net] + draw(s.random, p.net_first[net + 1] - p.net_first[net])]
        vn = p.variant_first[a] + draw(s.random, turns)
        cx, cy = middle(p, vn)
        dx, dy = draw(s.random, 1001) * 0.012 - 6.0, draw(s.random, 1001) * 0.012 - 6.0
        if abs(s.pin[pin, 0] + dx - x - cx) > 2.0 * window or abs(s.pin[pin, 1] + dy - y - cy) > 2.0 * window:
            return False
        to[1], to[2] = vn, site_near(p, vn, s.pin[pin, 0] + dx - cx, s.pin[pin, 1] + dy - cy)
        return to[2] >= 0 and to[2] != sa
    b = movable[draw(s.random, movable.shape[0])]
    if a == b:
        return False
    vb, sb = s.variant[b], s.at[b]
    ax, ay = middle(p, va)
    bx, by = middle(p, vb)
    xb, yb = p.site[sb, 0], p.site[sb, 1]
    if abs(x - xb) > 3.0 * window or abs(y - yb) > 3.0 * window:
        return False
    to[2] = site_near(p, va, xb + bx - ax, yb + by - ay)
    to[3], to[4], to[5] = b, vb, site_near(p, vb, x + ax - bx, y + ay - by)
    return to[2] >= 0 and to[5] >= 0


@compiled
def anneal(p: Problem, s: State, thresholds: Any, effort: float, heat: float, price: float, extent: float) -> None:
    """Anneal the state in place.

    `effort` scales the moves per temperature (times parts^4/3), `heat` the first temperature, `price` is the
    first price of overlap per mm²; it grows as the square root of the cooling.  `extent` is the board's size, mm.
    """
    movable = np.nonzero(p.movable)[0]
    count = movable.shape[0]
    if count == 0:
        return
    to = np.zeros(6, np.int64)
    stamp = 0
    mean, square, seen = 0.0, 0.0, 0
    for _ in range(60 * count):  # how much does cost vary when anything goes
        if not propose(p, s, movable, extent, to):
            continue
        stamp += 1
        over, soft = weigh_move(p, s, to[0], to[1], to[2], to[3], to[4], to[5], stamp)
        delta = soft + price * over
        mean += delta
        square += delta * delta
        seen += 1
        if heat >= 1.0:
            accept(p, s, to[0], to[1], to[2], to[3], to[4], to[5], stamp)
        else:
            put_back(p, s, to[0], to[3])
    if seen == 0:
        return
    hottest = np.sqrt(max(square / seen - (mean / seen) ** 2, 1e-6))
    temperature = hottest * (HOTTEST if heat >= 1.0 else heat)
    start = temperature
    window = extent if heat >= 1.0 else extent * 0.25
    moves = max(1, int(effort * count ** (4.0 / 3.0)))
    nets = max(1, p.net_weight.shape[0])
    for _ in range(400):
        taken, tried = 0, 0
        now = price * np.sqrt(start / temperature)
        for _ in range(moves):
            if not propose(p, s, movable, window, to):
                continue
            tried += 1
            stamp += 1
            over, soft = weigh_move(p, s, to[0], to[1], to[2], to[3], to[4], to[5], stamp)
            delta = soft + now * over
            if delta <= 0.0 or delta < temperature * thresholds[draw(s.random, LOGARITHMS)]:
                accept(p, s, to[0], to[1], to[2], to[3], to[4], to[5], stamp)
                taken += 1
            else:
                put_back(p, s, to[0], to[3])
        share = taken / max(1, tried)
        if share > 0.96:
            temperature *= 0.5
        elif share > 0.8:
            temperature *= 0.9
        elif share > 0.15:
            temperature *= 0.95
        else:
            temperature *= 0.8
        window = min(max(window * (1.0 - AIM + share), 0.7), extent)
        refresh(p, s)
        if temperature < COLDEST * max(1.0, s.length.sum()) / nets:
            break


@compiled
def settle(p: Problem, s: State, price: float, reach: int, rounds: int) -> None:
    """Put each part in the best of all places within `reach` cells, in any turn, and swap pairs, while it helps."""
    movable = np.nonzero(p.movable)[0]
    stamp = 0
    s.mark[:] = 0
    for _ in range(rounds):
        better = False
        for a in movable:
            x0, y0 = p.site[s.at[a], 0], p.site[s.at[a], 1]
            cx, cy = middle(p, s.variant[a])
            best, best_v, best_s = -1e-7, -1, -1
            for v in range(p.variant_first[a], p.variant_first[a + 1]):
                m = p.variant_map[v]
                ox, oy = middle(p, v)
                pitch = p.map_frame[m, 2]
                ic = min(max(int((x0 + cx - ox - p.map_frame[m, 0]) / pitch + 0.5), 0), p.map_shape[m, 0] - 1)
                jc = min(max(int((y0 + cy - oy - p.map_frame[m, 1]) / pitch + 0.5), 0), p.map_shape[m, 1] - 1)
                for j in range(max(0, jc - reach), min(p.map_shape[m, 1], jc + reach + 1)):
                    for i in range(max(0, ic - reach), min(p.map_shape[m, 0], ic + reach + 1)):
                        site = p.grid[p.map_first[m] + j * p.map_shape[m, 0] + i]
                        if site < 0 or (site == s.at[a] and v == s.variant[a]):
                            continue
                        stamp += 1
                        over, soft = weigh_move(p, s, a, v, site, -1, 0, 0, stamp)
                        if soft + price * over < best:
                            best, best_v, best_s = soft + price * over, v, site
            put_back(p, s, a, -1)
            if best_s >= 0:
                stamp += 1
                weigh_move(p, s, a, best_v, best_s, -1, 0, 0, stamp)
                accept(p, s, a, best_v, best_s, -1, 0, 0, stamp)
                better = True
        for a in movable:
            for b in movable:
                if b <= a:
                    continue
                va, vb = s.variant[a], s.variant[b]
                ax, ay = middle(p, va)
                bx, by = middle(p, vb)
                xa, ya, xb, yb = p.site[s.at[a], 0], p.site[s.at[a], 1], p.site[s.at[b], 0], p.site[s.at[b], 1]
                sa = site_near(p, va, xb + bx - ax, yb + by - ay)
                sb = site_near(p, vb, xa + ax - bx, ya + ay - by)
                if sa < 0 or sb < 0:
                    continue
                stamp += 1
                over, soft = weigh_move(p, s, a, va, sa, b, vb, sb, stamp)
                if soft + price * over < -1e-7:
                    accept(p, s, a, va, sa, b, vb, sb, stamp)
                    better = True
                else:
                    put_back(p, s, a, b)
        refresh(p, s)
        if not better:
            break
