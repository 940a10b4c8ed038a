"""What a Gerber file turned out to hold: objects with geometry and attributes, and the image they make together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely

from modboard.fab.readback.limits import MOST_CROSSINGS, MOST_JOINED, crossings
from modboard.fab.readback.trouble import ReadError

Fields = tuple[str, ...]
MANY = 1000  # objects from which on a layer is looked at for crowding before its areas are joined


@dataclass(frozen=True)
class ReadObject:
    """One flash, draw or region, mm; `attributes` holds the object's own and its aperture's (.AperFunction)."""

    kind: Literal["flash", "draw", "region"]
    dark: bool
    core: Any
    radius: float
    attributes: Mapping[str, Fields]
    line: int
    at: tuple[float, float] | None = None  # of a flash

    def field(self, name: str) -> str:
        """Return the first field of an attribute, "" if the object does not have it."""
        return self.attributes.get(name, ("",))[0]


@dataclass(frozen=True)
class ReadLayer:
    """One Gerber layer: file attributes, objects in drawing order, and whether its checksum holds (None: has none)."""

    name: str
    attributes: Mapping[str, Fields]
    objects: tuple[ReadObject, ...]
    checksum_holds: bool | None = None
    quarter_segments: int = 32
    text: str = field(default="", repr=False)
    warnings: tuple[str, ...] = ()  # deprecated things that were read all the same, each with file and line
    negative: bool = False  # IPNEG: everything is dark but what the objects leave

    @property
    def function(self) -> str:
        """Return .FileFunction as one text, e.g. "Copper,L1,Top"; "" if the file does not say."""
        return ",".join(self.attributes.get(".FileFunction", ()))

    @cached_property
    def shapes(self) -> Any:
        """The geometry of each object, in order, as an array (round parts as chords inside the true outline)."""
        cores = np.array([o.core for o in self.objects], dtype=object)
        radii = np.array([o.radius for o in self.objects], dtype=float)
        grown = radii > 0
        if len(cores) > MANY and crossings(cores, radii) > MOST_CROSSINGS:
            raise ReadError(self.name, 1, "has more lines across one another than a board can")
        shapes = cores.copy()
        if grown.any():
            shapes[grown] = shapely.buffer(cores[grown], radii[grown], quad_segs=self.quarter_segments)
        return shapes

    @cached_property
    def image(self) -> Any:
        """The dark area that is left when all objects have been drawn in order."""
        if len(self.objects) > MOST_JOINED:
            raise ReadError(self.name, 1, f"has more than {MOST_JOINED} objects to be joined to one image")
        return composed(self.shapes, [o.dark for o in self.objects])


def composed(shapes: Any, darks: Sequence[bool]) -> Any:
    """Return the area left dark when `shapes` are drawn in order, dark ones adding and clear ones erasing."""
    image: Any = shapely.Polygon()
    start = 0
    while start < len(darks):
        end = start
        while end < len(darks) and darks[end] is darks[start]:
            end += 1
        run = shapely.union_all(shapes[start:end])
        image = (run if start == 0 else image.union(run)) if darks[start] else image.difference(run)
        start = end
    return image
