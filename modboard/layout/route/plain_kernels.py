"""Polish a routed plain grid, compiled: take a few neighbouring nets up, negotiate anew round them, keep what pays.

A ruin-and-recreate search (Schrimpf et al. 2000) accepted as in simulated annealing (Kirkpatrick et al. 1983); every
path is found by the router's own `kernels.route_net`.  Costs are whole steps; a net that is missing counts `MISSING`.

`edges[net, k]` are the two nodes of an edge of a net's tree, `counts[net]` how many there are.  Nets and pin groups are
packed: groups `firsts[net]:firsts[net + 1]`, of which group g is `nodes[starts[g]:starts[g + 1]]`.
"""

from __future__ import annotations

import numba
import numpy as np

from modboard.layout.route import kernels

MISSING = 10_000
SCALE = 1600  # percent of the kernel's price of a step: leaves room for noise that only decides between equals
MOST_TOUCHED = 14  # nets in one move
MOST_ROUNDS = 12

jit = numba.njit(cache=True, nogil=True)


@jit
def _count(occ, seen, mark, sign, n, edges, count):  # type: ignore[no-untyped-def]
    """Add a net to (or take it from) the counts of nets per node and per column of two layers."""
    for k in range(count):
        for end in range(2):
            u = edges[k, end]
            if seen[0, u] != mark:
                seen[0, u] = mark
                occ[0, u] += sign
            p = u % n
            if seen[1, p] != mark:
                seen[1, p] = mark
                occ[1, p] += sign


@jit
def _cost(edges, count, n, via_cost, pad_at, net):  # type: ignore[no-untyped-def]
    total = 0
    for k in range(count):
        if edges[k, 0] // n == edges[k, 1] // n:
            total += 1
        elif pad_at[edges[k, 0] % n] != net:
            total += via_cost
    return total


@jit
def _root(up, u):  # type: ignore[no-untyped-def]
    while up[u] != u:
        up[u] = up[up[u]]
        u = up[u]
    return u


@jit
def _drop_branch(edges, count, degree, pin, mark):  # type: ignore[no-untyped-def]
    """Take out the branch with a random edge: up to the next junctions or pins.  Returns the edges left.

    `degree` is scratch, zero before and after.
    """
    if count == 0:
        return 0
    for k in range(count):
        degree[edges[k, 0]] += 1
        degree[edges[k, 1]] += 1
    chosen = np.random.randint(0, count)
    gone = np.zeros(count, np.bool_)
    gone[chosen] = True
    for end in range(2):
        u = edges[chosen, end]
        while degree[u] == 2 and pin[u] != mark:
            step = -1
            for k in range(count):
                if not gone[k] and (edges[k, 0] == u or edges[k, 1] == u):
                    step = k
                    break
            if step < 0:
                break
            gone[step] = True
            u = edges[step, 1] if edges[step, 0] == u else edges[step, 0]
    for k in range(count):
        degree[edges[k, 0]] = 0
        degree[edges[k, 1]] = 0
    left = 0
    for k in range(count):
        if not gone[k]:
            edges[left, 0] = edges[k, 0]
            edges[left, 1] = edges[k, 1]
            left += 1
    return left


@jit
def _groups(edges, count, net_starts, nodes, up, taken, found_starts, found_nodes):  # type: ignore[no-untyped-def]
    """Gather the pieces of a net (kept edges, lone pins) as groups for the search.

    Pieces without a pin are left out, their edges taken away.  Returns (groups, edges left).  `taken` is scratch, all
    -1 before and after.
    """
    pins = net_starts.shape[0] - 1
    for k in range(count):
        up[edges[k, 0]] = edges[k, 0]
        up[edges[k, 1]] = edges[k, 1]
    for i in range(net_starts[0], net_starts[pins]):
        up[nodes[i]] = nodes[i]
    for k in range(count):
        up[_root(up, edges[k, 0])] = _root(up, edges[k, 1])
    for g in range(pins):
        for i in range(net_starts[g] + 1, net_starts[g + 1]):
            up[_root(up, nodes[i])] = _root(up, nodes[i - 1])
    roots = np.empty(pins, np.int64)
    groups = 0
    place = 0
    found_starts[0] = 0
    for g in range(pins):
        root = _root(up, nodes[net_starts[g]])
        known = False
        for j in range(groups):
            known = known or roots[j] == root
        if known:
            continue
        roots[groups] = root
        for k in range(count):
            for end in range(2):
                u = edges[k, end]
                if taken[u] < 0 and _root(up, u) == root:
                    taken[u] = groups
                    found_nodes[place] = u
                    place += 1
        for i in range(net_starts[0], net_starts[pins]):
            u = nodes[i]
            if taken[u] < 0 and _root(up, u) == root:
                taken[u] = groups
                found_nodes[place] = u
                place += 1
        groups += 1
        found_starts[groups] = place
    left = 0
    for k in range(count):
        if taken[edges[k, 0]] >= 0:
            edges[left, 0] = edges[k, 0]
            edges[left, 1] = edges[k, 1]
            left += 1
    for j in range(place):
        taken[found_nodes[j]] = -1
    return groups, left


@jit
def _trim(edges, count, degree, pin, mark):  # type: ignore[no-untyped-def]
    """Take away ends of a tree that are no pins; returns the edges left."""
    for k in range(count):
        degree[edges[k, 0]] += 1
        degree[edges[k, 1]] += 1
    again = True
    left = count
    while again:
        again = False
        k = 0
        while k < left:
            a, b = edges[k, 0], edges[k, 1]
            if (degree[a] == 1 and pin[a] != mark) or (degree[b] == 1 and pin[b] != mark):
                degree[a] -= 1
                degree[b] -= 1
                left -= 1
                edges[k, 0] = edges[left, 0]
                edges[k, 1] = edges[left, 1]
                again = True
            else:
                k += 1
    for k in range(left):
        degree[edges[k, 0]] = 0
        degree[edges[k, 1]] = 0
    return left


@jit
def polish(  # type: ignore[no-untyped-def]
    width, height, own, ways, pad_at, via_cost, firsts, starts, nodes, edges, counts, seed, budget, hot, cold,
):  # fmt: skip
    """Improve `edges` and `counts` in place until about `budget` nodes have been searched; returns the least cost.

    What is given must be legal (no two nets on a node); nets may be missing (no edges).  A move that makes things
    dearer by d steps is kept with probability exp(-d / T), where T falls from `hot` to `cold`.  What is left in the
    end is the best state met.
    """
    np.random.seed(seed)
    n = width * height
    n2 = 2 * n
    nets = counts.shape[0]
    occ = np.zeros((2, n2), np.int16)
    counted = np.zeros((2, n2), np.int32)
    count_mark = 0
    hist = np.zeros(n2, np.float32)
    noise = np.zeros(n2, np.float32)
    zone = np.zeros(n2, np.uint8)
    cost = np.zeros(n2, np.int64)
    parent = np.full(n2, -1, np.int32)
    came = np.full(n2, -1, np.int8)
    seen = np.zeros(n2, np.int32)
    closed = np.zeros(n2, np.int32)
    leave = np.full(n2, 255, np.uint8)
    target = np.full(n2, -1, np.int32)
    no_via = np.zeros(n, np.int32)
    heap = np.empty(8 * n2, np.int64)
    tree = np.empty(2 * n2, np.int64)
    out = np.empty((2 * n2, 2), np.int64)
    degree = np.zeros(n2, np.int16)
    pin = np.zeros(n2, np.int32)
    up = np.zeros(n2, np.int64)
    taken = np.full(n2, -1, np.int64)
    group_starts = np.zeros(nodes.shape[0] + 2, np.int64)
    group_nodes = np.empty(2 * n2, np.int64)
    pens = np.array([0, 0, 1], np.int64)
    bends = np.zeros(3, np.int64)
    layer_cost = np.full((2, 2), SCALE, np.int64)
    window = np.array([0, 0, width - 1, height - 1], np.int64)
    mark = 1
    prices = np.zeros(nets, np.int64)
    old_edges = np.empty((MOST_TOUCHED + 1, n2, 2), np.int32)
    old_counts = np.zeros(MOST_TOUCHED + 1, np.int64)
    old_prices = np.zeros(MOST_TOUCHED + 1, np.int64)
    touched = np.zeros(MOST_TOUCHED + 1, np.int64)
    is_touched = np.zeros(nets, np.int32)
    todo = np.zeros(nets, np.int64)
    best_edges = edges.copy()
    best_counts = counts.copy()
    joinable = np.zeros(nets, np.bool_)
    for i in range(nets):
        joinable[i] = firsts[i + 1] - firsts[i] > 1
        if not joinable[i]:
            continue
        prices[i] = _cost(edges[i], counts[i], n, via_cost, pad_at, i) if counts[i] else MISSING
        count_mark += 1
        _count(occ, counted, count_mark, 1, n, edges[i], counts[i])
    total = prices.sum()
    best = total
    spent = 0
    moves = 0
    while spent < budget:
        moves += 1
        spent += n2 // 8
        if moves % 8 == 1:
            wide = 0.012 if np.random.random() < 0.8 else 0.2
            for u in range(n2):
                noise[u] = wide * np.random.random()
        hist[:] = noise
        temperature = hot * (cold / hot) ** (spent / budget)
        # -- which nets
        seed_net = np.random.randint(0, nets)
        if total >= MISSING:
            lost = 0
            for i in range(nets):
                if joinable[i] and counts[i] == 0:
                    lost += 1
                    if np.random.random() * lost < 1.0:
                        seed_net = i
        if not joinable[seed_net]:
            continue
        partial = np.random.random() < 0.5
        size = 1 + np.random.randint(0, 5)
        waiting = 1
        todo[0] = seed_net
        if size > 1:
            if counts[seed_net]:
                centre = edges[seed_net, np.random.randint(0, counts[seed_net]), 0]
            else:
                g = firsts[seed_net] + np.random.randint(0, firsts[seed_net + 1] - firsts[seed_net])
                centre = nodes[starts[g]]
            cx, cy = centre % n % width, centre % n // width
            reach = 1 + np.random.randint(0, 4)
            near = 0
            for i in range(nets):
                if i == seed_net or not joinable[i]:
                    continue
                inside = False
                for k in range(counts[i]):
                    p = edges[i, k, 0] % n
                    if abs(p % width - cx) <= reach and abs(p // width - cy) <= reach:
                        inside = True
                        break
                if inside:
                    near += 1
                    if waiting < size:
                        todo[waiting] = i
                        waiting += 1
                    else:  # keep a random few of them
                        j = np.random.randint(0, near)
                        if j < size - 1:
                            todo[1 + j] = i
        for i in range(waiting):
            j = np.random.randint(i, waiting)
            todo[i], todo[j] = todo[j], todo[i]
        # -- take up and negotiate
        pressure = 0.5 * 2.0 ** np.random.randint(0, 5)
        growth = 1.2 + 0.8 * np.random.random()
        charge = 0.3 + np.random.random()
        number = 0
        failed = False
        for round_ in range(MOST_ROUNDS):
            for w in range(waiting):
                i = todo[w]
                if is_touched[i] == 0:
                    if number == MOST_TOUCHED:
                        failed = True
                        break
                    is_touched[i] = 1
                    touched[number] = i
                    old_edges[number, : counts[i]] = edges[i, : counts[i]]
                    old_counts[number] = counts[i]
                    old_prices[number] = prices[i]
                    number += 1
                if round_ == 0:  # all of them at once, so that they make room for each other
                    count_mark += 1
                    _count(occ, counted, count_mark, -1, n, edges[i], counts[i])
            if failed:
                break
            for w in range(waiting):
                i = todo[w]
                if round_ > 0:
                    count_mark += 1
                    _count(occ, counted, count_mark, -1, n, edges[i], counts[i])
                a, b = firsts[i], firsts[i + 1]
                net_starts = starts[a : b + 1]
                count_mark += 1
                for k in range(net_starts[0], net_starts[b - a]):
                    pin[nodes[k]] = count_mark
                kept = 0
                if partial and b - a > 2 and counts[i] and (round_ == 0 or np.random.random() < 0.5):
                    kept = _drop_branch(edges[i], counts[i], degree, pin, count_mark)
                    if np.random.random() < 0.3:
                        kept = _drop_branch(edges[i], kept, degree, pin, count_mark)
                groups, kept = _groups(edges[i], kept, net_starts, nodes, up, taken, group_starts, group_nodes)
                boxes = np.empty((groups, 4), np.int64)
                for g in range(groups):
                    boxes[g, 0] = boxes[g, 1] = n2
                    boxes[g, 2] = boxes[g, 3] = -1
                    for k in range(group_starts[g], group_starts[g + 1]):
                        x, y = group_nodes[k] % n % width, group_nodes[k] % n // width
                        boxes[g, 0] = min(boxes[g, 0], x)
                        boxes[g, 1] = min(boxes[g, 1], y)
                        boxes[g, 2] = max(boxes[g, 2], x)
                        boxes[g, 3] = max(boxes[g, 3], y)
                written, joined, mark, expanded = kernels.route_net(
                    i, pens, own, occ, hist, zone, pad_at, width, height,
                    group_starts[: groups + 1], group_nodes[: group_starts[groups]], boxes,
                    np.random.randint(0, groups), window, ways, 200,
                    pressure, False, via_cost * SCALE, layer_cost, 0.1, 100, bends, 0,
                    cost, parent, came, seen, closed, leave, mark, target, no_via, heap, tree, out, 40 * n2,
                )  # fmt: skip
                spent += expanded + 2 * kept
                if joined < groups:
                    kept = 0
                else:
                    for k in range(written - 1):
                        if out[k, 0] >= 0 and out[k + 1, 0] >= 0:
                            edges[i, kept, 0] = out[k, 0]
                            edges[i, kept, 1] = out[k + 1, 0]
                            kept += 1
                    kept = _trim(edges[i], kept, degree, pin, count_mark)
                counts[i] = kept
                prices[i] = _cost(edges[i], kept, n, via_cost, pad_at, i) if kept else MISSING
                count_mark += 1
                _count(occ, counted, count_mark, 1, n, edges[i], kept)
            # -- who clashes
            waiting = 0
            for i in range(nets):
                clash = False
                # only a net that shares a node with a touched one can clash
                for k in range(counts[i]):
                    for end in range(2):
                        u = edges[i, k, end]
                        if occ[0, u] > 1:
                            clash = True
                            hist[u] += charge * 0.5
                if clash:
                    todo[waiting] = i
                    waiting += 1
            if waiting == 0:
                break
            now = total
            for k in range(number):
                now += prices[touched[k]] - old_prices[k]
            if total < MISSING and now > total + 10 + 4 * temperature:
                break
            for i in range(waiting):
                j = np.random.randint(i, waiting)
                todo[i], todo[j] = todo[j], todo[i]
            # taking up one of two that clash is mostly enough
            if waiting > 1 and np.random.random() < 0.5:
                waiting = (waiting + 1) // 2
            pressure *= growth
        # -- judge
        now = total
        for k in range(number):
            now += prices[touched[k]] - old_prices[k]
        if waiting > 0 and not failed and total >= MISSING:
            for k in range(number):  # leave out what still clashes
                i = touched[k]
                clash = False
                for e in range(counts[i]):
                    clash = clash or occ[0, edges[i, e, 0]] > 1 or occ[0, edges[i, e, 1]] > 1
                if clash:
                    count_mark += 1
                    _count(occ, counted, count_mark, -1, n, edges[i], counts[i])
                    now += MISSING - prices[i]
                    counts[i] = 0
                    prices[i] = MISSING
            waiting = 0
        keep = waiting == 0 and not failed
        if keep and now > total:
            keep = np.random.random() < np.exp(-(now - total) / temperature)
        if keep:
            total = now
            for k in range(number):
                is_touched[touched[k]] = 0
            if total < best:
                best = total
                for i in range(nets):
                    best_counts[i] = counts[i]
                    best_edges[i, : counts[i]] = edges[i, : counts[i]]
        else:
            for k in range(number):
                i = touched[k]
                count_mark += 1
                _count(occ, counted, count_mark, -1, n, edges[i], counts[i])
                counts[i] = old_counts[k]
                edges[i, : counts[i]] = old_edges[k, : counts[i]]
                prices[i] = old_prices[k]
                is_touched[i] = 0
            for k in range(number):
                i = touched[k]
                count_mark += 1
                _count(occ, counted, count_mark, 1, n, edges[i], counts[i])
    for i in range(nets):
        counts[i] = best_counts[i]
        edges[i, : counts[i]] = best_edges[i, : counts[i]]
    return best
