"""Routed panels: slots round every board, tabs that hold it, and the rows of small holes along which tabs break."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import shapely

from modboard.errors import ModboardError
from modboard.fab.panel.figures import (
    BITE,
    BITE_OUTWARD,
    BITE_PITCH,
    BITE_TO_COPPER,
    BITES,
    EDGE_PER_TAB,
    FEWEST_TABS,
    SLOT,
    TAB,
)
from modboard.geometry import TOLERANCE, Position, snapped

STEP = 1.0  # mm along the edge from one place that is tried to the next
ROUND = 0.001  # mm less than the bit's radius, so that slots exactly as wide as the bit remain


class PanelError(ModboardError):
    """A panel that cannot be made."""


@dataclass(frozen=True)
class Tab:
    """A tab: what it fills of the slot, its holes, and where along the edge (mm) it lies."""

    area: Any
    holes: tuple[Position, ...]
    along: float


def routed(
    rectangle: Any, boards: Sequence[Any], coppers: Sequence[Any], names: Sequence[str]
) -> tuple[Any, list[Position]]:
    """Return the outline of the panel with its slots as openings, and the places of all breaking holes.

    `coppers` is the copper of each board, both sides together.  Raises PanelError if a board cannot be held.
    """
    around = shapely.union_all([board.buffer(SLOT, join_style="mitre") for board in boards])
    frame = [p for p in shapely.get_parts(rectangle.difference(around)) if p.intersects(rectangle.exterior)]
    solid = shapely.union_all([*frame, *boards])
    shapely.prepare(solid)
    tabs = [
        tab
        for board, copper, name in zip(boards, coppers, names, strict=True)
        for tab in _tabs(board, copper, solid, name)
    ]
    slots = rectangle.difference(shapely.union_all([solid, *(tab.area for tab in tabs)]))
    bit = SLOT / 2 - ROUND
    slots = slots.buffer(-bit).buffer(bit).intersection(slots)
    outline = rectangle.difference(slots)
    pieces = [p for p in shapely.get_parts(outline) if p.area > 1e-6]
    if len(pieces) != 1:
        raise PanelError("panel: the tabs do not hold all boards together; use rails on all sides")
    return snapped(pieces[0], 1e-6), [hole for tab in tabs for hole in tab.holes]


def _tabs(board: Any, copper: Any, solid: Any, name: str) -> list[Tab]:
    """Return the tabs of one board: as far from each other along its edge as legal places allow."""
    places = list(_places(board, copper, solid))
    perimeter = board.exterior.length
    wanted = max(FEWEST_TABS, math.ceil(perimeter / EDGE_PER_TAB))
    chosen: list[Tab] = places[:1]
    while places and len(chosen) < wanted:
        best = max(places, key=lambda tab: (round(min(_apart(tab, c, perimeter) for c in chosen), 6), -tab.along))
        if min(_apart(best, c, perimeter) for c in chosen) < 2 * TAB:
            break
        chosen.append(best)
    if len(chosen) < FEWEST_TABS:
        raise PanelError(
            f"panel: {name} has room for {len(chosen)} tabs, it needs {FEWEST_TABS}; keep copper {BITE_TO_COPPER:g} mm "
            f"from {TAB:g} mm of straight edge in more places, or score the boards"
        )
    return chosen


def _apart(one: Tab, other: Tab, perimeter: float) -> float:
    distance = abs(one.along - other.along)
    return min(distance, perimeter - distance)


def _places(board: Any, copper: Any, solid: Any) -> list[Tab]:
    """Return every tab that may be: on a straight side, its far end on solid board, its holes clear of copper."""
    found: list[Tab] = []
    ring = list(shapely.orient_polygons(board).exterior.coords)  # counter-clockwise: outside is to the right
    start = 0.0
    for (x0, y0), (x1, y1) in pairwise(ring):
        length = math.dist((x0, y0), (x1, y1))
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        count = int((length - TAB - 2.0) // STEP)
        for k in range(count + 1) if length >= TAB + 2.0 else ():
            along = (length - count * STEP) / 2 + k * STEP
            x, y = x0 + along * ux, y0 + along * uy
            ends = [
                (x + s * TAB / 2 * ux + (SLOT + 0.3) * uy, y + s * TAB / 2 * uy - (SLOT + 0.3) * ux) for s in (-1, 1)
            ]
            held = all(solid.intersects(shapely.Point(end)) for end in ends)
            for outward in BITE_OUTWARD if held else ():
                tab = _tab((x, y), (ux, uy), start + along, outward)
                if copper.distance(shapely.MultiPoint(tab.holes)) - BITE / 2 >= BITE_TO_COPPER - TOLERANCE:
                    found.append(tab)
                    break
        start += length
    return found


def _tab(at: Position, way: Position, along: float, outward: float) -> Tab:
    (x, y), (ux, uy) = at, way
    out = (uy, -ux)
    corners = [
        (x + s * TAB / 2 * ux + d * out[0], y + s * TAB / 2 * uy + d * out[1])
        for s, d in ((-1, -0.01), (1, -0.01), (1, SLOT + 0.01), (-1, SLOT + 0.01))
    ]
    offsets = [(k - (BITES - 1) / 2) * BITE_PITCH for k in range(BITES)]
    holes = tuple((round(x + o * ux + outward * out[0], 6), round(y + o * uy + outward * out[1], 6)) for o in offsets)
    return Tab(shapely.Polygon(corners), holes, along)
