"""Lines of a DXF or SVG drawing in mm, as they are shown: blocks and groups taken apart, what is hidden left out.

Arcs and curves become chords within `CHORD_ERROR`.  What only labels or fills (text, dimensions, hatches, markers)
bounds no room and is passed over.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from modboard.describe import measures
from modboard.describe.polygons import CHORD_ERROR
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "mil": 0.0254, "px": 25.4 / 96, "pt": 25.4 / 72}  # in mm
DXF_UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1e3, 7: 1e6, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 1e-3, 14: 100.0}
# $INSUNITS in mm, DXF reference: inch, foot, mm, cm, m, km, microinch, mil, yard, micrometre, dm
PHYSICAL = ("mm", "cm", "in", "pt", "pc", "q")  # units of length on paper, CSS Values 3, that are not px
UNSHOWN = ("marker", "mask", "pattern", "clipPath")  # SVG elements whose shapes are not drawn where they stand
CURVES = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")
MOST_SPLITS = 16  # halvings of one curve: more chords than any drawing needs
Line = list[Position]


def dxf_lines(file: Path, units: str | None, layer: str | None, site: CallSite) -> Iterator[Line]:
    """Walk the lines of a DXF file's model space, on layers that are shown, or on one layer whether shown or not."""
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        drawing = readfile(file)
    except (OSError, DXFError) as error:
        words = " ".join(str(error).split())
        raise DesignError(
            f"can't read {file.name} as DXF: {words}; save it again as DXF R2000 or later", site
        ) from None
    scale = UNITS[units] if units else DXF_UNITS.get(int(drawing.header.get("$INSUNITS", 0)))
    if scale is None:
        metric = {0: "; its $MEASUREMENT is English", 1: "; its $MEASUREMENT is metric"}
        hint = metric.get(drawing.header.get("$MEASUREMENT", -1), "") if "$MEASUREMENT" in drawing.header else ""
        raise DesignError(f'{file.name} does not say its unit; give units="mm" or units="inch"{hint}', site)
    drawn = [(e, on) for e, on in _taken_apart(drawing.modelspace(), "0") if e.dxftype() in CURVES]
    if layer is None:
        hidden = {each.dxf.name.casefold() for each in drawing.layers if each.is_off() or each.is_frozen()}
        wanted = [e for e, on in drawn if on.casefold() not in hidden and not e.dxf.get("invisible", 0)]
    else:
        names = sorted({on for _, on in drawn})
        if layer.casefold() not in {name.casefold() for name in names}:
            measures.choice(layer, f"layer of {file.name}", names, site)
        wanted = [e for e, on in drawn if on.casefold() == layer.casefold()]
    for entity in wanted:
        for line in _dxf_curve(entity, CHORD_ERROR / scale):
            yield [(scale * x, scale * y) for x, y in line]


def _taken_apart(entities: Iterable[Any], around: str) -> Iterator[tuple[Any, str]]:
    """Walk entities and those of the blocks inserted, each with its layer; layer 0 in a block is that of the insert."""
    for entity in entities:
        on = around if entity.dxf.layer == "0" else entity.dxf.layer
        if entity.dxftype() != "INSERT":
            yield entity, on
            continue
        copies = entity.multi_insert() if entity.mcount > 1 else (entity,)
        for each in copies:
            yield from _taken_apart(each.virtual_entities(), on)


def _dxf_curve(entity: Any, error: float) -> Iterator[Line]:
    """Walk the pieces of one entity; arcs are cut into chords themselves, not by way of other curves."""
    kind = entity.dxftype()
    if kind == "LINE":
        yield [(entity.dxf.start.x, entity.dxf.start.y), (entity.dxf.end.x, entity.dxf.end.y)]
    elif kind in ("LWPOLYLINE", "POLYLINE"):
        if kind == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
            return  # a mesh
        chain: Line = []
        for piece in entity.virtual_entities():
            for line in _dxf_curve(piece, error):
                before = chain[-1] if chain else _start(entity)
                if math.dist(before, line[-1]) < math.dist(before, line[0]):  # arcs always run counter-clockwise
                    line.reverse()
                chain += line
        if chain:
            yield chain
    elif kind in ("ARC", "CIRCLE"):
        if entity.dxf.radius > 0:
            yield [(p.x, p.y) for p in entity.flattening(min(error, entity.dxf.radius / 10))]
    else:
        yield [(p.x, p.y) for p in entity.flattening(error)]


def _start(polyline: Any) -> Position:
    """Return where a polyline starts."""
    points = polyline.vertices_in_wcs() if polyline.dxftype() == "LWPOLYLINE" else polyline.points_in_wcs()
    first = next(iter(points))
    return (first.x, first.y)


def svg_lines(file: Path, units: str | None, layer: str | None, site: CallSite) -> Iterator[Line]:
    """Walk the shapes of an SVG file, transforms applied, y turned upwards."""
    import svgelements as svg

    if layer is not None:
        raise DesignError(f"{file.name} is SVG; layer= is for DXF, where layers have names that stand", site)
    try:
        drawing = svg.SVG.parse(_shown(file), reify=False, ppi=96.0)
    except Exception as error:
        raise DesignError(f"can't read {file.name} as SVG: {' '.join(str(error).split())}", site) from None
    written = str(drawing.values.get("width", "")).strip().casefold()
    if not written.endswith(PHYSICAL) and units is None:
        raise DesignError(
            f'{file.name} gives its page no width in mm or in, so its unit is not known; give units="mm" or units="px"',
            site,
        )
    scale = UNITS["px"]
    if units is not None:
        box, width = drawing.viewbox, drawing.width
        across = float(box.width) / float(width) if box is not None and box.width and width else 1.0
        scale = UNITS[units] * across
    for element in drawing.elements():
        if isinstance(element, svg.Shape) and str(element.values.get("visibility", "")) not in ("hidden", "collapse"):
            m = element.transform
            stretch = max(math.hypot(m.a, m.b), math.hypot(m.c, m.d), 1e-9) * math.sqrt(2)  # no less than it stretches
            whole = svg.Path(*element.segments(transformed=False))
            for piece in whole.as_subpaths():
                points = _chords(svg.Path(piece), CHORD_ERROR / scale / stretch)
                yield [(scale * (m.a * x + m.c * y + m.e), -scale * (m.b * x + m.d * y + m.f)) for x, y in points]


def _shown(file: Path) -> io.BytesIO:
    """Return a drawing without the elements whose shapes are not drawn."""
    tree = ElementTree.parse(file)
    for parent in list(tree.iter()):
        for child in list(parent):
            if isinstance(child.tag, str) and child.tag.rpartition("}")[2] in UNSHOWN:
                parent.remove(child)
    root = tree.getroot()
    for name in ("width", "height"):  # units may be in capitals, CSS Values 3
        if name in root.attrib:
            root.set(name, root.attrib[name].casefold())
    return io.BytesIO(ElementTree.tostring(root))


def _chords(piece: Any, error: float) -> Iterator[Position]:
    """Walk points of one SVG sub-path so that no chord is farther than `error` from the curve."""
    for segment in piece:
        if segment.start is None or segment.end is None or type(segment).__name__ == "Move":
            continue
        straight = type(segment).__name__ in ("Line", "Close")
        yield from [_xy(segment.start)] if straight else _halved(segment.point, error)
        yield _xy(segment.end)


def _halved(point: Callable[[float], Any], error: float) -> Line:
    """Return points of a curve by halving it until the quarter points of each piece lie on its chord."""

    def between(low: float, high: float, depth: int) -> Line:
        start, end = _xy(point(low)), _xy(point(high))
        inner = [_xy(point(low + share * (high - low))) for share in (0.25, 0.5, 0.75)]
        if depth >= 2 and (depth >= MOST_SPLITS or all(_off(p, start, end) <= error for p in inner)):
            return [start]
        middle = (low + high) / 2
        return between(low, middle, depth + 1) + between(middle, high, depth + 1)

    return between(0.0, 1.0, 0)


def _xy(point: Any) -> Position:
    return (float(point.x), float(point.y))


def _off(point: Position, start: Position, end: Position) -> float:
    """Return how far a point is from the straight line between two others."""
    long = math.dist(start, end)
    if long <= 1e-6:
        return math.dist(point, start)
    cross = (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])
    return abs(cross) / long
