"""A room and its board cut into slices across a plane of motion: what moves and what stands, as rectangles in it.

The plane holds u (x or y of the plan) and z (up).  Within a slice everything is taken at its widest, and free ground
at its narrowest, so that a motion found free here is free in the metal.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product
from typing import Any

import numpy as np
import shapely

from modboard.describe.faces import inside_at, mouth_at_worst, moved, obstacle_to, walls_to
from modboard.describe.model import Mouth, Obstacle, Opening
from modboard.fit.room import Room, Solid

FAR = 2000.0  # mm, farther than any motion
HAIR = 2e-3  # mm that things may overlap: contact is no collision
FINEST = 0.2  # mm: slices are cut no thinner, and across slanting sides no thicker

HANGING = ("obstacle", "lid step")  # kinds that hang from the lid where they reach it and not the floor

Box = tuple[float, float, float, float]  # u0, z0, u1, z1


@dataclass(frozen=True)
class Scene:
    """Pairs of a moving and a standing rectangle that share a slice, each once; `top` is where open air begins (mm)."""

    moving: Any  # (n, 4) boxes
    standing: Any  # (n, 4) boxes
    top: float
    low: float
    width: float


def scene(room: Room, axis: str, *, worst: bool) -> Scene:
    """Return what moves and what stands in planes along `axis` ("x" or "y"), as measured or with every ± in plan."""
    turned = axis == "y"
    solids = [(_turn(s.outline, turned), s) for s in movers(room)]
    top = room.cavity.height if room.cavity.height is not None else _highest(room)
    walls = _walls(room, worst)
    inside = _turn(walls, turned)
    standing = [(_turn(_grown(room, o, worst), turned), o) for o in stays(room)]
    mouth = room.cavity.mouth
    rim = None if mouth is None else _turn(through_mouth(room, mouth, worst=worst), turned)
    windows = [_window(room, o, worst) for o in room.cavity.openings]
    moves_by: dict[Box, list[Box]] = {}  # what moves in the slices that each standing box is in
    # Round parts need no fine slices, and leads none: they are taken at their widest in those there are.
    shapes = [
        *(p if s.what == "board" else shapely.box(*p.bounds) for p, s in solids if s.what != "leads"),
        inside,
        *(p for p, _ in standing),
        *([] if rim is None else [rim]),
    ]
    for low, high in _cuts(shapes, [w for w in windows if (w[0].wall in ("left", "right")) != turned]):
        moves = _pruned([(u0, s.low, u1, s.high) for plan, s in solids for u0, u1 in _reach(plan, s, low, high)])
        if not moves:
            continue
        boxes: list[Box] = [(-FAR, -FAR, FAR, 0.0)]
        boxes += _solid_walls(inside, windows, turned, low, high, top)
        for plan, o in standing:
            ceiling = top if o.top is None else o.top
            boxes += [(u0, o.bottom, u1, ceiling) for u0, u1 in _widest(plan, low, high)]
        if rim is not None and mouth is not None:
            free = _narrowest(rim, low, high)
            boxes += [(u0, top, u1, top + mouth.thick) for u0, u1 in _rest([free] if free else [])]
        for box in _pruned(boxes):
            moves_by.setdefault(box, []).extend(moves)
    ordered = sorted((move, box) for box, moves in moves_by.items() for move in _pruned(moves))
    x0, y0, x1, y1 = shapely.union_all([p for p, _ in solids]).bounds
    deepest = min(s.low for _, s in solids)
    above = top + (mouth.thick if mouth is not None else 0.0)
    highest = max([above, *(o.top for o in stays(room) if o.top is not None)])
    moving, still = (np.array([p[k] for p in ordered]) for k in (0, 1))
    return Scene(moving, still, highest, deepest, max(x1 - x0, y1 - y0))


def through_mouth(room: Room, mouth: Mouth, *, worst: bool) -> Any:
    """Return the mouth's hole, as measured or with every ± against it."""
    return mouth_at_worst(mouth, room.cavity, room.made_to) if worst else mouth.outline


def movers(room: Room) -> list[Solid]:
    """Return the board, with its holes, and all that is on it."""
    holes = [shapely.Point(h.at).buffer(h.diameter / 2, quad_segs=16) for h in room.board.bare_holes if h.to is None]
    drilled = replace(room.plate, outline=room.board.outline.difference(shapely.union_all(holes)))
    return [drilled, *room.solids]


def stays(room: Room) -> list[Obstacle]:
    """Return what stands in the room while the board goes in: what hangs from a lid that opens is away with it."""
    opens, height = room.cavity.mouth is None, room.cavity.height
    return [
        o
        for o in room.cavity.obstacles
        if not (
            opens and o.kind in HANGING and o.bottom > 0 and (o.top is None or (height is not None and o.top >= height))
        )
    ]


def _highest(room: Room) -> float:
    """Return a height above everything, where no lid was measured."""
    tops = [o.top for o in room.cavity.obstacles if o.top is not None]
    tops += [o.top for o in room.cavity.openings if o.top is not None]
    return max([room.topside, *tops, *(s.high for s in room.solids)]) + 1.0


def _turn(plan: Any, turned: bool) -> Any:
    return shapely.transform(plan, lambda xy: xy[:, ::-1]) if turned else plan


def _walls(room: Room, worst: bool) -> Any:
    lowest = min(s.low for s in movers(room))
    inside = inside_at(room.cavity, lowest) if room.cavity.lean else room.cavity.inside
    if not worst:
        return inside
    tos = walls_to(room.cavity)
    sides = len(inside.exterior.coords) - 1
    tos = tos if len(tos) == sides else (max(tos),) * sides
    return moved(inside, [-(to + room.made_to) for to in tos])


def _grown(room: Room, obstacle: Obstacle, worst: bool) -> Any:
    if not worst:
        return obstacle.outline
    made_to = 0.0 if obstacle.through else room.made_to
    return moved(obstacle.outline, [to + made_to for to in obstacle_to(obstacle, room.cavity)])


def _window(room: Room, opening: Opening, worst: bool) -> tuple[Opening, float, float, float, float, float]:
    """Return an opening with its ends along the wall, heights, and depth."""
    side_to = room.cavity.within(opening.side_to) if worst else 0.0
    half = opening.width / 2 - side_to
    low = opening.bottom or 0.0
    high = FAR if opening.top is None else opening.top
    deep = FAR if opening.depth is None else opening.depth
    return (opening, opening.centre - half, opening.centre + half, low, high, deep)


def _cuts(shapes: Sequence[Any], windows: Sequence[Any]) -> Iterator[tuple[float, float]]:
    """Walk slices between all corners of the shapes, none thinner than `FINEST`."""
    levels = {round(float(v), 4) for shape in shapes for v in shapely.get_coordinates(shape)[:, 1]}
    levels |= {round(v, 4) for w in windows for v in w[1:3]}
    kept: list[float] = []
    for level in sorted(levels):
        if not kept or level - kept[-1] >= FINEST:
            kept.append(level)
    if kept[-1] < max(levels):
        kept.append(max(levels))
    for low, high in pairwise(kept):
        pieces = max(1, math.ceil((high - low) / FINEST - 1e-9)) if _slanting(shapes, low, high) else 1
        yield from pairwise(np.linspace(low, high, pieces + 1).tolist())


def _slanting(shapes: Sequence[Any], low: float, high: float) -> bool:
    """Tell whether a side of a shape slants across a slice."""
    for shape in shapes:
        points = shapely.get_coordinates(shape)
        steps = np.abs(np.diff(points, axis=0))
        upper, lower = np.maximum(points[:-1, 1], points[1:, 1]), np.minimum(points[:-1, 1], points[1:, 1])
        if bool(((steps > HAIR).all(axis=1) & (upper > low + HAIR) & (lower < high - HAIR)).any()):
            return True
    return False


def _widest(plan: Any, low: float, high: float) -> list[tuple[float, float]]:
    """Return how far along u each piece of a shape reaches anywhere in a slice."""
    cut = shapely.intersection(plan, shapely.box(-FAR, low + HAIR, FAR, high - HAIR))
    pieces = [p for p in shapely.get_parts(cut) if p.area > 0]
    return [(p.bounds[0], p.bounds[2]) for p in pieces]


def _reach(plan: Any, solid: Solid, low: float, high: float) -> list[tuple[float, float]]:
    """Return how far along u a solid reaches in a slice; a part's body counts as the box round it."""
    if solid.what != "body":
        return _widest(plan, low, high)
    u0, v0, u1, v1 = plan.bounds
    return [(u0, u1)] if v0 < high - HAIR and v1 > low + HAIR else []


def _narrowest(plan: Any, low: float, high: float) -> tuple[float, float] | None:
    """Return the longest stretch along u that is in a shape everywhere in a slice."""
    corners = [float(v) for v in shapely.get_coordinates(plan)[:, 1] if low < v < high]
    found: list[tuple[float, float]] | None = None
    for level in (low + HAIR, *corners, high - HAIR):
        line = shapely.intersection(plan, shapely.LineString([(-FAR, level), (FAR, level)]))
        spans = [(p.bounds[0], p.bounds[2]) for p in shapely.get_parts(line) if p.length > 0]
        if found is None:
            found = spans
        else:
            found = [(max(a, c), min(b, d)) for (a, b), (c, d) in product(found, spans) if max(a, c) < min(b, d)]
    return max(found or [], key=lambda s: s[1] - s[0], default=None)


def _rest(free: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return what lies between free stretches along u."""
    edges = [-FAR, *(e for span in free for e in span), FAR]
    return [(edges[k], edges[k + 1]) for k in range(0, len(edges), 2)]


def _solid_walls(
    inside: Any, windows: Sequence[Any], turned: bool, low: float, high: float, top: float
) -> Iterator[Box]:
    """Walk the walls in a slice as boxes, with the openings of the walls before and beside the plane left free."""
    span = _narrowest(inside, low, high)
    _, v0, _, v1 = inside.bounds
    free: list[Box] = [] if span is None else [(span[0], -FAR, span[1], FAR)]
    for opening, start, end, bottom, ceiling, deep in windows:
        ahead = (opening.wall in ("left", "right")) != turned
        if ahead and span is not None and start <= low + HAIR and high - HAIR <= end:
            before = opening.wall in ("left", "bottom")
            free.append(
                (span[0] - deep, bottom, span[0], ceiling) if before else (span[1], bottom, span[1] + deep, ceiling)
            )
        elif not ahead:
            before = opening.wall in ("left", "bottom")
            reached = (v0 - deep <= low + HAIR and high - HAIR <= v0) if before else (
                v1 <= low + HAIR and high - HAIR <= v1 + deep)  # fmt: skip
            if reached:
                free.append((start, bottom, end, ceiling))
    columns = sorted({-FAR, FAR, *(u for box in free for u in (box[0], box[2]))})
    for left, right in pairwise(columns):
        windows_here = sorted((b[1], b[3]) for b in free if b[0] <= left and right <= b[2])
        floor = -FAR
        for bottom, ceiling in windows_here:
            if bottom > floor:
                yield (left, floor, right, min(bottom, top))
            floor = max(floor, ceiling)
        if floor < top:
            yield (left, floor, right, top)


def _pruned(boxes: Sequence[Box]) -> list[Box]:
    """Return the boxes that lie in no other."""
    unique = sorted(set(boxes), key=lambda b: -(b[2] - b[0]) * (b[3] - b[1]))
    kept: list[Box] = []
    for b in unique:
        if not any(k[0] <= b[0] and k[1] <= b[1] and b[2] <= k[2] and b[3] <= k[3] for k in kept):
            kept.append(b)
    return kept
