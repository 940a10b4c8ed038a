"""After tidying: pieces of track shift sideways to where the room is, and ends widen into their lands if wished.

A piece shifts between its two neighbouring pieces, which stay on their lines, so the track keeps its shape of straight
and 45° pieces.  It gets no longer by it, but for tenths of a millimetre where it hugs something.  Between two pads or
two tracks the best place is the middle.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from modboard.describe.model import Description
from modboard.geometry import Position
from modboard.layout.board import Pad, PlacedPart, Track, Via
from modboard.layout.route.clearance import Neighbours
from modboard.layout.route.tidy import joints

AMPLE = 0.5  # mm of room beyond the least gap; more is of no use to anybody with an iron
TIGHT = 0.25  # mm of room below which a track hugs what it passes, and may get longer by what room it gains
FIRST_STEP, LAST_STEP = 0.4, 0.02  # mm, the shifts tried get smaller by halves
LEAST_LEG = 0.15  # mm that a neighbouring piece must keep
WORTH = 0.01  # mm of room that a shift must bring
DROP_STEPS = 7  # in which a track widens; more would not be seen
DROP_REACH = 1.0  # times what the land is wider than the track: how far outside the land's edge it begins to


def spread_apart(
    description: Description,
    parts: tuple[PlacedPart, ...],
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    held: tuple[Track, ...] = (),
) -> tuple[Track, ...]:
    """Return the tracks with their inner pieces shifted to where there is more room, none longer but by a little."""
    result = list(tracks)
    neighbours = Neighbours(description, parts, result, vias)
    met = joints(description, parts, tracks, vias)
    for index, track in enumerate(result):
        if track in held or len(track.points) < 4:
            continue
        points = list(track.points)
        for k in range(1, len(points) - 2):
            near = list(itertools.pairwise(points[k - 1 : k + 3]))
            ends = (points[0], points[-1])
            if any(_on(p, a, b) for p in met[track.net] if p not in ends for a, b in near):
                continue  # another piece of the net meets it here
            points = _shifted(points, k, track, neighbours)
        if points != list(track.points):
            result[index] = replace(track, points=tuple(points))
            neighbours.replace(index, result[index])
    return tuple(result)


def _on(p: Position, a: Position, b: Position) -> bool:
    """Tell whether a place lies on a piece of track."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    if length == 0.0:
        return p == a
    along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length
    off = abs((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / length
    return off < 1e-4 and -1e-4 < along < length + 1e-4


def _shifted(points: list[Position], k: int, track: Track, neighbours: Neighbours) -> list[Position]:
    """Return the polyline with its piece k to k + 1 where it has most room, and its neighbours no less than before.

    The piece is looked at by itself too: where a neighbour of it must pass close, it need not.
    """

    def room(way: list[Position], around: int) -> float:
        """Return the room of the piece, `around` of its neighbours counted in on either side."""
        return neighbours.room(track.net, track.layer, way[k - around : k + 2 + around], track.width, AMPLE)

    best, own = points, room(points, 0)
    if own >= AMPLE:
        return points
    least, length, hugged = room(points, 1), _length(points), min(own, TIGHT)
    step, at = FIRST_STEP, 0.0
    while own < AMPLE and step >= LAST_STEP:
        moves = []
        for shift in (at + step, at - step):
            tried = _slid(points, k, shift)
            longer = _length(tried) - length - 1e-6 if tried is not None else math.inf
            if tried is None or longer > TIGHT:
                continue
            there = room(tried, 0)
            if longer > max(min(there, TIGHT) - hugged, 0.0) or 2 * there <= own + least + WORTH:
                continue
            all_there = room(tried, 1)
            better = there + all_there > own + least + WORTH and all_there >= least - 1e-9
            if better and neighbours.free(track.net, track.layer, tried, track.width):
                moves.append((there + all_there, -abs(shift), shift, there, all_there, tried))
        if moves:
            _, _, at, own, least, best = max(moves, key=lambda move: move[:3])
        else:
            step /= 2
    return best


def _slid(points: list[Position], k: int, shift: float) -> list[Position] | None:
    """Return the polyline with piece k to k + 1 moved sideways along its neighbours, None if it cannot be."""
    a, b, c, d = points[k - 1 : k + 3]
    length = math.dist(b, c)
    nx, ny = -(c[1] - b[1]) / length, (c[0] - b[0]) / length
    moved = []
    for corner, outer in ((b, a), (c, d)):
        leg = math.dist(corner, outer)
        ux, uy = (outer[0] - corner[0]) / leg, (outer[1] - corner[1]) / leg
        across = ux * nx + uy * ny
        if abs(across) < 0.1:
            return None  # runs on in line
        t = shift / across
        if t > leg - LEAST_LEG:
            return None
        moved.append((round(corner[0] + ux * t, 6), round(corner[1] + uy * t, 6)))
    if (moved[1][0] - moved[0][0]) * (c[0] - b[0]) + (moved[1][1] - moved[0][1]) * (c[1] - b[1]) < LEAST_LEG * length:
        return None
    return [*points[:k], *moved, *points[k + 2 :]]


def _length(points: list[Position]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def teardrops(
    description: Description, parts: tuple[PlacedPart, ...], tracks: tuple[Track, ...], vias: tuple[Via, ...]
) -> tuple[Track, ...]:
    """Return short tracks that widen in steps towards every land and via a track ends in, where there is room.

    They are ordinary copper for every check and file.  A land must be half as wide again as the track.
    """
    neighbours = Neighbours(description, parts, list(tracks), vias)
    nets = description.net_of()
    pads = [pad for placed in parts for pad in placed.pads(nets)]
    found = []
    for track in tracks:
        for at, beyond in ((track.points[0], track.points[1]), (track.points[-1], track.points[-2])):
            land = _land(track, at, pads, vias)
            spare = land - track.width
            if spare < track.width / 2:
                continue
            run = math.dist(at, beyond)
            reach = land / 2 + DROP_REACH * spare
            for step in range(1, DROP_STEPS):
                far = reach * step / DROP_STEPS  # a cone from the land's full width down to the track's
                width = round(land - spare * step / DROP_STEPS, 4)
                if far > run - track.width:  # its round end would stand out beyond a bend
                    break
                end = (
                    round(at[0] + (beyond[0] - at[0]) * far / run, 6),
                    round(at[1] + (beyond[1] - at[1]) * far / run, 6),
                )
                if neighbours.free(track.net, track.layer, [at, end], width):
                    found.append(Track(track.net, track.layer, (at, end), width))
    return tuple(dict.fromkeys(found))


def _land(track: Track, at: Position, pads: list[Pad], vias: tuple[Via, ...]) -> float:
    """Return the least width of the land or via centred where a track ends, 0 if it ends elsewhere."""
    for via in vias:
        if via.net == track.net and via.at == at:
            x0, _, x1, _ = via.shape.bounds()
            return x1 - x0
    for pad in pads:
        if pad.net == track.net and track.layer in pad.layers and math.dist(pad.at, at) < 1e-4:
            x0, y0, x1, y1 = pad.shape.bounds()
            return min(x1 - x0, y1 - y0)
    return 0.0
