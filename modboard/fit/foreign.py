"""Somebody else's board, known by its published files alone, tried in a measured room."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from modboard.describe.model import CavityModel, Description, MountingHole, Part
from modboard.describe.rules import Rules
from modboard.errors import CallSite, ModboardError
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.package import ReadPackage, read_package
from modboard.fit.room import Room, Solid
from modboard.geometry import Position, snapped, turn_point
from modboard.layout.board import Board, PlacedPart
from modboard.library.model import Body, Footprint, Hole, Land, PadForm

LEAD_HOLE = 0.6  # mm: narrower plated holes are vias, common practice
SCREW_HOLE = 2.0  # mm: wider holes may take a screw, plated or not, common practice
RING = 0.3  # mm of land round a lead's hole, taken for its solder
CLOSE = 0.05  # mm between ends of outline strokes that are meant to meet
TIE = 1e-2  # mm of room that are not worth turning a board for
GRID, ZOOMS = 12, 4  # shifts tried across the play on either side, and how often the best of them is looked at closer

Solids = tuple[Solid, ...]


@dataclass(frozen=True)
class Plan:
    """What the files say: outline (shapely, its lower left corner at (0, 0)), screw holes and lead holes (at, mm)."""

    outline: Any
    screws: tuple[tuple[Position, float], ...]
    leads: tuple[tuple[Position, float], ...]
    remarks: tuple[str, ...] = ()


def read_plan(source: Path) -> Plan:
    """Return outline and holes of a package (zip or folder) of Gerber and drill files, in inches or mm.

    Raises ModboardError where there is no profile layer or it does not close.
    """
    package = read_package(source)
    outline = _outline(package, source)
    x0, y0 = outline.bounds[:2]
    screws, leads, cuts = [], [], []
    for drills in package.drills:
        for hole in drills.holes:
            path = [(x - x0, y - y0) for x, y in hole.path]
            if len(path) > 1 and drills.plated is False:
                cuts.append(shapely.LineString(path).buffer(hole.diameter / 2))
            elif len(path) > 1:
                leads += [(at, hole.diameter) for at in _along(path, hole.diameter)]
            elif drills.plated is False or hole.diameter >= SCREW_HOLE:
                screws.append((path[0], hole.diameter))
            elif hole.diameter >= LEAD_HOLE:
                leads.append((path[0], hole.diameter))
    if cuts:
        ground = affinity.translate(outline, -x0, -y0).difference(shapely.union_all(cuts))
        board = max(shapely.get_parts(ground), key=lambda piece: piece.area)
        outline = snapped(affinity.translate(board, x0, y0), 1e-6)
    return Plan(affinity.translate(outline, -x0, -y0), tuple(sorted(screws)), tuple(sorted(leads)), package.warnings)


def _along(path: list[Position], step: float) -> list[Position]:
    """Return points along a slot, no farther apart than it is wide, its ends included."""
    line = shapely.LineString(path)
    count = max(1, math.ceil(line.length / step))
    points = [line.interpolate(k / count, normalized=True) for k in range(count + 1)]
    return [(float(p.x), float(p.y)) for p in points]


def _outline(package: ReadPackage, source: Path) -> Any:
    """Return the area inside the strokes of the profile layer, cut-outs taken away."""
    layers = [layer for function, layer in sorted(package.layers.items()) if function.startswith("Profile")]
    if not layers:
        raise ModboardError(
            f"{source.name}: no file says it is the board's outline; name it ...-profile.gbr or .gko in the zip"
        )
    rings = _rings(layers[0])
    if not rings:
        raise ModboardError(
            f"{source.name}: the outline in {layers[0].name} does not close; its strokes must meet end to end"
        )
    largest = max(rings, key=lambda r: r.area)
    holes = [r for r in rings if r is not largest and largest.contains(r.representative_point())]
    board = largest.difference(shapely.union_all(holes)) if holes else largest
    return snapped(board, 1e-6)


def _rings(layer: ReadLayer) -> list[Any]:
    """Return the closed outlines of a layer, each filled: its regions, and rings of the middles of its strokes."""
    regions = [o.core for o in layer.objects if o.kind == "region"]
    strokes = [shapely.LineString(p) for o in layer.objects if o.kind == "draw" for p in pairwise(o.core.coords)]
    if not strokes:
        return regions
    ends = shapely.multipoints([c for s in strokes for c in s.coords])
    met = [shapely.snap(s, ends, CLOSE) for s in strokes]
    faces = shapely.get_parts(shapely.polygonize([shapely.node(shapely.union_all(met))]))
    filled = [shapely.Polygon(f.exterior) for f in faces if f.area > 0]
    return [*regions, *filled]


def board_in(plan: Plan, cavity: CavityModel, above: float, below: float, name: str) -> tuple[Board, float]:
    """Return the package as a board in the room, put where it has most room, and by how many degrees it is turned.

    Its parts are taken for one block of `above` mm over all of it, and one of `below` under it, leads apart.
    """
    best: tuple[float, Board, float] | None = None
    for turn in (0.0, 90.0, 180.0, 270.0):
        turned = _turned(plan, turn)
        board = _described(turned, cavity, above, below, name)
        room = Room(board, cavity)
        solids = (room.plate, *(s for s in room.solids if s.what == "body"))

        def score(shift: Position, room: Room = room, solids: Solids = solids, board: Board = board) -> float:
            return _score(room, solids, [h.at for h in board.description.holes], shift)

        for shift in _shifts(turned, cavity, score):
            found = score(shift)
            if best is None or found > best[0] + TIE:
                best = (found, _moved(board, shift), turn)
    assert best is not None
    return best[1], best[2]


def _turned(plan: Plan, turn: float) -> Plan:
    outline = affinity.rotate(plan.outline, turn, origin=(0, 0))
    x0, y0 = outline.bounds[:2]

    def put(holes: tuple[tuple[Position, float], ...]) -> tuple[tuple[Position, float], ...]:
        places = [(turn_point(at, turn), size) for at, size in holes]
        return tuple(((x - x0, y - y0), size) for (x, y), size in places)

    outline = snapped(affinity.translate(outline, -x0, -y0), 1e-6)
    return replace(plan, outline=outline, screws=put(plan.screws), leads=put(plan.leads))


def _described(plan: Plan, cavity: CavityModel, above: float, below: float, name: str) -> Board:
    site = CallSite(name, 1)
    corners = tuple((float(x), float(y)) for x, y in plan.outline.exterior.coords[:-1])
    lands = tuple(
        Land(str(k), at, PadForm("round", size + 2 * RING, size + 2 * RING), Hole(at, size))
        for k, (at, size) in enumerate(plan.leads, 1)
    )
    blocks = []
    for words, height, side, own in (
        ("the parts above", above, "top", lands),
        ("the parts below", below, "bottom", ()),
    ):
        if height > 0 or own:
            # Mirrored back, for a part on the bottom is mirrored when it is put there.
            mirror = 1.0 if side == "top" else -1.0
            pieces = [tuple((mirror * x, y) for x, y in piece) for piece in _without_holes(plan.outline)]
            bodies = tuple(Body(piece, height) for piece in pieces) if height > 0 else ()
            outline = tuple((mirror * x, y) for x, y in corners)
            shape = Footprint(words, "package", words, "through-hole", own, bodies, outline, lead_below=cavity.leads)
            part = Part(words, words, None, "", shape, site)
            blocks.append(PlacedPart(part, (0.0, 0.0), 0.0, "top" if side == "top" else "bottom"))
    holes = tuple(MountingHole(at, size, size) for at, size in plan.screws)
    described = Description(
        name, name, "", tuple(b.part for b in blocks), (), (), {}, (), cavity, plan.outline, holes, Rules.named("pool")
    )
    return Board(described, plan.outline, tuple(blocks), (), (), ())


def _without_holes(outline: Any) -> list[tuple[Position, ...]]:
    """Return the corners of pieces that make up an outline; it is cut upright through each of its holes."""
    x0, y0, x1, y1 = outline.bounds
    cuts = sorted({float(shapely.Polygon(hole).representative_point().x) for hole in outline.interiors})
    strips = [shapely.box(a, y0 - 1, b, y1 + 1) for a, b in pairwise([x0 - 1, *cuts, x1 + 1])]
    pieces = [p for strip in strips for p in shapely.get_parts(outline.intersection(strip)) if p.area > 0]
    return [tuple((float(x), float(y)) for x, y in piece.exterior.coords[:-1]) for piece in pieces]


def _moved(board: Board, shift: Position) -> Board:
    dx, dy = shift
    outline = affinity.translate(board.outline, dx, dy)
    holes = tuple(replace(h, at=(h.at[0] + dx, h.at[1] + dy)) for h in board.description.holes)
    parts = tuple(replace(p, at=(p.at[0] + dx, p.at[1] + dy)) for p in board.parts)
    return replace(
        board, outline=outline, parts=parts, description=replace(board.description, outline=outline, holes=holes)
    )


def _shifts(plan: Plan, cavity: CavityModel, score: Callable[[Position], float]) -> Iterator[Position]:
    """Walk shifts worth trying: holes on screws, cut-outs over posts, the middle, and what is best on finer grids."""
    x0, y0, x1, y1 = cavity.inside.bounds
    _, _, wide, deep = plan.outline.bounds
    middle = ((x0 + x1 - wide) / 2, (y0 + y1 - deep) / 2)
    reach = (max(abs(x1 - x0 - wide) / 2, 1.0), max(abs(y1 - y0 - deep) / 2, 1.0))
    yield middle
    for (fx, fy), (hx, hy) in ((f.at, h) for f in cavity.fixings for h, _ in plan.screws):
        yield (fx - hx, fy - hy)
    starts = [middle]
    for hole in plan.outline.interiors:  # what stands in the room may be meant to come through a cut-out
        hx, hy = shapely.Polygon(hole).centroid.coords[0]
        centres = (o.outline.centroid.coords[0] for o in cavity.obstacles if not o.through)
        starts += [(ox - hx, oy - hy) for ox, oy in centres]
    yield from starts
    best, at = max((score(start), start) for start in starts)
    for _ in range(ZOOMS):
        steps = np.linspace(-1, 1, GRID + 1)
        spots = [(at[0] + reach[0] * u, at[1] + reach[1] * v) for u in steps for v in steps]
        scores = [score(spot) for spot in spots]
        number = int(np.argmax(scores))
        if scores[number] > best + 1e-9:
            best, at = scores[number], spots[number]
        reach = (2 * reach[0] / GRID, 2 * reach[1] / GRID)
    yield at


def _score(room: Room, solids: Solids, holes: list[Position], shift: Position) -> float:
    """Return how good a shift is: the least room in plan of board and parts, less what screws are off their holes."""
    dx, dy = shift
    cavity = room.cavity
    gaps = []
    for number, still in enumerate(solids):
        solid = replace(still, outline=affinity.translate(still.outline, dx, dy))
        if number == 0:
            gaps.append(room.to_walls(solid).worst)
        for obstacle in cavity.obstacles:
            if not obstacle.through and room.reaches(obstacle, solid):
                gap = room.to_obstacle(solid, obstacle)
                over = math.sqrt(solid.outline.intersection(obstacle.outline).area) if gap.nominal <= 0 else 0.0
                gaps.append(gap.worst - over)
    off = sum(min((math.dist(f.at, (x + dx, y + dy)) for x, y in holes), default=0.0) for f in cavity.fixings)
    return min(gaps) - off
