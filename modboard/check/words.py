"""Places in words: 'R3 pin 2', 'the track of VIDEO', and the point a finding is shown at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import shapely

from modboard.artwork.model import Drill, Feature, Flash, Owner, Region
from modboard.geometry import Position, Shape


def pad_name(owner: Owner) -> str:
    """Return 'U1 pin 14 (VCC)', or without the name where it is the number."""
    named = f" ({owner.pin_name})" if owner.pin_name and owner.pin_name != owner.number else ""
    return f"{owner.reference} pin {owner.number}{named}"


def name_of(feature: Feature | Drill) -> str:
    """Return what a person would call the feature."""
    owner = feature.owner
    if isinstance(feature, Flash | Drill) and owner.reference and owner.number:
        return pad_name(owner)
    of_net = f" of {owner.net}" if owner.net else ""
    if isinstance(feature, Flash | Drill):
        if feature.function in ("via-pad", "via-drill"):
            return f"the via{of_net} at {spot(feature.at)}"
        of_part = f" of {owner.reference}" if owner.reference else of_net
        kind = "hole" if isinstance(feature, Drill) else "land"
        return f"the {kind}{of_part} at {spot(feature.at)}"
    if not owner.net:
        return f"the copper of no net at {spot(middle(feature.shape))}"
    return f"the {'pour' if isinstance(feature, Region) else 'track'}{of_net}"


def spot(at: Position) -> str:
    """Return '12.3, 4.5' (mm)."""
    return f"{at[0] + 0.0:.2f}, {at[1] + 0.0:.2f}".replace("-0.00", "0.00")


def listed(names: Iterable[str], most: int | None = None) -> str:
    """Return 'a, b and c', or where there are more than `most`, 'a, b and 7 more'."""
    words = list(names)
    if most is not None and len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def middle(shape: Shape) -> Position:
    """Return a point of the shape's core, at or near its middle."""
    core = shape.core
    point = core.interpolate(0.5, normalized=True) if core.geom_type == "LineString" else core.representative_point()
    return (point.x, point.y)


def between(one: Shape, other: Shape) -> Position:
    """Return the point half way across the narrowest gap between two shapes."""
    return halfway([(one.core, one.radius)], [(other.core, other.radius)])[0]


def halfway(ones: Sequence[tuple[Any, float]], others: Sequence[tuple[Any, float]]) -> list[Position]:
    """Return `between` for many pairs of shapes at once, given as (core, radius in mm)."""
    if not ones:
        return []
    lines = shapely.shortest_line([core for core, _ in ones], [core for core, _ in others])
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    start, way = ends[:, 0], ends[:, 1] - ends[:, 0]
    long = np.hypot(way[:, 0], way[:, 1])
    radii = np.array([(one[1], other[1]) for one, other in zip(ones, others, strict=True)])
    along = np.clip((radii[:, 0] + long - radii[:, 1]) / 2, 0.0, long)
    share = np.divide(along, long, out=np.zeros_like(long), where=long > 0)
    return [(x, y) for x, y in (start + share[:, None] * way).tolist()]
