"""Can the board be got in: a search for a motion in a vertical plane that takes it from its place out of the room.

For each tilt the places the board cannot be in are the Minkowski sums of what stands and the mirror of what moves
(Lozano-Pérez, IEEE Trans. Computers 32, 1983); what is left falls into pieces, and two tilts are joined where the
whole swing between them is free.  Everything is taken at its widest, so a way that is found is a way; that none is
found proves only that there is none among those searched, which `SEARCHED` names.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.fit.distance import EXACT, within
from modboard.fit.room import Room
from modboard.fit.slices import HAIR, Scene, movers, scene, stays, through_mouth
from modboard.geometry import Position

STEP, STEEPEST = 4.0, 60.0  # degrees between tilts, and the greatest
SLIDE, LIFT = 0.5, 0.5  # mm: how finely a way with one bend is looked for, to tell it in words
ROOM_ABOVE = 5.0  # mm of open air that count as out
SEARCHED = (
    f"straight down, and in planes along x and along y all slides, lifts and tilts up to {STEEPEST:g}° "
    f"in steps of {STEP:g}°; no twists about the upright"
)
WAY_IN = Rule(
    "way-in",
    "error",
    "the board with its parts can be got into the cavity",
    "make the board narrower, fit tall or overhanging parts after it is in, or say how the cavity opens with mouth()",
    source="motion planned in the plane, Lozano-Pérez 1983",
)
RULES = (WAY_IN,)
Node = tuple[int, int]  # number of the tilt, number of the piece
NAMES = {"x": ("left", "right"), "y": ("bottom", "top")}


@dataclass(frozen=True)
class Pose:
    """The board on its way: in the plane of `axis` tilted by `tilt` degrees about `about` (u, z), and shifted."""

    axis: str
    tilt: float
    shift: tuple[float, float]
    about: tuple[float, float]


@dataclass(frozen=True)
class WayIn:
    """How the board goes in: `how` is "straight down", "slid", "tilted", "none", or "unfit" where its place is taken.

    `worst` tells whether that holds with every ± in plan against it, None where the board's very place is not free
    then; `poses` lead from outside to its place.
    """

    how: str
    worst: bool | None
    words: str
    poses: tuple[Pose, ...] = ()


def way_in(room: Room) -> WayIn:
    """Return a way in, one that holds at worst if there is one; the simplest kind first."""
    certain: bool | None = True if in_place(room) else None
    if lifts_straight(room, worst=True):
        return WayIn("straight down", True, _said("straight down", True))
    for worst in (True, False) if certain else (False,):
        if not worst and lifts_straight(room, worst=False):
            return WayIn("straight down", certain, _said("straight down", certain))
        scenes = {axis: scene(room, axis, worst=worst) for axis in ("x", "y")}
        planes = {axis: Plane(s, _about(room, axis)) for axis, s in scenes.items()}
        if not all(p.stands() for p in planes.values()):
            certain = None
            continue
        certain = None if certain is None else worst
        for axis, plane in planes.items():
            found = plane.slid(axis)
            if found:
                return WayIn("slid", certain, _said(found[0], certain), found[1])
        for axis, plane in planes.items():
            found = plane.tilted(axis)
            if found:
                return WayIn("tilted", certain, _said(found[0], certain), found[1])
        if not worst:
            return WayIn("none", certain, f"no way in was found; searched: {SEARCHED}")
    return WayIn("unfit", None, "getting in was not searched, for the board does not fit in its place")


def in_place(room: Room) -> bool:
    """Tell whether the board's very place is free in plan with every ± against it."""
    gaps = [room.to_walls(solid) for solid in (room.plate, *room.solids)]
    for solid in movers(room):
        gaps += [room.to_obstacle(solid, o) for o in room.cavity.obstacles if room.reaches(o, solid)]
    return all(gap.worst >= -EXACT for gap in gaps)


def lifts_straight(room: Room, *, worst: bool) -> bool:
    """Tell whether nothing is beside the board and over it when it is lifted straight up out of its place; exact."""
    mouth = room.cavity.mouth
    rim = None if mouth is None else through_mouth(room, mouth, worst=worst)
    for solid in movers(room):
        wall = within(solid.outline, room.free_ground(solid.low, []), room.made_to)
        over = [(o, room.to_obstacle(solid, o)) for o in stays(room) if o.top is None or o.top > solid.low + EXACT]
        inside = [o for o, gap in over if gap.nominal <= 0 and solid.outline.intersection(o.outline).area > EXACT]
        if wall.nominal < -EXACT or inside:
            return False
        if worst and any(gap.worst < -EXACT for gap in (wall, *(gap for _, gap in over))):
            return False
        if rim is not None and not rim.covers(solid.outline):
            return False
    return True


def _said(how: str, certain: bool | None) -> str:
    doubt = {True: "", False: ", as measured; with the tolerances against it no way was found", None: ", as measured"}
    return f"goes in {how}{doubt[certain]}"


def inspect(room: Room) -> Iterator[Finding]:
    """Report a board that can't be got in, or only if the measurements are kind."""
    found = way_in(room)
    if found.how == "none":
        yield WAY_IN.finding(room.rules, None, "the way in", found.words)
    elif found.worst is False:
        words = f"the board {found.words}; searched: {SEARCHED}"
        yield WAY_IN.finding(room.rules, None, "the way in", words, severity="warning")


def _about(room: Room, axis: str) -> tuple[float, float]:
    x0, y0, x1, y1 = room.board.outline.bounds
    return ((x0 + x1) / 2 if axis == "x" else (y0 + y1) / 2, room.underside)


class Plane:
    """The free places of the board in one plane of motion, tilt by tilt."""

    def __init__(self, pairs: Scene, about: tuple[float, float]) -> None:
        self.pairs, self.about = pairs, about
        boxes, still = pairs.moving, pairs.standing
        self.corners = np.stack([_corner(boxes, i, j, HAIR) for i in (0, 2) for j in (1, 3)], axis=1) - np.array(about)
        self.walls = np.stack([_corner(still, i, j, 0.0) for i in (0, 2) for j in (1, 3)], axis=1)
        reach = float(np.linalg.norm(self.corners, axis=2).max())
        self.reach = reach
        self.out = pairs.top - about[1] + reach + ROOM_ABOVE
        self.aside = 2 * pairs.width + 2 * reach
        self._layers: dict[int, list[Any]] = {}

    def stands(self) -> bool:
        """Tell whether the board's own place is free."""
        return self._piece(0, (0.0, 0.0)) is not None

    def layer(self, number: int) -> list[Any]:
        """Return the pieces of free shifts (u, z) at a tilt of `number` steps."""
        if number not in self._layers:
            self._layers[number] = self._free(_turned(self.corners, STEP * number), 0.0)
        return self._layers[number]

    def swing(self, number: int) -> list[Any]:
        """Return the pieces of shifts at which the board can swing freely from `number` steps to the next."""
        ends = [_turned(self.corners, STEP * n) for n in (number, number + 1)]
        bulge = self.reach * (1 - math.cos(math.radians(STEP) / 2))
        return self._free(np.concatenate(ends, axis=1), bulge)

    def _free(self, corners: Any, bulge: float) -> list[Any]:
        """Return the free shifts for moving shapes that are the hulls of `corners` about the middle of turning."""
        centred = corners + np.array(self.about)
        walls = self.walls + bulge * np.array([[-1, -1], [-1, 1], [1, -1], [1, 1]])
        sums = (walls[:, :, None, :] - centred[:, None, :, :]).reshape(len(walls), -1, 2)
        window = shapely.box(-self.aside, -self.reach, self.aside, self.out)
        sums = np.clip(sums, -4 * self.aside, 4 * self.aside)
        taken = shapely.union_all(shapely.convex_hull(shapely.multipoints(sums)))
        return [p for p in shapely.get_parts(window.difference(taken)) if p.geom_type == "Polygon" and p.area > 1e-9]

    def _piece(self, number: int, shift: tuple[float, float]) -> int | None:
        point = shapely.Point(shift)
        return next((k for k, p in enumerate(self.layer(number)) if p.distance(point) <= 1e-9), None)

    def is_out(self, piece: Any) -> bool:
        """Tell whether a piece of free shifts reaches open air above, or beside through an opening."""
        u0, _, u1, z1 = piece.bounds
        return bool(z1 >= self.out - 1e-6 or u0 <= -self.aside + 1e-6 or u1 >= self.aside - 1e-6)

    def slid(self, axis: str) -> tuple[str, tuple[Pose, ...]] | None:
        """Return the way out without a tilt, in words and poses."""
        home = self._piece(0, (0.0, 0.0))
        piece = None if home is None else self.layer(0)[home]
        if piece is None or not self.is_out(piece):
            return None
        for k in range(1, int(2 * self.aside / SLIDE)):
            for shift in (k * SLIDE, -k * SLIDE):
                level = self._bend(piece, shift)
                if level is not None:
                    start, end = NAMES[axis] if shift > 0 else NAMES[axis][::-1]
                    words = f"let down {abs(shift):g} mm to the {end} of its place, then slid to the {start}"
                    return words, (Pose(axis, 0.0, (shift, level), self.about),)
        side = NAMES[axis][1 if piece.bounds[2] >= self.aside - 1e-6 else 0]
        through = max(-piece.bounds[0], piece.bounds[2]) >= self.aside - 1e-6
        return (f"slid in through the {side} wall" if through else f"slid about along {axis} between lifts"), ()

    def _bend(self, piece: Any, shift: float) -> float | None:
        """Return at which lift the board can be slid by `shift` and then raised out; None if at none."""
        for lift in range(int(self.out / LIFT)):
            level = lift * LIFT
            path = shapely.LineString([(0.0, 0.0), (0.0, level), (shift, level), (shift, self.out)])
            if piece.covers(path):
                return level
        return None

    def tilted(self, axis: str) -> tuple[str, tuple[Pose, ...]] | None:
        """Return the way out with the least tilt, in words and poses; None if there is none."""
        home = self._piece(0, (0.0, 0.0))
        if home is None:
            return None
        ways: dict[Node, tuple[Node, Position]] = {}
        seen = {(0, home)}
        waiting = [(0, (0, home))]
        while waiting:
            steepest, node = heapq.heappop(waiting)
            number, piece = node
            if self.is_out(self.layer(number)[piece]):
                return self._told(axis, node, ways)
            for other in (number - 1, number + 1):
                if abs(other) * STEP > STEEPEST + 1e-9:
                    continue
                for swing in self.swing(min(number, other)):
                    point = swing.representative_point()
                    at = (point.x, point.y)
                    after = self._piece(other, at)
                    if after is not None and self._piece(number, at) == piece and (other, after) not in seen:
                        seen.add((other, after))
                        ways[(other, after)] = (node, at)
                        heapq.heappush(waiting, (max(steepest, abs(other)), (other, after)))
        return None

    def _told(self, axis: str, last: Node, ways: dict[Node, tuple[Node, Position]]) -> tuple[str, tuple[Pose, ...]]:
        """Put a way out into words, and into poses from outside to its place."""
        poses = []
        node = last
        while node in ways:
            before, at = ways[node]
            poses.append(Pose(axis, STEP * node[0], at, self.about))
            node = before
        tilt = max((pose.tilt for pose in poses), key=abs)
        down = NAMES[axis][1] if tilt < 0 else NAMES[axis][0]
        return f"tilted by {abs(tilt):g}°, its {down} edge first, then laid flat", tuple(poses)


def _corner(boxes: Any, i: int, j: int, less: float) -> Any:
    """Return corners (u, z) of boxes, drawn in by `less` mm."""
    u = boxes[:, i] + (less if i == 0 else -less)
    z = boxes[:, j] + (less if j == 1 else -less)
    return np.stack([u, z], axis=1)


def _turned(corners: Any, degrees: float) -> Any:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return corners @ np.array([[cos, sin], [-sin, cos]])
