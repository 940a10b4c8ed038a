"""How much room one shape leaves round another that lies inside it: annular rings, mask openings over pads."""

from __future__ import annotations

import shapely

from modboard.geometry import Shape


def enclosure(outer: Shape, inner: Shape) -> float:
    """Return the least distance in mm from the edge of `inner` out to that of `outer`; negative where it sticks out.

    Exact where `outer` is convex or `inner` lies in its core; where a corner of `inner` sticks out of a core the depth
    there is measured from the core's nearest point, which for convex shapes is the true one.
    """
    if outer.core.geom_type == "Polygon" and outer.core.covers(inner.core):
        return float(shapely.distance(outer.core.boundary, inner.core)) + outer.radius - inner.radius
    corners = shapely.points(shapely.get_coordinates(inner.core))
    farthest = float(shapely.distance(corners, outer.core).max())
    return outer.radius - farthest - inner.radius
