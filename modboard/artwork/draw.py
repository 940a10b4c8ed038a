"""From a finished layout to the one drawing that every output walks."""

from __future__ import annotations

from typing import Any

from modboard.artwork.legend import draw_legend
from modboard.artwork.mask import mask_openings, pad_owner, paste_apertures
from modboard.artwork.model import Artwork, Drill, Feature, Flash, Function, Layer, LayerName, Owner, Region, Stroke
from modboard.describe.model import Side
from modboard.describe.rules import Rules
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer
from modboard.library.model import PadForm

PROFILE_PEN = 0.1  # mm; the edge is the pen's centre line


def draw(board: Board) -> Artwork:
    """Return the artwork of `board`: copper, mask, paste, legend, profile and holes, all dark on clear.

    With rules that have no mask (home etching) there are no mask and legend layers; boards etched at home, whose holes
    are not plated, are soldered by hand and have no paste layers either.
    """
    rules = board.description.rules
    drawn: dict[LayerName, tuple[Feature, ...]] = {}
    for side in COPPER_LAYERS:
        drawn[_name("copper", side)] = copper(board, side)
    marks: tuple[str, ...] = ()
    references: tuple[str, ...] = ()
    if rules.mask:
        for side in COPPER_LAYERS:
            drawn[_name("mask", side)] = mask_openings(board, side)
    if rules.mask and rules.legend:
        openings = {side: drawn[_name("mask", side)] for side in COPPER_LAYERS}
        legends, marks, references = draw_legend(board, openings)
        for side in COPPER_LAYERS:
            drawn[_name("legend", side)] = legends[side]
    for side in COPPER_LAYERS if rules.layers_plated else ():
        drawn[_name("paste", side)] = paste_apertures(board, side)
    drawn["profile"] = profile(board)
    always = always_drawn(rules)
    layers = tuple(Layer(name, features) for name, features in drawn.items() if features or name in always)
    return Artwork(board, layers, drills(board), marks, references)


def always_drawn(rules: Rules) -> frozenset[LayerName]:
    """Return the layers that a board has though nothing may be on them."""
    top: tuple[LayerName, ...] = () if rules.one_sided else ("copper-top",)
    return frozenset(("copper-bottom", "profile", *top))


def _name(kind: str, side: Side) -> LayerName:
    name: LayerName = f"{kind}-{side}"  # type: ignore[assignment]
    return name


def copper(board: Board, side: CopperLayer) -> tuple[Feature, ...]:
    """Return the copper of one side in the order pours, pads, tracks, vias."""
    features: list[Feature] = []
    features += [Region(p.area, "conductor", Owner(net=p.net)) for p in board.pours if p.layer == side]
    for pad in board.pads:
        if side in pad.layers:
            function: Function = "component-pad" if pad.hole else "surface-pad"
            features.append(Flash(pad.form, pad.at, pad.turn, function, pad_owner(pad), pad.mirrored))
    features += [Stroke(t.points, t.width, "conductor", Owner(net=t.net)) for t in board.tracks if t.layer == side]
    for via in board.vias:
        form = PadForm("round", via.land, via.land)
        features.append(Flash(form, via.at, 0.0, "via-pad", Owner(net=via.net)))
    return tuple(features)


def profile(board: Board) -> tuple[Feature, ...]:
    """Return the board's edge: one closed stroke for the outer contour, one for each opening in the board."""
    return tuple(
        Stroke(_closed(ring), PROFILE_PEN, "profile") for ring in (board.outline.exterior, *board.outline.interiors)
    )


def _closed(ring: Any) -> tuple[tuple[float, float], ...]:
    points = [(float(x), float(y)) for x, y in ring.coords]
    return tuple(points if points[0] == points[-1] else [*points, points[0]])


def drills(board: Board) -> tuple[Drill, ...]:
    """Return every hole: component holes in part order, vias, then bare holes.

    Boards etched at home have no plated hole: there leads and wire links, soldered on both sides, join the layers.
    """
    plating = board.description.rules.layers_plated
    hits = [
        Drill(
            p.hole.at,
            p.hole.diameter,
            p.hole.plated and plating,
            _drill_function(p.hole.plated),
            pad_owner(p),
            p.hole.to,
        )
        for p in board.pads
        if p.hole
    ]
    hits += [Drill(v.at, v.hole, plating, "via-drill", Owner(net=v.net)) for v in board.vias]
    hits += [Drill(h.at, h.diameter, False, "mechanical-drill", to=h.to) for h in board.bare_holes]
    return tuple(hits)


def _drill_function(leads: bool) -> Function:
    return "component-drill" if leads else "mechanical-drill"
