"""Net names printed beside the pads of connectors, on both sides of the board.

On the soldered side they help whoever probes it.  A name stands where a straight way from its pad meets no other land,
so that it cannot be taken for a neighbour's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from modboard.artwork.labels import VISIBLE, Label, Places, Room, size
from modboard.artwork.model import Owner
from modboard.describe.model import Part
from modboard.geometry import Position
from modboard.layout.board import Board, Pad, PlacedPart

# Reference letters of connectors, terminals, wires and test points (IEEE 315 clause 22, from memory).
CONNECTORS = frozenset({"J", "P", "W", "X", "E", "TB", "TP"})
WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1))
FROM_LAND = 0.15  # mm more than ink must keep from a land anyway

Box = tuple[float, float, float, float]


def is_connector(part: Part) -> bool:
    """Tell from its reference whether a part is a connector, terminal or wire pad, where net names help."""
    return part.reference.rstrip("0123456789").upper() in CONNECTORS


def name_nets(placed: PlacedPart, board: Board, room: Room, height: float, body: Box | None) -> list[Label]:
    """Return the net names beside a connector's pads on the side of `room`, as many as find a place.

    They line up on the same side of the row where most fit; the others go wherever they can.
    `height` is that of the letters; `body` the bounds of the part's body if it stands on this side.
    """
    pads = [p for p in board.pads if p.reference == placed.part.reference and p.net and room.side in p.layers]
    grow = board.description.rules.mask_expansion + board.description.rules.legend_to_copper
    lands = [(p, p.shape.grown(grow).bounds()) for p in board.pads if room.side in p.layers]
    pen = board.description.rules.legend_line
    best: list[Label] = []
    for way in WAYS:
        for reach in (0.0, 0.5):
            wanted = [_beside(pad, [way], [reach], body, height, lands, pen) for pad in pads]
            aligned = _try(room, wanted, pen)
            if len(aligned) > len(best):
                best = aligned
    room.taken += [label.box for label in best]
    named = {label.owner.number for label in best}
    rest = [_beside(p, WAYS, (0.0, 0.4, 0.8), body, height, lands, pen) for p in pads if p.number not in named]
    return best + room.put_down(rest, pen)[0]


def _try(room: Room, wanted: Sequence[Places], pen: float) -> list[Label]:
    """Return what would be placed, without taking the room."""
    before = list(room.taken)
    placed, _ = room.put_down(wanted, pen)
    room.taken = before
    return placed


def _beside(
    pad: Pad,
    ways: Iterable[tuple[int, int]],
    reaches: Sequence[float],
    body: Box | None,
    height: float,
    lands: Sequence[tuple[Pad, Box]],
    pen: float,
) -> Places:
    """Return the places for a pad's net name in the given directions: next to the land, or just outside the body."""
    name = pad.net or ""
    own = next(box for other, box in lands if other is pad)
    others = [box for other, box in lands if other is not pad]
    frames = [own]
    if body and body[0] <= pad.at[0] <= body[2] and body[1] <= pad.at[1] <= body[3]:
        frames.append((min(own[0], body[0]), min(own[1], body[1]), max(own[2], body[2]), max(own[3], body[3])))
    rows = []
    for across, up in ways:
        for quarter in (0, 1):
            wide, high = size(name, height, pen, quarter)
            # Letters that run along the row are a second choice: the next name soon runs into them.
            along_row = 0.5 if (quarter == 1) != (up != 0) else 0.0
            for x0, y0, x1, y1 in frames:
                for reach in reaches:
                    for shift in (0.0, 0.25, -0.25):
                        x = pad.at[0] + shift if up else (x1 if across > 0 else x0)
                        y = pad.at[1] + shift if across else (y1 if up > 0 else y0)
                        x += across * (FROM_LAND + reach + wide / 2)
                        y += up * (FROM_LAND + reach + high / 2)
                        if not crosses(pad.at, (x, y), others):
                            rows.append((x, y, height, quarter, along_row + reach + abs(shift)))
    owner = Owner(name, pad.reference, pad.number, pad.pin_name)
    return Places(name, owner, np.array(rows).reshape(-1, 5), VISIBLE)


def crosses(start: Position, end: Position, boxes: Iterable[Box]) -> bool:
    """Tell whether the rectangle spanned by two points meets one of `boxes`."""
    x0, x1 = sorted((start[0], end[0]))
    y0, y1 = sorted((start[1], end[1]))
    return any(bx0 < x1 and x0 < bx1 and by0 < y1 and y0 < by1 for bx0, by0, bx1, by1 in boxes)
