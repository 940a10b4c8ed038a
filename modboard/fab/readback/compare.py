"""Compares the image of one written layer with what was drawn for it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from modboard.artwork.model import Layer, Region, Stroke
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.layer import ReadLayer, composed
from modboard.geometry import Shape

AREA_SHARE = 1e-6  # of the layer's area
THICKEST = 0.001  # mm; GLFS 4.14: a reader may move any point by half a micrometre
SAME_PLACE = 2e-6  # mm; files are on a grid of 1 nm, so a point may lie up to 0.7 nm from where it was drawn
FINE_SEGMENTS = 256  # chords in a quarter circle, for layers where the usual 32 leave a doubt


def layer_difference(read: ReadLayer, layer: Layer) -> str:
    """Return in words how the image of `read` differs from `layer`; "" if it is the same.

    The same is: equal in area to 1e-6, and nowhere apart by more than 1 µm.
    """
    if _same_objects(read, layer):
        return ""
    drawn = layer.area()
    if words := edge_difference(read.image, drawn):
        return words
    if words := area_difference(read.image, drawn):
        # The chords of a turned arc need not fall where the drawing's do: weigh again with chords that are finer.
        fine = read_gerber(read.text, read.name, FINE_SEGMENTS).image
        words = area_difference(fine, shapely.union_all([f.shape.polygon(FINE_SEGMENTS) for f in layer.features]))
    return words


def area_difference(image: Any, drawn: Any) -> str:
    """Return in words how two images differ in area; "" if they agree to 1e-6."""
    if abs(image.area - drawn.area) <= AREA_SHARE * drawn.area + 1e-9:
        return ""
    return f"area {image.area:.6f} mm², drawn {drawn.area:.6f} mm²"


def edge_difference(image: Any, drawn: Any) -> str:
    """Return where two images differ by more than a sliver 1 µm thick; "" if nowhere."""
    parts = shapely.get_parts(shapely.symmetric_difference(image, drawn))
    parts = parts[shapely.area(parts) > THICKEST**2 / 2]
    thick = shapely.get_parts(shapely.buffer(parts, -THICKEST / 2))
    thick = thick[~shapely.is_empty(thick)]
    if not len(thick):
        return ""
    at = max(thick, key=lambda part: part.area).representative_point()
    return f"the image differs from what was drawn, most at ({at.x:.3f}, {at.y:.3f}) mm"


def _same_objects(read: ReadLayer, layer: Layer) -> bool:
    """Tell whether the file has, in order, the very pads and lines of the drawing, and regions of the same image.

    Then both have the same image, and two long unions are saved.  A clear object may erase what came before it, so
    nothing but regions may stand before the last one.
    """
    darks = [o.dark for o in read.objects]
    last_clear = max((k for k, dark in enumerate(darks) if not dark), default=-1)
    regions = [k for k, o in enumerate(read.objects) if o.kind == "region"]
    others = [k for k, o in enumerate(read.objects) if o.kind != "region"]
    pieces = [piece for f in layer.features if not isinstance(f, Region) for piece in _pieces(f)]
    if (others and others[0] < last_clear) or len(others) != len(pieces):
        return False
    drawn = [f.area for f in layer.features if isinstance(f, Region)]
    if bool(drawn) != bool(regions):
        return False
    filled = composed(read.shapes[regions], [darks[k] for k in regions])
    if regions and not _same_image(filled, shapely.union_all(drawn)):
        return False
    return all(
        _same_image(read.shapes[others[k]], pieces[k].polygon())
        for k in _unlike([read.objects[k].core for k in others], [read.objects[k].radius for k in others], pieces)
    )


def _same_image(image: Any, drawn: Any) -> bool:
    return not area_difference(image, drawn) and not edge_difference(image, drawn)


def _pieces(feature: Any) -> list[Shape]:
    """Return a feature as a file has it: a polyline as one line for each of its sides."""
    if not isinstance(feature, Stroke):
        return [feature.shape]
    sides = [(a, b) for a, b in pairwise(feature.points) if _grid(a) != _grid(b)]
    return [Shape(shapely.LineString(side), feature.width / 2) for side in sides] or [feature.shape]


def _grid(point: tuple[float, float]) -> tuple[int, int]:
    return (round(point[0] * 1_000_000), round(point[1] * 1_000_000))


def _unlike(cores: list[Any], radii: list[float], pieces: list[Shape]) -> list[int]:
    """Return the numbers of the pieces whose core or radius is not that of the object beside it."""
    if not pieces:
        return []
    same = shapely.equals_exact(cores, [p.core for p in pieces], tolerance=SAME_PLACE)
    near = np.abs(np.subtract(radii, [p.radius for p in pieces])) <= SAME_PLACE
    return [int(k) for k in np.flatnonzero(~(same & near))]
