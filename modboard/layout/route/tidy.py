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
from modboard.layout.route.bends import Halves, Lands, cost, links, octilinear, sharp
from modboard.layout.route.clearance import Neighbours
from modboard.layout.route.paths import straightened
from modboard.layout.route.rejoin import rejoined

HAIR = 1e-7
ROUNDS = 4  # of pulling tight and rejoining at the most; mostly the third changes nothing any more
ROUNDING = 2e-6  # mm; places are rounded to 1 nm


def tidied(
    description: Description,
    parts: tuple[PlacedPart, ...],
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    held: tuple[Track, ...] = (),
) -> tuple[Track, ...]:
    """Return the tracks, each pulled tight; same nets, layers and widths.  Those of `held` stay as they are."""
    lands = Lands.on(description, parts, vias)
    places = _lands(description, parts, vias)
    result = [t if t in held else _exact(t, places[t.net]) for t in tracks]
    neighbours = Neighbours(description, parts, result, vias)
    for _ in range(ROUNDS):
        tight = _pulled(result, places, lands, neighbours, held)
        result, changed = rejoined(result, lands, neighbours, held)
        if tight and not changed:
            break
    return tuple(t if t in held else replace(t, points=tuple(straightened(list(t.points)))) for t in result)


def _exact(track: Track, places: set[Position]) -> Track:
    """Return the track with points that are a rounding off a land's centre or a via put there."""
    known = {(round(x, 6), round(y, 6)): (x, y) for x, y in places}
    points = tuple(known.get((round(x, 6), round(y, 6)), (x, y)) for x, y in track.points)
    return track if points == track.points else replace(track, points=points)


def _pulled(
    tracks: list[Track],
    places: dict[str, set[Position]],
    lands: Lands,
    neighbours: Neighbours,
    held: tuple[Track, ...],
) -> bool:
    """Pull each track tight in place; tell whether all were so already."""
    fixed, changed = _with_ends(places, tracks), False
    for index, track in enumerate(tracks):
        if track in held:
            continue
        pieces = _cut(list(track.points), fixed[track.net])
        known = lands.of(track.net, track.layer)
        for k, piece in enumerate(pieces):
            if piece[0] == piece[-1]:
                pieces[k] = piece[:1]  # a loop back to where it began joins nothing
                continue
            legs = _legs(piece, k, pieces, track, tracks, places[track.net])
            pieces[k] = _pull(piece, track, neighbours, legs, known)
        points = pieces[0] + [point for piece in pieces[1:] for point in piece[1:]]
        if points != list(track.points):
            changed = True
            tracks[index] = replace(track, points=tuple(points))
            neighbours.replace(index, tracks[index])
    return not changed


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
    points: list[Position],
    track: Track,
    neighbours: Neighbours,
    legs: tuple[list[Position], list[Position]],
    lands: Halves,
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
            choice = _best_link(best, i, j, track, neighbours, legs, lands)
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
    lands: Halves,
) -> list[Position] | None:
    old_cost = cost(points, lands, track.width)
    found = None
    for link in links(points[i], points[j], lands, track.width):
        candidate = points[:i] + link + points[j + 1 :]
        if any(sharp([leg, *candidate[:2]]) for leg in legs[0]) or sharp(candidate):
            continue
        if any(sharp([*candidate[-2:], leg]) for leg in legs[1]):
            continue
        price = cost(straightened(candidate), lands, track.width)
        if price < old_cost - 1e-6 and neighbours.free(track.net, track.layer, link, track.width):
            found, old_cost = link, price
    return found
