"""The copper of a conductor as a graph: pieces that can break, joined where they touch."""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field
from typing import Literal

from modboard.geometry import Position, Shape
from modboard.layout.board import CopperLayer, Pad

Break = Literal["track", "hole", "joint"]  # what can be broken; other pieces are there to join


@dataclass(frozen=True)
class Piece:
    """A piece of a net: where it is, and what broke if it breaks (None for what is not looked on as breaking)."""

    what: str  # "land", "track", "pour", "part of a pour", "hole", "joint", "lead"
    layer: CopperLayer | None
    shape: Shape | None
    at: Position
    breaks: Break | None = None
    owner: str = ""  # "R1.2" for what belongs to a pad
    whole: Shape | None = None  # of a pour's first piece: the pour

    @property
    def length(self) -> float:
        """Return how long a current's way through it is, roughly, in mm."""
        if self.what != "track" or self.shape is None:
            return 0.3
        core = self.shape.core
        return float(core.length) / (2 if core.geom_type == "Polygon" else 1)  # there and back round a polygon


@dataclass
class NetCopper:
    """The graph of one conductor: a net, or a pad that is on none."""

    name: str
    pieces: list[Piece] = field(default_factory=list)
    beside: list[set[int]] = field(default_factory=list)
    leads: dict[str, int] = field(default_factory=dict)  # pad -> the piece a probe touches once assembled
    pads: dict[str, Pad] = field(default_factory=dict)
    side: CopperLayer | None = None  # the side it is all on and probed from; None: pad by pad

    def add(self, piece: Piece) -> int:
        """Put a piece in; return its number."""
        self.pieces.append(piece)
        self.beside.append(set())
        return len(self.pieces) - 1

    def join(self, a: int, b: int) -> None:
        """Note that two pieces touch."""
        self.beside[a].add(b)
        self.beside[b].add(a)

    def groups(self, without: int | None = None) -> list[int]:
        """Return the number of the connected group of every piece, one of them taken away (its group is -1)."""
        group = [-1] * len(self.pieces)
        for first in range(len(self.pieces)):
            if group[first] >= 0 or first == without:
                continue
            stack, group[first] = [first], first
            while stack:
                for other in self.beside[stack.pop()]:
                    if group[other] < 0 and other != without:
                        group[other] = first
                        stack.append(other)
        return group

    def ways(self, start: int) -> list[float]:
        """Return the shortest way in mm through copper from `start` to every piece (Dijkstra 1959)."""
        far = [float("inf")] * len(self.pieces)
        far[start] = 0.0
        queue = [(0.0, start)]
        while queue:
            way, piece = heapq.heappop(queue)
            if way > far[piece]:
                continue
            for other in self.beside[piece]:
                longer = way + self.pieces[other].length
                if longer < far[other]:
                    far[other] = longer
                    heapq.heappush(queue, (longer, other))
        return far
