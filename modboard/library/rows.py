"""Builders for rows of pins: DIP, its sockets, plugs for host sockets, headers, wire pads.

Dual in-line parts stand upright: pad 1 at the origin is top left, numbers run down the left row and up the right.
"""

from __future__ import annotations

from modboard.geometry import Position
from modboard.library.drawing import (
    Drawing,
    Lead,
    Polyline,
    Sizing,
    centred_outline,
    closed,
    rectangle_outline,
    round_outline,
)
from modboard.library.families import Dimensions
from modboard.library.leaded import lead_size, mark_kind
from modboard.library.model import Body, Land
from modboard.library.sizing import round_up

PITCH = 2.54  # mm, MS-001 and every header here
SOCKET_RAIL = 2.54  # mm, width of a socket's side rail: strips stack at 2.54 (common practice)
SOCKET_BAR = 2.0  # mm, width of the bars that join the rails (varies by maker)


def dual_row_positions(pins: int, row: float, pitch: float = PITCH) -> list[Position]:
    """Return the pin positions of a dual in-line part in pin order."""
    side = pins // 2
    left = [(0.0, -k * pitch) for k in range(side)]
    return left + [(row, -k * pitch) for k in reversed(range(side))]


def _dual_row_lands(dims: Dimensions, sizing: Sizing) -> tuple[Land, ...]:
    at = dual_row_positions(dims.count("pins"), dims.length("row"))
    size = lead_size(dims)
    return sizing.lands([Lead(str(k + 1), p, size, square=k == 0) for k, p in enumerate(at)])


def _body_length(dims: Dimensions) -> float:
    """Greatest body length, given, or for unlisted pin counts from the pins and how far listed ones exceed that."""
    if dims.has("body_length"):
        return dims.length("body_length")
    return dims.count("pins") / 2 * PITCH + dims.length("body_excess")


def dual_row(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a DIP, or with the `socket` flag a DIP in its socket: frame on the board, chip above it."""
    lands = _dual_row_lands(dims, sizing)
    row, span = dims.length("row"), (dims.count("pins") / 2 - 1) * PITCH
    middle = (row / 2, -span / 2)
    chip = centred_outline(middle, dims.length("body_width"), _body_length(dims))
    if dims.flag("socket"):
        frame = dims.length("socket_height")
        x0, x1, y0, y1 = -PITCH / 2, row + PITCH / 2, -span - PITCH / 2, PITCH / 2
        bars = [
            rectangle_outline(x0, y0, x0 + SOCKET_RAIL, y1),
            rectangle_outline(x1 - SOCKET_RAIL, y0, x1, y1),
            rectangle_outline(x0 + SOCKET_RAIL, y1 - SOCKET_BAR, x1 - SOCKET_RAIL, y1),
            rectangle_outline(x0 + SOCKET_RAIL, y0, x1 - SOCKET_RAIL, y0 + SOCKET_BAR),
        ]
        bodies = [*(Body(bar, frame) for bar in bars), Body(chip, frame + dims.length("height"), frame)]
        legend: tuple[Polyline, ...] = (closed(rectangle_outline(x0, y0, x1, y1)), *_notch(row / 2, y1))
        return Drawing(lands, tuple(bodies), legend, "dot")
    inside = max(land.form.width for land in lands) / 2 + 0.35
    x0, x1 = inside, row - inside
    y0, y1 = middle[1] - _body_length(dims) / 2, middle[1] + _body_length(dims) / 2
    legend = (closed(rectangle_outline(x0, y0, x1, y1)), *_notch(row / 2, y1))
    return Drawing(lands, (Body(chip, dims.length("height")),), legend, "dot")


def _notch(x: float, y: float) -> tuple[Polyline, ...]:
    """The notch at the pin 1 end, as a half octagon below the edge at (x, y)."""
    r = 0.8
    return (((x - r, y), (x - 0.7 * r, y - 0.7 * r), (x, y - r), (x + 0.7 * r, y - 0.7 * r), (x + r, y)),)


def host_plug(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw the pins that hang from the underside and plug into a host machine's DIP socket.

    Numbered as the host socket is, seen from the top.  Above the board there is only solder, and no legend but the
    mark, for the chip's own socket usually stands between and across these pins.
    """
    lands = _dual_row_lands(dims, sizing)
    row, span = dims.length("row"), (dims.count("pins") / 2 - 1) * PITCH
    across = max(land.form.width for land in lands)
    along = max(land.form.height for land in lands)
    strips = [centred_outline((x, -span / 2), across, span + along) for x in (0.0, row)]
    bodies = tuple(Body(strip, dims.length("height")) for strip in strips)
    return Drawing(lands, bodies, (), "dot", underside=True)


def header(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a strip of `columns` along x; with two rows, odd pins below and even ones above.

    `base` is the height of the plastic, `pin_top` of the pin tips if they stand above it, `shroud` how much longer and
    deeper the plastic is than the pins' grid.
    """
    rows, columns = int(dims.length("rows", 1)), dims.count("columns")
    pitch, size = dims.length("pitch", PITCH), lead_size(dims)
    leads = []
    for column in range(columns):
        for r in range(rows):
            number = column * rows + r + 1
            leads.append(Lead(str(number), (column * pitch, r * pitch), size, square=number == 1))
    middle = ((columns - 1) * pitch / 2, (rows - 1) * pitch / 2)
    extra = dims.pair("shroud") if dims.has("shroud") else (0.0, 0.0)
    base = centred_outline(middle, columns * pitch + extra[0], rows * pitch + extra[1])
    bodies = [Body(base, dims.length("base"))]
    if dims.has("pin_top"):
        square = dims.pair("lead")[0]
        pins = centred_outline(middle, (columns - 1) * pitch + square, (rows - 1) * pitch + square)
        bodies.append(Body(pins, dims.length("pin_top")))
    return Drawing(sizing.lands(leads), tuple(bodies), (closed(base),), mark_kind(dims))


WIRE_DIAMETER = {20: 0.97, 22: 0.76, 24: 0.61, 26: 0.48, 28: 0.38, 30: 0.30}  # mm, 7-strand wire (from memory)
WIRE_PLAY = 0.3  # mm, hole over stranded wire (common practice)


def wire_pads(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw `count` pads in a row for stranded wires of American wire gauge `gauge`, soldered straight in."""
    count, pitch = int(dims.length("count", 1)), dims.length("pitch", PITCH)
    strands = WIRE_DIAMETER[dims.count("gauge")]
    bore, ring = round_up(strands + WIRE_PLAY), dims.length("ring")
    leads = [
        Lead(str(k + 1), (k * pitch, 0.0), strands, square=k == 0 and count > 1, ring=ring, bore=bore)
        for k in range(count)
    ]
    lands = sizing.lands(leads)
    bodies = tuple(
        Body(round_outline(land.at, min(land.form.width, land.form.height)), dims.length("height")) for land in lands
    )
    return Drawing(lands, bodies, (), "dot" if count > 1 else "none")
