"""Copies of Gerber objects: turned and mirrored apertures, blocks put down (GLFS 4.11), steps and repeats (4.12)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.layer import Fields, ReadObject

Place = tuple[float, float]


@dataclass(frozen=True)
class Pose:
    """How LM, LR and LS change what is put down: mirrored first, then turned (degrees), then enlarged."""

    mirror_x: bool = False
    mirror_y: bool = False
    turn: float = 0.0
    scale: float = 1.0

    def matrix(self) -> Any:
        """Return the 2 × 2 matrix, exact at quarter turns."""
        quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
        angle = np.radians(self.turn)
        cos, sin = quarter.get(self.turn % 360, (float(np.cos(angle)), float(np.sin(angle))))
        flip = np.diag([-1.0 if self.mirror_x else 1.0, -1.0 if self.mirror_y else 1.0])
        return self.scale * np.array([[cos, -sin], [sin, cos]]) @ flip


PLAIN = Pose()


def posed(core: Any, pose: Pose) -> Any:
    """Return geometry about the origin, changed as `pose` says."""
    matrix = pose.matrix().T
    return shapely.transform(core, lambda points: points @ matrix)


def copied(
    objects: Sequence[ReadObject], pose: Pose, shift: Place, dark: bool = True, added: dict[str, Fields] | None = None
) -> list[ReadObject]:
    """Return `objects` posed, shifted, with polarity turned round unless `dark`, and with attributes `added`."""
    if not objects:
        return []
    matrix, by = pose.matrix().T, np.array(shift)
    cores = np.array([o.core for o in objects], dtype=object)
    moved = shapely.transform(cores, lambda points: points @ matrix + by)
    places = np.array([o.at or (0.0, 0.0) for o in objects]) @ matrix + by
    return [
        replace(
            o,
            core=core,
            radius=o.radius * pose.scale,
            dark=o.dark is dark,
            at=None if o.at is None else (float(at[0]), float(at[1])),
            attributes={**o.attributes, **added} if added else o.attributes,
        )
        for o, core, at in zip(objects, moved, places, strict=True)
    ]


def repeated(objects: Sequence[ReadObject], count: tuple[int, int], step: Place) -> list[ReadObject]:
    """Return `objects` and their copies, stepped in y first and then in x (GLFS 4.12)."""
    found: list[ReadObject] = []
    for column in range(count[0]):
        for row in range(count[1]):
            found += copied(objects, PLAIN, (column * step[0], row * step[1])) if column or row else list(objects)
    return found
