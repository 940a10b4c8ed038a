"""Mends of unplated boards once all is settled: fewer open connections, then fewer links and wired vias.

Each net that lacks something is led over others at a price, and who is in its way bargains anew.  What comes of it is
kept if the whole board is better, else all is put back: never worse, and the same every time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.terms import Routed

DEARER = 20  # times what a change of side costs while one net looks for a way without
PRESSURE = 1.0  # of the bargaining, and of the net itself over those that it pushes aside
ROUNDS = 12
MOST_TRIALS = 10
MOST_OPEN = 5  # tasks that are not whole: where room lacks for more, moving a few nets does not find it


def mended(negotiation: Negotiation) -> None:
    """Join what is open, if others can be moved; then drop changes of side that others can move to spare."""
    if len(_open(negotiation)) > MOST_OPEN:
        return
    for wanting, led in ((_open, _led), (_crossing, _led_dearly)):
        trials, gained = 0, True
        while gained and trials < MOST_TRIALS:
            gained = False
            for index in wanting(negotiation):
                if trials < MOST_TRIALS and index in wanting(negotiation):
                    trials += 1
                    gained |= _pushed(negotiation, index, led)


def _open(negotiation: Negotiation) -> list[int]:
    """Return the tasks that are not whole, the least work first."""
    lacking = [i for i in range(len(negotiation.tasks)) if not negotiation.complete(i)]
    return sorted(lacking, key=lambda i: (len(negotiation.tasks[i].groups), i))


def _crossing(negotiation: Negotiation) -> list[int]:
    """Return the tasks that change sides, the most often first."""
    changes = {i: int(r.via_at.sum()) for i, r in negotiation.routed.items()}
    return sorted((i for i, count in changes.items() if count), key=lambda i: (-changes[i], i))


def _worth(negotiation: Negotiation) -> tuple[int, float]:
    """Return how good the routing is, less being better: what is not joined, then the price."""
    routed = negotiation.routed.values()
    return -sum(r.joined for r in routed), sum(r.cost for r in routed)


def _pushed(negotiation: Negotiation, index: int, led: Callable[[Negotiation, int], Routed]) -> bool:
    """Lead one net anew over others and let these bargain; return whether that made the board better."""
    before, history = dict(negotiation.routed), negotiation.hist.copy()
    worth = _worth(negotiation)
    negotiation.rip(index)
    negotiation.put(index, led(negotiation, index))
    pushed = [i for i in sorted(negotiation.routed) if i != index and negotiation.clashes(i)]
    negotiation.begin(PRESSURE, pushed)
    if not negotiation.run(ROUNDS):
        negotiation.settle()
    negotiation.hist[:] = history
    if _worth(negotiation) < worth:
        return True
    negotiation.lay(before)
    return False


def _led(negotiation: Negotiation, index: int) -> Routed:
    """Return a way for a net over others at a price."""
    return negotiation.search(index, PRESSURE, False)


def _led_dearly(negotiation: Negotiation, index: int) -> Routed:
    """Return a way for a net over others at a price, changes of side being `DEARER`; its cost is what it costs."""
    prices = negotiation.prices
    negotiation.prices = replace(prices, via=DEARER * prices.via)
    try:
        found = negotiation.search(index, PRESSURE, False)
    finally:
        negotiation.prices = prices
    spared = (DEARER - 1) * prices.via * int(found.via_at.sum())
    return replace(found, cost=found.cost - spared)
