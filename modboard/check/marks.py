"""Legend a builder needs: marks of pin 1 and polarity that can be seen once the part is in, texts that found room."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon

from modboard.artwork.model import Stroke
from modboard.check.copper import drawn
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import listed
from modboard.geometry import TOLERANCE
from modboard.layout.board import PlacedPart

MARK_HIDDEN = Rule(
    "mark-hidden",
    "warning",
    "the mark of pin 1 or of polarity can be seen once everything is fitted",
    "move whatever covers the mark, or turn the part",
)
MARK_UNPLACED = Rule(
    "mark-unplaced",
    "warning",
    "the mark of pin 1 or of polarity of every part is printed",
    "give the parts more room, or go by the assembly picture",
)
RULES = (MARK_HIDDEN, MARK_UNPLACED)

TOLD = 6  # marks that are named one by one
VISIBLE = 0.3  # mm of line that must be seen: two widths of the thinnest pen, common practice


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look for each part's mark in the legend, and for marks left out."""
    if seen.rules.legend:
        for side in seen.copper.layers:
            lines: dict[str, list[Any]] = {}
            for ink in drawn(seen.artwork, "legend", side):
                if isinstance(ink, Stroke) and ink.owner.reference and not ink.text and len(ink.points) > 1:
                    lines.setdefault(ink.owner.reference, []).append(LineString(ink.points))
            bodies = [
                Polygon(b.outline)
                for p in seen.board.parts
                if p.body_side == side and p.part.fitted
                for b in p.bodies()
            ]
            cover = shapely.union_all(bodies)
            for placed in seen.board.parts:
                if placed.side == side and placed.part.footprint.mark and placed.part.fitted:
                    yield from hidden(seen, placed, shapely.union_all(lines.get(placed.part.reference, [])), cover)
    if seen.artwork.unplaced_marks:
        missing = seen.artwork.unplaced_marks
        message = f"there was no room for the mark{'s' * (len(missing) > 1)} of {listed(missing, TOLD)}"
        yield MARK_UNPLACED.finding(seen.rules, None, "the legend", message, len(missing), 0, unit="marks")


def hidden(seen: Inspection, placed: PlacedPart, printed: Any, cover: Any) -> Iterator[Finding]:
    """Report a part whose printed mark lies under bodies but for less than can be seen.

    The legend's strokes along the mark count, however they were cut; a mark printed elsewhere must be whole.  A
    mark of which nothing is printed is reported here unless the legend itself says that it found no room for it.
    """
    marks = shapely.union_all([LineString(placed.points(line)) for line in placed.part.footprint.mark])
    ink = printed.intersection(marks.buffer(10 * TOLERANCE))
    if ink.length <= TOLERANCE:
        marks, ink = elsewhere(seen, placed, marks, printed)
    seen_length = float(ink.difference(cover).length)
    at = marks.interpolate(0.5, normalized=True) if marks.geom_type == "LineString" else marks.representative_point()
    where = f"the mark of {placed.part.reference}, {placed.side}"
    if ink.length <= TOLERANCE:
        if placed.part.reference not in seen.artwork.unplaced_marks:
            message = "the mark is not in the legend"
            yield MARK_UNPLACED.finding(seen.rules, (at.x, at.y), where, message, 0.0, VISIBLE)
    elif seen_length < VISIBLE - TOLERANCE:
        message = f"bodies cover the mark but for {seen_length:.2f} mm of its line"
        yield MARK_HIDDEN.finding(seen.rules, (at.x, at.y), where, message, seen_length, VISIBLE)


def elsewhere(seen: Inspection, placed: PlacedPart, marks: Any, printed: Any) -> tuple[Any, Any]:
    """Return a part's mark turned by quarters and moved, as printed whole nearest to the same land, and its ink.

    If there is none, return the mark as it was and no ink.
    """
    lands = [pad for pad in seen.board.pads if pad.reference == placed.part.reference and placed.side in pad.layers]

    def nearest(lines: Any) -> Any:
        return min(lands, key=lambda pad: pad.shape.core.distance(lines) - pad.shape.radius)

    for piece in shapely.get_parts(printed.buffer(10 * TOLERANCE)) if lands and not printed.is_empty else ():
        ink = printed.intersection(piece)
        for quarter in (0.0, 90.0, 180.0, 270.0):
            there = affinity.rotate(marks, quarter, origin=marks.centroid)
            there = affinity.translate(there, ink.centroid.x - there.centroid.x, ink.centroid.y - there.centroid.y)
            same = there.hausdorff_distance(ink) <= 10 * TOLERANCE
            if same and nearest(there) is nearest(marks):
                return there, ink
    return marks, LineString()
