"""Drawings for people at the board house: where the parts go, and what is drilled where.

Everything is in board coordinates, seen from the top and drawn with strokes alone; words on the bottom's drawing are
mirrored, so that they read from below.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from modboard.artwork import font
from modboard.artwork.model import Artwork, Drill, Function, Owner, Stroke
from modboard.describe.model import Part
from modboard.geometry import Position
from modboard.layout.board import Board, CopperLayer, PlacedPart

PEN, FINE_PEN = 0.15, 0.1  # mm
WORDS, SMALLEST_WORDS = 1.2, 0.5  # mm, height of capitals
LETTER = 0.8  # mm, height of a tool's letter
FIRST_PAD = 0.6  # mm, diameter of the ring round it
ROW = 2.2  # mm from line to line of the table
USE: dict[Function, str] = {"via-drill": "VIAS", "component-drill": "LEADS", "mechanical-drill": "MECHANICAL"}


def assembly_drawing(board: Board, side: CopperLayer) -> tuple[Stroke, ...]:
    """Return the assembly drawing of one side: edge, bodies with their references, first pads; () without parts."""
    parts = [p for p in board.parts if is_assembled(p) and p.body_side == side]
    nets = board.description.net_of()
    strokes: list[Stroke] = []
    for placed in parts:
        owner = Owner(reference=placed.part.reference)
        bodies = outlines(placed)
        strokes += [_stroke([*outline, outline[0]], PEN, owner) for outline in bodies]
        for pad in placed.pads(nets)[:1]:
            ring = shapely.Point(pad.at).buffer(FIRST_PAD / 2, quad_segs=4).exterior.coords
            strokes.append(_stroke(list(ring), FINE_PEN, owner))
        x0, y0, x1, y1 = shapely.MultiPoint([p for outline in bodies for p in outline]).bounds
        long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
        words = placed.part.reference
        height = max(SMALLEST_WORDS, min(WORDS, 0.7 * short, 0.8 * long / max(font.length(words, 1.0), 0.1)))
        turn = 90.0 if y1 - y0 > x1 - x0 else 0.0
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        lines = font.text(words, middle, height, turn, mirrored=side == "bottom", align="centre")
        strokes += [_stroke(line, FINE_PEN, owner) for line in lines]
    return (*_edge(board), *strokes) if strokes else ()


def drill_drawing(artwork: Artwork) -> tuple[Stroke, ...]:
    """Return the drill drawing: outline, centre lines and tool letter of each hole, a table below; () without holes."""
    tools: dict[tuple[bool, float, Function], list[Drill]] = {}
    for drill in artwork.drills:
        tools.setdefault((not drill.plated, round(drill.diameter, 4), drill.function), []).append(drill)
    strokes: list[Stroke] = []
    x0, y0, *_ = artwork.board.outline.bounds
    for number, ((bare, size, function), drills) in enumerate(sorted(tools.items(), key=lambda tool: tool[0])):
        letter = tool_letter(number)
        for drill in sorted(drills, key=lambda d: (d.at, d.to or d.at)):
            strokes += [_stroke(line, FINE_PEN) for line in _hole_marks(drill)]
            at = (drill.at[0] + size / 2 + 0.35, drill.at[1] + size / 2 + 0.35)
            strokes += [_stroke(line, FINE_PEN) for line in font.text(letter, at, LETTER, align="centre")]
        words = f"{letter}  {size:.2f} MM  {'BARE' if bare else 'PLATED'}  {len(drills)} X  {_use(function, bare)}"
        words += "  SLOTS" if any(d.to for d in drills) else ""
        strokes += [_stroke(line, PEN) for line in font.text(words, (x0, y0 - ROW * (number + 2)), WORDS)]
    if not strokes:
        return ()
    heading = font.text("FINISHED HOLES, SEEN FROM THE TOP", (x0, y0 - ROW), WORDS)
    return (*_edge(artwork.board), *strokes, *(_stroke(line, PEN) for line in heading))


def _use(function: Function, bare: bool) -> str:
    return "WIRE LINKS" if bare and function == "via-drill" else USE[function]


def tool_letter(number: int) -> str:
    """Return A to Z, then AA and so on."""
    return (tool_letter(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def is_assembled(placed: PlacedPart) -> bool:
    """Tell whether a part is bought and fitted: wire pads and parts left out are on no assembly drawing."""
    return placed.part.fitted and is_bought(placed.part)


def is_bought(part: Part) -> bool:
    """Tell whether a part is a thing to buy: lands for wires, test points and the like are only copper."""
    return part.footprint.technology != "none" and not part.footprint.family.startswith("wire-pad")


def outlines(placed: PlacedPart) -> list[tuple[Position, ...]]:
    """Return the outline of each body in board coordinates; the courtyard where a part has no body."""
    return [body.outline for body in placed.bodies()] or [placed.courtyard()]


def _edge(board: Board) -> list[Stroke]:
    return [_stroke(list(ring.coords), PEN) for ring in (board.outline.exterior, *board.outline.interiors)]


def _hole_marks(drill: Drill) -> list[list[Position]]:
    """Return the hole's own outline and the cross of its centre lines."""
    x, y = drill.at
    reach = drill.diameter / 2 + 0.2
    outline = list(drill.shape.polygon(8).exterior.coords)
    return [outline, [(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]]


def _stroke(points: Sequence[Position], pen: float, owner: Owner | None = None) -> Stroke:
    return Stroke(tuple((float(x), float(y)) for x, y in points), pen, "legend", owner or Owner())
