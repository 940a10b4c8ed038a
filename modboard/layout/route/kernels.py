"""The router's inner loops, compiled by numba: plain arrays in, plain arrays out.

A node is ``layer * N + row * W + column`` with N = W * H.  Costs are integers so that results are the same with and
without compilation.  `own[pen, node]` says whose fixed copper bars a pen's centre from a node: FREE, BARRED (to
everybody) or the one net that may pass.  `occ[pen, node]` counts the routed nets whose copper comes too near.
"""

from __future__ import annotations

from pathlib import Path

import numba
import numpy as np

from modboard.layout.kept import drop_stale

drop_stale(Path(__file__).parent)

FREE = -1
BARRED = -2
STRAIGHT = 100  # cost of one step along a row or column
DIAGONAL = 141
NECK = 1
SHY = 2
CROWDED_VIA = 2400  # of the price of a link's end, what crowding multiplies: about the room that its land takes
THROUGH_PAD = 15  # changing layer at the net's own plated pad
INFLATION = 0.5  # cells²: a diagonal step passes a corner this much nearer than its two nodes do

DX = np.array([1, 1, 0, -1, -1, -1, 0, 1], np.int64)  # the eight directions, anticlockwise from +x
DY = np.array([0, 1, 1, 1, 0, -1, -1, -1], np.int64)
EVERY_WAY = 255
OTHER_LAYER = 256
ACROSS = 512  # where runs have a least length: to or from one along a column, OTHER_LAYER to or from one along a row
ROWS, COLUMNS = 1 | 16, 4 | 64  # along a row, along a column
# Bit d of entry n is set where directions d and n are a right angle or more apart: a branch may leave that way.
SQUARE_OR_WIDER = np.array(
    [sum(1 << d for d in range(8) if min((d - n) % 8, (n - d) % 8) >= 2) for n in range(8)], np.uint8
)

# Bit d of entry n is set where direction d is at most a right angle off direction n; the other layer is always open.
AHEAD = np.array(
    [OTHER_LAYER + sum(1 << d for d in range(8) if min((d - n) % 8, (n - d) % 8) <= 2) for n in range(8)], np.int64
)

jit = numba.njit(cache=True, nogil=True, error_model="numpy")


@jit
def _segment_distance2(x: float, y: float, ax: float, ay: float, bx: float, by: float):  # type: ignore[no-untyped-def]
    """Squared distance of a point to a segment, and whether the nearest point is one of its ends."""
    dx, dy = bx - ax, by - ay
    length2 = dx * dx + dy * dy
    if length2 == 0.0:
        return (x - ax) ** 2 + (y - ay) ** 2, True
    t = ((x - ax) * dx + (y - ay) * dy) / length2
    if t < 0.0:
        return (x - ax) ** 2 + (y - ay) ** 2, True
    if t > 1.0:
        return (x - bx) ** 2 + (y - by) ** 2, True
    return (x - ax - t * dx) ** 2 + (y - ay - t * dy) ** 2, False


@jit
def _near_core(x, y, points, closed, reach):  # type: ignore[no-untyped-def]
    """Tell whether a node lies nearer than `reach` cells to a core (point, polyline or filled polygon)."""
    count = points.shape[0]
    if count == 1:
        return (x - points[0, 0]) ** 2 + (y - points[0, 1]) ** 2 < reach * reach + INFLATION - 1e-9
    inside = False
    last = count if closed else count - 1
    for i in range(last):
        j = i + 1 if i + 1 < count else 0
        ax, ay, bx, by = points[i, 0], points[i, 1], points[j, 0], points[j, 1]
        d2, at_end = _segment_distance2(x, y, ax, ay, bx, by)
        if d2 < reach * reach - 1e-9 or (at_end and d2 < reach * reach + INFLATION - 1e-9):
            return True
        if closed and (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            inside = not inside
    return inside


@jit
def bar_core(own, base, width, height, points, closed, reach, net):  # type: ignore[no-untyped-def]
    """Bar all nets but `net` from the nodes nearer than `reach` cells to a core (points in cells) in `own`[base:]."""
    x0 = max(0, int(np.floor(points[:, 0].min() - reach - 1)))
    x1 = min(width - 1, int(np.ceil(points[:, 0].max() + reach + 1)))
    y0 = max(0, int(np.floor(points[:, 1].min() - reach - 1)))
    y1 = min(height - 1, int(np.ceil(points[:, 1].max() + reach + 1)))
    for y in range(y0, y1 + 1):
        for x in range(x0, x1 + 1):
            v = base + y * width + x
            if own[v] == BARRED or own[v] == net:
                continue
            if _near_core(float(x), float(y), points, closed, reach):
                own[v] = net if own[v] == FREE else BARRED


@jit
def count_track(occ, seen, mark, sign, base, width, height, ax, ay, bx, by, reach):  # type: ignore[no-untyped-def]
    """Add `sign` to `occ` at nodes nearer than `reach` cells to a segment, each node once per `mark`."""
    x0 = max(0, int(np.floor(min(ax, bx) - reach - 1)))
    x1 = min(width - 1, int(np.ceil(max(ax, bx) + reach + 1)))
    y0 = max(0, int(np.floor(min(ay, by) - reach - 1)))
    y1 = min(height - 1, int(np.ceil(max(ay, by) + reach + 1)))
    r2 = reach * reach - 1e-9
    for y in range(y0, y1 + 1):
        for x in range(x0, x1 + 1):
            v = base + y * width + x
            if seen[v] == mark:
                continue
            d2, at_end = _segment_distance2(float(x), float(y), ax, ay, bx, by)
            if d2 < r2 or (at_end and d2 < r2 + INFLATION):
                seen[v] = mark
                occ[v] += sign


@jit
def count_net(occ, seen, mark, sign, width, height, pieces, reaches, via_pen):  # type: ignore[no-untyped-def]
    """Add or remove one net's copper for every pen.

    `pieces` (n, 6): ax, ay, bx, by, layer (2 = both, a via), size index.  `reaches[size, pen]` in cells.  Pens for
    which `via_pen` is set keep their counts for both layers in the first half of their row.
    """
    n = width * height
    for i in range(pieces.shape[0]):
        ax, ay = float(pieces[i, 0]), float(pieces[i, 1])
        bx, by = float(pieces[i, 2]), float(pieces[i, 3])
        layer, size = pieces[i, 4], pieces[i, 5]
        for pen in range(occ.shape[0]):
            reach = reaches[size, pen]
            if via_pen[pen]:
                count_track(occ[pen], seen[pen], mark, sign, 0, width, height, ax, ay, bx, by, reach)
            else:
                for half in range(2):
                    if layer in (2, half):
                        count_track(occ[pen], seen[pen], mark, sign, half * n, width, height, ax, ay, bx, by, reach)


@jit
def _push(heap, count, key):  # type: ignore[no-untyped-def]
    k = count
    while k > 0:
        p = (k - 1) >> 1
        if heap[p] <= key:
            break
        heap[k] = heap[p]
        k = p
    heap[k] = key
    return count + 1


@jit
def _pop(heap, count):  # type: ignore[no-untyped-def]
    top = heap[0]
    count -= 1
    key = heap[count]
    k = 0
    while True:
        c = 2 * k + 1
        if c >= count:
            break
        if c + 1 < count and heap[c + 1] < heap[c]:
            c += 1
        if heap[c] >= key:
            break
        heap[k] = heap[c]
        k = c
    heap[k] = key
    return top, count


@jit
def _bound(x, y, left, count, straight, extra):  # type: ignore[no-untyped-def]
    """Least cost from a node to the nearest of the first `count` boxes in `left`.

    A step costs `straight`, the second leg of a diagonal one `extra` more.
    """
    best = 1 << 60
    for i in range(count):
        dx = max(left[i, 0] - x, 0, x - left[i, 2])
        dy = max(left[i, 1] - y, 0, y - left[i, 3])
        d = straight * dx + extra * dy if dx > dy else straight * dy + extra * dx
        best = min(best, d)
    return best


@jit
def route_net(  # type: ignore[no-untyped-def]
    net, pens, own, occ, hist, zone, pad_at, width, height,
    starts, nodes, boxes, first, window, ways, diagonal,
    pressure, hard, via_cost, layer_cost, hole_reach, haste, bends, least_run,
    cost, parent, came, seen, closed, leave, mark, target, no_via, heap, tree, out, limit,
):  # fmt: skip
    """Join the groups of one net, nearest first, growing one tree (Takahashi & Matsuyama 1980, A* branches).

    `pens` = (track, neck, via) rows of `own` and `occ`.  Group i is nodes[starts[i]:starts[i+1]], `boxes[i]` its
    bounds.
    `layer_cost[layer, axis]` (percent) says what going along x (0) and y (1) costs on each layer.
    The search keeps within `window` (x0, y0, x1, y1; inside the lattice).  `ways[node]` has bit d set where direction d
    (8: the other layer) leads on from a node; a `diagonal` step costs that much.  `zone[node]` has NECK where the neck
    pen may stand in for the track pen, SHY where no branch may begin.
    `haste` (percent) above 100 trusts the bound more than it deserves: faster, at most that much dearer.  `hard` bars
    occupied nodes altogether.  `bends[k]` is the cost of turning by k eighths of a turn (0, 1, 2; more is refused, and
    any that costs less than nothing).  No run on top is shorter than `least_run` steps between its two vias.
    `leave` says in which directions a branch may leave a track: never at less than a right angle.
    Writes each branch to `out` from the joined group back to the tree, ended by (-1, cost); a row is (node, narrow).
    Returns (rows written, joined groups, next mark, nodes expanded).  Never more than `limit` nodes are expanded.
    """
    n = width * height
    track, neck, via = pens[0], pens[1], pens[2]
    groups = starts.shape[0] - 1
    done = np.zeros(groups, np.bool_)
    done[first] = True
    tree_count = 0
    for i in range(starts[first], starts[first + 1]):
        tree[tree_count] = nodes[i]
        tree_count += 1
    for g in range(groups):
        if g != first:
            for i in range(starts[g], starts[g + 1]):
                target[nodes[i]] = g
    written = 0
    joined = 1
    expanded = 0
    scale = min(layer_cost[0, 0], layer_cost[0, 1], layer_cost[1, 0], layer_cost[1, 1]) * haste
    straight, extra = STRAIGHT * scale // 10000, (diagonal - STRAIGHT) * scale // 10000
    low_x, low_y, high_x, high_y = window[0], window[1], window[2], window[3]
    steps = np.empty((2, 8), np.int64)
    for half in range(2):
        for d in range(8):
            if d & 1:
                steps[half, d] = diagonal * (layer_cost[half, 0] + layer_cost[half, 1]) // 200
            else:
                steps[half, d] = STRAIGHT * layer_cost[half, 0 if d % 4 == 0 else 1] // 100
    new_via_mark = mark
    own_track, own_neck, own_via = own[track], own[neck], own[via]
    occ_track, occ_neck, occ_via = occ[track], occ[neck], occ[via]
    left = np.empty((groups, 4), np.int64)
    while joined < groups:
        waiting = 0
        for i in range(groups):
            if not done[i]:
                left[waiting] = boxes[i]
                waiting += 1
        mark += 1
        count = 0
        for i in range(tree_count):
            u = tree[i]
            cost[u] = 0
            parent[u] = -1
            came[u] = -1
            seen[u] = mark
            p = u if u < n else u - n
            y = p // width
            count = _push(heap, count, (_bound(p - y * width, y, left, waiting, straight, extra) << 24) | u)
        found = -1
        while count > 0 and expanded < limit:
            key, count = _pop(heap, count)
            u = key & 0xFFFFFF
            if closed[u] == mark:
                continue
            layer = 0 if u < n else 1
            p = u - layer * n
            y = p // width
            x = p - y * width
            base_cost = cost[u]
            closed[u] = mark
            expanded += 1
            if target[u] >= 0:
                found = u
                break
            heading = came[u]
            open_ways = np.int64(ways[u])
            if heading >= 0:
                open_ways &= AHEAD[heading]
            if parent[u] == -1:
                open_ways &= leave[u] | OTHER_LAYER
            if layer == 0 and least_run > 0:
                if heading < 0:
                    open_ways = np.int64(ROWS if ways[u] & OTHER_LAYER else 0) | (COLUMNS if ways[u] & ACROSS else 0)
                elif heading % 4 == 2:
                    open_ways = (open_ways & 255) | (OTHER_LAYER if ways[u] & ACROSS else 0)
            for d in range(9):
                if not (open_ways >> d) & 1:
                    continue
                if d == 8:  # the other layer
                    v = p + n if layer == 0 else p
                    tx, ty = x, y
                    if closed[v] == mark:
                        continue
                    if layer == 0 and least_run > 0 and _run(parent, u, n, least_run) < least_run:
                        continue
                    if pad_at[p] == net:
                        step = THROUGH_PAD
                    else:
                        o = own_via[p]
                        if (o not in (FREE, net)) or no_via[p] >= new_via_mark:
                            continue
                        busy = occ_via[p]
                        if busy > 0 and hard:
                            continue
                        crowd = (1.0 + hist[p] + hist[p + n]) * (1.0 + pressure * busy)
                        if least_run > 0 and via_cost > CROWDED_VIA:  # a wire link: the price is for the work
                            step = via_cost + int(CROWDED_VIA * (crowd - 1.0))
                        else:
                            step = int(via_cost * crowd)
                else:
                    tx = x + DX[d]
                    ty = y + DY[d]
                    if tx < low_x or tx > high_x or ty < low_y or ty > high_y:
                        continue
                    v = u + DY[d] * width + DX[d]
                    if closed[v] == mark:
                        continue
                    step = steps[layer, d]
                o = own_track[v]
                busy = occ_track[v]
                ok = (o in (FREE, net)) and not (hard and busy > 0)
                if not ok and zone[v] & NECK:
                    o = own_neck[v]
                    busy = occ_neck[v]
                    ok = (o in (FREE, net)) and not (hard and busy > 0)
                    if d < 8:
                        step = step * 3 // 2
                if not ok:
                    continue
                turn = 0
                if d < 8:
                    if heading >= 0:
                        turn = abs(d - heading)
                        if turn > 4:
                            turn = 8 - turn
                        if bends[turn] < 0:
                            continue
                    if busy > 0 or hist[v] != 0.0:
                        step = int(step * (1.0 + hist[v]) * (1.0 + pressure * busy))
                    step += bends[turn]
                total = base_cost + step
                if seen[v] != mark or total < cost[v]:
                    seen[v] = mark
                    cost[v] = total
                    parent[v] = u
                    came[v] = d if d < 8 else -1
                    if count < heap.shape[0] - 1:
                        f = total + _bound(tx, ty, left, waiting, straight, extra)
                        count = _push(heap, count, (f << 24) | v)
        if found < 0:
            break
        g = target[found]
        u = found
        child = -1
        while u != -1:
            if u != found and (parent[u] != -1 or leave[u] != EVERY_WAY):
                if child >= 0 and came[child] >= 0:
                    leave[u] &= SQUARE_OR_WIDER[came[child]]
                if parent[u] != -1 and came[u] >= 0:
                    leave[u] &= SQUARE_OR_WIDER[(came[u] + 4) % 8]
            child = u
            narrow = 0
            o = own_track[u]
            if (o not in (FREE, net)) or (hard and occ_track[u] > 0):
                narrow = 1
            out[written, 0] = u
            out[written, 1] = narrow
            written += 1
            if parent[u] != -1:
                if not zone[u] & SHY:
                    tree[tree_count] = u
                    tree_count += 1
                if parent[u] // n != u // n and pad_at[u % n] != net:
                    _forbid_vias(no_via, mark, u % n, width, height, hole_reach)
            u = parent[u]
        out[written, 0] = -1
        out[written, 1] = cost[found]
        written += 1
        for i in range(starts[g], starts[g + 1]):
            target[nodes[i]] = -1
            tree[tree_count] = nodes[i]
            tree_count += 1
        done[g] = True
        joined += 1
    for i in range(nodes.shape[0]):
        target[nodes[i]] = -1
    for i in range(written):
        if out[i, 0] >= 0:
            leave[out[i, 0]] = EVERY_WAY
    return written, joined, mark + 1, expanded


@jit
def _run(parent, u, n, enough):  # type: ignore[no-untyped-def]
    """Return how many steps on top lead up to a node, counting no more than `enough`."""
    steps = 0
    while steps < enough and parent[u] != -1 and parent[u] < n:
        u = parent[u]
        steps += 1
    return steps


@jit
def _forbid_vias(no_via, mark, p, width, height, reach):  # type: ignore[no-untyped-def]
    """Keep further vias of the same net a hole's distance from a via just made."""
    cx, cy = p % width, p // width
    r = int(np.ceil(reach))
    for y in range(max(0, cy - r), min(height, cy + r + 1)):
        for x in range(max(0, cx - r), min(width, cx + r + 1)):
            if (x - cx) ** 2 + (y - cy) ** 2 < reach * reach - 1e-9:
                no_via[y * width + x] = mark


@jit
def clashes(rows, pens, occ, hist, charge, spread, width, height, via_at):  # type: ignore[no-untyped-def]
    """Count the nodes of a routed net where another net comes too near; add `charge` to their history.

    The net's own copper counts once everywhere along itself, so more than one means company.  The charge falls off
    linearly to nothing `spread` cells away: a track that shifts by a cell is still in the way.
    """
    n = width * height
    bad = 0
    for i in range(rows.shape[0]):
        u = rows[i, 0]
        if u < 0:
            continue
        pen = pens[1] if rows[i, 1] != 0 else pens[0]
        hit = occ[pen, u] > 1
        via = via_at[i] != 0 and occ[pens[2], u % n] > 1
        bad += int(hit) + int(via)
        if charge > 0.0 and (hit or via):
            _charge(hist, u, charge, spread, width, height)
            if via:
                _charge(hist, (u + n) % (2 * n), charge, spread, width, height)
    return bad


@jit
def _charge(hist, u, charge, spread, width, height):  # type: ignore[no-untyped-def]
    n = width * height
    base = u - u % n
    cx, cy = u % n % width, u % n // width
    for y in range(max(0, cy - spread), min(height, cy + spread + 1)):
        for x in range(max(0, cx - spread), min(width, cx + spread + 1)):
            away = np.sqrt((x - cx) ** 2 + (y - cy) ** 2)
            if away < spread:
                hist[base + y * width + x] += charge * (1.0 - away / spread)
