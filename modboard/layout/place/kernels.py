"""The inner loops of placement: plain arrays in, plain arrays out, the same answer every run.

Lengths are mm.  A *variant* is a part in one of its turns, a *map* the places where a variant may stand
(a lattice of cells, each empty or holding the number of a *site*), and a *state* one arrangement of all parts
with every term of its cost, so that a move is weighed by what it touches alone.

The schedule is that of Betz and Rose (Field-Programmable Logic, 1997) after Lam and Delosme (DAC 1988); the net
length is that of a spanning tree (Prim) in a metric between octile and city-block, which also rewards pins in line.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])

SHORT_LEG = 0.6  # weight of the shorter leg: 0.414 for free 45 degree tracks, 1 for city block
SLIVER = 0.3  # mm; how much a thin overlap counts beside its area
LINE_REACH = 2.5  # mm; neighbours nearer than this are invited to line up
LINE_BONUS = 0.35  # mm of track that a pair in line is worth
CROWDING_WEIGHT = 0.15  # per mm² of track too many in a bin
HALO_WEIGHT = 0.45  # cost per mm of missing elbow room
SAME = 1e-4  # mm; coordinates nearer than this are in line
EPS = 5e-7  # mm; contact is not overlap


class Problem(NamedTuple):
    """What does not change while parts move.  `*_first` arrays delimit the slices of the array after them."""

    side: Any  # of each part: 0 top, 1 bottom
    movable: Any
    halo: Any  # elbow room each part would like, mm
    kind: Any  # parts of one kind like to stand in line; -1: does not care
    loose: Any  # 1 where a pair may stand shoulder to shoulder
    variant_first: Any
    variant_map: Any
    rect: Any  # courtyard of each variant about its origin, half the part gap added
    through_first: Any
    through: Any  # rectangles that a variant occupies on the other side too
    pin_first: Any
    offset_first: Any
    offset: Any  # of the pins of a variant from its origin
    net_first: Any
    net_pin: Any
    net_weight: Any
    crowds: Any  # 1 for nets that will be tracks, 0 for mere wishes
    touch_first: Any
    touch_net: Any  # nets of each part
    map_first: Any
    map_shape: Any
    map_frame: Any  # x, y of the first cell and the pitch
    grid: Any
    site_first: Any
    site: Any  # x, y
    site_cell: Any
    site_cost: Any
    bin_frame: Any  # x, y, pitch of the congestion bins
    bin_room: Any  # track length per area each bin takes before it is crowded


class State(NamedTuple):
    """One arrangement and its cost, kept up to date move by move."""

    variant: Any
    at: Any  # site of each part
    pin: Any  # pin positions
    length: Any  # weighted length of each net
    overlap: Any  # pair by pair
    soft: Any
    row_overlap: Any
    row_soft: Any
    demand: Any  # track demand of each bin
    span: Any  # bins that each net's box covers
    new_length: Any
    new_overlap: Any
    new_soft: Any
    new_span: Any
    mark: Any  # stamp of the move that last weighed each net
    change: Any  # of demand, all zero between moves
    box: Any  # bins changed by a move
    tree: Any  # scratch for Prim
    random: Any  # generator state


def compiled(function: Function) -> Function:
    """Compile `function` once and keep the result on disk; it runs without the interpreter's lock."""
    return cast(Function, njit(cache=True, nogil=True)(function))


@compiled
def draw(random: Any, below: int) -> int:
    """Return a whole number in [0, below) by xorshift64* (Vigna, ACM Trans. Math. Softw. 42, 2016)."""
    x = random[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    random[0] = x
    return np.int64((x * np.uint64(2685821657736338717)) >> np.uint64(33)) % below


@compiled
def tree_length(p: Problem, s: State, net: int) -> float:
    """Return the weighted length of the shortest tree that joins the pins of `net` directly."""
    first, count = p.net_first[net], p.net_first[net + 1] - p.net_first[net]
    near, total = s.tree, 0.0
    last = p.net_pin[first]
    for k in range(1, count):
        near[k] = 1e30
    for _ in range(1, count):
        best, chosen = 1e30, 1
        for k in range(1, count):
            if near[k] < 0.0:
                continue
            pin = p.net_pin[first + k]
            dx, dy = abs(s.pin[pin, 0] - s.pin[last, 0]), abs(s.pin[pin, 1] - s.pin[last, 1])
            away = dx + SHORT_LEG * dy if dx > dy else dy + SHORT_LEG * dx
            near[k] = min(near[k], away)
            if near[k] < best:
                best, chosen = near[k], k
        total += best
        last = p.net_pin[first + chosen]
        near[chosen] = -1.0
    return total * p.net_weight[net]


@compiled
def boxes_meet(a0: float, a1: float, a2: float, a3: float, b0: float, b1: float, b2: float, b3: float) -> float:
    """Return how badly two rectangles overlap (area and thickness), 0 if they do not."""
    ox = min(a2, b2) - max(a0, b0)
    oy = min(a3, b3) - max(a1, b1)
    if ox <= EPS or oy <= EPS:
        return 0.0
    return ox * oy + SLIVER * min(ox, oy)


@compiled
def weigh_pair(p: Problem, i: int, vi: int, xi: float, yi: float, j: int, vj: int, xj: float, yj: float) -> Any:
    """Return (overlap, soft cost) of two parts: elbow room and lining up are the soft part."""
    a0, a1, a2, a3 = xi + p.rect[vi, 0], yi + p.rect[vi, 1], xi + p.rect[vi, 2], yi + p.rect[vi, 3]
    b0, b1, b2, b3 = xj + p.rect[vj, 0], yj + p.rect[vj, 1], xj + p.rect[vj, 2], yj + p.rect[vj, 3]
    overlap, soft = 0.0, 0.0
    if p.side[i] != p.side[j]:
        for k in range(p.through_first[vi], p.through_first[vi + 1]):
            t = p.through[k]
            overlap += boxes_meet(xi + t[0], yi + t[1], xi + t[2], yi + t[3], b0, b1, b2, b3)
        for k in range(p.through_first[vj], p.through_first[vj + 1]):
            t = p.through[k]
            overlap += boxes_meet(xj + t[0], yj + t[1], xj + t[2], yj + t[3], a0, a1, a2, a3)
        return overlap, soft
    gap = max(max(b0 - a2, a0 - b2), max(b1 - a3, a1 - b3))
    if gap > 8.0:
        return overlap, soft
    overlap = boxes_meet(a0, a1, a2, a3, b0, b1, b2, b3)
    if p.loose[i, j] == 0:
        want = 0.5 * (p.halo[i] + p.halo[j])
        if gap < want:
            lack = want - max(gap, 0.0)
            soft += HALO_WEIGHT * lack * (1.0 + lack / want)
    if p.kind[i] >= 0 and p.kind[i] == p.kind[j] and gap < LINE_REACH:
        in_x = abs(a0 + a2 - b0 - b2) < SAME and abs((a2 - a0) - (b2 - b0)) < SAME
        in_y = abs(a1 + a3 - b1 - b3) < SAME and abs((a3 - a1) - (b3 - b1)) < SAME
        if in_x or in_y:
            soft -= LINE_BONUS
    return overlap, soft


@compiled
def set_pins(p: Problem, s: State, part: int, variant: int, site: int) -> None:
    """Move the pins of a part to where they are at `site`."""
    first = p.offset_first[variant]
    for k in range(p.pin_first[part + 1] - p.pin_first[part]):
        s.pin[p.pin_first[part] + k, 0] = p.site[site, 0] + p.offset[first + k, 0]
        s.pin[p.pin_first[part] + k, 1] = p.site[site, 1] + p.offset[first + k, 1]


@compiled
def crowding(demand: float, room: float) -> float:
    """Return the price of a bin."""
    over = demand - room
    return CROWDING_WEIGHT * over * over if over > 0.0 else 0.0


@compiled
def find_span(p: Problem, s: State, net: int) -> None:
    """Note in `new_span` the bins (x0, y0, x1, y1, inclusive) that the box round a net covers."""
    x0, y0, x1, y1 = 1e30, 1e30, -1e30, -1e30
    for k in range(p.net_first[net], p.net_first[net + 1]):
        pin = p.net_pin[k]
        x0, x1 = min(x0, s.pin[pin, 0]), max(x1, s.pin[pin, 0])
        y0, y1 = min(y0, s.pin[pin, 1]), max(y1, s.pin[pin, 1])
    rows, columns = p.bin_room.shape
    pitch = p.bin_frame[2]
    s.new_span[net, 0] = min(max(int((x0 - p.bin_frame[0]) / pitch), 0), columns - 1)
    s.new_span[net, 1] = min(max(int((y0 - p.bin_frame[1]) / pitch), 0), rows - 1)
    s.new_span[net, 2] = min(max(int((x1 - p.bin_frame[0]) / pitch), 0), columns - 1)
    s.new_span[net, 3] = min(max(int((y1 - p.bin_frame[1]) / pitch), 0), rows - 1)


@compiled
def spread_demand(grid: Any, span: Any, length: float) -> None:
    """Spread the track length of a net evenly over the bins of its box (Spindler and Johannes, DATE 2007)."""
    share = length / ((span[2] - span[0] + 1) * (span[3] - span[1] + 1))
    for j in range(span[1], span[3] + 1):
        for i in range(span[0], span[2] + 1):
            grid[j, i] += share


@compiled
def weigh_nets(p: Problem, s: State, part: int, stamp: int, box: Any) -> float:
    """Weigh the nets of `part` not yet stamped; return the growth of length, widen `box` to the bins changed."""
    delta = 0.0
    for k in range(p.touch_first[part], p.touch_first[part + 1]):
        net = p.touch_net[k]
        if s.mark[net] == stamp:
            continue
        s.mark[net] = stamp
        s.new_length[net] = tree_length(p, s, net)
        delta += s.new_length[net] - s.length[net]
        find_span(p, s, net)
        if p.crowds[net] == 0:
            continue
        spread_demand(s.change, s.span[net], -s.length[net])
        spread_demand(s.change, s.new_span[net], s.new_length[net])
        box[0] = min(box[0], s.span[net, 0], s.new_span[net, 0])
        box[1] = min(box[1], s.span[net, 1], s.new_span[net, 1])
        box[2] = max(box[2], s.span[net, 2], s.new_span[net, 2])
        box[3] = max(box[3], s.span[net, 3], s.new_span[net, 3])
    return delta


@compiled
def weigh_crowding(p: Problem, s: State, box: Any) -> float:
    """Return the growth of the price of all bins in `box`, and wipe the change."""
    delta = 0.0
    for j in range(box[1], box[3] + 1):
        for i in range(box[0], box[2] + 1):
            change = s.change[j, i]
            if change != 0.0:
                now, room = s.demand[j, i], p.bin_room[j, i]
                delta += crowding(now + change, room) - crowding(now, room)
                s.change[j, i] = 0.0
    return delta


@compiled
def weigh_row(p: Problem, s: State, row: int, a: int, va: int, sa: int, skip: int) -> Any:
    """Fill row `row` of the new pair costs for part `a` at `sa`; return its sums without pair (a, skip)."""
    over, soft = 0.0, 0.0
    x, y = p.site[sa, 0], p.site[sa, 1]
    for j in range(p.side.shape[0]):
        if j == a or j == skip:
            continue
        o, q = weigh_pair(p, a, va, x, y, j, s.variant[j], p.site[s.at[j], 0], p.site[s.at[j], 1])
        s.new_overlap[row, j], s.new_soft[row, j] = o, q
        over += o
        soft += q
    return over, soft


@compiled
def weigh_move(p: Problem, s: State, a: int, va: int, sa: int, b: int, vb: int, sb: int, stamp: int) -> Any:
    """Return (growth of overlap, growth of the rest) if `a` (and `b`, unless -1) moved; pins are left moved."""
    over, soft = weigh_row(p, s, 0, a, va, sa, b)
    over -= s.row_overlap[a]
    soft += p.site_cost[sa] - p.site_cost[s.at[a]] - s.row_soft[a]
    set_pins(p, s, a, va, sa)
    if b >= 0:
        o, q = weigh_row(p, s, 1, b, vb, sb, a)
        over += o - s.row_overlap[b] + s.overlap[a, b]
        soft += q - s.row_soft[b] + s.soft[a, b] + p.site_cost[sb] - p.site_cost[s.at[b]]
        o, q = weigh_pair(p, a, va, p.site[sa, 0], p.site[sa, 1], b, vb, p.site[sb, 0], p.site[sb, 1])
        s.new_overlap[0, b], s.new_soft[0, b] = o, q
        s.new_overlap[1, a], s.new_soft[1, a] = o, q
        over += o
        soft += q
        set_pins(p, s, b, vb, sb)
    s.box[0] = s.box[1] = 1 << 30
    s.box[2] = s.box[3] = -1
    soft += weigh_nets(p, s, a, stamp, s.box)
    if b >= 0:
        soft += weigh_nets(p, s, b, stamp, s.box)
    return over, soft + weigh_crowding(p, s, s.box)


@compiled
def accept_row(s: State, row: int, a: int) -> None:
    """Make the new pair costs of part `a` the current ones."""
    over, soft = 0.0, 0.0
    for j in range(s.overlap.shape[0]):
        if j == a:
            continue
        o, q = s.new_overlap[row, j], s.new_soft[row, j]
        s.row_overlap[j] += o - s.overlap[a, j]
        s.row_soft[j] += q - s.soft[a, j]
        s.overlap[a, j] = s.overlap[j, a] = o
        s.soft[a, j] = s.soft[j, a] = q
        over += o
        soft += q
    s.row_overlap[a], s.row_soft[a] = over, soft


@compiled
def accept(p: Problem, s: State, a: int, va: int, sa: int, b: int, vb: int, sb: int, stamp: int) -> None:
    """Make the move just weighed."""
    s.variant[a], s.at[a] = va, sa
    accept_row(s, 0, a)
    if b >= 0:
        s.variant[b], s.at[b] = vb, sb
        accept_row(s, 1, b)
    for part in (a, b):
        if part < 0:
            continue
        for k in range(p.touch_first[part], p.touch_first[part + 1]):
            net = p.touch_net[k]
            if s.mark[net] != stamp:
                continue
            s.mark[net] = 0
            if p.crowds[net] != 0:
                spread_demand(s.demand, s.span[net], -s.length[net])
                spread_demand(s.demand, s.new_span[net], s.new_length[net])
            s.length[net] = s.new_length[net]
            for k2 in range(4):
                s.span[net, k2] = s.new_span[net, k2]


@compiled
def put_back(p: Problem, s: State, a: int, b: int) -> None:
    """Undo what weighing a move did."""
    set_pins(p, s, a, s.variant[a], s.at[a])
    if b >= 0:
        set_pins(p, s, b, s.variant[b], s.at[b])


@compiled
def site_near(p: Problem, variant: int, x: float, y: float) -> int:
    """Return the site of `variant` whose cell is nearest to origin (x, y), -1 if it may not stand there."""
    m = p.variant_map[variant]
    pitch = p.map_frame[m, 2]
    i = int(np.floor((x - p.map_frame[m, 0]) / pitch + 0.5))
    j = int(np.floor((y - p.map_frame[m, 1]) / pitch + 0.5))
    i = min(max(i, 0), p.map_shape[m, 0] - 1)
    j = min(max(j, 0), p.map_shape[m, 1] - 1)
    return p.grid[p.map_first[m] + j * p.map_shape[m, 0] + i]


@compiled
def middle(p: Problem, variant: int) -> Any:
    """Return the middle of a variant's courtyard about its origin."""
    r = p.rect[variant]
    return 0.5 * (r[0] + r[2]), 0.5 * (r[1] + r[3])
