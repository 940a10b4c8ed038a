"""Outlines traced in a drawing program: rings in mm from a DXF or SVG file, turned, scaled and mirrored as drawn.

Arcs and curves become chords within `CHORD_ERROR`.  Loose lines are joined end to end; gaps up to a stated length are
closed, and an outline that stays open is answered with the two ends.  Lengths come from the file's own unit: $INSUNITS
in DXF, the physical width of the page in SVG (CSS: 96 px to an inch).  A file without one must be given `units`.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from modboard.describe import measures
from modboard.describe.drawings import UNITS, Line, dxf_lines, svg_lines
from modboard.describe.polygons import CHORD_ERROR, plan
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position

SAME = 1e-6  # mm; ends closer than this meet


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
    reader = dxf_lines if kind == ".dxf" else svg_lines
    lines = [tidied for line in reader(file, units, layer, site) if len(tidied := _without_repeats(line)) > 1]
    if not lines:
        on = f" on layer {layer}" if layer else ""
        raise DesignError(f"{file.name} has no lines{on} to trace", site)
    closed = _joined(_once(lines), close, file.name, site)
    found = [plan(ring, f"the outline in {file.name}", site) for ring in closed]
    kept: list[Any] = []
    for ring in sorted(found, key=lambda ring: (-ring.area, ring.bounds)):
        if not any(ring.hausdorff_distance(other) <= 2 * CHORD_ERROR for other in kept):  # drawn twice in other pieces
            kept.append(ring)
    return kept


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
            chain = _met(chain, line[::-1] if back else line, close)
    return [_shut(chain, close) for chain in found]


def _met(chain: Line, line: Line, close: float) -> Line:
    """Return two lines as one: ends that nearly meet are put where the lines cross if that is near, else half way."""
    if math.dist(chain[-1], line[0]) <= SAME:
        return chain + line
    corner = _crossing(chain[-2], chain[-1], line[1], line[0])
    if corner is None or max(math.dist(corner, chain[-1]), math.dist(corner, line[0])) > close:
        corner = ((chain[-1][0] + line[0][0]) / 2, (chain[-1][1] + line[0][1]) / 2)
    return [*chain[:-1], corner, *line[1:]]


def _shut(chain: Line, close: float) -> Line:
    """Return a ring whose last end is put on its first in the same way."""
    if math.dist(chain[0], chain[-1]) <= SAME or len(chain) < 4:
        return chain
    met = _met(chain, chain[:2], close)
    return [met[-2], *met[1:-2]]


def _crossing(a: Position, b: Position, c: Position, d: Position) -> Position | None:
    """Return where the straight line through a and b crosses that through c and d; None if they hardly do."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    across = ux * vy - uy * vx
    if abs(across) <= 0.1 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return None
    share = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / across
    return (a[0] + share * ux, a[1] + share * uy)
