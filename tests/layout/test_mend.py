"""Mends after settling: nothing gets worse, nothing clashes, and boards that stall come out with more joined."""

from __future__ import annotations

import itertools

import numpy as np

from modboard.layout.route.mend import mended
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.terms import Prices, Task
from tests.layout.lattices import Grid

SIDE, NETS = 20, 12


def bargaining(seed: int) -> Negotiation:
    """Return twelve two-pin nets on a littered grid, nothing routed yet."""
    random = np.random.default_rng(seed)
    ends = random.permutation(SIDE * SIDE)[: 2 * NETS] + SIDE * SIDE
    walls = random.random((2, SIDE, SIDE)) < np.array((0.97, 0.1))[:, None, None]
    walls[1].ravel()[ends - SIDE * SIDE] = False
    bare = Grid(walls, via=1500).negotiation
    bare.maps.own[0, ends] = bare.maps.own[1, ends - SIDE * SIDE] = np.arange(2 * NETS) // 2
    zone = np.zeros(2 * SIDE * SIDE, np.uint8)
    bare.maps.pens = type(bare.maps.pens)(bare.maps.pens.pens, ((0, 0, 1),) * NETS)
    tasks = [Task(k, (ends[2 * k : 2 * k + 1], ends[2 * k + 1 : 2 * k + 2]), zone) for k in range(NETS)]
    return Negotiation(bare.maps, tasks, np.full(SIDE * SIDE, -1, np.int32), Prices(via=1500), seed)


def stalled(seed: int) -> Negotiation:
    """Return the nets after too few rounds of bargaining, what clashed taken out."""
    found = bargaining(seed)
    if not found.run(2):
        found.settle()
    return found


def worth(negotiation: Negotiation) -> tuple[int, float]:
    """Return what is not joined and what the rest costs, from the steps themselves."""
    joined = sum(r.joined for r in negotiation.routed.values())
    return 2 * NETS - joined, sum(r.cost for r in negotiation.routed.values())


def nodes_of(negotiation: Negotiation, index: int) -> set[int]:
    """Return the nodes a net runs over."""
    return {int(n) for n in negotiation.routed[index].rows[:, 0] if n >= 0}


def test_mends_leave_boards_better_or_as_they_were_and_free_of_clashes() -> None:
    before, after = [], []
    for seed in range(8):
        negotiation = stalled(seed)
        before.append(worth(negotiation))
        mended(negotiation)
        after.append(worth(negotiation))
        whole = [i for i in negotiation.routed if negotiation.complete(i)]
        for one, other in itertools.combinations(whole, 2):
            assert not nodes_of(negotiation, one) & nodes_of(negotiation, other)
    assert all(a <= b for a, b in zip(after, before, strict=True))
    assert sum(a[0] for a in after) < sum(b[0] for b in before)


def test_settling_keeps_what_clashed_least_and_not_what_came_last() -> None:
    seen = 0
    for seed, rounds in itertools.product(range(12), (3, 15)):
        negotiation = bargaining(seed)
        if negotiation.run(rounds) or negotiation.clash_log[-1] == min(negotiation.clash_log):
            continue
        assert negotiation.course is not None
        best = dict(negotiation.course.best)
        negotiation.lay(best)
        assert sum(negotiation.clashes(i) for i in best) == min(negotiation.clash_log)
        clean = {i for i in best if not negotiation.clashes(i)}
        negotiation.settle()
        assert all(negotiation.routed[i] is best[i] for i in clean if negotiation.complete(i))
        assert not any(negotiation.clashes(i) for i in negotiation.routed)
        seen += 1
    assert seen, "no case whose last round is not its best"
