"""Parts as one sees them at the bench, as plain shapes in board millimetres: bands, stripes, notches.

The page draws them as SVG, the printed booklet as PDF; neither knows what a resistor looks like.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from modboard.bench.colours import BAND_COLOURS
from modboard.bench.kinds import Kind, kind_of, value_of
from modboard.bench.values import resistor_bands
from modboard.geometry import Position
from modboard.layout.board import PlacedPart

LEAD = "#9a9fa6"
LEAD_WIDTH = 0.6  # mm, as drawn
BODIES: dict[Kind, str] = {
    "resistor": "#d9c6a0", "capacitor": "#d8862f", "electrolytic": "#2f3f63", "diode": "#d06a4c", "led": "#d63a3a",
    "transistor": "#2b2b2e", "regulator": "#2b2b2e", "chip": "#2b2b2e", "socket": "#3a3a40", "crystal": "#b9bdc2",
    "oscillator": "#b9bdc2", "inductor": "#5d4a3a", "trimmer": "#2d6da3", "network": "#b58b2a",
    "connector": "#4a4a52", "host plug": "#4a4a52", "wire pads": "#e9e2cf", "button": "#4a4a52", "link": LEAD,
    "part": "#77706a",
}  # fmt: skip


@dataclass(frozen=True)
class Shown:
    """One shape: an area with its `fill`, or a line of `width` mm; `sort` tells the body and the polarity mark."""

    sort: str  # "lead", "body", "trim", "mark"
    points: tuple[Position, ...]
    fill: str = ""
    width: float = 0.0


def part_shapes(placed: PlacedPart, mark: Sequence[Sequence[Position]]) -> list[Shown]:
    """Return the part as one sees it from its own side, back to front; `mark` is its mark as the artwork has it."""
    kind = kind_of(placed.part)
    lands = placed.part.footprint.lands
    found = []
    if kind in ("resistor", "diode", "inductor", "link") and len(lands) == 2 and lands[0].hole:
        found.append(Shown("lead", tuple(placed.to_board(land.at) for land in lands), LEAD, LEAD_WIDTH))
    found += [Shown("body", tuple(body.outline), BODIES[kind]) for body in placed.bodies()]
    found += _trim(placed, kind)
    found += [Shown("mark", tuple(line), width=0.18) for line in mark]
    return found


def _trim(placed: PlacedPart, kind: Kind) -> list[Shown]:
    """Return bands of a resistor, the cathode band of a diode, the minus stripe of an electrolytic."""
    lands = placed.part.footprint.lands
    bodies = placed.part.footprint.bodies
    if not bodies or len(lands) < 2:
        return []
    xs, ys = [p[0] for p in bodies[0].outline], [p[1] for p in bodies[0].outline]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
    lying = x1 - x0 > y1 - y0

    def stripe(share: float, width: float, colour: str) -> Shown:
        at, half = x0 + share * (x1 - x0), width / 2
        box = ((at - half, y0), (at + half, y0), (at + half, y1), (at - half, y1))
        return Shown("trim", tuple(placed.points(box)), colour)

    if kind == "resistor" and lying and lands[0].hole:
        ohms = value_of(placed.part)
        found = resistor_bands(ohms) if ohms is not None else ()
        colours = found[0] if found else ()
        places = [0.16, 0.36, 0.56, 0.84] if len(colours) == 4 else [0.14, 0.32, 0.5, 0.68, 0.86][: len(colours)]
        return [stripe(s, 0.09 * (x1 - x0), BAND_COLOURS[c]) for s, c in zip(places, colours, strict=False)]
    if kind == "diode" and lying:
        cathode = next((land for land in lands if land.number == "1"), lands[0])
        return [stripe(0.14 if cathode.at[0] < (x0 + x1) / 2 else 0.86, 0.12 * (x1 - x0), "#1c1c1c")]
    if kind == "electrolytic" and placed.part.device:
        minus = next((p.number for p in placed.part.device.pins if "-" in p.names), None)
        land = next((item for item in lands if item.number == minus), None)
        if land:
            right = land.at[0] > (x0 + x1) / 2
            outline = _chord(bodies[0].outline, x0 + (0.72 if right else 0.28) * (x1 - x0), right)
            return [Shown("trim", tuple(placed.points(outline)), "#dfe3ea")] if outline else []
    return []


def _chord(outline: tuple[Position, ...], x: float, right: bool) -> tuple[Position, ...]:
    """Return the part of a convex outline to the right (or left) of `x`."""
    box = shapely.box(x, -1e3, 1e3, 1e3) if right else shapely.box(-1e3, -1e3, x, 1e3)
    cut = shapely.Polygon(outline).intersection(box)
    return () if cut.is_empty else tuple((float(a), float(b)) for a, b in cut.exterior.coords)
