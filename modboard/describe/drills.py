"""Fewer drills: holes of a board that may as well be alike are made alike."""

from __future__ import annotations

import math
from dataclasses import replace

from modboard.describe.model import Part
from modboard.describe.rules import Rules
from modboard.geometry import TOLERANCE
from modboard.library.model import Footprint, Land

ALIKE = 0.05  # mm; sizes closer than this are one drill's work, common practice


def with_few_drills(parts: tuple[Part, ...], rules: Rules) -> tuple[Part, ...]:
    """Return the parts with round plated holes that differ by next to nothing enlarged to the largest of them.

    A hole whose land would keep too narrow a ring stays as it is.
    """
    sizes = {
        land.hole.diameter for part in parts for land in part.footprint.lands if land.hole and land.hole.to is None
    }
    larger: dict[float, float] = {}
    head = math.inf
    for size in sorted(sizes, reverse=True):
        if head - size < ALIKE - TOLERANCE:
            larger[size] = head
        else:
            head = size
    if not larger:
        return parts
    made: dict[int, Footprint] = {}
    for part in parts:
        if id(part.footprint) not in made:
            lands = tuple(_enlarged(land, larger, rules.ring_pad) for land in part.footprint.lands)
            same = lands == part.footprint.lands
            made[id(part.footprint)] = part.footprint if same else replace(part.footprint, lands=lands)
    return tuple(replace(part, footprint=made[id(part.footprint)]) for part in parts)


def _enlarged(land: Land, larger: dict[float, float], ring: float) -> Land:
    """Return a land with its hole as large as `larger` says, if it keeps a ring of `ring` mm."""
    if land.hole is None or land.hole.to is not None or not land.hole.plated:
        return land
    to = larger.get(land.hole.diameter)
    narrowest = min(land.form.width, land.form.height)
    if to is None or land.form.form == "polygon" or (narrowest - to) / 2 < ring - TOLERANCE:
        return land
    return replace(land, hole=replace(land.hole, diameter=to))
