"""Areas that the design keeps free: no copper and no part of the kinds it names comes into them."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Polygon

from modboard.check.copper import CopperItem
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import name_of
from modboard.describe.model import KeepOut
from modboard.geometry import TOLERANCE, Position

KEPT_FREE = Rule(
    "kept-free",
    "error",
    "copper and parts stay out of the areas that the design keeps free of them",
    "move it out, or make the keep-out smaller",
    source="the design",
)
RULES = (KEPT_FREE,)


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look into every keep-out."""
    for area in seen.description.keep_outs:
        for layer in seen.copper.layers.values():
            if layer.layer not in area.sides:
                continue
            for item in layer.items:
                if kind(item) in area.bars and (at := meeting(area, item.shape.polygon())):
                    where = f"{name_of(item.feature)}, {layer.layer}"
                    yield KEPT_FREE.finding(seen.rules, at, where, f"it comes into {named(area)}")
        for placed in seen.board.parts:
            if "parts" not in area.bars or placed.body_side not in area.sides:
                continue
            if at := meeting(area, Polygon(placed.courtyard())):
                reference = placed.part.reference
                yield KEPT_FREE.finding(seen.rules, at, reference, f"its courtyard comes into {named(area)}")


def kind(item: CopperItem) -> str:
    """Return what a keep-out calls a piece of copper; the wall of a hole goes with its land."""
    if item.is_hole:
        return ""
    return "tracks" if item.is_track else "pours" if item.is_pour else "lands" if item.is_pad else "vias"


def named(area: KeepOut) -> str:
    """Return 'the keep-out "coil" (board.py:12), which bars tracks and vias'."""
    name = f' "{area.name}"' if area.name else ""
    return f"the keep-out{name} ({area.site}), which bars {', '.join(area.bars)}"


def meeting(area: KeepOut, outline: object) -> Position | None:
    """Return a point at which an outline (shapely) is inside a keep-out; None where it stays out."""
    common = area.shape.polygon().buffer(-TOLERANCE).intersection(outline)
    if common.is_empty or common.area <= TOLERANCE**2:
        return None
    point = common.representative_point()
    return (point.x, point.y)
