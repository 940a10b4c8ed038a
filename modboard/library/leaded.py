"""Builders for wire-leaded and in-line parts: axial, standing, radial, rows of pins, and freely placed lands."""

from __future__ import annotations

from modboard.errors import LibraryError
from modboard.geometry import Position
from modboard.library.drawing import (
    Drawing,
    Lead,
    MarkKind,
    Polyline,
    Sizing,
    centred_outline,
    closed,
    rectangle_outline,
    round_outline,
)
from modboard.library.families import Dimensions
from modboard.library.model import Body, Hole, Land, PadForm
from modboard.library.sizing import bent_end, diagonal

LINK_MARGIN = 0.1  # mm beside a bare wire: it is laid straight, and nothing conducts beside it (common practice)


def lead_size(dims: Dimensions, key: str = "lead") -> float:
    """Return the size a hole must pass: the diameter, or the diagonal of [width, thickness]."""
    if isinstance(dims.values.get(key), list):
        return diagonal(*dims.pair(key))
    return dims.length(key)


def mark_kind(dims: Dimensions) -> MarkKind:
    """Return the kind of mark the file asks for."""
    kind = dims.text("mark", "none")
    if kind not in ("dot", "bar", "plus", "none"):
        raise LibraryError(f'{dims.where}: mark should be "dot", "bar", "plus" or "none", found "{kind}"')
    return kind  # type: ignore[return-value]


def axial(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a part lying between its two leads; pad 1 at the origin, pad 2 `pitch` to the right."""
    pitch, (length, diameter) = dims.length("pitch"), dims.pair("body")
    size = lead_size(dims)
    polarised = mark_kind(dims) != "none"
    lands = sizing.lands([Lead("1", (0.0, 0.0), size, square=polarised), Lead("2", (pitch, 0.0), size)])
    x0, x1 = (pitch - length) / 2, (pitch + length) / 2
    outline = centred_outline((pitch / 2, 0.0), length, diameter)
    legend = [closed(outline), ((0.0, 0.0), (x0, 0.0)), ((x1, 0.0), (pitch, 0.0))]
    if polarised:
        band = x0 + length / 6
        legend.append(((band, -diameter / 2), (band, diameter / 2)))
    return Drawing(lands, (Body(outline, diameter),), tuple(legend), mark_kind(dims))


def link(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a bare wire between two holes, `pitch` apart; it keeps other parts off no more than its own breadth."""
    pitch, size = dims.length("pitch"), lead_size(dims)
    lands = sizing.lands([Lead("1", (0.0, 0.0), size), Lead("2", (pitch, 0.0), size)])
    outline = centred_outline((pitch / 2, 0.0), pitch + size, size)
    keep = size + 2 * LINK_MARGIN
    yard = centred_outline((pitch / 2, 0.0), pitch + keep, keep)
    return Drawing(lands, (Body(outline, size),), (((0.0, 0.0), (pitch, 0.0)),), yard=yard, bridge=True)


def upright(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw an axial part standing on pad 1, its upper lead bent down to pad 2."""
    pitch, (length, diameter), size = dims.length("pitch"), dims.pair("body"), lead_size(dims)
    polarised = mark_kind(dims) != "none"
    lands = sizing.lands([Lead("1", (0.0, 0.0), size, square=polarised), Lead("2", (pitch, 0.0), size)])
    height = dims.length("seat") + length + bent_end(size)
    standing = round_outline((0.0, 0.0), diameter)
    wire = centred_outline((pitch / 2, 0.0), pitch + size, size)
    legend = (closed(standing), ((diameter / 2, 0.0), (pitch, 0.0)))
    return Drawing(lands, (Body(standing, height), Body(wire, height)), legend, mark_kind(dims))


def radial(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a two-lead part standing on its leads: `diameter` for a round body, `body` [length, depth] for a box."""
    if dims.flag("lying"):
        return radial_lying(dims, sizing)
    pitch, size, height = dims.length("pitch"), lead_size(dims), dims.length("height")
    polarised = mark_kind(dims) != "none"
    lands = sizing.lands([Lead("1", (0.0, 0.0), size, square=polarised), Lead("2", (pitch, 0.0), size)])
    centre = (pitch / 2, 0.0)
    if dims.has("diameter_tolerance"):
        outline = round_outline(centre, dims.length("diameter") + dims.length("diameter_tolerance"))
        height += dims.length("height_tolerance")
    elif dims.has("flange"):
        outline = flat_sided(centre, dims.length("flange"), dims.length("flat"))
    else:
        outline = centred_outline(centre, *dims.pair("body"))
    return Drawing(lands, (Body(outline, height),), (closed(outline),), mark_kind(dims))


def radial_lying(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a round two-lead part laid down behind its holes (y up), its leads bent as IPC-A-610 allows.

    The can is `diameter` wide and high and `height` long, each at its largest; the leads reach it at half its height.
    """
    pitch, size = dims.length("pitch"), lead_size(dims)
    lands = sizing.lands([Lead("1", (0.0, 0.0), size, square=True), Lead("2", (pitch, 0.0), size)])
    wide = dims.length("diameter") + dims.length("diameter_tolerance")
    long = dims.length("height") + dims.length("height_tolerance")
    seat = bent_end(size)
    can = rectangle_outline((pitch - wide) / 2, seat, (pitch + wide) / 2, seat + long)
    leads = rectangle_outline(-size / 2, -size / 2, pitch + size / 2, seat)
    bodies = (Body(can, wide), Body(leads, (wide + size) / 2))
    return Drawing(lands, bodies, (closed(can),), mark_kind(dims))


def flat_sided(centre: Position, diameter: float, flat: float) -> Polyline:
    """Return a circle's outline cut off `flat` mm left of its centre (the cathode flat of a lamp)."""
    return tuple((max(x, centre[0] - flat), y) for x, y in round_outline(centre, diameter))


def in_line(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw `pins` leads in a row along x from pad 1 at the origin, in a box `body` [length, depth].

    `body_back` is how far the box reaches behind the row (y up); by default the row is in the middle.
    """
    pins, pitch, size = dims.count("pins"), dims.length("pitch"), lead_size(dims)
    lands = sizing.lands(
        [Lead(str(k + 1), (k * pitch, 0.0), size, square=k == 0, ring=dims.length("ring", 0.0)) for k in range(pins)]
    )
    per_pin, depth = dims.pair("body")
    length = pins * pitch if dims.flag("body_per_pin") else per_pin
    middle = (pins - 1) * pitch / 2
    back = dims.length("body_back", depth / 2)
    outline = rectangle_outline(middle - length / 2, back - depth, middle + length / 2, back)
    legend = [closed(outline)]
    if dims.has("tab_line"):
        line = back - dims.length("tab_line")
        legend.append(((middle - length / 2, line), (middle + length / 2, line)))
    bodies = [Body(outline, dims.length("height"))]
    if dims.has("pin_top"):
        pin = size / 2
        bodies.append(
            Body(centred_outline((middle, 0.0), (pins - 1) * pitch + 2 * pin, 2 * pin), dims.length("pin_top"))
        )
    front = dims.length("front") if dims.has("front") else None
    return Drawing(lands, tuple(bodies), tuple(legend), mark_kind(dims), front=front)


def placed(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw lands, bodies and bare holes exactly where the file puts them.

    `[[land]]`: number, at, and lead, slot with blade, or for a land without a hole `pad`: its diameter or [width,
    height]; square.  `[[body]]`: box [x0, y0, x1, y1] or circle [x, y, diameter]
    (cut off below `flat`), height, above.  `[[hole]]`: at, diameter, and for a screw `clear`: how far across its head,
    washer and nut need the board free of copper.
    """
    tables = dims.tables("land")
    through = [land for land in tables if not land.has("pad")]
    sized = iter(sizing.lands([placed_lead(land) for land in through]))
    lands = tuple(surface_land(land) if land.has("pad") else next(sized) for land in tables)
    bodies = tuple(
        Body(body_outline(body), body.length("height"), body.length("above", 0.0)) for body in dims.tables("body")
    )
    holes = tuple(
        Hole(h.pair("at"), h.length("diameter"), plated=False, clear=h.length("clear", 0.0))
        for h in dims.tables("hole")
    )
    front = dims.length("front") if dims.has("front") else None
    legend = tuple(closed(body.outline) for body in bodies)
    return Drawing(lands, bodies, legend, mark_kind(dims), holes=holes, front=front)


def placed_lead(land: Dimensions) -> Lead:
    """Return the lead of one `[[land]]` table."""
    return Lead(
        land.text("number"),
        land.pair("at"),
        lead_size(land) if land.has("lead") else diagonal(*land.pair("blade")),
        square=land.flag("square"),
        bore=land.length("bore") if land.has("bore") else None,
        ring=land.length("ring", 0.0),
        slot=land.pair("slot") if land.has("slot") else None,
        upright=not land.flag("lying"),
    )


def surface_land(land: Dimensions) -> Land:
    """Return the land of one `[[land]]` table that has no hole."""
    if isinstance(land.values["pad"], list):
        return Land(land.text("number"), land.pair("at"), PadForm("rectangle", *land.pair("pad")))
    return Land(land.text("number"), land.pair("at"), PadForm("round", land.length("pad"), land.length("pad")))


def body_outline(body: Dimensions) -> Polyline:
    """Return the outline of one `[[body]]` table."""
    if body.has("circle"):
        x, y, diameter = body.numbers("circle", 3)
        outline = round_outline((x, y), diameter)
        if body.has("flat"):
            outline = tuple((px, max(py, body.length("flat"))) for px, py in outline)
        return outline
    x0, y0, x1, y1 = body.numbers("box", 4)
    return rectangle_outline(x0, y0, x1, y1)
