"""Pins that no track can leave or reach even on a board without any other track: no search can help there."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from modboard.layout.board import Pad
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.problem import Problem


@dataclass(frozen=True)
class Walled:
    """A pin that its net cannot be led to: mm to the nearest land of another net, and what a track there needs."""

    net: str
    pin: tuple[str, str]
    room: float
    need: float

    def __str__(self) -> str:
        return f"{'.'.join(self.pin)} ({self.net})"


def walled_nets(negotiation: Negotiation) -> tuple[int, ...]:
    """Return the tasks that cannot be joined even alone on the board; all that is routed is taken up."""
    for index in list(negotiation.routed):
        negotiation.rip(index)
    tasks = enumerate(negotiation.tasks)
    return tuple(i for i, task in tasks if negotiation.search(i, 0.0, True).joined < len(task.groups))


def walled_pins(problem: Problem, negotiation: Negotiation) -> tuple[Walled, ...]:
    """Return the pins that keep nets apart even alone on the board: those from which fewest others and least of the
    board can be reached.
    """
    found = []
    for index in walled_nets(negotiation):
        task = negotiation.tasks[index]
        net = problem.nets[task.net]
        pads = problem.pads_of[net.name]
        if len(pads) != len(task.groups):  # some are joined by hand
            continue
        seen = [(negotiation.search(index, 0.0, True, first=k).joined, negotiation.expanded) for k in range(len(pads))]
        need = problem.description.rules.track + 2 * max(net.gap, problem.description.rules.gap)
        for pad, tried in zip(pads, seen, strict=True):
            if tried == min(seen):
                found.append(Walled(net.name, (pad.reference, pad.number), _room(problem, pad), need))
    return tuple(found)


def in_words(found: Iterable[Walled]) -> str:
    """Return in one sentence which pins are walled in, and the sum that forbids a track between lands."""
    pins = tuple(found)
    if not pins:
        return ""
    nearest = min(pins, key=lambda w: (w.room - w.need, w.pin))
    named = ", ".join(str(w) for w in pins[:8]) + (f" and {len(pins) - 8} more" if len(pins) > 8 else "")
    told = f"no track gets to {named} even if the board is empty otherwise"
    if nearest.room < nearest.need:
        told += (
            f": {nearest.room:.2f} mm from {'.'.join(nearest.pin)} to the next land, "
            f"{nearest.need:.2f} mm needed for a track between them with its gaps"
        )
    return told


def _room(problem: Problem, pad: Pad) -> float:
    others = (p for p in problem.pads if p is not pad and p.net != pad.net and set(p.layers) & set(pad.layers))
    return min((pad.shape.distance(p.shape) for p in others), default=math.inf)
