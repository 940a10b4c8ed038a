"""Legend: ink off the lands, off the holes, on the board, and thick enough to print."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
import shapely

from modboard.artwork import font
from modboard.artwork.model import Feature, Flash, Stroke
from modboard.check.copper import drawn
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import between, middle, name_of, spot
from modboard.geometry import TOLERANCE
from modboard.layout.board import CopperLayer

LEGEND_ON_PAD = Rule(
    "legend-on-pad",
    "error",
    "legend keeps off lands that take solder",
    "clip or move the legend",
    limit="legend_to_copper",
)
LEGEND_ON_OPENING = Rule(
    "legend-on-opening",
    "warning",
    "legend is printed on mask, not in its openings",
    "clip or move the legend",
)
LEGEND_ON_HOLE = Rule("legend-on-hole", "warning", "legend keeps off open holes", "clip or move the legend")
LEGEND_OFF_BOARD = Rule("legend-off-board", "warning", "legend is on the board", "clip or move the legend")
LEGEND_LINE = Rule(
    "legend-line", "warning", "legend lines are thick enough to print", "draw a thicker line", limit="legend_line"
)
LEGEND_HEIGHT = Rule(
    "legend-height",
    "warning",
    "texts of the legend are high enough to print and to read",
    "write the text larger, or leave it out",
    limit="legend_height",
)
RULES = (LEGEND_ON_PAD, LEGEND_ON_OPENING, LEGEND_ON_HOLE, LEGEND_OFF_BOARD, LEGEND_LINE, LEGEND_HEIGHT)

ROUNDED = 1e-5  # mm; what points rounded to a nanometre may take off a text's height


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure the legend of both sides."""
    for side in seen.copper.layers:
        inks = list(drawn(seen.artwork, "legend", side))
        if inks:
            yield from printed(seen, side, inks, ShapeSet([f.shape for f in inks]))
            yield from small_texts(seen, side, [f for f in inks if isinstance(f, Stroke) and f.text])


def printed(seen: Inspection, side: CopperLayer, inks: list[Feature], shapes: ShapeSet) -> Iterator[Finding]:
    """Measure one side's legend against lands, openings, holes, edge and line width."""
    lands = [i for i in seen.copper.layers[side].items if i.is_pad and isinstance(i.feature, Flash)]
    required = seen.rules.legend_to_copper
    on_land: set[int] = set()
    for i, j, gap in shapes.within(ShapeSet([i.shape for i in lands]), required):
        on_land.add(j)
        where = f"the legend at {spot(middle(inks[j].shape))} and {name_of(lands[i].feature)}, {side}"
        message = f"ink is {gap:.3f} mm from the land" if gap > 0 else "ink lies on the land"
        at = between(lands[i].shape, inks[j].shape)
        yield LEGEND_ON_PAD.finding(seen.rules, at, where, message, gap, required)
    openings, bare = seen.openings[side]
    for i, j, gap in shapes.within(bare, 0.0):
        if j not in on_land:
            where = f"the legend at {spot(middle(inks[j].shape))} and the opening of {name_of(openings[i])}, {side}"
            message = "ink reaches into an opening of the mask"
            at = between(openings[i].shape, inks[j].shape)
            yield LEGEND_ON_OPENING.finding(seen.rules, at, where, message, gap, 0.0)
    tented = seen.rules.tent_vias_up_to if seen.rules.mask else 0.0
    drills = [d for d in seen.artwork.drills if d.function != "via-drill" or d.diameter > tented]
    for i, j, gap in shapes.within(ShapeSet([d.shape for d in drills]), 0.0):
        where = f"the legend at {spot(middle(inks[j].shape))} and the hole of {name_of(drills[i])}, {side}"
        at = between(drills[i].shape, inks[j].shape)
        yield LEGEND_ON_HOLE.finding(seen.rules, at, where, "ink reaches over a hole", gap, 0.0)
    outline = seen.board.outline
    inside = shapely.covers(outline, shapes.cores) & (
        shapely.distance(shapes.cores, outline.boundary) - shapes.radii >= -TOLERANCE
    )
    for ink, within in zip(inks, inside.tolist(), strict=True):
        where = f"the legend at {spot(middle(ink.shape))}, {side}"
        if not within:
            yield LEGEND_OFF_BOARD.finding(
                seen.rules, middle(ink.shape), where, "ink reaches over the edge of the board"
            )
        if isinstance(ink, Stroke) and ink.width < seen.rules.legend_line - TOLERANCE:
            message = f"the line is {ink.width:.3f} mm thick"
            yield LEGEND_LINE.finding(seen.rules, middle(ink.shape), where, message, ink.width, seen.rules.legend_line)


def small_texts(seen: Inspection, side: CopperLayer, strokes: Sequence[Stroke]) -> Iterator[Finding]:
    """Measure the capitals of every text: how large its strokes came out beside the font's own drawing of it.

    The diagonal of the box round a text is compared, which quarter turns and mirroring leave as it is.
    """
    required = seen.rules.legend_height
    for (text, _), run in groupby(strokes, key=lambda f: (f.text, f.owner)):
        lines = list(run)
        each = len(font.text(text, (0.0, 0.0), 1.0)) or 1
        for first in range(0, len(lines), each):
            points = np.array([p for f in lines[first : first + each] for p in f.points])
            low, high = points.min(axis=0), points.max(axis=0)
            height = float(np.hypot(*(high - low))) / diagonal(text)
            if height < required - ROUNDED:
                at = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
                where = f'the text "{text}" at {spot(at)}, {side}'
                message = f"the capitals are {height:.3f} mm high"
                yield LEGEND_HEIGHT.finding(seen.rules, at, where, message, height, required)


def diagonal(text: str) -> float:
    """Return the diagonal of the box round the strokes of a text whose capitals are 1 mm high."""
    points = np.array([p for line in font.text(text, (0.0, 0.0), 1.0) for p in line])
    return float(np.hypot(*(points.max(axis=0) - points.min(axis=0))))
