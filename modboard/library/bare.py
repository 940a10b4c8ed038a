"""Builders for what is only copper or a hole: screws, test points, half-holes at the edge, held wires."""

from __future__ import annotations

from modboard.library.drawing import Drawing, Lead, Sizing, centred_outline, rectangle_outline, round_outline
from modboard.library.families import Dimensions
from modboard.library.model import Body, Hole, Land, PadForm
from modboard.library.rows import WIRE_DIAMETER, WIRE_PLAY
from modboard.library.sizing import KEPT_RING, round_up

# outside diameters of stranded hook-up wire with 0.4 mm of PVC (from memory), by American wire gauge, mm
INSULATION = {20: 1.8, 22: 1.6, 24: 1.4, 26: 1.3, 28: 1.2, 30: 1.1}
ROUND_WASHER = 0.5  # mm kept free of copper outside a washer (common practice)
INSULATION_PLAY = 0.3  # mm, hole over insulation (common practice)


def screw_hole(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a screw's hole with its washer as the body; with `plated` a land as wide as the washer, pad 1."""
    hole, washer = dims.length("hole"), dims.length("washer")
    body = Body(round_outline((0.0, 0.0), washer), dims.length("head"))
    if dims.flag("plated"):
        land = Land("1", (0.0, 0.0), PadForm("round", washer, washer), Hole((0.0, 0.0), hole), dims.length("screw"))
        return Drawing((land,), (body,))
    clear = washer + 2 * ROUND_WASHER
    return Drawing((), (body,), holes=(Hole((0.0, 0.0), hole, plated=False, clear=clear),))


def spot(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a round land without a hole: a test point, or a mark for a camera; `clear` is kept free round it."""
    size = dims.length("diameter")
    land = Land("1", (0.0, 0.0), PadForm("round", size, size))
    body = Body(round_outline((0.0, 0.0), dims.length("clear", size)), dims.length("height"))
    return Drawing((land,), (body,))


def half_holes(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw plated holes in a row on the board's edge, which is at y = 0 and cuts them in half; the board is above.

    Each land reaches `inwards` from the edge; a track ends `joint` from it, where it keeps off the edge.
    """
    pitch, bore, count = dims.length("pitch"), dims.length("bore"), dims.count("count")
    inwards, joint = dims.length("inwards"), dims.length("joint")
    ring = max(KEPT_RING[sizing.level], dims.length("ring"))
    leads = [Lead(str(k + 1), (k * pitch, 0.0), 0.0, ring=ring, bore=bore) for k in range(count)]
    lands = []
    for land in sizing.lands(leads):
        across = land.form.width / 2
        around = rectangle_outline(-across, -bore / 2 - ring - joint, across, inwards - joint)
        form = PadForm("polygon", 2 * across, inwards + bore / 2 + ring, points=around)
        lands.append(Land(land.number, (land.at[0], joint), form, land.hole))
    aside = lands[0].form.width / 2
    body = Body(rectangle_outline(-aside, 0.0, (count - 1) * pitch + aside, inwards), dims.length("height"))
    return Drawing(tuple(lands), (body,), (), "dot" if count > 1 else "none", front=270.0, edge="halved")


def relieved_wire(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a wire pad, and `distance` to its right a bare hole that the insulated wire is threaded through first."""
    gauge = dims.count("gauge")
    strands, outside = WIRE_DIAMETER[gauge], INSULATION[gauge]
    lead = Lead("1", (0.0, 0.0), strands, ring=dims.length("ring"), bore=round_up(strands + WIRE_PLAY))
    distance = dims.length("distance")
    wire = centred_outline((distance / 2, 0.0), distance + outside, outside)
    hole = Hole((distance, 0.0), round_up(outside + INSULATION_PLAY), plated=False)
    return Drawing(sizing.lands([lead]), (Body(wire, dims.length("height")),), holes=(hole,))
