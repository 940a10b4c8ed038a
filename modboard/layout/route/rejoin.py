"""Where a track ends on another of its net: led instead to the land, or the place on that track, that looks best.

The router ends a branch on the nearest node of what is routed already, be it a hair beside a land that the other
track leads to.  A branch may go over to any place on the tracks it ends on, for these are joined whatever it does.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

from modboard.geometry import Position
from modboard.layout.board import Track
from modboard.layout.route.bends import Halves, Lands, cost, links, sharp
from modboard.layout.route.clearance import Neighbours

MEETING = 0.15  # mm of track that a branch on another track is dearer than one in a land: as much as a bend
HAIR = 2e-6  # mm; places are rounded to 1 nm
BACK = 4  # corners from the end whence another way is sought
FURTHEST = 4.0  # mm along the other track


def rejoined(
    tracks: list[Track], lands: Lands, neighbours: Neighbours, held: tuple[Track, ...]
) -> tuple[list[Track], bool]:
    """Return the tracks with the ends of branches where they cost least, and whether any was changed.

    Nothing else changes: every track ends on one that it ended on before, or in a land which that leads to.
    """
    result, changed = list(tracks), False
    for index, track in enumerate(result):
        if track in held:
            continue
        for back in (False, True):
            points = list(result[index].points)
            points = points[::-1] if back else points
            others = [t for k, t in enumerate(result) if k != index and (t.net, t.layer) == (track.net, track.layer)]
            better = _better(points, track, others, lands, neighbours)
            if better is not None:
                result[index] = replace(track, points=tuple(better[::-1] if back else better))
                neighbours.replace(index, result[index])
                changed = True
    return result, changed


def _better(
    points: list[Position], track: Track, others: list[Track], lands: Lands, neighbours: Neighbours
) -> list[Position] | None:
    """Return the polyline with another last end and way there, if that costs less; None if none does."""
    end, known = points[-1], lands.of(track.net, track.layer)
    if end in known or points[0] == end:
        return None
    hosts = [t for t in others if _on_any(end, t)]
    if not any(_within(end, t) for t in hosts) and len(hosts) < 2:
        return None  # a mere bend
    met = [p for t in others for p in (t.points[0], t.points[-1])]
    met += list(known)
    first = len(points) - 1
    while first > 0 and len(points) - first < BACK and not _between(met, points[first - 1], points[first], points):
        first -= 1
    best, least = None, _price(points, known, hosts, track.width) - 1e-6
    for k in range(first, len(points) - 1):
        for to in _places(points[k], end, hosts, known):
            if to == points[0] or to == points[k]:
                continue
            for way in links(points[k], to, known, track.width):
                tried = points[:k] + way
                price = _price(tried, known, hosts, track.width)
                if price >= least or sharp(tried) or (to not in known and _acute(tried, hosts)):
                    continue
                if neighbours.free(track.net, track.layer, tried[max(k - 1, 0) :], track.width):
                    best, least = tried, price
    return best


def _price(points: list[Position], known: Halves, hosts: list[Track], width: float) -> float:
    """Return what a branch costs, mm: its way, its meeting in no land or beside one, an acute angle where it meets."""
    price = cost(points, known, width)
    if points[-1] not in known:
        x, y = points[-1]
        beside = any(abs(x - lx) < wide and abs(y - ly) < high for (lx, ly), (wide, high) in known.items())
        price += 3 * MEETING if beside else MEETING
        price += 1.0 if _acute(points, hosts) else 0.0
    return price


def _places(start: Position, end: Position, hosts: list[Track], known: Halves) -> Iterator[Position]:
    """Yield where on its hosts a branch that comes from `start` might end: lands, corners, feet of straight ways."""
    for host in hosts:
        for p in (host.points[0], host.points[-1]):
            if p in known and math.dist(p, end) <= FURTHEST:
                yield p
        for a, b in itertools.pairwise(host.points):
            for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
                foot = _cut(start, (dx, dy), a, b)
                if foot is not None and math.dist(foot, end) <= FURTHEST:
                    yield foot


def _cut(start: Position, way: tuple[int, int], a: Position, b: Position) -> Position | None:
    """Return where the line through `start` along `way` cuts the inside of the piece from a to b, if it does."""
    ex, ey = b[0] - a[0], b[1] - a[1]
    slope = way[0] * ey - way[1] * ex
    if abs(slope) < 1e-9:
        return None
    t = ((start[0] - a[0]) * way[1] - (start[1] - a[1]) * way[0]) / -slope
    if not 0.0 < t < 1.0:
        return None
    return (round(a[0] + t * ex, 6), round(a[1] + t * ey, 6))


def _acute(points: list[Position], hosts: list[Track]) -> bool:
    """Tell whether the last piece makes less than a right angle with a track it ends on."""
    end, before = points[-1], points[-2]
    for host in hosts:
        for a, b in itertools.pairwise(host.points):
            if _on(end, a, b):
                for far in (a, b):
                    along = (before[0] - end[0]) * (far[0] - end[0]) + (before[1] - end[1]) * (far[1] - end[1])
                    if along > 1e-5:
                        return True
    return False


def _between(met: list[Position], a: Position, b: Position, points: list[Position]) -> bool:
    """Tell whether something else of the net meets the piece, other than at the branch's own end."""
    return any(_on(p, a, b) for p in met if p not in (points[0], points[-1]))


def _on_any(p: Position, track: Track) -> bool:
    return any(_on(p, a, b) for a, b in itertools.pairwise(track.points))


def _within(p: Position, track: Track) -> bool:
    return p not in (track.points[0], track.points[-1]) and _on_any(p, track)


def _on(p: Position, a: Position, b: Position) -> bool:
    """Tell whether a place lies on a piece of track."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    if length == 0.0:
        return math.dist(p, a) <= HAIR
    along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length
    off = abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / length
    return off <= HAIR and -HAIR <= along <= length + HAIR
