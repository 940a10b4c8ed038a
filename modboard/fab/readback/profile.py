"""The area inside the board's edge, from the profile layer."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.limits import MOST_EDGE_CROSSINGS, MOST_EDGES, crossings
from modboard.fab.readback.trouble import ReadError

SNAP = 0.005  # mm over which the ends of an edge's lines are taken to meet


def board_area(layer: ReadLayer | None) -> Any:
    """Return the area inside the profile, openings left out; None if there is no closed profile."""
    if layer is None or not layer.objects:
        return None
    regions = [o.core for o in layer.objects if o.kind == "region"]
    cores = np.array([o.core for o in layer.objects if o.kind == "draw"], dtype=object)
    if crossings(cores, np.zeros(len(cores))) > MOST_EDGE_CROSSINGS + len(cores) * 2:
        raise ReadError(layer.name, 1, "is said to be the board's edge, but has more lines across one another than one")
    lines = shapely.union_all(cores)
    faces = shapely.get_parts(shapely.polygonize([lines]))
    if not len(faces) and not lines.is_empty:
        snapped = shapely.node(shapely.set_precision(lines, SNAP))  # ends that miss one another by a hair
        faces = shapely.get_parts(shapely.polygonize([snapped]))
    rings = [shapely.Polygon(p.exterior) for p in faces] + regions
    if len(rings) > MOST_EDGES:
        raise ReadError(layer.name, 1, f"has more than {MOST_EDGES} closed edges")
    rings.sort(key=lambda ring: -ring.area)
    area = shapely.Polygon()
    for ring in rings:  # a ring inside another is an opening, inside that an island
        area = area.symmetric_difference(ring) if not area.is_empty else ring
    return None if area.is_empty else area
