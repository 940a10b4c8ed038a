"""The legend of both sides: outlines and marks of parts, references, net names at connectors, values, the title.

Nothing is printed on bare copper, over holes or off the board: strokes are cut to what is allowed.  Texts go only
where they fit whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiLineString

from modboard.artwork.labels import RIGHT, VISIBLE, Label, Places, Room, places_anywhere, places_round
from modboard.artwork.leaders import Frame, lead, places_further
from modboard.artwork.model import Feature, Owner, Stroke
from modboard.artwork.net_names import is_connector, name_nets
from modboard.describe.model import Side
from modboard.describe.rules import Rules
from modboard.geometry import Position, Shape
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer, PlacedPart

LEGEND_TO_EDGE = 0.25  # mm from the pen's outer edge to the board's edge: the tolerance of a routed outline
OVER_HOLE = 0.1  # mm from ink to the wall of a hole under the mask
SHORTEST = 0.4  # mm; what cutting leaves of a stroke below this is a blot, not a line
FROM_MARK = 0.15  # mm from a mark to a text
FROM_OUTLINE = 0.15  # mm from the middle of a mark's pen to an outline's ink
LARGER = 1.25  # preferred text height over the least the rules allow
BEYOND = 1000.0  # mm round the board in which parts may lie that were never placed well
COARSE = 8  # chords in a quarter circle where texts look for room

Legends = dict[CopperLayer, tuple[Feature, ...]]


def draw_legend(
    board: Board, openings: dict[CopperLayer, tuple[Feature, ...]]
) -> tuple[Legends, tuple[str, ...], tuple[str, ...]]:
    """Return the legend of both sides, the parts whose marks found no room, and the references that found none."""
    rules = board.description.rules
    legends: Legends = {}
    unmarked: list[str] = []
    unnamed: list[str] = []
    for side in COPPER_LAYERS:
        forbidden = _forbidden(board, openings[side], rules.legend_line)
        marks = {p.part.reference: _mark(board, p, forbidden, rules.legend_line) for p in _on(board, side)}
        labels, missing = _texts(board, side, openings[side], [line for lines in marks.values() for line in lines])
        unnamed += [m.text for m in missing]
        boxes = [shapely.box(*label.box).buffer(rules.legend_line) for label in labels]
        behind_text = shapely.union_all([forbidden, *boxes])
        strokes: list[Feature] = []
        for placed in _on(board, side):
            owner = Owner(reference=placed.part.reference)
            outlines = [placed.points(line) for line in placed.part.footprint.legend]
            strokes += _pen(cut(outlines, behind_text), rules, owner)
            mark = marks[placed.part.reference]
            strokes += _pen(mark, rules, owner, marks=True)
            if placed.part.footprint.mark and not mark:
                unmarked.append(placed.part.reference)
        for label in labels:
            strokes += _pen(label.lines(), rules, label.owner, label.text)
            strokes += _pen([label.leader], rules, label.owner) if label.leader else []
        legends[side] = tuple(strokes)
    return legends, tuple(unmarked), tuple(unnamed)


def _mark(board: Board, placed: PlacedPart, forbidden: Any, pen: float) -> list[tuple[Position, ...]]:
    """Return the mark of a part; if nothing of it can be printed where it belongs, turned about its land, or else
    moved to that side of the part that is nearest to its land.

    It goes to where it can be printed whole and be seen.  Nothing if there is no such place, or no mark.
    `forbidden` is where the middle of the pen must not go.
    """
    there = cut([placed.points(line) for line in placed.part.footprint.mark], forbidden)
    if there or not placed.part.footprint.mark:
        return there
    mark = MultiLineString([placed.points(line) for line in placed.part.footprint.mark])
    lands = [pad for pad in board.pads if placed.side in pad.layers]
    own = [pad for pad in lands if pad.reference == placed.part.reference]
    if not own:
        return []
    marked = min(own, key=lambda pad: pad.shape.distance(Shape(mark, 0.0)))
    strange = [pad.shape.covering_polygon(COARSE) for pad in lands if pad.reference != placed.part.reference]
    bodies = [(p, shapely.Polygon(body.outline)) for p in _on(board, placed.side) for body in p.bodies()]
    strangers = shapely.union_all([*strange, *(body for p, body in bodies if p is not placed)])
    mine = shapely.union_all(
        [pad.shape.covering_polygon(COARSE) for pad in own] + [b for p, b in bodies if p is placed]
    )
    outlines = [LineString(placed.points(line)).buffer(FROM_OUTLINE + pen / 2) for line in placed.part.footprint.legend]
    hidden = shapely.union_all([forbidden, *outlines, *(body for _, body in bodies)])
    about = marked.shape.core.centroid
    turned = [affinity.rotate(mark, turn, origin=about) for turn in (90.0, 270.0, 180.0)]
    for moved in turned + _beside(mark, about, mine.bounds, FROM_OUTLINE + pen):
        plain = marked is min(own, key=lambda pad: pad.shape.distance(Shape(moved, 0.0)))
        belongs = plain and (strangers.is_empty or mine.distance(moved) < strangers.distance(moved))
        if belongs and not hidden.intersects(moved):
            return [tuple((round(x, 6), round(y, 6)) for x, y in line.coords) for line in moved.geoms]
    return []


def _beside(mark: Any, land: Any, box: tuple[float, float, float, float], gap: float) -> list[Any]:
    """Return a mark moved beside each side of a part's `box`, level with its land, the nearest side first.

    A mark that is longer than wide runs along the side.
    """
    x0, y0, x1, y1 = box
    found = []
    for away, out in sorted(
        ((land.x - x0, (-1, 0)), (x1 - land.x, (1, 0)), (land.y - y0, (0, -1)), (y1 - land.y, (0, 1)))
    ):
        left, low, right, high = mark.bounds
        across = (right - left < high - low) == (out[0] == 0)
        laid = affinity.rotate(mark, 90.0, origin="center") if across else mark
        left, low, right, high = laid.bounds
        half = ((right - left) / 2, (high - low) / 2)
        centre = tuple(
            at + sign * (away + gap + extent) for at, sign, extent in zip((land.x, land.y), out, half, strict=True)
        )
        found.append(affinity.translate(laid, centre[0] - (left + right) / 2, centre[1] - (low + high) / 2))
    return found


def _on(board: Board, side: Side) -> list[PlacedPart]:
    return [placed for placed in board.parts if placed.side == side]


def _pen(
    lines: Sequence[Sequence[Position]], rules: Rules, owner: Owner, text: str = "", *, marks: bool = False
) -> list[Feature]:
    return [Stroke(tuple(line), rules.legend_line, "legend", owner, text, marks) for line in lines]


def cut(lines: Sequence[Sequence[Position]], forbidden: Any) -> list[tuple[Position, ...]]:
    """Return what is left of polylines outside `forbidden`; remnants below `SHORTEST` are dropped."""
    kept: list[tuple[Position, ...]] = []
    shapely.prepare(forbidden)
    for line in lines:
        drawn = LineString(line)
        if not forbidden.intersects(drawn):
            kept.append(tuple(line))
            continue
        rest = drawn.difference(forbidden)
        if rest.geom_type == "MultiLineString":
            rest = shapely.line_merge(rest)  # a closed outline may have been cut at its start, too
        for piece in shapely.get_parts(rest):
            if piece.length >= SHORTEST:
                kept.append(tuple((float(x), float(y)) for x, y in piece.coords))
    return kept


def _forbidden(board: Board, openings: Sequence[Feature], pen: float) -> Any:
    """Return where the centre of a pen `pen` mm wide must not go."""
    rules = board.description.rules
    areas = [f.shape.grown(rules.legend_to_copper + pen / 2).covering_polygon() for f in openings]
    areas += [hole.grown(OVER_HOLE + pen / 2).covering_polygon() for hole in _holes(board)]
    inner = board.outline.buffer(-LEGEND_TO_EDGE - pen / 2)
    off_board = shapely.box(*board.outline.bounds).buffer(BEYOND, join_style=2).difference(inner)
    return shapely.union_all([*areas, off_board])


def _holes(board: Board) -> list[Any]:
    holes = [pad.hole.shape() for pad in board.pads if pad.hole]
    holes += [hole.shape() for hole in board.bare_holes]
    return holes + [via.shape.grown((via.hole - via.land) / 2) for via in board.vias]


def _texts(
    board: Board, side: CopperLayer, openings: Sequence[Feature], marks: Sequence[Sequence[Position]]
) -> tuple[list[Label], list[Places]]:
    """Return every text of one side, and the references there was no room for; `marks` are to be printed too."""
    described, rules = board.description, board.description.rules
    pen = rules.legend_line
    heights = (LARGER * rules.legend_height, rules.legend_height)
    room = _room(board, side, openings, marks)
    frames = {p.part.reference: _frames(p, board) for p in _on(board, side)}
    labels, crowded = _references(room, frames, heights, pen)
    if crowded:  # smaller texts leave each other more room
        before, room.taken = room.taken, []
        again = _references(room, frames, heights[1:], pen)
        if len(again[1]) < len(crowded):
            labels, crowded = again
        else:
            room.taken = before
    missing = []
    for places in crowded:  # no room beside the part: further off, with a line that leads to it
        frame = frames[places.owner.reference][-1]
        further = places_further(places.text, places.owner, frame, rules.legend_height, pen)
        led = lead(room, further, frame, pen)
        labels += [led] if led else []
        missing += [] if led else [places]
    for placed in board.parts:
        if is_connector(placed.part):
            body = _frames(placed, board)[0] if placed.side == side and placed.bodies() else None
            labels += name_nets(placed, board, room, rules.legend_height, body)
    title = f"{described.name} rev {described.revision}" if described.revision else described.name
    sizes = (1.6 * rules.legend_height, *heights)
    name = places_anywhere(title, Owner(), board.outline.bounds, sizes, VISIBLE)
    labels += room.put_down([name], pen)[0]
    values = [
        places_round(p.part.value, Owner(reference=p.part.reference), _frames(p, board), heights[1:], pen, VISIBLE)
        for p in _on(board, side)
        if p.part.value and p.part.value != p.part.reference
    ]
    labels += room.put_down(values, pen)[0]
    return labels, missing


def _references(
    room: Room, frames: dict[str, list[Frame]], heights: Sequence[float], pen: float
) -> tuple[list[Label], list[Places]]:
    """Put references down round their parts; return the labels, and what found no room there."""
    wanted = [places_round(r, Owner(reference=r), around, heights, pen, RIGHT) for r, around in frames.items()]
    return room.put_down(wanted, pen)


def _room(board: Board, side: CopperLayer, openings: Sequence[Feature], marks: Sequence[Sequence[Position]]) -> Room:
    rules = board.description.rules
    blocked = [f.shape.grown(rules.legend_to_copper + 1e-3).covering_polygon(COARSE) for f in openings]
    blocked += [hole.grown(OVER_HOLE).covering_polygon(COARSE) for hole in _holes(board)]
    on_side = _on(board, side)
    pen = rules.legend_line
    blocked += [LineString(mark).buffer(pen / 2 + FROM_MARK) for mark in marks]
    bodies = [(p.part.reference, shapely.Polygon(body.outline)) for p in on_side for body in p.bodies()]
    lines = [LineString(pair) for p in on_side for line in p.part.footprint.legend for pair in pairwise(p.points(line))]
    lands = [(pad.reference, pad.shape.covering_polygon(COARSE)) for pad in board.pads if side in pad.layers]
    return Room(side, board.outline.buffer(-LEGEND_TO_EDGE), blocked, bodies, lands, lines)


def _frames(placed: PlacedPart, board: Board) -> list[Frame]:
    """Return the bounds of the part's body, and of body and lands together with their mask openings."""
    rules = board.description.rules
    grow = rules.mask_expansion + rules.legend_to_copper
    lands = [p.shape.grown(grow).bounds() for p in board.pads if p.reference == placed.part.reference]
    bodies = [LineString(body.outline).bounds for body in placed.bodies()]
    return [_around(group) for group in (bodies, bodies + lands) if group]


def _around(boxes: Sequence[tuple[float, ...]]) -> Frame:
    low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
    return (float(low[0]), float(low[1]), float(high[2]), float(high[3]))
