"""Judge a routed plain grid from the problem file's own words; shares nothing with the router.

Counts in the file's metric: unit edges inside the region, plus one per pin where the file says that stubs count, and
layer changes.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

Point = tuple[int, int, int]  # column and row from 1, layer from 0, as in the file


@dataclass(frozen=True)
class Verdict:
    """What an answer is worth: nets joined of how many, length in the file's metric, vias, and its faults."""

    joined: int
    nets: int
    length: int
    vias: int
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Published:
    """The best comparable result a file names."""

    router: str
    length: int
    vias: int
    proven: bool


def stubs_count(said: dict[str, Any]) -> bool:
    """Tell whether published lengths include one unit of stub per pin, from the first clause of the metric."""
    clause = str(said.get("metric", "")).split(";", maxsplit=1)[0].lower()
    return "stub" in clause and "includ" in clause and "not includ" not in clause


def published_best(said: dict[str, Any]) -> Published | None:
    """Return the entry with least length plus vias among those with both, for the same number of rows."""
    found = []
    for entry in said.get("published", []):
        length, vias = entry.get("length"), entry.get("vias")
        same = entry.get("rows") in (None, said["rows"]) and entry.get("columns") in (None, said["columns"])
        if same and length is not None and vias is not None:
            words = f"{entry.get('router', '')} {entry.get('notes', '')}".lower()
            found.append(Published(str(entry.get("router", "")), length, vias, "proven optimal" in words))
    return min(found, key=lambda p: (p.length + p.vias, not p.proven), default=None)


def judge(said: dict[str, Any], answer: dict[str, list[tuple[Point, Point]]]) -> Verdict:
    """Return the verdict on `answer`: edges by net, in the file's coordinates."""
    faults: list[str] = []
    blocked = {tuple(node) for node in said.get("blocked") or []}
    missing = {frozenset((tuple(e[:3]), tuple(e[3:]))) for e in said.get("missing_edges") or []}
    pins: dict[str, list[tuple[int, int, Any]]] = defaultdict(list)
    for net, x, y, layer, *_ in said["pins"]:
        pins[str(net)].append((x, y, layer if layer in (0, 1) else None))
    owner: dict[Point, str] = {}
    length = vias = joined = 0

    def take(point: Point, net: str) -> None:
        if owner.setdefault(point, net) != net:
            faults.append(f"nets {owner[point]} and {net} both use {point}")

    for net, ends in pins.items():
        for x, y, layer in ends:
            for k in (0, 1) if layer is None else (layer,):
                take((x, y, k), net)
    for net, edges in answer.items():
        if net not in pins:
            faults.append(f"net {net} is not in the file")
            continue
        through = {(x, y) for x, y, layer in pins[net] if layer is None}
        neighbours: dict[Point, set[Point]] = defaultdict(set)
        for x, y in through:
            neighbours[x, y, 0].add((x, y, 1))
            neighbours[x, y, 1].add((x, y, 0))
        seen: set[frozenset[Point]] = set()
        for a, b in edges:
            apart = sorted(abs(p - q) for p, q in zip(a, b, strict=True))
            if apart != [0, 0, 1]:
                faults.append(f"net {net}: {a} and {b} are no neighbours")
            if frozenset((a, b)) in missing:
                faults.append(f"net {net} uses the missing edge {a} {b}")
            if frozenset((a, b)) in seen:
                faults.append(f"net {net} uses the edge {a} {b} twice")
            seen.add(frozenset((a, b)))
            for point in (a, b):
                inside = 1 <= point[0] <= said["columns"] and 1 <= point[1] <= said["rows"]
                if not inside or not 0 <= point[2] < said.get("layers", 2):
                    faults.append(f"net {net} leaves the grid at {point}")
                if point in blocked:
                    faults.append(f"net {net} uses the blocked node {point}")
                take(point, net)
            neighbours[a].add(b)
            neighbours[b].add(a)
            if a[2] == b[2]:
                length += 1
            elif a[:2] not in through:
                vias += 1
        starts = [(x, y, layer or 0) for x, y, layer in ends] if (ends := pins[net]) else []
        reached, waiting = {starts[0]}, [starts[0]]
        while waiting:
            for point in neighbours[waiting.pop()] - reached:
                reached.add(point)
                waiting.append(point)
        joined += all(start in reached for start in starts)
    for net in pins.keys() - answer.keys():
        joined += len(set(pins[net])) == 1
    if stubs_count(said):
        length += len(said["pins"])
    return Verdict(joined, len(pins), length, vias, tuple(faults))
