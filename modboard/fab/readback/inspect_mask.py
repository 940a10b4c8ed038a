"""Mask, paste and legend: is every pad open, how narrow are the webs, does the legend keep off what is soldered?"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.evidence import LEGENDS, MASKS, PASTES, SIDES, SLACK, Evidence, inside, spot

REACHES = (0.3, 1.0, 4.0)  # mm round an opening in which the next is looked for
LEAST_INK = 1e-3  # mm² of legend on bare copper that is worth a word


def inspect_masks(evidence: Evidence) -> None:
    """Look at both sides; a package without any mask is a board without one."""
    webs: list[tuple[float, str, tuple[float, float]]] = []
    counted = [0, 0]
    for side, name in enumerate(MASKS):
        mask = evidence.package.layer(name)
        if mask is None:
            continue
        _openings(evidence, side, mask.image, counted)
        if web := _smallest_web(mask.image):
            webs.append((web[0], SIDES[side], web[1]))
        _legend(evidence, side, mask.image)
        _paste(evidence, side)
    if not any(evidence.package.layer(name) for name in MASKS):
        evidence.say("mask", "none")
        return
    evidence.say("mask openings", f"{counted[1]} of {counted[0]} pads are open")
    if webs:
        value, side_name, at = min(webs)
        evidence.say("smallest web", f"{value:.3f} mm on the {side_name} at {spot(at)}")


def _openings(evidence: Evidence, side: int, openings: Any, counted: list[int]) -> None:
    layer = evidence.coppers[side]
    if layer is None:
        return
    sure = evidence.knows_functions(layer)  # without functions a covered flash may be a tented via
    shapely.prepare(openings)
    for number, pad in evidence.pads(side):
        shape = layer.shapes[number]
        counted[0] += 1
        if openings.covers(shape.buffer(-SLACK)):
            counted[1] += 1
            continue
        covered = not openings.intersects(shape)
        words = (
            f"the pad at {spot(pad.at or inside(shape))} is {'covered' if covered else 'partly covered'} by the mask"
        )
        evidence.find("mask-opening", "error" if sure else "warning", f"{layer.name}:{pad.line}", words, pad.at)


def _smallest_web(openings: Any) -> tuple[float, tuple[float, float]] | None:
    parts = shapely.get_parts(openings)
    tree = shapely.STRtree(parts)
    for reach in REACHES:
        one, other = tree.query(parts, predicate="dwithin", distance=reach)
        apart = one < other
        if apart.any():
            one, other = one[apart], other[apart]
            distances = shapely.distance(parts[one], parts[other])
            least = int(np.argmin(distances))
            middle = shapely.shortest_line(parts[one[least]], parts[other[least]]).interpolate(0.5, normalized=True)
            return float(distances[least]), (middle.x, middle.y)
    return None


def _legend(evidence: Evidence, side: int, openings: Any) -> None:
    legend, copper = evidence.package.layer(LEGENDS[side]), evidence.coppers[side]
    if legend is None or copper is None or not legend.objects:
        return
    bare = copper.image.intersection(openings)
    ink = legend.image.intersection(bare)
    if ink.area > LEAST_INK:
        words = f"{ink.area:.3f} mm² of legend lie on bare copper, e.g. at {spot(inside(ink))}"
        evidence.find("legend-on-pad", "warning", legend.name, words, inside(ink))


def _paste(evidence: Evidence, side: int) -> None:
    paste, copper = evidence.package.layer(PASTES[side]), evidence.coppers[side]
    if paste is None or copper is None or not paste.objects:
        return
    off = paste.image.difference(copper.image.buffer(SLACK))
    if off.area > LEAST_INK:
        words = f"{off.area:.3f} mm² of paste lie off the copper, e.g. at {spot(inside(off))}"
        evidence.find("paste-off-pad", "warning", paste.name, words, inside(off))
