"""Two readers that others wrote, put to use as judges: gerbonara for geometry, pygerber for attributes."""

from __future__ import annotations

import math
import warnings
from functools import cache
from typing import Any

import shapely
from gerbonara import graphic_primitives as primitives
from gerbonara.excellon import ExcellonFile
from gerbonara.rs274x import GerberFile
from gerbonara.utils import MM
from pygerber.gerberx3.parser2.parser2 import Parser2
from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer
from shapely import affinity


def gerbonara_image(text: str, quarter_segments: int = 32) -> Any:
    """Return the dark area of a Gerber layer as gerbonara understands it, curves as chords."""
    image: Any = shapely.Polygon()
    run: list[Any] = []
    dark = True
    for item in GerberFile.from_string(text).objects:
        if item.polarity_dark is not dark:
            image, run, dark = _composed(image, run, dark), [], item.polarity_dark
        run.append(_object(item, quarter_segments))
    return _composed(image, run, dark)


def _composed(image: Any, run: list[Any], dark: bool) -> Any:
    together = shapely.union_all(run)
    return image.union(together) if dark else image.difference(together)


def _object(item: Any, segments: int) -> Any:
    """Return one object; primitives of a macro that are clear cut the primitives before them."""
    shape: Any = shapely.Polygon()
    for primitive in item.to_primitives(MM):
        area = _primitive(primitive, segments)
        same = primitive.polarity_dark is item.polarity_dark
        shape = shape.union(area) if same else shape.difference(area)
    return shape


def _primitive(p: Any, segments: int) -> Any:
    if isinstance(p, primitives.Circle):
        return shapely.Point(p.x, p.y).buffer(p.r, quad_segs=segments)
    if isinstance(p, primitives.Line):
        core = shapely.LineString([(p.x1, p.y1), (p.x2, p.y2)])
        return core.buffer(p.width / 2, quad_segs=segments)
    if isinstance(p, primitives.Rectangle):
        box = shapely.box(p.x - p.w / 2, p.y - p.h / 2, p.x + p.w / 2, p.y + p.h / 2)
        return affinity.rotate(box, p.rotation, origin=(p.x, p.y), use_radians=True)
    if isinstance(p, primitives.ArcPoly):
        points: list[Any] = []
        for start, end, (clockwise, centre) in p.segments:
            points += [start] if clockwise is None else _arc(centre, start, end, clockwise, segments)
        return shapely.Polygon(points).buffer(0)
    raise TypeError(f"gerbonara gave a {type(p).__name__}, which this adapter does not know")


def _arc(centre: Any, start: Any, end: Any, clockwise: bool, segments: int) -> list[Any]:
    a = math.atan2(start[1] - centre[1], start[0] - centre[0])
    b = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = -((a - b) % (2 * math.pi)) if clockwise else (b - a) % (2 * math.pi)
    sweep = sweep or (-2 * math.pi if clockwise else 2 * math.pi)
    radius = math.dist(centre, start)
    steps = max(2, math.ceil(abs(sweep) / (math.pi / 2) * segments))
    return [
        (centre[0] + radius * math.cos(a + sweep * k / steps), centre[1] + radius * math.sin(a + sweep * k / steps))
        for k in range(steps)
    ]


def gerbonara_holes(text: str) -> list[tuple[float, ...]]:
    """Return (x, y, diameter) of each hit and (x, y, x2, y2, diameter) of each routed slot, mm, to 1 µm."""
    found: list[tuple[float, ...]] = []
    for item in ExcellonFile.from_string(text).objects:
        diameter = item.aperture.equivalent_width(MM)
        ends = (item.x, item.y) if hasattr(item, "x") else (item.x1, item.y1, item.x2, item.y2)
        found.append(tuple(round(v, 3) for v in (*ends, diameter)))
    return sorted(found)


@cache
def pygerber_attributes(text: str) -> tuple[dict[str, str], list[dict[str, str]]]:
    """Return the file attributes, and for each object its own and its aperture's, as pygerber reads them."""
    parser = Parser2()
    objects = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pygerber's grammar uses words that pyparsing has renamed
        items = list(parser.parse(Tokenizer().tokenize(text)))
    for item in items:
        if hasattr(item, "object_attributes"):
            objects.append({**item.aperture_attributes.mapping, **item.object_attributes.mapping})
        else:
            objects.append({**item.aperture.attributes.mapping, **item.attributes.mapping})
    return dict(parser.context.file_attributes.mapping), objects
