"""What a negotiation deals in: tasks, what is routed for them, prices, and how far it has come."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from modboard.layout.route import kernels
from modboard.layout.route.grid import Lattice


@dataclass(frozen=True)
class Task:
    """One net to join: groups of nodes (a pad, or a piece of copper that is already one)."""

    net: int
    groups: tuple[NDArray[np.int64], ...]
    zone: NDArray[np.uint8]  # per node: kernels.NECK, kernels.SHY

    def packed(self, lattice: Lattice) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """Return (starts, nodes, boxes) as the kernel wants them."""
        starts = np.cumsum([0] + [len(g) for g in self.groups]).astype(np.int64)
        boxes = []
        for group in self.groups:
            p = group % lattice.nodes
            x, y = p % lattice.width, p // lattice.width
            boxes.append((x.min(), y.min(), x.max(), y.max()))
        return starts, np.concatenate(self.groups).astype(np.int64), np.array(boxes, np.int64)


@dataclass
class Routed:
    """A routed net: kernel rows (node, narrow; -1 ends a branch), which rows make a via, and how much was joined."""

    rows: NDArray[np.int64]
    via_at: NDArray[np.uint8]
    pieces: NDArray[np.int64]
    joined: int
    cost: float


@dataclass(frozen=True)
class Prices:
    """What the search pays: a via in steps of 100, each layer in percent, turns by 0°, 45° and 90°, a diagonal step."""

    via: int = 2400
    layers: tuple[int, int] = (100, 100)
    bends: tuple[int, int, int] = (0, 12, 70)
    diagonal: int = kernels.DIAGONAL
    across: int = 100
    least_run: int = 0  # steps that a run on top has at least

    def by_axis(self, hard: bool) -> NDArray[np.int64]:
        """Return the price (percent) of each layer along x and y; once bargaining is over both are alike."""
        top, bottom = self.layers
        across = 100 if hard else self.across
        return np.array([[top, top * across // 100], [bottom * across // 100, bottom]], np.int64)


@dataclass(frozen=True)
class Schedule:
    """How prices rise: the first price of sharing a node, its growth a round and its limit, the history charged for a
    clash, how much longer a way may come out for speed while nets still overlap (percent), and every how many rounds
    all nets are routed again (0: never).
    """

    pressure: float = 0.5
    growth: float = 1.35
    most: float = 400.0
    charge: float = 0.2
    haste: int = 150
    everything: int = 0


@dataclass
class Course:
    """How far the bargaining has come: who is to be routed next, the price of sharing a node and its least, rounds
    done, clashes after the first, the fewest since the last stall, rounds without fewer, and the best that was routed
    so far.
    """

    todo: list[int]
    pressure: float
    low: float
    rounds: int = 0
    first: int = 0
    fewest: int = 1 << 60
    stalled: int = 0
    least: int = 1 << 60
    best: dict[int, Routed] = field(default_factory=dict)

    def copied(self) -> Course:
        """Return a copy that goes its own way."""
        return replace(self, todo=list(self.todo), best=dict(self.best))


@dataclass(frozen=True)
class Stand:
    """All that a negotiation needs to go on later, in another process perhaps, as if it had never stopped."""

    course: Course
    routed: dict[int, Routed]
    history: NDArray[np.float32]
    random: dict[str, Any]
    turn: int
