"""Tidying after routing: shortest runs of straight and 45° pieces, from pad centre to pad centre.

Every change is checked with true distances and only made where it shortens the track or straightens it; places where
another piece of the same net joins are held fixed, so that nothing comes apart.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

from modboard.describe.model import Description
from modboard.geometry import Position
from modboard.layout.board import PlacedPart, Track, Via
from modboard.layout.route.clearance import Neighbours
from modboard.layout.route.paths import straightened

BEND_LENGTH = 0.15  # mm of track that a saved bend is worth
HAIR = 1e-7
ROUNDING = 2e-6  # mm; places are rounded to 1 nm


def tidied(
    description: Description,
    parts: tuple[PlacedPart, ...],
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    held: tuple[Track, ...] = (),
) -> tuple[Track, ...]:
    """Return the tracks, each pulled tight; same nets, layers and widths.  Those of `held` stay as they are."""
    result = list(tracks)
    neighbours = Neighbours(description, parts, result, vias)
    lands = _lands(description, parts, vias)
    fixed = _with_ends(lands, result)
    for _ in range(2):
        changed = False
        for index, track in enumerate(result):
            if track in held:
                continue
            pieces = _cut(list(track.points), fixed[track.net])
            for k, piece in enumerate(pieces):
                if piece[0] == piece[-1]:
                    pieces[k] = piece[:1]  # a loop back to where it began joins nothing
                    continue
                legs = _legs(piece, k, pieces, track, result, lands[track.net])
                pieces[k] = _pull(piece, track, neighbours, legs)
            points = pieces[0] + [point for piece in pieces[1:] for point in piece[1:]]
            if points != list(track.points):
                changed = True
                result[index] = replace(track, points=tuple(points))
                neighbours.replace(index, result[index])
        if not changed:
            break
    return tuple(t if t in held else replace(t, points=tuple(straightened(list(t.points)))) for t in result)


def _lands(description: Description, parts: tuple[PlacedPart, ...], vias: tuple[Via, ...]) -> dict[str, set[Position]]:
    """Return, per net, the pad centres and vias: places where tracks may meet at any angle."""
    found: dict[str, set[Position]] = {net.name: set() for net in description.nets}
    nets = description.net_of()
    for placed in parts:
        for pad in placed.pads(nets):
            if pad.net is not None:
                found[pad.net].add(pad.at)
    for via in vias:
        found[via.net].add(via.at)
    return found


def _with_ends(lands: dict[str, set[Position]], tracks: Sequence[Track]) -> dict[str, set[Position]]:
    found = {net: set(points) for net, points in lands.items()}
    for track in tracks:
        found[track.net].update((track.points[0], track.points[-1]))
    return found


def joints(
    description: Description, parts: tuple[PlacedPart, ...], tracks: Sequence[Track], vias: tuple[Via, ...]
) -> dict[str, set[Position]]:
    """Return, per net, where copper joins: pad centres, vias and the ends of tracks."""
    return _with_ends(_lands(description, parts, vias), tracks)


def _legs(
    piece: list[Position],
    k: int,
    pieces: list[list[Position]],
    track: Track,
    tracks: list[Track],
    lands: set[Position],
) -> tuple[list[Position], list[Position]]:
    """Return, for both ends of a piece, where the other copper that joins there leads to (nothing at lands)."""
    found: tuple[list[Position], list[Position]] = ([], [])
    for legs, end in ((found[0], piece[0]), (found[1], piece[-1])):
        if end in lands:
            continue
        for other in tracks:
            if other.net == track.net and other.layer == track.layer and other is not track:
                for part in _cut(list(other.points), {end}):
                    if part[0] == end:
                        legs.append(part[1])
                    if part[-1] == end:
                        legs.append(part[-2])
    if k > 0 and piece[0] not in lands and len(pieces[k - 1]) > 1:
        found[0].append(pieces[k - 1][-2])
    if k + 1 < len(pieces) and piece[-1] not in lands:
        found[1].append(pieces[k + 1][1])
    return found


def _cut(points: list[Position], fixed: set[Position]) -> list[list[Position]]:
    """Cut a polyline at every fixed place on it."""
    pieces: list[list[Position]] = [[points[0]]]
    for a, b in itertools.pairwise(points):
        length = math.dist(a, b)
        on_it = []
        for p in fixed:
            if abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) <= ROUNDING * max(length, 1.0):
                along = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / (length or 1.0)
                if HAIR < along < length - HAIR:
                    on_it.append((along, p))
        for _, p in sorted(on_it):
            pieces[-1].append(p)
            pieces.append([p])
        pieces[-1].append(b)
        if b in fixed and b != points[-1]:
            pieces.append([b])
    return [p for p in pieces if len(p) > 1]


def _pull(
    points: list[Position], track: Track, neighbours: Neighbours, legs: tuple[list[Position], list[Position]]
) -> list[Position]:
    """Return a shorter or straighter polyline with the same ends that keeps every distance.

    `legs` are the next points of other copper at either end: no acute angle is made with them.
    """
    best = straightened(points)
    i = 0
    while i < len(best) - 1:
        for j in range(len(best) - 1, i, -1):
            if j == i + 1 and octilinear(best[i], best[j]):
                continue
            old = best[i : j + 1]
            choice = _best_link(best, i, j, track, neighbours, legs)
            if choice is not None and choice != old:
                best = straightened(best[:i] + choice + best[j + 1 :])
                break
        i += 1
    return best


def _best_link(
    points: list[Position],
    i: int,
    j: int,
    track: Track,
    neighbours: Neighbours,
    legs: tuple[list[Position], list[Position]],
) -> list[Position] | None:
    old_cost = _cost(points)
    found = None
    for link in links(points[i], points[j]):
        candidate = points[:i] + link + points[j + 1 :]
        if any(_sharp([leg, *candidate[:2]]) for leg in legs[0]) or _sharp(candidate):
            continue
        if any(_sharp([*candidate[-2:], leg]) for leg in legs[1]):
            continue
        cost = _cost(straightened(candidate))
        if cost < old_cost - 1e-6 and neighbours.free(track.net, track.layer, link, track.width):
            found, old_cost = link, cost
    return found


def links(a: Position, b: Position) -> list[list[Position]]:
    """Return the ways from `a` to `b` in at most two straight or 45° pieces (one, if that is a hair from straight)."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    diagonal, rest = min(abs(dx), abs(dy)), abs(abs(dx) - abs(dy))
    if octilinear(a, b):
        return [[a, b]]
    sx, sy = math.copysign(1.0, dx), math.copysign(1.0, dy)
    found = []
    if min(diagonal, rest) < 0.1 and math.dist(a, b) > 10 * min(diagonal, rest):
        found.append([a, b])  # two pads a hair out of line: one straight piece looks best
    first = (round(a[0] + sx * diagonal, 6), round(a[1] + sy * diagonal, 6))
    last = (round(b[0] - sx * diagonal, 6), round(b[1] - sy * diagonal, 6))
    return [*found, [a, first, b], [a, last, b]]


def octilinear(a: Position, b: Position) -> bool:
    """Tell whether a piece runs along a row, a column or at 45°."""
    dx, dy = abs(b[0] - a[0]), abs(b[1] - a[1])
    return min(dx, dy, abs(dx - dy)) < 1e-5


def _cost(points: list[Position]) -> float:
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(points))
    odd = sum(not octilinear(a, b) for a, b in itertools.pairwise(points))
    return length + BEND_LENGTH * (len(points) - 2) + 0.2 * odd


def _sharp(points: list[Position]) -> bool:
    """Tell whether a polyline turns by more than 90° anywhere."""
    for a, b, c in zip(points[:-2], points[1:-1], points[2:], strict=True):
        if (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < -1e-9:
            return True
    return False
