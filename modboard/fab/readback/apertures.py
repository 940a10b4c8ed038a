"""Standard apertures (GLFS 4.4) and arcs (GLFS 4.7.2) as shapely geometry."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.layer import Fields
from modboard.fab.readback.limits import FARTHEST, Budget
from modboard.fab.readback.macros import MacroError, macro_shape, regular_polygon

Place = tuple[float, float]
SIZES = {"C": 1, "R": 2, "O": 2, "P": 2}  # sizes that each template must have
_DEFINITION = re.compile(
    r"ADD(?P<code>\d{1,10})(?P<template>[._$a-zA-Z][._$a-zA-Z0-9]{0,126})(?:,(?P<values>.*))?", re.DOTALL
)
_DECIMAL = re.compile(r"[-+]?(?:\d{1,12}\.?\d{0,20}|\.\d{1,20})")
MOST_VALUES = 200  # of one aperture definition


@dataclass(frozen=True)
class Aperture:
    """A pen or stamp: geometry about its origin in mm, as core and radius; `pen` is the width of a plain circle.

    `convex` tells whether it has no hole and no hollow, so that a straight draw with it is the hull of its two ends.
    """

    core: Any
    radius: float
    pen: float | None
    attributes: dict[str, Fields]
    convex: bool = False

    @cached_property
    def points(self) -> int:
        """The number of corners."""
        return int(shapely.get_num_coordinates(self.core))

    @cached_property
    def stamp(self) -> Any:
        """The core to be shifted to where it is flashed; None if it is a point, and so is wherever it is put."""
        return None if self.core.geom_type == "Point" and not self.core.is_empty else self.core

    def put(self, at: Place) -> Any:
        """Return the core with its origin at `at`."""
        shift = np.array(at)
        return shapely.transform(self.core, lambda points: points + shift)


def defined_aperture(
    word: str,
    unit: float,
    macros: Mapping[str, Sequence[str]],
    quarter_segments: int,
    attributes: dict[str, Fields],
    budget: Budget,
) -> tuple[int, Aperture, list[str]]:
    """Return number and aperture of an AD command, and the names of deprecated things in it.

    Raises MacroError for a definition that is wrong.
    """
    found = _DEFINITION.fullmatch(word)
    if not found or int(found["code"]) < 10:
        raise MacroError(f"aperture {word[:40]!r} is wrong")
    code, template = int(found["code"]), found["template"]
    values = found["values"].split("X") if found["values"] else []
    if len(values) > MOST_VALUES or not all(_DECIMAL.fullmatch(v.strip()) for v in values):
        raise MacroError(f"aperture D{code} has a size that is not a plain decimal number, or too many")
    numbers = [float(v) for v in values]
    if template in macros and (words := budget.spend(primitives=len(macros[template]))):
        raise MacroError(words)
    old: list[str] = []
    try:
        core, radius, pen = aperture_shape(template, numbers, macros, quarter_segments, old)
    except MacroError as error:
        raise MacroError(f"aperture D{code}: {error}") from error
    bounds = shapely.bounds(core) * unit
    if not shapely.is_empty(core) and not np.all(np.abs(bounds) + radius * unit < FARTHEST):
        raise MacroError(f"aperture D{code} is larger than {FARTHEST / 1000:g} m")
    if unit != 1.0:
        core = shapely.transform(core, lambda points: points * unit)
    convex = template in SIZES and not (core.geom_type == "Polygon" and core.interiors)
    return code, Aperture(core, radius * unit, None if pen is None else pen * unit, attributes, convex), old


def aperture_shape(
    template: str,
    values: Sequence[float],
    macros: Mapping[str, Sequence[str]],
    quarter_segments: int,
    old: list[str] | None = None,
) -> tuple[Any, float, float | None]:
    """Return core, radius and pen width (None if it is not a plain circle) of an aperture, in the file's unit.

    Names of deprecated things are added to `old`.
    Raises MacroError for a template that does not exist or has the wrong sizes.
    """
    if template in macros:
        return macro_shape(macros[template], values, quarter_segments, old), 0.0, None
    sizes = SIZES.get(template)
    if sizes is None:
        raise MacroError(f"template {template} is not defined")
    fixed = sizes + 1 if template == "P" else sizes
    if not sizes <= len(values) <= fixed + 2:
        raise MacroError(f"template {template} takes {sizes} to {fixed + 1} sizes")
    if min(values[:sizes]) < 0 or (template != "C" and min(values[:sizes]) == 0):
        raise MacroError("a size must be above zero")
    core, radius = _standard(template, values)
    if len(values) > fixed and values[fixed] > 0:
        solid = core.buffer(radius, quad_segs=quarter_segments)
        return solid.difference(_hole(values[fixed:], quarter_segments, old)), 0.0, None
    return core, radius, values[0] if template == "C" else None


def _hole(sizes: Sequence[float], quarter_segments: int, old: list[str] | None) -> Any:
    if len(sizes) == 1:
        return shapely.Point(0, 0).buffer(sizes[0] / 2, quad_segs=quarter_segments)
    if old is not None:
        old.append("a rectangular hole in an aperture")
    return shapely.box(-sizes[0] / 2, -sizes[1] / 2, sizes[0] / 2, sizes[1] / 2)


def _standard(template: str, values: Sequence[float]) -> tuple[Any, float]:
    if template == "C":
        return shapely.Point(0, 0), values[0] / 2
    if template == "P":
        return regular_polygon(values[0], int(values[1]), values[2] if len(values) > 2 else 0.0), 0.0
    half_x, half_y = values[0] / 2, values[1] / 2
    if template == "R":
        return shapely.box(-half_x, -half_y, half_x, half_y), 0.0
    radius = min(half_x, half_y)
    if half_x == half_y:
        return shapely.Point(0, 0), radius
    return shapely.LineString([(radius - half_x, radius - half_y), (half_x - radius, half_y - radius)]), radius


def arc_points(start: Place, end: Place, centre: Place, anticlockwise: bool, quarter_segments: int) -> list[Place]:
    """Return an arc as chords; one that ends where it starts is a full circle."""
    radius, other = math.dist(centre, start), math.dist(centre, end)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    sweep = math.atan2(end[1] - centre[1], end[0] - centre[0]) - first
    sweep = sweep % math.tau if anticlockwise else -((-sweep) % math.tau)
    if start == end:
        sweep = math.tau if anticlockwise else -math.tau
    steps = max(2, math.ceil(abs(sweep) / (math.pi / 2) * quarter_segments))
    inner = []
    for k in range(1, steps):
        angle, reach = first + sweep * k / steps, radius + (other - radius) * k / steps
        inner.append((centre[0] + reach * math.cos(angle), centre[1] + reach * math.sin(angle)))
    return [start, *inner, end]


def quadrant_centre(start: Place, end: Place, offset: Place, anticlockwise: bool) -> Place | None:
    """Return the centre of a single-quadrant arc: I and J have no sign, the arc spans 90° at most (GLFS 8.1.10).

    Of the four centres the one with the arc's ends most alike in their distance is taken; None if no arc fits.
    """
    best: tuple[float, Place] | None = None
    for sx in (1, -1):
        for sy in (1, -1):
            centre = (start[0] + sx * abs(offset[0]), start[1] + sy * abs(offset[1]))
            first = math.atan2(start[1] - centre[1], start[0] - centre[0])
            sweep = math.atan2(end[1] - centre[1], end[0] - centre[0]) - first
            sweep = (sweep if anticlockwise else -sweep) % math.tau
            unlike = abs(math.dist(centre, start) - math.dist(centre, end))
            if sweep <= math.pi / 2 + 1e-4 and (best is None or unlike < best[0] - 1e-9):
                best = (unlike, centre)
    return best[1] if best else None
