"""Random switchboxes with a hidden solution: nets are routed one by one by breadth-first search, only pins are kept."""

from __future__ import annotations

import random
from collections import deque

from modboard.layout.route.plain import EITHER, Node, PlainProblem

STEPS = ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0))


def hidden_switchbox(
    seed: int, columns: int, rows: int, nets: int, most_pins: int = 4, blocks: int = 0, share_either: float = 0.0
) -> tuple[PlainProblem, int]:
    """Return a box that surely can be routed and what the hidden solution costs (steps and layer changes).

    Pins lie on the boundary; layers are drawn at random and nets keep to whatever room is left, so late nets run long.
    """
    rnd = random.Random(seed)
    taken: set[Node] = set()
    blocked: set[Node] = set()
    for _ in range(blocks):
        x, y, layer = rnd.randrange(2, columns - 4), rnd.randrange(2, rows - 4), rnd.randrange(2)
        blocked |= {(x + i, y + j, layer) for i in range(3) for j in range(2)}
    taken |= blocked
    rim = [(x, y) for x in range(columns) for y in (0, rows - 1)]
    rim += [(x, y) for y in range(1, rows - 1) for x in (0, columns - 1)]
    pins: dict[str, tuple[Node, ...]] = {}
    cost = 0
    for _ in range(nets * 20):
        if len(pins) == nets:
            break
        count = rnd.randint(2, most_pins)
        either = rnd.random() < share_either
        ends: list[Node] = []
        for x, y in rnd.sample(rim, len(rim)):
            layer = rnd.randrange(2)
            need = {(x, y, 0), (x, y, 1)} if either else {(x, y, layer)}
            if not need & taken:
                ends.append((x, y, layer))
            if len(ends) == count:
                break
        if len(ends) < count:
            break
        own = {(x, y, k) for x, y, layer in ends for k in ((0, 1) if either else (layer,))}
        tree = {ends[0]}
        edges = 0
        for end in ends[1:]:
            path = _path(rnd, columns, rows, taken, tree, end)
            if path is None:
                break
            edges += len(path) - 1
            tree |= set(path)
        else:
            pins[str(len(pins) + 1)] = tuple((x, y, EITHER if either else layer) for x, y, layer in ends)
            taken |= tree | own
            cost += edges
    return PlainProblem(columns, rows, pins, frozenset(blocked)), cost


def _path(
    rnd: random.Random, columns: int, rows: int, taken: set[Node], tree: set[Node], end: Node
) -> list[Node] | None:
    """Return a shortest path from `end` to the tree through free nodes, ways tried in random order."""
    before: dict[Node, Node | None] = {end: None}
    queue = deque([end])
    while queue:
        node = queue.popleft()
        if node in tree:
            path = [node]
            while before[path[-1]] is not None:
                path.append(before[path[-1]])  # type: ignore[arg-type]
            return path
        x, y, layer = node
        ways = [(x + dx, y + dy, layer) for dx, dy, _ in STEPS] + [(x, y, 1 - layer)]
        rnd.shuffle(ways)
        for way in ways:
            inside = 0 <= way[0] < columns and 0 <= way[1] < rows
            if inside and way not in before and (way not in taken or way in tree):
                before[way] = node
                queue.append(way)
    return None
