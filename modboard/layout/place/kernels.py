"""The cost of an arrangement in compiled loops: plain arrays in, plain arrays out, the same answer every run.

Lengths are mm.  A *variant* is a part in one of its turns, a *map* the places where a variant may stand
(a lattice of cells, each empty or holding the number of a *site*), and the state one arrangement of all parts
with every term of its cost, so that a move is weighed by what it touches alone.

Net length is that of a spanning tree (Prim) in a metric between octile and city-block, which also rewards pins in
line.  Crowding follows RUDY (Spindler and Johannes, DATE 2007): the length of a net is spread over its box.
The arrays come in small groups because compiled calls hand over every array of a group.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import njit

from modboard.layout.kept import drop_stale

COMPILED: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy", "_nrt": False}
Function = TypeVar("Function", bound=Callable[..., Any])

drop_stale(Path(__file__).parent)

SHORT_LEG = 0.6  # weight of the shorter leg: 0.414 for free 45 degree tracks, 1 for city block
SLIVER = 0.3  # mm; how much a thin overlap counts beside its area
LINE_REACH = 2.6  # mm; neighbours nearer than this are invited to line up
FIRM_LENGTH = 6.0  # mm at which a firm wish costs twice what it does near by
CROWDING_WEIGHT = 0.15  # per mm² of track too many in a bin
HALO_WEIGHT = 0.45  # cost per mm of missing elbow room
SAME = 1e-4  # mm; coordinates nearer than this are in line
CONTACT = 5e-7  # mm; touching is not overlapping


def compiled(function: Function) -> Function:
    """Compile `function` once and keep the result on disk; it runs without the interpreter's lock.

    Compiled code may not allocate (`_nrt`): counting who holds which array took three quarters of the time.
    """
    return cast(Function, njit(**COMPILED)(function))


class Yards(NamedTuple):
    """What parts need to know of each other.  `*_first` arrays delimit the slices of the array after them."""

    side: Any  # of each variant: 0 top, 1 bottom
    halo: Any  # elbow room each part would like, mm
    kind: Any  # parts of one kind like to stand in line
    tidy: Any  # cost that a part saves by standing in line with one of its kind
    loose: Any  # 1 where a pair may stand shoulder to shoulder
    rect: Any  # courtyard of each variant about its origin, half the part gap added
    through_first: Any
    through: Any  # rectangles that a variant occupies on the other side too


class Nets(NamedTuple):
    """What joins the parts."""

    first: Any
    pin: Any
    weight: Any
    crowds: Any  # 1 for nets that will be tracks, 0 for mere wishes
    firm: Any  # 1 for wishes that cost ever more per mm
    touch_first: Any
    touch: Any  # nets of each part
    pin_first: Any  # of each part
    part: Any  # of each pin
    offset_first: Any  # of each variant
    offset: Any  # of the pins of a variant from its origin


class Places(NamedTuple):
    """Where the parts may stand."""

    movable: Any  # numbers of the parts that may move
    free: Any  # 1 for these, 0 for the others
    variant_first: Any
    variant_map: Any
    map_first: Any
    map_shape: Any  # columns, rows
    map_frame: Any  # x, y of the first cell and the pitch
    grid: Any
    site_first: Any
    site: Any  # x, y
    cell: Any  # column, row
    cost: Any


class Bins(NamedTuple):
    """Squares of the board and how much track each takes before it is crowded."""

    frame: Any  # x, y of the corner, side
    room: Any


class Problem(NamedTuple):
    """Everything that does not change while parts move."""

    yards: Yards
    nets: Nets
    places: Places
    bins: Bins


class Pairs(NamedTuple):
    """Overlap and soft cost, pair by pair and summed by part; `new_*` belong to the move being weighed."""

    overlap: Any
    soft: Any
    row_overlap: Any
    row_soft: Any
    new_overlap: Any
    new_soft: Any


class Lengths(NamedTuple):
    """Pin positions and weighted net lengths; `span` is the bins that each net's box covers."""

    pin: Any
    length: Any
    span: Any
    new_length: Any
    new_span: Any
    mark: Any  # stamp of the move that last weighed each net
    tree: Any  # scratch for Prim
    demand: Any  # track length in each bin
    change: Any  # of demand by the move being weighed, all zero between moves
    box: Any  # bins changed
    crowding: Any  # price of all bins, and its growth by the move last weighed


class State(NamedTuple):
    """One arrangement and its cost, kept up to date move by move."""

    variant: Any
    at: Any  # site of each part
    pairs: Pairs
    lengths: Lengths
    random: Any  # generator state
    move: Any  # being weighed: a, its new variant and site, b or -1, its new variant and site, stamp
    team: Any  # parts that move together, and to which variants and sites


@compiled
def draw(random: Any, below: int) -> Any:
    """Return a whole number in [0, below) by xorshift64* (Vigna, ACM Trans. Math. Softw. 42, 2016)."""
    x = random[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    random[0] = x
    return np.int64((x * np.uint64(2685821657736338717)) >> np.uint64(33)) % below


@compiled
def tree_length(pins: Any, xy: Any, near: Any) -> float:
    """Return the length of the shortest tree that joins `pins` directly; `near` is scratch."""
    count = len(pins)
    total = 0.0
    last = pins[0]
    for k in range(1, count):
        near[k] = 1e30
    for _ in range(1, count):
        best, chosen = 1e30, 1
        x, y = xy[last, 0], xy[last, 1]
        for k in range(1, count):
            if near[k] < 0.0:
                continue
            pin = pins[k]
            dx, dy = abs(xy[pin, 0] - x), abs(xy[pin, 1] - y)
            away = dx + SHORT_LEG * dy if dx > dy else dy + SHORT_LEG * dx
            if away < near[k]:
                near[k] = away
            else:
                away = near[k]
            if away < best:
                best, chosen = away, k
        total += best
        last = pins[chosen]
        near[chosen] = -1.0
    return total


@compiled
def net_cost(nets: Nets, net: int, length: float) -> Any:
    """Return what `length` mm of a net cost."""
    if nets.firm[net] != 0:
        length *= 1.0 + (length / FIRM_LENGTH) ** 2
    return length * nets.weight[net]


@compiled
def box_overlap(a0: float, a1: float, a2: float, a3: float, b0: float, b1: float, b2: float, b3: float) -> float:
    """Return how badly two rectangles overlap (area and thickness), 0 if they do not."""
    ox = min(a2, b2) - max(a0, b0)
    oy = min(a3, b3) - max(a1, b1)
    if ox <= CONTACT or oy <= CONTACT:
        return 0.0
    return ox * oy + SLIVER * min(ox, oy)


@compiled
def lead_overlap(through: Any, x: float, y: float, b0: float, b1: float, b2: float, b3: float) -> float:
    """Return how badly leads that come through at (x, y) overlap a courtyard on the other side."""
    total = 0.0
    for k in range(through.shape[0]):
        total += box_overlap(x + through[k, 0], y + through[k, 1], x + through[k, 2], y + through[k, 3], b0, b1, b2, b3)
    return total


@compiled
def weigh_pair(w: Yards, i: int, vi: int, xi: float, yi: float, j: int, vj: int, xj: float, yj: float) -> Any:
    """Return (overlap, soft cost) of two parts: elbow room and lining up are the soft part."""
    a0, a1, a2, a3 = xi + w.rect[vi, 0], yi + w.rect[vi, 1], xi + w.rect[vi, 2], yi + w.rect[vi, 3]
    b0, b1, b2, b3 = xj + w.rect[vj, 0], yj + w.rect[vj, 1], xj + w.rect[vj, 2], yj + w.rect[vj, 3]
    gap = max(b0 - a2, a0 - b2, b1 - a3, a1 - b3)
    want = 0.5 * (w.halo[i] + w.halo[j])
    if gap > max(want, LINE_REACH):
        return 0.0, 0.0
    if w.side[vi] != w.side[vj]:
        overlap = lead_overlap(w.through[w.through_first[vi] : w.through_first[vi + 1]], xi, yi, b0, b1, b2, b3)
        overlap += lead_overlap(w.through[w.through_first[vj] : w.through_first[vj + 1]], xj, yj, a0, a1, a2, a3)
        return overlap, 0.0
    overlap = box_overlap(a0, a1, a2, a3, b0, b1, b2, b3)
    soft = 0.0
    if want > 0.0 and gap < want and w.loose[i, j] == 0:
        lack = want - max(gap, 0.0)
        soft += HALO_WEIGHT * lack * (1.0 + lack / want)
    if w.kind[i] == w.kind[j] and gap < LINE_REACH:
        in_x = abs(a0 + a2 - b0 - b2) < SAME and abs((a2 - a0) - (b2 - b0)) < SAME
        in_y = abs(a1 + a3 - b1 - b3) < SAME and abs((a3 - a1) - (b3 - b1)) < SAME
        if in_x or in_y:
            soft -= min(w.tidy[i], w.tidy[j])
    return overlap, soft


@compiled
def set_pins(nets: Nets, pin: Any, part: int, variant: int, x: float, y: float) -> None:
    """Move the pins of a part to where they are with its origin at (x, y)."""
    first, start = nets.offset_first[variant], nets.pin_first[part]
    for k in range(nets.pin_first[part + 1] - start):
        pin[start + k, 0] = x + nets.offset[first + k, 0]
        pin[start + k, 1] = y + nets.offset[first + k, 1]


@compiled
def find_span(bins: Bins, pins: Any, xy: Any, span: Any) -> None:
    """Note in `span` the bins (first column and row, last column and row) that the box round a net covers."""
    x0, y0, x1, y1 = 1e30, 1e30, -1e30, -1e30
    for pin in pins:
        x0, x1 = min(x0, xy[pin, 0]), max(x1, xy[pin, 0])
        y0, y1 = min(y0, xy[pin, 1]), max(y1, xy[pin, 1])
    rows, columns = bins.room.shape
    left, low, pitch = bins.frame[0], bins.frame[1], bins.frame[2]
    span[0] = min(max(int((x0 - left) / pitch), 0), columns - 1)
    span[1] = min(max(int((y0 - low) / pitch), 0), rows - 1)
    span[2] = min(max(int((x1 - left) / pitch), 0), columns - 1)
    span[3] = min(max(int((y1 - low) / pitch), 0), rows - 1)


@compiled
def spread_demand(grid: Any, span: Any, length: float) -> None:
    """Spread the track length of a net evenly over the bins of its box."""
    share = length / ((span[2] - span[0] + 1) * (span[3] - span[1] + 1))
    for j in range(span[1], span[3] + 1):
        for i in range(span[0], span[2] + 1):
            grid[j, i] += share


@compiled
def crowding(demand: float, room: float) -> float:
    """Return the price of a bin."""
    over = demand - room
    return CROWDING_WEIGHT * over * over if over > 0.0 else 0.0


@compiled
def weigh_crowding(room: Any, demand: Any, change: Any, box: Any) -> float:
    """Return the growth of the price of all bins in `box`, and wipe the change."""
    delta = 0.0
    for j in range(box[1], box[3] + 1):
        for i in range(box[0], box[2] + 1):
            if change[j, i] != 0.0:
                delta += crowding(demand[j, i] + change[j, i], room[j, i]) - crowding(demand[j, i], room[j, i])
                change[j, i] = 0.0
    return delta


@compiled
def weigh_nets(nets: Nets, bins: Bins, s: Lengths, part: int, stamp: int) -> float:
    """Weigh the nets of `part` not yet stamped; return the growth of length, widen the box of bins changed."""
    delta = 0.0
    box = s.box
    for k in range(nets.touch_first[part], nets.touch_first[part + 1]):
        net = nets.touch[k]
        if s.mark[net] == stamp:
            continue
        s.mark[net] = stamp
        pins = nets.pin[nets.first[net] : nets.first[net + 1]]
        length = net_cost(nets, net, tree_length(pins, s.pin, s.tree))
        s.new_length[net] = length
        delta += length - s.length[net]
        if nets.crowds[net] == 0:
            continue
        old, new = s.span[net], s.new_span[net]
        find_span(bins, pins, s.pin, new)
        spread_demand(s.change, old, -s.length[net])
        spread_demand(s.change, new, length)
        box[0], box[1] = min(box[0], old[0], new[0]), min(box[1], old[1], new[1])
        box[2], box[3] = max(box[2], old[2], new[2]), max(box[3], old[3], new[3])
    return delta


@compiled
def accept_nets(nets: Nets, s: Lengths, part: int, stamp: int) -> None:
    """Make the lengths just weighed the current ones."""
    for k in range(nets.touch_first[part], nets.touch_first[part + 1]):
        net = nets.touch[k]
        if s.mark[net] != stamp:
            continue
        s.mark[net] = 0
        if nets.crowds[net] != 0:
            spread_demand(s.demand, s.span[net], -s.length[net])
            spread_demand(s.demand, s.new_span[net], s.new_length[net])
            for c in range(4):
                s.span[net, c] = s.new_span[net, c]
        s.length[net] = s.new_length[net]
