"""Openings in the solder mask, and the apertures of the paste stencil."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely.geometry import Polygon

from modboard.artwork.model import Feature, Flash, Owner, Region, Stroke
from modboard.describe.rules import Rules
from modboard.geometry import Shape
from modboard.layout.board import Board, CopperLayer, Pad, PlacedPart
from modboard.library.model import Hole, PadForm

MITRE = 2  # shapely join style: corners of a polygon land stay corners
FILL = 0.01  # mm that a fill between two openings reaches into both, so that they join without a hair line


def grown_form(form: PadForm, by: float) -> PadForm:
    """Return `form` with `by` mm more all round; square corners become rounded ones, as an exact offset does."""
    if by == 0:
        return form
    width, height = form.width + 2 * by, form.height + 2 * by
    if form.form == "polygon":
        ring = Polygon(form.points).buffer(by, join_style=MITRE).exterior.coords[:-1]
        return PadForm("polygon", width, height, points=tuple((float(x), float(y)) for x, y in ring))
    if form.form in ("rectangle", "rounded"):
        corner = form.corner if form.form == "rounded" else 0.0
        return PadForm("rounded", width, height, corner + by)
    return replace(form, width=width, height=height)


def mask_openings(board: Board, side: CopperLayer) -> tuple[Feature, ...]:
    """Return the openings of one side: lands, vias too big to tent, bare holes; narrow webs within a net are filled.

    Where two openings of *different* nets come closer than the web the mask holder can hold, they are left as they
    are: that is for the checks to report.
    """
    rules = board.description.rules
    windows = [p for p in board.parts if p.window()]
    openings: list[Feature] = [finger_window(placed, board, rules) for placed in windows]
    fingers = {placed.part.reference for placed in windows}
    for pad in board.pads:
        if side in pad.layers and pad.reference not in fingers:
            form = grown_form(pad.form, rules.mask_expansion)
            openings.append(Flash(form, pad.at, pad.turn, "mask-opening", pad_owner(pad), pad.mirrored))
    for via in board.vias:
        if via.hole > rules.tent_vias_up_to:
            size = via.land + 2 * rules.mask_expansion
            openings.append(Flash(PadForm("round", size, size), via.at, 0.0, "mask-opening", Owner(net=via.net)))
    fills = _fills(openings, board, side)
    openings.extend(hole_opening(hole, rules) for hole in board.bare_holes)
    return (*openings, *fills)


def finger_window(placed: PlacedPart, board: Board, rules: Rules) -> Feature:
    """Return the one opening round all fingers of a card edge, out to the board's edge: mask there would be rubbed off.

    Both sides are opened, for a contact on the back rubs as well.
    """
    area = Polygon(placed.window()).buffer(rules.mask_expansion, join_style=MITRE)
    return Region(area.intersection(board.outline), "mask-opening", Owner(reference=placed.part.reference))


def hole_opening(hole: Hole, rules: Rules) -> Feature:
    """Return the opening round a bare hole or slot."""
    size = hole.diameter + 2 * rules.mask_expansion
    if hole.to:
        return Stroke((hole.at, hole.to), size, "mask-opening")
    return Flash(PadForm("round", size, size), hole.at, 0.0, "mask-opening")


def _fills(openings: list[Feature], board: Board, side: CopperLayer) -> list[Feature]:
    """Return regions that fill webs too narrow to hold between openings of one net, where no other net is bared."""
    web, clear = board.description.rules.mask_web, board.description.rules.mask_to_copper
    areas = [f.shape.polygon() for f in openings]
    if len(areas) < 2:
        return []
    first, second = shapely.STRtree(areas).query(areas, predicate="dwithin", distance=web)
    fills: list[Feature] = []
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        net = openings[i].owner.net
        if i >= j or not net or net != openings[j].owner.net or areas[i].intersects(areas[j]):
            continue
        both = shapely.union(areas[i], areas[j])
        gap = both.buffer(web / 2 + FILL).buffer(-web / 2 - FILL).difference(both).buffer(FILL)
        foreign = [s for n, s in copper_shapes(board, side) if n != net]
        for piece in shapely.get_parts(gap):
            fill = Shape(piece, clear)
            if piece.distance(areas[i]) == 0 == piece.distance(areas[j]) and all(fill.distance(s) > 0 for s in foreign):
                fills.append(Region(piece, "mask-opening", Owner(net=net)))
    return fills


def copper_shapes(board: Board, side: CopperLayer) -> list[tuple[str, Shape]]:
    """Return (net, shape) of every pad, track, via and pour on one side; a pad without net has "" for its net."""
    found = [(p.net or "", p.shape) for p in board.pads if side in p.layers]
    found += [(t.net, t.shape) for t in board.tracks if t.layer == side]
    found += [(v.net, v.shape) for v in board.vias]
    return found + [(p.net, Shape(p.area, 0.0)) for p in board.pours if p.layer == side]


def paste_apertures(board: Board, side: CopperLayer) -> tuple[Feature, ...]:
    """Return stencil apertures, as large as the lands, for the surface-mount lands of one side.

    Lands that no part is soldered to (test points, card-edge fingers, solder jumpers) get none.
    """
    bare = {p.part.reference for p in board.parts if p.part.footprint.technology == "none"}
    return tuple(
        Flash(pad.form, pad.at, pad.turn, "paste", pad_owner(pad), pad.mirrored)
        for pad in board.pads
        if pad.hole is None and side in pad.layers and pad.reference not in bare
    )


def pad_owner(pad: Pad) -> Owner:
    """Return the owner of everything drawn for `pad`."""
    return Owner(pad.net or "", pad.reference, pad.number, pad.pin_name)
