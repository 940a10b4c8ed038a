"""Outlines traced in a drawing program: rings in mm from a DXF or SVG file, turned, scaled and mirrored as drawn.

Arcs and curves become chords within `CHORD_ERROR`.  Loose lines are joined end to end; gaps up to a stated length are
closed, and an outline that stays open is answered with the two ends.  Lengths come from the file's own unit: $INSUNITS
in DXF, the physical width of the page in SVG (CSS: 96 px to an inch).  A file without one must be given `units`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from modboard.describe import measures
from modboard.describe.polygons import CHORD_ERROR, plan
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "mil": 0.0254, "px": 25.4 / 96, "pt": 25.4 / 72}  # in mm
DXF_UNITS = {1: "inch", 4: "mm", 5: "cm", 6: "m", 9: "mil"}  # $INSUNITS, DXF reference
SAME = 1e-6  # mm; ends closer than this meet
MOST_SPLITS = 16  # halvings of one curve: more chords than any drawing needs
Line = list[Position]


def rings(
    file: Path, site: CallSite, *, units: str | None = None, layer: str | None = None, close: float = 0.1
) -> list[Any]:
    """Return every closed outline of a drawing as a shapely polygon in mm, the largest first.

    `units` says what one unit of the drawing is where the file does not, and overrules it where it does.  `layer` takes
    what is on one DXF layer only.  Gaps up to `close` mm between ends are closed.  Raises DesignError for a file that
    can't be read, says no unit, or leaves an outline open; the message names the place as drawn, in mm.
    """
    if units is not None:
        measures.choice(units, "units of the drawing", list(UNITS), site)
    kind = file.suffix.casefold()
    if not file.is_file():
        raise DesignError(f"there is no drawing {file}", site)
    if kind not in (".dxf", ".svg"):
        raise DesignError(f"{file.name} is no drawing that can be traced; save the outline as DXF or SVG", site)
    reader = _dxf if kind == ".dxf" else _svg
    lines = [tidied for line in reader(file, units, layer, site) if len(tidied := _without_repeats(line)) > 1]
    if not lines:
        on = f" on layer {layer}" if layer else ""
        raise DesignError(f"{file.name} has no lines{on} to trace", site)
    closed = _joined(_once(lines), close, file.name, site)
    found = [plan(ring, f"the outline in {file.name}", site) for ring in closed]
    return sorted(found, key=lambda ring: (-ring.area, ring.bounds))


def cavity_rings(file: Path, site: CallSite, **said: Any) -> tuple[Any, list[Any]]:
    """Return the room's outline and what stands in it; DesignError if a ring lies outside the largest."""
    outer, *inner = rings(file, site, **said)
    for ring in inner:
        if not outer.contains(ring):
            x, y = ring.representative_point().coords[0]
            raise DesignError(
                f"{file.name} has an outline near ({x:g}, {y:g}) mm that is not inside the largest one; "
                "keep one room in the drawing, or put it on a layer of its own and give layer=",
                site,
            )
    return outer, inner


def _without_repeats(line: Line) -> Line:
    """Return a line without points that repeat the one before."""
    kept: Line = []
    for point in line:
        if not kept or math.dist(point, kept[-1]) > SAME:
            kept.append(point)
    return kept


def _once(lines: list[Line]) -> list[Line]:
    """Return the lines without those drawn twice, in either direction."""
    seen: set[tuple[Position, ...]] = set()
    kept = []
    for line in lines:
        key = tuple((round(x, 4), round(y, 4)) for x, y in line)
        if key not in seen and key[::-1] not in seen:
            seen.add(key)
            kept.append(line)
    return kept


def _joined(lines: list[Line], close: float, name: str, site: CallSite) -> list[Line]:
    """Join lines end to end into rings, always taking the nearest loose end; DesignError where one stays open."""
    loose = list(lines)
    found: list[Line] = []
    while loose:
        chain = loose.pop(0)
        while True:
            end = chain[-1]
            home = math.dist(end, chain[0]) if len(chain) > 2 else math.inf
            ends = [
                (math.dist(end, line[-1 if back else 0]), k, back) for k, line in enumerate(loose) for back in (0, 1)
            ]
            gap, number, back = min(ends, default=(math.inf, 0, 0))
            if home <= min(gap, close):
                found.append(chain)
                break
            if gap > close:
                to = f"the nearest other end is {gap:.3g} mm away" if gap < math.inf else "there is no other end"
                if home < gap:
                    to = f"its other end is {home:.3g} mm away at ({chain[0][0]:.3f}, {chain[0][1]:.3f})"
                raise DesignError(
                    f"the outline in {name} is open at ({end[0]:.3f}, {end[1]:.3f}) mm as drawn: {to}; "
                    f"join the ends in the drawing, or close wider gaps than {close:g} mm with close=",
                    site,
                )
            line = loose.pop(number)
            chain = chain + (line[::-1] if back else line)
    return found


def _dxf(file: Path, units: str | None, layer: str | None, site: CallSite) -> Iterator[Line]:
    """Walk the lines of a DXF file's model space, blocks taken apart."""
    from ezdxf import disassemble, path
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        drawing = readfile(file)
    except (OSError, DXFError) as error:
        raise DesignError(
            f"can't read {file.name} as DXF: {error}; save it again as DXF R2000 or later", site
        ) from None
    unit = units or DXF_UNITS.get(int(drawing.header.get("$INSUNITS", 0)), "")
    if not unit:
        raise DesignError(f'{file.name} does not say its unit; give units="mm" or units="inch"', site)
    scale = UNITS[unit]
    names = sorted({entity.dxf.layer for entity in drawing.modelspace()})
    if layer is not None:
        measures.choice(layer, f"layer of {file.name}", names, site)
    for entity in disassemble.recursive_decompose(drawing.modelspace()):
        if layer is not None and entity.dxf.layer != layer:
            continue
        try:
            drawn = path.make_path(entity)
        except TypeError:  # text, dimensions, points: nothing that bounds a room
            continue
        for piece in drawn.sub_paths():
            yield [(scale * p.x, scale * p.y) for p in piece.flattening(CHORD_ERROR / scale)]


def _svg(file: Path, units: str | None, layer: str | None, site: CallSite) -> Iterator[Line]:
    """Walk the shapes of an SVG file, transforms applied, y turned upwards."""
    import svgelements as svg

    if layer is not None:
        raise DesignError(f"{file.name} is SVG; layer= is for DXF, where layers have names that stand", site)
    try:
        drawing = svg.SVG.parse(str(file), reify=True, ppi=96.0)
    except Exception as error:
        raise DesignError(f"can't read {file.name} as SVG: {' '.join(str(error).split())}", site) from None
    written = str(drawing.values.get("width", "")).strip()
    physical = written.endswith(("mm", "cm", "in", "pt", "pc", "Q"))
    if not physical and units is None:
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
        if isinstance(element, svg.Shape) and str(element.values.get("visibility", "")) != "hidden":
            for piece in svg.Path(element).as_subpaths():
                yield [(scale * x, -scale * y) for x, y in _chords(svg.Path(piece), CHORD_ERROR / scale)]


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
    if long <= SAME:
        return math.dist(point, start)
    cross = (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])
    return abs(cross) / long
