"""Proposing, weighing, making and taking back moves of one part or a pair of parts (compiled)."""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.layout.place.kernels import (
    Bins,
    Lengths,
    Nets,
    Pairs,
    Places,
    Problem,
    State,
    Yards,
    accept_nets,
    compiled,
    crowding,
    draw,
    find_span,
    net_cost,
    set_pins,
    spread_demand,
    tree_length,
    weigh_crowding,
    weigh_nets,
    weigh_pair,
)

ROUNDING = 1e-3  # far more than sums of costs are ever wrong by, far less than what decides
NEAR_PIN = 6.0  # mm; a part sent to one of its nets lands within this of a pin of it


@compiled
def weigh_row(
    w: Yards, site: Any, variant: Any, at: Any, pairs: Pairs, row: int, a: int, va: int, sa: int, skip: int
) -> Any:
    """Fill row `row` of the new pair costs for part `a` at `sa`; return its sums without pair (a, skip)."""
    over, soft = 0.0, 0.0
    x, y = site[sa, 0], site[sa, 1]
    for j in range(variant.shape[0]):
        if j in (a, skip):
            continue
        o, q = weigh_pair(w, a, va, x, y, j, variant[j], site[at[j], 0], site[at[j], 1])
        pairs.new_overlap[row, j], pairs.new_soft[row, j] = o, q
        over += o
        soft += q
    return over, soft


@compiled
def weigh_move(p: Problem, s: State) -> Any:
    """Return (growth of overlap, growth of the rest) if `s.move` were made; the pins are left moved."""
    over, soft = weigh_stand(p.yards, p.places.site, p.places.cost, s.variant, s.at, s.pairs, s.move)
    return over, weigh_joins(p.nets, p.bins, p.places.site, s.lengths, s.move, soft)


@compiled
def weigh_stand(w: Yards, site: Any, cost: Any, variant: Any, at: Any, pairs: Pairs, move: Any) -> Any:
    """Return (growth of overlap, growth of what else depends on where parts stand) if `move` were made."""
    a, va, sa, b, vb, sb = move[0], move[1], move[2], move[3], move[4], move[5]
    over, soft = weigh_row(w, site, variant, at, pairs, 0, a, va, sa, b)
    over -= pairs.row_overlap[a]
    soft += cost[sa] - cost[at[a]] - pairs.row_soft[a]
    if b >= 0:
        o, q = weigh_row(w, site, variant, at, pairs, 1, b, vb, sb, a)
        over += o - pairs.row_overlap[b] + pairs.overlap[a, b]
        soft += q - pairs.row_soft[b] + pairs.soft[a, b] + cost[sb] - cost[at[b]]
        o, q = weigh_pair(w, a, va, site[sa, 0], site[sa, 1], b, vb, site[sb, 0], site[sb, 1])
        pairs.new_overlap[0, b], pairs.new_soft[0, b] = o, q
        pairs.new_overlap[1, a], pairs.new_soft[1, a] = o, q
        over += o
        soft += q
    return over, soft


@compiled
def weigh_joins(nets: Nets, bins: Bins, site: Any, lengths: Lengths, move: Any, soft: float) -> Any:
    """Return `soft` and the growth of what joins the parts if `move` were made; the pins are left moved."""
    move[6] += 1
    a, va, sa, b, vb, sb, stamp = move[0], move[1], move[2], move[3], move[4], move[5], move[6]
    set_pins(nets, lengths.pin, a, va, site[sa, 0], site[sa, 1])
    lengths.box[0] = lengths.box[1] = 1 << 30
    lengths.box[2] = lengths.box[3] = -1
    if b >= 0:
        set_pins(nets, lengths.pin, b, vb, site[sb, 0], site[sb, 1])
        soft += weigh_nets(nets, bins, lengths, b, stamp)
    soft += weigh_nets(nets, bins, lengths, a, stamp)
    lengths.crowding[1] = weigh_crowding(bins.room, lengths.demand, lengths.change, lengths.box)
    return soft + lengths.crowding[1]


@compiled
def most_saved(touch_first: Any, touch: Any, length: Any, crowding: Any, a: int, b: int) -> Any:
    """Return a bound of what moving parts `a` and `b` (-1: none) can save: all that their nets and crowding cost."""
    total = crowding[0] + ROUNDING
    for k in range(touch_first[a], touch_first[a + 1]):
        total += length[touch[k]]
    if b >= 0:
        for k in range(touch_first[b], touch_first[b + 1]):
            total += length[touch[k]]
    return total


@compiled
def accept_row(pairs: Pairs, row: int, a: int) -> None:
    """Make the new pair costs of part `a` the current ones."""
    over, soft = 0.0, 0.0
    for j in range(pairs.overlap.shape[0]):
        if j == a:
            continue
        o, q = pairs.new_overlap[row, j], pairs.new_soft[row, j]
        pairs.row_overlap[j] += o - pairs.overlap[a, j]
        pairs.row_soft[j] += q - pairs.soft[a, j]
        pairs.overlap[a, j] = pairs.overlap[j, a] = o
        pairs.soft[a, j] = pairs.soft[j, a] = q
        over += o
        soft += q
    pairs.row_overlap[a], pairs.row_soft[a] = over, soft


@compiled
def accept(p: Problem, s: State) -> None:
    """Make the move just weighed."""
    a, b, stamp = s.move[0], s.move[3], s.move[6]
    s.lengths.crowding[0] += s.lengths.crowding[1]
    s.variant[a], s.at[a] = s.move[1], s.move[2]
    accept_row(s.pairs, 0, a)
    accept_nets(p.nets, s.lengths, a, stamp)
    if b >= 0:
        s.variant[b], s.at[b] = s.move[4], s.move[5]
        accept_row(s.pairs, 1, b)
        accept_nets(p.nets, s.lengths, b, stamp)


@compiled
def put_back(p: Problem, s: State) -> None:
    """Undo what weighing a move did to the pins."""
    a, b, site = s.move[0], s.move[3], p.places.site
    set_pins(p.nets, s.lengths.pin, a, s.variant[a], site[s.at[a], 0], site[s.at[a], 1])
    if b >= 0:
        set_pins(p.nets, s.lengths.pin, b, s.variant[b], site[s.at[b], 0], site[s.at[b], 1])


@compiled
def site_near(places: Places, variant: int, x: float, y: float) -> Any:
    """Return the site of `variant` whose cell is nearest to origin (x, y), -1 if it may not stand there."""
    m = places.variant_map[variant]
    pitch = places.map_frame[m, 2]
    i = int(np.floor((x - places.map_frame[m, 0]) / pitch + 0.5))
    j = int(np.floor((y - places.map_frame[m, 1]) / pitch + 0.5))
    i = min(max(i, 0), places.map_shape[m, 0] - 1)
    j = min(max(j, 0), places.map_shape[m, 1] - 1)
    return places.grid[places.map_first[m] + j * places.map_shape[m, 0] + i]


@compiled
def middle(rect: Any, variant: int) -> Any:
    """Return the middle of a variant's courtyard about its origin."""
    return 0.5 * (rect[variant, 0] + rect[variant, 2]), 0.5 * (rect[variant, 1] + rect[variant, 3])


@compiled
def step_site(places: Places, random: Any, variant: int, site: int, window: float) -> Any:
    """Return a random site within `window` mm of `site`, -1 if the part may not stand there."""
    m = places.variant_map[variant]
    columns, rows = places.map_shape[m, 0], places.map_shape[m, 1]
    reach = max(1, int(window / places.map_frame[m, 2]))
    i = places.cell[site, 0] + draw(random, 2 * reach + 1) - reach if columns > 1 else 0
    j = places.cell[site, 1] + draw(random, 2 * reach + 1) - reach if rows > 1 else 0
    if i < 0 or j < 0 or i >= columns or j >= rows:
        return -1
    return places.grid[places.map_first[m] + j * columns + i]


@compiled
def propose(p: Problem, s: State, window: float) -> Any:
    """Draw a move into `s.move`; False if it leads nowhere.

    Six in ten moves step aside, the rest turn a part, send it to a pin of one of its nets, or swap two parts.
    """
    places, rect, site, to = p.places, p.yards.rect, p.places.site, s.move
    a = places.movable[draw(s.random, len(places.movable))]
    va, sa = s.variant[a], s.at[a]
    x, y = site[sa, 0], site[sa, 1]
    to[0], to[1], to[3], to[4], to[5] = a, va, -1, 0, 0
    kind = draw(s.random, 100)
    turns = places.variant_first[a + 1] - places.variant_first[a]
    if kind < 60:
        to[2] = step_site(places, s.random, va, sa, window)
        return to[2] >= 0 and to[2] != sa
    if kind < 75 and turns > 1:
        return turn(places, rect, s.random, s.variant, s.at, a, to)
    cx, cy = middle(rect, va)
    nets = p.nets.touch_first[a + 1] - p.nets.touch_first[a]
    if kind < 85 and nets > 0:
        net = p.nets.touch[p.nets.touch_first[a] + draw(s.random, nets)]
        first = p.nets.first[net]
        pin = p.nets.pin[first + draw(s.random, p.nets.first[net + 1] - first)]
        vn = places.variant_first[a] + draw(s.random, turns)
        nx, ny = middle(rect, vn)
        tx = s.lengths.pin[pin, 0] + (draw(s.random, 1001) * 0.002 - 1.0) * NEAR_PIN
        ty = s.lengths.pin[pin, 1] + (draw(s.random, 1001) * 0.002 - 1.0) * NEAR_PIN
        if abs(tx - x - cx) > 2.0 * window or abs(ty - y - cy) > 2.0 * window:
            return False
        to[1], to[2] = vn, site_near(places, vn, tx - nx, ty - ny)
        return to[2] >= 0 and to[2] != sa
    b = places.movable[draw(s.random, len(places.movable))]
    if a == b:
        return False
    xb, yb = site[s.at[b], 0], site[s.at[b], 1]
    if abs(x - xb) > 3.0 * window or abs(y - yb) > 3.0 * window:
        return False
    return swap(places, rect, s.variant, s.at, a, b, to)


@compiled
def turn(places: Places, rect: Any, random: Any, variant: Any, at: Any, a: int, to: Any) -> Any:
    """Draw into `to` the move in which part `a` turns about its middle; False if it leads nowhere."""
    va = variant[a]
    vn = places.variant_first[a] + draw(random, places.variant_first[a + 1] - places.variant_first[a])
    to[0], to[1], to[3], to[4], to[5] = a, vn, -1, 0, 0
    if vn == va:
        return False
    cx, cy = middle(rect, va)
    nx, ny = middle(rect, vn)
    to[2] = site_near(places, vn, places.site[at[a], 0] + cx - nx, places.site[at[a], 1] + cy - ny)
    return to[2] >= 0


@compiled
def trade(places: Places, variant: Any, at: Any, a: int, b: int, to: Any) -> Any:
    """Write into `to` the move in which two like parts change places and turns; False if they are not alike.

    They take up no more room than before, however they stand.
    """
    va, vb = variant[a], variant[b]
    na = places.variant_first[a] + vb - places.variant_first[b]
    nb = places.variant_first[b] + va - places.variant_first[a]
    if a == b or na >= places.variant_first[a + 1] or nb >= places.variant_first[b + 1]:
        return False
    to[0], to[1], to[2], to[3], to[4], to[5] = a, na, at[b], b, nb, at[a]
    return places.variant_map[na] == places.variant_map[vb] and places.variant_map[nb] == places.variant_map[va]


@compiled
def swap(places: Places, rect: Any, variant: Any, at: Any, a: int, b: int, to: Any) -> Any:
    """Write into `to` the move in which two parts change places, middle for middle; False if they cannot."""
    va, vb = variant[a], variant[b]
    ax, ay = middle(rect, va)
    bx, by = middle(rect, vb)
    xa, ya, xb, yb = places.site[at[a], 0], places.site[at[a], 1], places.site[at[b], 0], places.site[at[b], 1]
    to[0], to[1], to[2] = a, va, site_near(places, va, xb + bx - ax, yb + by - ay)
    to[3], to[4], to[5] = b, vb, site_near(places, vb, xa + ax - bx, ya + ay - by)
    return to[2] >= 0 and to[5] >= 0


@compiled
def refresh(p: Problem, s: State) -> None:
    """Work out every term of the state anew."""
    n = len(s.at)
    site, nets, lengths, pairs = p.places.site, p.nets, s.lengths, s.pairs
    s.move[6] = 0
    rows, columns = lengths.demand.shape
    for j in range(rows):
        for i in range(columns):
            lengths.demand[j, i] = 0.0
    for i in range(n):
        set_pins(nets, lengths.pin, i, s.variant[i], site[s.at[i], 0], site[s.at[i], 1])
    for net in range(len(nets.weight)):
        lengths.mark[net] = 0
        pins = nets.pin[nets.first[net] : nets.first[net + 1]]
        lengths.length[net] = net_cost(nets, net, tree_length(pins, lengths.pin, lengths.tree))
        find_span(p.bins, pins, lengths.pin, lengths.span[net])
        if nets.crowds[net] != 0:
            spread_demand(lengths.demand, lengths.span[net], lengths.length[net])
    lengths.crowding[0] = total_crowding(p, lengths.demand)
    for i in range(n):
        pairs.overlap[i, i] = pairs.soft[i, i] = 0.0
        over, soft = weigh_row(p.yards, site, s.variant, s.at, pairs, 0, i, s.variant[i], s.at[i], -1)
        pairs.row_overlap[i], pairs.row_soft[i] = over, soft
        for j in range(n):
            if j != i:
                pairs.overlap[i, j], pairs.soft[i, j] = pairs.new_overlap[0, j], pairs.new_soft[0, j]


@compiled
def total_crowding(p: Problem, demand: Any) -> float:
    """Return the price of all bins."""
    total = 0.0
    rows, columns = p.bins.room.shape
    for j in range(rows):
        for i in range(columns):
            total += crowding(demand[j, i], p.bins.room[j, i])
    return total


@compiled
def total_length(length: Any) -> float:
    """Return the sum of all weighted net lengths."""
    total = 0.0
    for k in range(len(length)):
        total += length[k]
    return total


@compiled
def totals(p: Problem, s: State) -> Any:
    """Return (overlap, cost without overlap) of the whole state."""
    over, cost = 0.0, total_length(s.lengths.length)
    for i in range(len(s.at)):
        over += 0.5 * s.pairs.row_overlap[i]
        cost += 0.5 * s.pairs.row_soft[i] + p.places.cost[s.at[i]]
    return over, cost + total_crowding(p, s.lengths.demand)
