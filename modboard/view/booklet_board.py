"""The board as inline SVG for the booklet: drawn once, lit and turned over by the page.

Coordinates are board millimetres with y up; a group flips them for the screen.  Copper carries the index of its net
so that the page can light it.  Parts are drawn as one sees them: bands in their colours, stripes, notches.
"""

from __future__ import annotations

from html import escape
from typing import Any

from modboard.artwork.model import Artwork, Feature, Flash, Stroke
from modboard.bench.colours import BAND_COLOURS
from modboard.bench.kinds import Kind, kind_of, value_of
from modboard.bench.values import resistor_bands
from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, PlacedPart

MARGIN = 2.0  # mm of air round the board
_BODIES: dict[Kind, str] = {
    "resistor": "#d9c6a0", "capacitor": "#d8862f", "electrolytic": "#2f3f63", "diode": "#d06a4c", "led": "#d63a3a",
    "transistor": "#2b2b2e", "regulator": "#2b2b2e", "chip": "#2b2b2e", "socket": "#3a3a40", "crystal": "#b9bdc2",
    "oscillator": "#b9bdc2", "inductor": "#5d4a3a", "trimmer": "#2d6da3", "network": "#b58b2a",
    "connector": "#4a4a52", "host plug": "#4a4a52", "wire pads": "#e9e2cf", "button": "#4a4a52", "part": "#77706a",
}  # fmt: skip


def view_box(artwork: Artwork, side: str) -> str:
    """Return the viewBox of the board seen from `side`, for coordinates flipped by `flip`."""
    x0, y0, x1, y1 = artwork.board.outline.bounds
    left = -x1 if side == "bottom" else x0
    size = (x1 - x0 + 2 * MARGIN, y1 - y0 + 2 * MARGIN)
    return f"{left - MARGIN:.2f} {-y1 - MARGIN:.2f} {size[0]:.2f} {size[1]:.2f}"


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
        found[f"part-{number}"] = part_drawing(placed)
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


def part_drawing(placed: PlacedPart) -> str:
    """Return the part as one sees it from its own side."""
    kind = kind_of(placed.part)
    lands = placed.part.footprint.lands
    pieces = []
    if kind in ("resistor", "diode", "inductor") and len(lands) == 2 and lands[0].hole:
        (x0, y0), (x1, y1) = (placed.to_board(land.at) for land in lands)
        pieces.append(
            f'<line x1="{_n(x0)}" y1="{_n(y0)}" x2="{_n(x1)}" y2="{_n(y1)}" stroke="#9a9fa6" stroke-width=".6"/>'
        )
    for body in placed.bodies():
        pieces.append(f'<path class="body" fill="{_BODIES[kind]}" d="{_line(body.outline)}Z"/>')
    pieces.append(_trim(placed, kind))
    for mark in placed.part.footprint.mark:
        points = " ".join(f"{_n(x)},{_n(y)}" for x, y in placed.points(mark))
        pieces.append(f'<polyline class="mark" points="{points}"/>')
    return "".join(pieces)


def _trim(placed: PlacedPart, kind: Kind) -> str:
    """Return bands of a resistor, the cathode band of a diode, the minus stripe of an electrolytic."""
    lands = placed.part.footprint.lands
    bodies = placed.part.footprint.bodies
    if not bodies or len(lands) < 2:
        return ""
    xs, ys = [p[0] for p in bodies[0].outline], [p[1] for p in bodies[0].outline]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
    lying = x1 - x0 > y1 - y0

    def stripe(share: float, width: float, colour: str) -> str:
        at, half = x0 + share * (x1 - x0), width / 2
        box = ((at - half, y0), (at + half, y0), (at + half, y1), (at - half, y1))
        return f'<path fill="{colour}" d="{_line(placed.points(box))}Z"/>'

    if kind == "resistor" and lying and lands[0].hole:
        ohms = value_of(placed.part)
        found = resistor_bands(ohms) if ohms is not None else ()
        colours = found[0] if found else ()
        width = 0.09 * (x1 - x0)
        places = [0.14, 0.32, 0.5, 0.68, 0.86][: len(colours)]
        if len(colours) == 4:
            places = [0.16, 0.36, 0.56, 0.84]
        return "".join(stripe(s, width, BAND_COLOURS[c]) for s, c in zip(places, colours, strict=False))
    if kind == "diode" and lying:
        cathode = next((land for land in lands if land.number == "1"), lands[0])
        return stripe(0.14 if cathode.at[0] < (x0 + x1) / 2 else 0.86, 0.12 * (x1 - x0), "#1c1c1c")
    if kind == "electrolytic" and placed.part.device:
        minus = next((p.number for p in placed.part.device.pins if "-" in p.names), None)
        land = next((item for item in lands if item.number == minus), None)
        if land:
            right = land.at[0] > (x0 + x1) / 2
            outline = _chord(bodies[0].outline, x0 + (0.72 if right else 0.28) * (x1 - x0), right)
            return f'<path fill="#dfe3ea" d="{_line(placed.points(outline))}Z"/>' if outline else ""
    return ""


def _chord(outline: tuple[Position, ...], x: float, right: bool) -> tuple[Position, ...]:
    """Return the part of a convex outline to the right (or left) of `x`."""
    import shapely

    box = shapely.box(x, -1e3, 1e3, 1e3) if right else shapely.box(-1e3, -1e3, x, 1e3)
    cut = shapely.Polygon(outline).intersection(box)
    return () if cut.is_empty else tuple((float(a), float(b)) for a, b in cut.exterior.coords)


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


def mark(at: Position, side: str, letter: str, kind: str) -> str:
    """Return a probe's ring with its letter, or a part's name, for a still; in screen coordinates."""
    x, y = (-at[0] if side == "bottom" else at[0]), -at[1]
    if kind == "name":
        return f'<text x="{_n(x)}" y="{_n(y + 0.5)}">{escape(letter)}</text>'
    return (
        f'<g class="{kind}"><circle cx="{_n(x)}" cy="{_n(y)}" r="1.25"/>'
        f'<text x="{_n(x + 1.7)}" y="{_n(y - 0.9)}">{escape(letter)}</text></g>'
    )


def _rings(rings: list[Any]) -> str:
    return "".join(f"{_line(tuple(ring.coords)[:-1])}Z" for ring in rings)


def _line(points: Any) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
