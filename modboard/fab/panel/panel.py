"""Arranges boards on a panel for ordering: rows and columns, rails with tooling holes and fiducials, scored or routed.

The panel is an artwork like any other, so that every output, the netlist and the read-back work on it unchanged.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import shapely

from modboard.artwork.draw import PROFILE_PEN, always_drawn
from modboard.artwork.model import Artwork, Drill, Feature, Flash, Layer, LayerName, Stroke
from modboard.fab.names import LAYER_FILES
from modboard.fab.panel import figures
from modboard.fab.panel.copies import copied
from modboard.fab.panel.tabs import PanelError, routed
from modboard.geometry import TOLERANCE, Position
from modboard.layout.board import Board
from modboard.library.model import PadForm

Parting = Literal["score", "tabs"]


@dataclass(frozen=True)
class PanelPlan:
    """What is wanted: `rows` × `columns` of each design, or as many as `fill` (width, height, mm) holds.

    `rail` is the width of the rails (mm): above and below scored boards, on all sides of routed ones; 0 for none.
    """

    rows: int = 1
    columns: int = 1
    fill: tuple[float, float] | None = None
    parting: Parting = "tabs"
    rail: float = figures.RAIL


@dataclass(frozen=True)
class _Grid:
    """Where the boards lie: (design number, lower left corner) of each, and the size of the panel."""

    places: tuple[tuple[int, Position], ...]
    size: tuple[float, float]


def area(text: str) -> tuple[float, float]:
    """Return width and height (mm) from words such as ``100,100`` or ``100x80``.

    Raises PanelError for anything else.
    """
    found = re.fullmatch(r"\s*(\d{1,4}(?:\.\d+)?)\s*[,x×]\s*(\d{1,4}(?:\.\d+)?)\s*", text)
    if not found:
        raise PanelError(f'panel: "{text}" is no area; give width and height in mm, e.g. 100,100')
    return (float(found[1]), float(found[2]))


def panel(artworks: Sequence[Artwork], plan: PanelPlan) -> Artwork:
    """Return the artwork of a panel; its lower left corner is at 0, 0.  Several designs lie in rows of their own.

    Raises PanelError for a panel that cannot be made: too large, boards of unlike sizes to be scored, copper or parts
    too near a score, no room for tabs, designs with unlike rules.
    """
    _check_plan(artworks, plan)
    grid = _grid(artworks, plan)
    copies = []
    for number, (design, corner) in enumerate(grid.places, start=1):
        x0, y0, *_ = artworks[design].board.outline.bounds
        copies.append(copied(artworks[design], str(number), (corner[0] - x0, corner[1] - y0)))
    rectangle = shapely.box(0.0, 0.0, *grid.size)
    outline = rectangle
    bites: list[Position] = []
    scores: tuple[tuple[Position, Position], ...] = ()
    if plan.parting == "tabs":
        coppers = [_copper(copy) for copy in copies]
        names = [artworks[design].board.description.name for design, _ in grid.places]
        outline, bites = routed(rectangle, [c.board.outline for c in copies], coppers, names)
    else:
        scores = _scores(copies, grid)
        _check_scores(copies, scores)
    return _assembled(artworks, plan, copies, outline, bites, scores, grid)


def _check_plan(artworks: Sequence[Artwork], plan: PanelPlan) -> None:
    if not artworks:
        raise PanelError("panel: name at least one design")
    if plan.fill is None and not (1 <= plan.rows <= 50 and 1 <= plan.columns <= 50):
        raise PanelError(f"panel: {plan.rows} × {plan.columns} boards; give 1 to 50 rows and columns")
    if plan.fill is not None and len(artworks) > 1:
        raise PanelError("panel: filling an area takes one design; give rows and columns for several")
    if plan.rail and not figures.NARROWEST_RAIL <= plan.rail <= figures.WIDEST_RAIL:
        raise PanelError(
            f"panel: a rail of {plan.rail:g} mm; give {figures.NARROWEST_RAIL:g} to {figures.WIDEST_RAIL:g}, or 0"
        )
    if plan.parting == "tabs" and not plan.rail:
        raise PanelError("panel: routed boards need rails to hold on to; give a rail width, or score the boards")
    rules = {(a.board.description.rules.thickness, a.board.description.rules.copper) for a in artworks}
    masks = {a.board.description.rules.mask for a in artworks}
    if len(rules) > 1 or len(masks) > 1:
        raise PanelError("panel: the designs differ in thickness, copper or mask; only like boards share a panel")


def _grid(artworks: Sequence[Artwork], plan: PanelPlan) -> _Grid:
    sizes = [_size(artwork) for artwork in artworks]
    apart = figures.SLOT if plan.parting == "tabs" else 0.0
    side = plan.rail + apart if plan.parting == "tabs" else 0.0
    upright = plan.rail + apart
    rows, columns = plan.rows, plan.columns
    if plan.fill is not None:
        columns = math.floor((plan.fill[0] - 2 * side + apart + TOLERANCE) / (sizes[0][0] + apart))
        rows = math.floor((plan.fill[1] - 2 * upright + apart + TOLERANCE) / (sizes[0][1] + apart))
        if min(rows, columns) < 1:
            w, h = sizes[0][0] + 2 * side, sizes[0][1] + 2 * upright
            raise PanelError(
                f"panel: not one board fits {plan.fill[0]:g} × {plan.fill[1]:g} mm; "
                f"one with its rails needs {w:.1f} × {h:.1f}"
            )
    places: list[tuple[int, Position]] = []
    y = upright
    for design, (width, height) in enumerate(sizes):
        for _ in range(rows):
            places += [(design, (side + k * (width + apart), y)) for k in range(columns)]
            y += height + apart
    widest = max(columns * (w + apart) - apart for w, _ in sizes) + 2 * side
    size = (round(widest, 6), round(y - apart + upright, 6))
    if size[0] > figures.LARGEST[0] or size[1] > figures.LARGEST[1]:
        raise PanelError(
            f"panel: {size[0]:.0f} × {size[1]:.0f} mm is more than a fabrication panel of "
            f"{figures.LARGEST[0]:g} × {figures.LARGEST[1]:g} holds"
        )
    if plan.parting == "score" and len({(round(w, 3), round(h, 3)) for w, h in sizes}) > 1:
        raise PanelError("panel: scores run from edge to edge, so all boards must be of one size; use tabs")
    return _Grid(tuple(places), size)


def _size(artwork: Artwork) -> tuple[float, float]:
    x0, y0, x1, y1 = artwork.board.outline.bounds
    return (x1 - x0, y1 - y0)


def _copper(artwork: Artwork) -> Any:
    return shapely.union_all([f.shape.polygon() for f in artwork.features("copper-top", "copper-bottom")])


def _scores(copies: Sequence[Artwork], grid: _Grid) -> tuple[tuple[Position, Position], ...]:
    """Return the lines to score: edge to edge, where two boards meet or a board meets a rail."""
    width, height = grid.size
    edges = [copy.board.outline.bounds for copy in copies]
    xs = {round(x, 6) for x0, _, x1, _ in edges for x in (x0, x1)} - {0.0, width}
    ys = {round(y, 6) for _, y0, _, y1 in edges for y in (y0, y1)} - {0.0, height}
    return (*(((x, 0.0), (x, height)) for x in sorted(xs)), *(((0.0, y), (width, y)) for y in sorted(ys)))


def _check_scores(copies: Sequence[Artwork], scores: Sequence[tuple[Position, Position]]) -> None:
    lines = shapely.MultiLineString([list(line) for line in scores])
    for copy in copies:
        described = copy.board.description
        if described.rules.thickness < figures.THINNEST_SCORED:
            raise PanelError(f"panel: boards under {figures.THINNEST_SCORED:g} mm thick cannot be scored; use tabs")
        if copy.board.outline.symmetric_difference(shapely.box(*copy.board.outline.bounds)).area > 1e-3:
            raise PanelError(f"panel: {described.name} is not a rectangle, so scores cannot part it; use tabs")
        gap = float(_copper(copy).distance(lines))
        if gap < figures.SCORE_TO_COPPER - TOLERANCE:
            raise PanelError(
                f"panel: copper of {described.name} comes within {gap:.2f} mm of a score, "
                f"{figures.SCORE_TO_COPPER:g} is needed; use tabs, or rules with a wider copper_to_edge"
            )
        for placed in copy.board.parts:
            for body in placed.bodies():
                near = float(shapely.Polygon(body.outline).distance(lines))
                if near < figures.SCORE_TO_BODY - TOLERANCE:
                    raise PanelError(
                        f"panel: part {placed.part.reference.rpartition('-')[0]} of {described.name} stands "
                        f"{near:.2f} mm from a score, {figures.SCORE_TO_BODY:g} is needed; use tabs"
                    )


def _assembled(
    artworks: Sequence[Artwork],
    plan: PanelPlan,
    copies: Sequence[Artwork],
    outline: Any,
    bites: Sequence[Position],
    scores: Sequence[tuple[Position, Position]],
    grid: _Grid,
) -> Artwork:
    described = artworks[0].board.description
    names = list(dict.fromkeys(a.board.description.name for a in artworks))
    name = f"{'-'.join(names)}-panel"
    whole = replace(
        described,
        name=name,
        title=f"Panel of {' and '.join(a.board.description.title or a.board.description.name for a in artworks)}",
        parts=tuple(p for c in copies for p in c.board.description.parts),
        nets=tuple(n for c in copies for n in c.board.description.nets),
        unconnected=tuple(u for c in copies for u in c.board.description.unconnected),
        wishes={}, groups=(), cavity=None, outline=outline, holes=(),
        cautions=tuple(dict.fromkeys(c for a in artworks for c in a.board.description.cautions)),
    )  # fmt: skip
    board = Board(
        whole,
        outline,
        tuple(p for c in copies for p in c.board.parts),
        tuple(t for c in copies for t in c.board.tracks),
        tuple(v for c in copies for v in c.board.vias),
        tuple(p for c in copies for p in c.board.pours),
    )
    tooling, marks = _rail_marks(plan, grid.size)
    drills = [d for c in copies for d in c.drills]
    drills += [Drill(at, figures.TOOLING_HOLE, False, "mechanical-drill") for at in tooling]
    drills += [Drill(at, figures.BITE, False, "mechanical-drill") for at in sorted(set(bites))]
    layers: dict[LayerName, list[Feature]] = {layer: [] for layer in LAYER_FILES}
    for copy in copies:
        for layer in copy.layers:
            layers[layer.name] += layer.features
    always = always_drawn(described.rules)
    for side in ("top", "bottom"):
        if f"copper-{side}" in always:
            layers[f"copper-{side}"] += [_disc(at, figures.FIDUCIAL, "fiducial") for at in marks]  # type: ignore[index]
        if described.rules.mask:
            openings = [(at, figures.FIDUCIAL_OPENING) for at in marks] + [
                (at, figures.TOOLING_HOLE + 0.2) for at in tooling
            ]
            layers[f"mask-{side}"] += [_disc(at, size, "mask-opening") for at, size in openings]  # type: ignore[index]
    rings = [outline.exterior, *outline.interiors]
    layers["profile"] = [Stroke(tuple(ring.coords), PROFILE_PEN, "profile") for ring in rings]
    layers["score"] = [Stroke(line, figures.SCORE_LINE, "score") for line in scores]
    kept = tuple(Layer(n, tuple(f)) for n, f in layers.items() if f or n in always)
    how = (
        f"scored along {len(scores)} lines, a third of the thickness left"
        if scores
        else f"routed, {figures.SLOT:g} mm slots"
    )
    how += "" if scores else f", tabs with rows of {figures.BITE:g} mm holes; file the stubs flush"
    return Artwork(board, kept, tuple(drills), panel=f"{len(copies)} boards, {how}")


def _disc(at: Position, diameter: float, function: Literal["fiducial", "mask-opening"]) -> Flash:
    return Flash(PadForm("round", diameter, diameter), at, 0.0, function)


def _rail_marks(plan: PanelPlan, size: tuple[float, float]) -> tuple[tuple[Position, ...], tuple[Position, ...]]:
    """Return tooling holes (four corners) and fiducials (three, so that no turn of the panel looks like another)."""
    if not plan.rail:
        return (), ()
    away = plan.rail / 2
    (x0, x1), (y0, y1) = (away, size[0] - away), (away, size[1] - away)
    tooling = ((x0, y0), (x1, y0), (x0, y1), (x1, y1))
    inward = figures.FIDUCIAL_FROM_HOLE
    if x1 - x0 < 2 * inward + 2 * figures.FIDUCIAL_OPENING:
        raise PanelError(
            f"panel: {size[0]:.0f} mm is too narrow for tooling holes and fiducials; take more columns, or rail 0"
        )
    clear = figures.FIDUCIAL_OPENING / 2
    up = max(away, min(plan.rail - 2 * clear, figures.FIDUCIAL_FROM_EDGE + clear))
    return tooling, ((x0 + inward, up), (x1 - inward, up), (x0 + inward, size[1] - up))
