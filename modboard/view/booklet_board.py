"""The board as inline SVG for the booklet: drawn once, lit and turned over by the page.

Coordinates are board millimetres with y up; a group flips them for the screen.  Copper carries the index of its net
so that the page can light it.  Parts are drawn as one sees them: bands in their colours, stripes, notches.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

import shapely

from modboard.artwork.model import Artwork, Feature, Flash, Stroke
from modboard.layout.board import COPPER_LAYERS, PlacedPart
from modboard.view.booklet_marks import Mark, label_places
from modboard.view.booklet_parts import part_shapes

MARGIN = 2.0  # mm of air round the board
RING, LETTER = 1.25, 0.9  # mm: radius of a probe's ring, width of a letter (type of 1.5 mm, about 0.6 of it)


def view_box(artwork: Artwork, side: str) -> str:
    """Return the viewBox of the board seen from `side`, for coordinates flipped by `flip`."""
    x0, y0, x1, y1 = extent(artwork)
    left = -x1 if side == "bottom" else x0
    size = (x1 - x0 + 2 * MARGIN, y1 - y0 + 2 * MARGIN)
    return f"{left - MARGIN:.2f} {-y1 - MARGIN:.2f} {size[0]:.2f} {size[1]:.2f}"


def extent(artwork: Artwork) -> tuple[float, float, float, float]:
    """Return what a picture must show in board mm: the board, and parts that reach over its edge."""
    boxes = [artwork.board.outline.bounds]
    boxes += [shapely.Polygon(body.outline).bounds for placed in artwork.board.parts for body in placed.bodies()]
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def flip(side: str) -> str:
    """Return the transform that shows board coordinates as seen from `side`."""
    return "scale(-1 -1)" if side == "bottom" else "scale(1 -1)"


def definitions(artwork: Artwork, nets: dict[str, int]) -> dict[str, str]:
    """Return the groups of the drawing by id: plate, cu-top, cu-bottom, holes, and part-N for every part."""
    board = artwork.board
    plate = f'<path d="{_rings([board.outline.exterior, *board.outline.interiors])}" fill-rule="evenodd"/>'
    found = {"plate": plate}
    for layer in COPPER_LAYERS:
        shapes = [_copper(f, nets) for f in artwork.features("copper-top" if layer == "top" else "copper-bottom")]
        found[f"cu-{layer}"] = "".join(shapes)
    found["holes"] = "".join(_hole(d.shape) for d in artwork.drills)
    for number, placed in enumerate(board.parts):
        found[f"part-{number}"] = part_drawing(artwork, placed)
    return found


def _copper(feature: Feature, nets: dict[str, int]) -> str:
    owner = feature.owner
    name = owner.net or f"{owner.reference}.{owner.number}"
    mark = f' data-n="{nets[name]}"' if name in nets else ""
    if isinstance(feature, Stroke):
        points = " ".join(f"{_n(x)},{_n(y)}" for x, y in feature.points)
        return f'<polyline class="k"{mark} points="{points}" stroke-width="{_n(feature.width)}"/>'
    if isinstance(feature, Flash):
        if feature.form.form == "round":
            x, y = feature.at
            return f'<circle class="c"{mark} cx="{_n(x)}" cy="{_n(y)}" r="{_n(feature.form.width / 2)}"/>'
        area = feature.shape.polygon(6)
        return f'<path class="c"{mark} d="{_rings([area.exterior])}"/>'
    area = feature.area
    return f'<path class="c pour"{mark} fill-rule="evenodd" d="{_rings([area.exterior, *area.interiors])}"/>'


def _hole(shape: Any) -> str:
    if shape.core.geom_type == "Point":
        return f'<circle cx="{_n(shape.core.x)}" cy="{_n(shape.core.y)}" r="{_n(shape.radius)}"/>'
    return f'<path d="{_rings([shape.polygon(6).exterior])}"/>'


def part_drawing(artwork: Artwork, placed: PlacedPart) -> str:
    """Return the part as one sees it from its own side."""
    pieces = []
    for shown in part_shapes(placed, artwork.mark(placed)):
        if shown.sort == "lead":
            (x0, y0), (x1, y1) = shown.points
            ends = f'x1="{_n(x0)}" y1="{_n(y0)}" x2="{_n(x1)}" y2="{_n(y1)}"'
            pieces.append(f'<line {ends} stroke="{shown.fill}" stroke-width="{_n(shown.width)}"/>')
        elif shown.sort == "mark":
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shown.points)
            pieces.append(f'<polyline class="mark" points="{points}"/>')
        else:
            sort = ' class="body"' if shown.sort == "body" else ""
            pieces.append(f'<path{sort} fill="{shown.fill}" d="{_line(shown.points)}Z"/>')
    return "".join(pieces)


def still(artwork: Artwork, side: str, done: list[int], now: list[int], net: int | None, marks: str, title: str) -> str:
    """Return a picture of one step that stands by itself: for print, and for a page without scripts."""
    far = "bottom" if side == "top" else "top"
    lit = f" lit-{net}" if net is not None else ""
    uses = ['<use href="#plate" class="plate"/>', f'<use href="#cu-{far}" class="far"/>']
    uses += [f'<use href="#cu-{side}" class="near"/>', '<use href="#holes" class="holes"/>']
    here = {n for n, p in enumerate(artwork.board.parts) if p.body_side == side}
    uses += [f'<use href="#part-{n}" class="was{"" if n in here else " below"}"/>' for n in done]
    uses += [f'<use href="#part-{n}" class="now{"" if n in here else " below"}"/>' for n in now]
    return (
        f'<svg class="still{lit}" viewBox="{view_box(artwork, side)}" role="img" aria-label="{escape(title)}">'
        f'<g transform="{flip(side)}">{"".join(uses)}</g>{marks}</svg>'
    )


def drawn_marks(marks: Sequence[Mark], side: str) -> str:
    """Return rings with their labels, and names of parts, for a still; in screen coordinates."""
    at = [(-m.at[0] if side == "bottom" else m.at[0], m.at[1]) for m in marks]
    places = label_places(marks, at, [LETTER * len(m.label) for m in marks], RING, 1.2)
    pieces = []
    for m, (x, y), (tx, ty) in zip(marks, at, places, strict=True):
        text = f'<text x="{_n(tx)}" y="{_n(-ty + 0.53)}">{escape(m.label)}</text>'
        if m.sort == "name":
            pieces.append(text)
            continue
        colour = f' stroke="{m.colour}"' if m.colour else ""
        ring = f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{RING}"{colour}/>'
        sort = "wired" if m.sort == "wire" else m.sort
        pieces.append(f'<g class="{sort}{" behind" if m.behind else ""}">{ring}{text}</g>')
    return "".join(pieces)


def _rings(rings: list[Any]) -> str:
    return "".join(f"{_line(tuple(ring.coords)[:-1])}Z" for ring in rings)


def _line(points: Any) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
