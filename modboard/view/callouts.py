"""Letters of the assembly sheet: reference and value in or beside each body, net names beside connector pads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry import LineString, Polygon

from modboard.artwork import font
from modboard.artwork.model import Artwork
from modboard.artwork.net_names import crosses, is_connector
from modboard.describe.model import Side
from modboard.geometry import Position
from modboard.layout.board import Board, Pad, PlacedPart
from modboard.view import colours
from modboard.view.sheet import Projection, Sheet

Box = tuple[float, float, float, float]
HEIGHTS = (2.5, 2.0, 1.6)  # mm on the sheet, of references and values
LEAST = 1.3  # mm on the sheet; smaller letters are not read
PITCH = 1.55  # row to row over letter height


@dataclass(frozen=True)
class Callout:
    """Lines of letters centred on (x, y) of the sheet."""

    lines: tuple[str, ...]
    x: float
    y: float
    height: float
    turn: float = 0.0

    @property
    def box(self) -> Box:
        """What the letters cover."""
        wide = max(font.length(line, self.height) for line in self.lines) / 2 + 0.5
        high = (self.height + (len(self.lines) - 1) * PITCH * self.height) / 2 + 0.5
        across, up = (high, wide) if self.turn else (wide, high)
        return (self.x - across, self.y - up, self.x + across, self.y + up)

    def letter(self, sheet: Sheet, colour: str = colours.INK) -> None:
        """Draw the lines, with a halo that lifts them off what lies below."""
        for row, line in enumerate(self.lines):
            down = (row - (len(self.lines) - 1) / 2) * PITCH * self.height
            at = (self.x + down, self.y) if self.turn else (self.x, self.y + down)
            sheet.text(line, at, self.height, self.turn, "centre", colour, halo=True)


@dataclass
class Space:
    """What letters must keep clear of: other letters always; lands, marks and strange bodies if there is room."""

    board: Box
    lands: list[Box]  # and marks
    bodies: dict[str, Box]
    taken: list[Box]

    def free(self, box: Box, reference: str) -> bool:
        """Tell whether letters may go to `box` without hiding anything."""
        inside = (
            self.board[0] <= box[0] and self.board[1] <= box[1] and box[2] <= self.board[2] and box[3] <= self.board[3]
        )
        strange = (body for other, body in self.bodies.items() if other != reference)
        return inside and not any(_overlap(box, b) for group in (self.taken, self.lands, strange) for b in group)

    def put(self, callouts: list[Callout], reference: str) -> Callout:
        """Return the first callout that is free, else the first that at least clears other letters, else the last."""
        best = next((c for c in callouts if self.free(c.box, reference)), None)
        best = best or next((c for c in callouts if not any(_overlap(c.box, t) for t in self.taken)), callouts[-1])
        self.taken.append(best.box)
        return best


def letter_parts(sheet: Sheet, project: Projection, artwork: Artwork) -> None:
    """Letter every part, then the nets at the pads of connectors; the top side first."""
    board = artwork.board
    bounds: Box = project.area(board.outline).bounds
    marks = [_stroke(a, b, project) for p in board.parts for line in artwork.mark(p) for a, b in pairwise(line)]
    lettered: list[Box] = []
    sides: tuple[Side, Side] = ("top", "bottom")
    for side in sides:
        parts = [p for p in board.parts if p.side == side]
        lands = [project.area(p.shape.polygon(8)).bounds for p in board.pads if _seen(p, side)]
        lands += [_frame(p, project) for p in board.parts if p.side == "bottom" != side]
        space = Space(bounds, lands + marks, {p.part.reference: _frame(p, project) for p in parts}, lettered)
        for placed in parts:
            words = _words(placed)
            frame = space.bodies[placed.part.reference]
            space.put(list(_candidates(words, frame)), placed.part.reference).letter(sheet)
        for placed in parts:
            if is_connector(placed.part):
                _letter_nets(sheet, project, board, placed, space)


def _seen(pad: Pad, side: Side) -> bool:
    """Tell whether a pad shows on a side: by its copper, or by its hole where copper is on the other side only."""
    return side in pad.layers or pad.hole is not None


def _words(placed: PlacedPart) -> tuple[str, ...]:
    part = placed.part
    kind = "" if is_connector(part) else part.kind
    second = (part.value or kind) if part.fitted else "not fitted"
    return tuple(word for word in (part.reference, second) if word)


def _letter_nets(sheet: Sheet, project: Projection, board: Board, placed: PlacedPart, space: Space) -> None:
    """Letter the net of each pad beside the body, where there is room; leave it out where there is none."""
    outlines = [project.area(Polygon(body.outline)).bounds for body in placed.bodies()]
    lands = {p: project.area(p.shape.polygon(8)).bounds for p in board.pads if _seen(p, placed.side)}
    for pad, own in lands.items():
        if pad.reference == placed.part.reference and pad.net:
            others = [box for other, box in lands.items() if other is not pad]
            spots = [
                c
                for c in _beside(pad.net, project(pad.at), own, outlines)
                if space.free(c.box, pad.reference) and not crosses(project(pad.at), (c.x, c.y), others)
            ]
            if spots:
                space.put(spots, pad.reference).letter(sheet, colours.SOFT_INK)


def _beside(net: str, at: Position, own: Box, bodies: list[Box]) -> Iterator[Callout]:
    """Walk the places of a net's name: outside the body its pad lies in, or next to the land."""
    x, y = at
    around = [_join(own, b) for b in bodies if b[0] <= x <= b[2] and b[1] <= y <= b[3]]
    for height in (HEIGHTS[1], HEIGHTS[2]):
        half = font.length(net, height) / 2 + 1.0
        for x0, y0, x1, y1 in [*around, own]:
            yield Callout((net,), x1 + half, y, height)
            yield Callout((net,), x0 - half, y, height)
            yield Callout((net,), x, y0 - half, height, 90.0)
            yield Callout((net,), x, y1 + half, height, 90.0)


def _frame(placed: PlacedPart, project: Projection) -> Box:
    outlines = [body.outline for body in placed.bodies()] or [placed.courtyard()]
    bounds: Box = project.area(shapely.union_all([LineString(o) for o in outlines])).bounds
    return bounds


def _stroke(one: Position, other: Position, project: Projection) -> Box:
    """Return what a straight stroke of a mark covers on the sheet."""
    bounds: Box = LineString([project(one), project(other)]).buffer(colours.THICK / 2).bounds
    return bounds


def _candidates(words: tuple[str, ...], frame: Box) -> Iterator[Callout]:
    """Walk the places of a part's letters, best first: inside the body if they fit there, else beside it."""
    x0, y0, x1, y1 = frame
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    reference = words[:1]
    yield from _inside(words, frame)
    yield from _outside(words, frame, HEIGHTS[1:])
    yield from _inside(reference, frame)
    yield from _outside(reference, frame, (HEIGHTS[-1], LEAST))
    yield Callout(reference, cx, cy, LEAST)


def _inside(lines: tuple[str, ...], frame: Box) -> Iterator[Callout]:
    x0, y0, x1, y1 = frame
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    upright = y1 - y0 > 1.5 * (x1 - x0)
    for turn, height in ((0.0, 2.5), (0.0, 2.0), (90.0, 2.5), (90.0, 2.0), (0.0, 1.6), (90.0, 1.6)):
        bx0, by0, bx1, by1 = Callout(lines, 0.0, 0.0, height, turn).box
        slack_x, slack_y = (x1 - x0 - (bx1 - bx0)) / 2, (y1 - y0 - (by1 - by0)) / 2
        if slack_x >= 0 and slack_y >= 0 and (upright or not turn):
            for part in (0.0, 0.5, -0.5, 1.0, -1.0):
                yield Callout(lines, cx, cy + part * slack_y, height, turn)
                yield Callout(lines, cx + part * slack_x, cy, height, turn)


def _outside(lines: tuple[str, ...], frame: Box, heights: tuple[float, ...]) -> Iterator[Callout]:
    x0, y0, x1, y1 = frame
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    for height in heights:
        _, _, half_x, half_y = Callout(lines, 0.0, 0.0, height).box
        for away in (0.3, 1.5, 3.0):
            for along in (0.0, 0.5, -0.5):
                yield Callout(lines, cx + along * (x1 - x0), y0 - away - half_y, height)
                yield Callout(lines, cx + along * (x1 - x0), y1 + away + half_y, height)
                yield Callout(lines, x1 + away + half_x, cy + along * (y1 - y0), height)
                yield Callout(lines, x0 - away - half_x, cy + along * (y1 - y0), height)


def _join(a: Box, b: Box) -> Box:
    return (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
