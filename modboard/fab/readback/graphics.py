"""The pen of a Gerber reader: where it is, what it holds, and the objects that it has put down.

Section numbers: Ucamco, Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Literal, NoReturn

import numpy as np
import shapely

from modboard.fab.readback.apertures import Aperture, arc_points, quadrant_centre
from modboard.fab.readback.assembly import Draft, assembled
from modboard.fab.readback.copies import PLAIN, Pose, copied, posed
from modboard.fab.readback.layer import Fields, ReadObject
from modboard.fab.readback.limits import MOST_CONTOUR_POINTS, MOST_CROSSINGS, Budget, crossings

Place = tuple[float, float]
Block = tuple[ReadObject, ...]
LOOSEST_ARC = 0.01  # mm by which an arc's ends may differ in their distance from its centre
LOOSEST_CONTOUR = 0.01  # mm by which a contour may fail to close: old files round to 0.001 inch or worse
LOOSEST_CROSSING = 0.002  # mm of its length by which a contour may cross itself, rounded likewise


class Graphics:
    """Takes operations and keeps the objects they make.  `fail` is called with words when one is wrong."""

    def __init__(self, fail: Callable[[str], NoReturn], warn: Callable[[str], None], segments: int) -> None:
        self.fail, self.warn, self.segments = fail, warn, segments
        self.at: Place = (0.0, 0.0)
        self.at_known = False
        self.mode = ""
        self.multi_quadrant: bool | None = None
        self.dark = True
        self.pose = PLAIN
        self.aperture: Aperture | Block | None = None
        self.budget = Budget()
        self.contour: list[Place] | None = None
        self.contours: list[list[Place]] | None = None
        self._objects: list[ReadObject] = []
        self._drafts: list[Draft] = []
        self.attributes: dict[str, Fields] = {}
        self._posed: dict[tuple[int, Pose], Aperture] = {}

    def objects(self) -> list[ReadObject]:
        """Return the list of everything put down so far; what is done to it counts."""
        self._objects += assembled(self._drafts)
        self._drafts = []
        return self._objects

    def start_afresh(self, objects: list[ReadObject]) -> None:
        """Go on with another list, e.g. that of a block."""
        self._objects, self._drafts = objects, []

    # ----- operations

    def move(self, end: Place) -> None:
        """D02."""
        if self.contours is not None:
            self.close_contour()
            self.contour = [end]
        self.at, self.at_known = end, True

    def flash(self, end: Place, line: int) -> None:
        """D03."""
        if self.contours is not None:
            self.fail("a flash inside a region")
        if isinstance(self.aperture, tuple):
            self._spend(len(self.aperture), 4 * len(self.aperture))
            self.objects().extend(copied(self.aperture, self.pose, end, self.dark, dict(self.attributes)))
        else:
            pen = self._pen()
            self._add("flash", pen.stamp, end, pen.radius, pen.attributes, line, end, pen.points)
        self.at, self.at_known = end, True

    def draw(self, end: Place, offset: tuple[float | None, float | None], line: int) -> None:
        """D01, straight or along an arc; `offset` are I and J in mm."""
        if not self.mode:
            self.warn("a draw before G01, taken to be straight,")
            self.mode = "G01"
        if not self.at_known:
            self.fail("a draw starts from a place that the file has not said")
        if self.mode == "G01" and offset != (None, None):
            if any(offset):
                self.fail("I and J belong to arcs only")
            self.warn("I and J of a straight draw")
        path = [self.at, end] if self.mode == "G01" else self._arc(end, offset)
        if self.contours is not None:
            self._extend(path)
        else:
            self._stroke(path, line)
        self.at = end

    def _extend(self, path: list[Place]) -> None:
        if self.contour is None:
            self.warn("a contour that does not start with D02")
            self.contour = path[:1]
        self.contour += path[1:]
        if len(self.contour) > MOST_CONTOUR_POINTS:
            self.fail(f"a contour has more than {MOST_CONTOUR_POINTS} corners")

    def _stroke(self, path: list[Place], line: int) -> None:
        if isinstance(self.aperture, tuple):
            self.fail("a draw with a block aperture")
        pen = self._pen()
        if pen.pen is not None:
            straight = len(path) == 2
            place = (path[0] if path[0] == path[1] else (*path[0], *path[1])) if straight else None
            core = None if straight else shapely.LineString(path)
            self._add("draw", core, place, pen.pen / 2, pen.attributes, line, None, len(path))
        elif pen.convex and len(path) == 2:
            self.warn("a draw with a pen that is not round")
            core = shapely.convex_hull(shapely.union(pen.put(path[0]), pen.put(path[1])))
            self._add("draw", core, None, pen.radius, pen.attributes, line, None, 2 * pen.points)
        else:
            self.fail("a draw with an aperture that is not a plain circle is not read")

    def _arc(self, end: Place, offset: tuple[float | None, float | None]) -> list[Place]:
        if None in offset and self.multi_quadrant:
            self.warn("an arc without one of I and J, taken to be 0,")
        i, j = offset[0] or 0.0, offset[1] or 0.0
        anticlockwise = self.mode == "G03"
        centre = (self.at[0] + i, self.at[1] + j)
        if not self.multi_quadrant:
            if self.at == end and self.multi_quadrant is False:
                return [self.at, end]
            found = quadrant_centre(self.at, end, (i, j), anticlockwise)
            either = found is not None and self.at != end and math.dist(found, centre) <= LOOSEST_ARC
            if self.multi_quadrant is None and not either:
                self.fail("an arc without G75 or G74, which could be two different arcs")
            if found is None:
                self.fail("a single-quadrant arc has no centre that makes it 90° or less")
            if self.multi_quadrant is None:
                self.warn("an arc without G75 or G74")
            centre = found
        radius, other = math.dist(centre, self.at), math.dist(centre, end)
        if radius == 0 or abs(radius - other) > LOOSEST_ARC:
            self.fail(f"an arc's ends are {radius:.4f} and {other:.4f} mm from its centre")
        return arc_points(self.at, end, centre, anticlockwise, self.segments)

    def _pen(self) -> Aperture:
        if not isinstance(self.aperture, Aperture):
            self.fail("an object before any aperture is selected")
        if self.pose == PLAIN:
            return self.aperture
        key = (id(self.aperture), self.pose)
        if key not in self._posed:
            a, scale = self.aperture, self.pose.scale
            self._posed[key] = Aperture(
                posed(a.core, self.pose),
                a.radius * scale,
                None if a.pen is None else a.pen * scale,
                a.attributes,
                a.convex,
            )
        return self._posed[key]

    def _add(
        self,
        kind: Literal["flash", "draw", "region"],
        core: Any,
        place: tuple[float, ...] | None,
        radius: float,
        attributes: dict[str, Fields],
        line: int,
        at: Place | None,
        points: int,
    ) -> None:
        self._spend(1, points)
        carried = {**attributes, **self.attributes} if self.attributes else attributes
        self._drafts.append((kind, self.dark, core, place, radius, carried, line, at))

    def _spend(self, objects: int, points: int) -> None:
        if words := self.budget.spend(objects, points):
            self.fail(words)

    # ----- regions (GLFS 4.10)

    def start_region(self) -> None:
        """G36."""
        if self.contours is not None:
            self.fail("a region starts inside a region")
        self.contours, self.contour = [], None

    def close_contour(self) -> None:
        """End the contour under way, if there is one."""
        if self.contour is None or self.contours is None:
            return
        contour, self.contour = self.contour, None
        if contour[0] != contour[-1]:
            if math.dist(contour[0], contour[-1]) > LOOSEST_CONTOUR:
                self.fail("a contour is not closed: its last point is not its first")
            self.warn("a contour that is not quite closed")
            contour.append(contour[0])
        if len(contour) < 4:
            self.warn("a contour without area, passed over,")
            return
        self.contours.append(contour)

    def end_region(self, attributes: dict[str, Fields], line: int) -> None:
        """G37."""
        if self.contours is None:
            self.fail("G37 without G36")
        self.close_contour()
        areas = [self._filled(c) for c in self.contours]
        if areas:
            self._not_too_crowded(areas)
            whole = shapely.union_all(areas) if len(areas) > 1 else areas[0]
            self._add("region", whole, None, 0.0, attributes, line, None, sum(map(len, self.contours)))
        self.contours = self.contour = None
        self.at_known = False

    def _filled(self, contour: list[Place]) -> Any:
        """Return the inside of a contour; cut-ins (GLFS 4.10.3) are allowed, a contour that crosses itself is not."""
        area = shapely.Polygon(contour)
        if area.is_valid:
            return area
        self._not_too_crowded([area])
        repaired = area.buffer(0)
        lost = abs(repaired.area - area.area)
        if lost > LOOSEST_CROSSING * area.length or (repaired.is_empty and area.area > 0):
            self.fail("a contour crosses itself")
        if lost > 1e-9 * max(1.0, area.area):
            self.warn("a contour that crosses itself by a hair")
        elif repaired.is_empty:
            self.warn("a contour without area, passed over,")
        return repaired

    def _not_too_crowded(self, areas: list[Any]) -> None:
        if sum(shapely.get_num_coordinates(areas)) > 2000:
            cores = np.array(areas, dtype=object)
            if crossings(cores, np.zeros(len(cores))) > MOST_CROSSINGS:
                self.fail("a region has more lines across one another than a board can")
