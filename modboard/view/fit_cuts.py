"""Where a board in its room is cut: through the tightest places, along the line that the room there is measured on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import shapely
from shapely import affinity

from modboard.fit.margins import Margin, tightest
from modboard.fit.room import Room, Solid
from modboard.geometry import Position

BEYOND = 1000.0  # mm
NEAR = 0.05  # mm: what ends this near to the line of the section is cut too
FINE = 512  # chords to a quarter circle, so that the direction of a gap is right
SQUARE = 0.5  # degrees within which a section is drawn along x or y
MOST = 50  # tight places that are looked at for two that can be cut


@dataclass(frozen=True, eq=False)
class Cut:
    """A section through a margin: `ends` are the two points in plan it is measured between (equal if upright).

    `angle` is the direction of the section, degrees from x; `name` its letter.
    """

    name: str
    margin: Margin
    solid: Solid
    ends: tuple[Position, Position]
    angle: float

    def turned(self, plan: Any) -> Any:
        """Return a shapely geometry turned so that the section runs along x."""
        return plan if self.angle == 0 else affinity.rotate(plan, -self.angle, origin=(0.0, 0.0))

    def along(self, point: Position) -> Position:
        """Return where a point lies along the section, and to its left."""
        turned = self.turned(shapely.Point(point))
        return (turned.x, turned.y)

    def spans(self, plan: Any) -> list[Position]:
        """Return from where to where along the section a shape is cut."""
        turned = self.turned(plan)
        level = self.along(self.ends[0])[1]
        found: list[Position] = []
        for at in (level, level - NEAR, level + NEAR):
            pieces = shapely.get_parts(shapely.intersection(turned, shapely.LineString([(-BEYOND, at), (BEYOND, at)])))
            found = sorted((p.bounds[0], p.bounds[2]) for p in pieces if p.length > NEAR)
            if found:
                return found
        return found

    @property
    def words(self) -> str:
        """Return 'A–A, along y at x = 4.0'."""
        x, y = self.ends[0]
        if self.angle in (0.0, 90.0):
            where = f"along x at y = {y:.1f}" if self.angle == 0 else f"along y at x = {x:.1f}"
        else:
            where = f"at {self.angle:.0f}° from x through {x:.1f}, {y:.1f}"
        return f"{self.name}–{self.name}, {where}"


def cuts(room: Room, count: int = 2) -> tuple[Cut, ...]:
    """Return sections through the tightest places, no two along the same line: clashes first, then of two kinds."""
    found: list[Cut] = []
    places = [m for m in tightest(room.board, MOST) if m.at is not None]
    firsts: dict[tuple[str, str], Margin] = {}
    for margin in places:
        firsts.setdefault((margin.between.split(" and ", 1)[1], margin.kind), margin)
    leading = [m for m in places if m.worst < 0 or m in firsts.values()]
    for margin in (*leading, *(m for m in places if m not in leading)):
        for turn in (0.0, 90.0):
            cut = _cut(room, margin, "AB"[len(found)], turn)
            if cut is not None and not any(_same(cut, other) for other in found):
                found.append(cut)
                break
        if len(found) == count:
            break
    return tuple(found)


def _same(one: Cut, other: Cut) -> bool:
    alike = abs(one.angle - other.angle) < SQUARE
    return alike and abs(one.along(one.ends[0])[1] - one.along(other.ends[0])[1]) < 1.0


def _cut(room: Room, margin: Margin, name: str, turn: float) -> Cut | None:
    assert margin.at is not None
    first, second = margin.between.split(" and ", 1)
    at = shapely.Point(margin.at)
    solids = [s for s in (room.plate, *room.solids) if s.words == first]
    if not solids:
        return None
    solid = min(
        solids, key=lambda s: (s.outline.exterior if hasattr(s.outline, "exterior") else s.outline).distance(at)
    )
    x0, y0, x1, y1 = room.cavity.inside.bounds
    usual = 0.0 if x1 - x0 >= y1 - y0 else 90.0
    if margin.kind != "beside":
        solid = min(solids, key=lambda s: (-s.high if margin.kind == "above" else s.low, s.outline.distance(at)))
        over = solid.outline.intersection(_target(room, solid, second))
        point = over.representative_point() if over.area > 0 else shapely.Point(solid.middle)
        return Cut(name, margin, solid, ((point.x, point.y), (point.x, point.y)), (usual + turn) % 180.0)
    target = _target(room, solid, second)
    a, b = _ends(solid.outline, target, at)
    long = math.dist(a, b)
    if long < 1e-6:
        return Cut(name, margin, solid, (a, a), (usual + turn) % 180.0)
    if turn:
        return None
    return Cut(name, margin, solid, (a, b), _snapped(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))))


def _snapped(angle: float) -> float:
    """Return the direction between -45 and 135 degrees, so that the section runs with x or y."""
    angle %= 180.0
    angle = angle - 180.0 if angle >= 135.0 else angle
    for square in (0.0, 90.0):
        if abs(angle - square) <= SQUARE:
            return square
    return angle


def _target(room: Room, solid: Solid, name: str) -> Any:
    """Return what the room is measured to: an obstacle, or the faces of walls and openings."""
    for obstacle in room.cavity.obstacles:
        if obstacle.name == name:
            if obstacle.round:
                centre, diameter = obstacle.round
                return shapely.Point(centre).buffer(diameter / 2, quad_segs=FINE)
            return obstacle.outline
    free = [o for o in room.cavity.openings if room.passes_in_height(o, solid)]
    return shapely.union_all(room.free_ground(solid.low, free).lines)


def _ends(outline: Any, target: Any, at: Any) -> tuple[Position, Position]:
    """Return the nearest points of outline and target near a place; in the middle where two straight sides face."""
    edge = outline.boundary
    a = shapely.shortest_line(edge, at).coords[0]
    b = shapely.shortest_line(shapely.Point(a), target).coords[-1]
    gap = math.dist(a, b)
    for ring in shapely.get_parts(edge):
        points = list(ring.coords)
        for p, q in pairwise(points):
            middle = shapely.Point((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
            if shapely.LineString([p, q]).distance(shapely.Point(a)) < 1e-6 and middle.distance(target) <= gap + 1e-6:
                facing = shapely.shortest_line(middle, target).coords[-1]
                return (middle.x, middle.y), facing
    return a, b
