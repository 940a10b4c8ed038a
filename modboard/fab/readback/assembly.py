"""Objects of a Gerber layer made many at a time, which is far quicker than one by one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
import shapely

from modboard.fab.readback.layer import Fields, ReadObject

# Kind, dark, core, place, radius, attributes, line and `at` of an object.  Without core, a place of two numbers is a
# point and one of four a line; with both, the core is shifted by the place; without a place the core is as it stands.
Draft = tuple[
    Literal["flash", "draw", "region"],
    bool,
    Any,
    tuple[float, ...] | None,
    float,
    dict[str, Fields],
    int,
    tuple[float, float] | None,
]


def assembled(drafts: Sequence[Draft]) -> list[ReadObject]:
    """Return the objects of `drafts`, in order."""
    cores = np.empty(len(drafts), dtype=object)
    points: list[int] = []
    lines: list[int] = []
    stamps: list[int] = []
    for number, (_, _, core, place, *_) in enumerate(drafts):
        cores[number] = core
        if place is not None:
            (stamps if core is not None else points if len(place) == 2 else lines).append(number)
    if points:
        cores[points] = shapely.points([drafts[k][3] for k in points])
    if lines:
        cores[lines] = shapely.linestrings(np.array([drafts[k][3] for k in lines]).reshape(-1, 2, 2))
    if stamps:
        stamped = cores[stamps]
        shift = np.repeat([drafts[k][3] for k in stamps], shapely.get_num_coordinates(stamped), axis=0)
        cores[stamps] = shapely.set_coordinates(stamped, shapely.get_coordinates(stamped) + shift)
    return [
        ReadObject(kind, dark, core, radius, attributes, line, at)
        for core, (kind, dark, _, _, radius, attributes, line, at) in zip(cores, drafts, strict=True)
    ]
