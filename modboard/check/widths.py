"""Track widths: against the rule set, against what the net asks, and against the net's current."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from modboard.artwork.model import Stroke
from modboard.calc.current import track_width
from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import middle, spot
from modboard.geometry import TOLERANCE, Position
from modboard.layout.board import CopperLayer

NECK_REACH = 3.0  # mm; how far from a narrow pad a track may be as narrow as the rule set allows, common practice

TRACK_WIDTH = Rule(
    "track-width",
    "error",
    "a track is as wide as its net asks, and nowhere narrower than the rule set allows",
    "widen the track; if there is no room, move what is beside it",
    limit="track",
)
TRACK_CURRENT = Rule(
    "track-current",
    "error",
    "the width a net is given carries its current",
    "ask for a wider track, a pour, thicker copper, or allow a higher temperature rise",
    source="IPC-2221, figure 6-4",
)
RULES = (TRACK_WIDTH, TRACK_CURRENT)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure every track, and every net's asked width against its amps."""
    for layer in seen.copper.layers.values():
        for item in layer.items:
            if item.is_track and isinstance(item.feature, Stroke):
                yield from narrow(seen, layer, item, item.feature)
    yield from currents(seen)


def narrow(seen: Inspection, layer: LayerCopper, item: CopperItem, track: Stroke) -> Iterator[Finding]:
    """Report a track that is narrower than its net's width, necks at narrow pads of its own aside."""
    net = seen.nets.get(item.net)
    asked = max(seen.rules.track, net.track_width if net else 0.0)
    if track.width >= asked - TOLERANCE:
        return
    where = f"the track of {item.net or 'no net'} near {spot(middle(track.shape))}, {layer.layer}"
    if track.width < seen.rules.track - TOLERANCE:
        message = f"the track is {track.width:.3f} mm wide, the rule set allows no less than {seen.rules.track:.3f} mm"
        yield TRACK_WIDTH.finding(seen.rules, middle(track.shape), where, message, track.width, asked)
        return
    outside = beyond_necks(seen, layer.layer, item.net, track, asked)
    if outside is not None and net is not None:
        where = f"the track of {item.net} at {spot(outside)}, {layer.layer}"
        message = (
            f"the track is {track.width:.3f} mm wide where the net asks {asked:.3f} mm "
            f"and no narrow pad of its own is within {NECK_REACH:g} mm"
        )
        yield TRACK_WIDTH.finding(
            seen.rules, outside, where, message, track.width, asked, source=net.width_reason or "the design"
        )


def beyond_necks(seen: Inspection, layer: CopperLayer, net: str, track: Stroke, asked: float) -> Position | None:
    """Return a point of the track that is not near a pad of its net narrower than `asked`; None if there is none.

    Each straight piece must lie within reach of one pad.  Lands are convex: the piece's ends are its farthest points.
    """
    pads = [
        pad.shape
        for pad in seen.board.pads
        if pad.net == net and layer in pad.layers and pad.form.short_side() < asked - TOLERANCE
    ]
    for start, end in zip(track.points, track.points[1:], strict=False):
        ends = shapely.points([start, end])
        if not any((shapely.distance(ends, p.core) - p.radius <= NECK_REACH + TOLERANCE).all() for p in pads):
            return ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return None


def currents(seen: Inspection) -> Iterator[Finding]:
    """Report nets whose track width does not carry their amps."""
    for net in seen.description.nets:
        if not net.amps:
            continue
        try:
            need = track_width(net.amps, seen.rules.copper, seen.rules.temperature_rise)
        except ValueError as beyond:
            yield TRACK_CURRENT.finding(seen.rules, None, f"net {net.name}", f"{net.name} at {net.amps:g} A: {beyond}")
            continue
        if net.track_width < need - TOLERANCE:
            message = (
                f"{net.amps:g} A needs {need:.3f} mm for a rise of {seen.rules.temperature_rise:g} K, "
                f"the net is given {net.track_width:.3f} mm"
            )
            yield TRACK_CURRENT.finding(seen.rules, None, f"net {net.name}", message, net.track_width, need)
