"""Boards at the limit of a rule of drilling, angles, pours, vias or marks, `d` mm (or so) on the good side."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import shapely

from modboard.artwork.model import Owner, Stroke
from modboard.layout.board import PlacedPart
from modboard.library.model import PadForm
from tests.check.build import (
    RULES,
    SQUARE,
    Scene,
    bare_hole,
    box_part,
    drill,
    net,
    opening,
    pad,
    pour,
    scene,
    track,
    via,
)

A = net("A")


def narrow_slot(d: float) -> Scene:
    """Slots of level A are 1.0 wide."""
    return scene(drills=[drill("A", (10, 10), 1.0 + d, to=(12, 10))], nets=[A])


def narrow_notch(d: float) -> Scene:
    """A notch 4 mm deep in the outline, as wide as the cutter less the 2 µm that chords of a round one may take."""
    half = (RULES.cutter - 0.002 + d) / 2
    return scene(outline=SQUARE.difference(shapely.box(20 - half, 36, 20 + half, 41)))


def hole_of_a_lead(d: float) -> Scene:
    """The footprint's hole is 0.8 mm; drilled 0.05 mm beside its place (3-4-5: 0.03, 0.04)."""
    off = 0.05 - d
    hole = drill("A", (20 + 0.6 * off, 20 - 0.8 * off), 0.8)
    return scene(parts=[box_part("X1", (20, 20), (3, 3), leads=[("1", (0, 0))])], drills=[hole], nets=[A])


def hole_as_wide_as_its_lead_asks(d: float) -> Scene:
    """The footprint's hole is 0.8 mm."""
    hole = drill("A", (20, 20), 0.8 + d)
    return scene(parts=[box_part("X1", (20, 20), (3, 3), leads=[("1", (0, 0))])], drills=[hole], nets=[A])


def branch_crossing(d: float) -> Scene:
    """As a branch at a right angle, but from end to end across the track: 20 mm up, and 0.01° less is allowed."""
    lean = 10 * math.tan(math.radians(0.01)) - d
    across = track("A", (15 - lean, 0.5), (15 + lean, 20.5))
    return scene(top=[track("A", (5, 10.5), (25, 10.5)), across], nets=[A])


def deep_hole(d: float) -> Scene:
    """3.0 mm of board and 5 times as deep as wide: 0.6."""
    return scene(drills=[drill("A", (10, 10), 0.6 + d)], nets=[A], rules=replace(RULES, thickness=3.0))


def sizes_nearly_alike(d: float) -> Scene:
    """Holes of 0.8 and 0.85 plated; 0.82 bare is made by another drill."""
    holes = [drill("A", (10, 10), 0.8), drill("A", (20, 10), 0.85 + d), bare_hole((30, 10), 0.82)]
    return scene(drills=holes, nets=[A])


def branch_at_right_angle(d: float) -> Scene:
    """A branch from the middle of a track; 0.01° less than a right angle is allowed for rounding."""
    lean = 10 * math.tan(math.radians(0.01)) - d
    return scene(top=[track("A", (5, 10), (25, 10)), track("A", (15, 10), (15 + lean, 20))], nets=[A])


def corner_of_a_track(d: float) -> Scene:
    """As above, within one track."""
    lean = 10 * math.tan(math.radians(0.01)) - d
    return scene(bottom=[track("A", (5, 10), (15, 10), (15 - lean, 20))], nets=[A])


def finger_of_a_pour(d: float) -> Scene:
    """A field and a strip 0.2 wide, where 0.25 is asked, that reaches 2 x 0.25 beyond the field.

    A disc of 0.25 comes into the mouth of the strip until it meets its corners, with its middle 0.075 (3-4-5) before
    them; from there to a corner of the tip it is 0.125 + 0.5.
    """
    tip = 14 - 0.075 + math.sqrt(0.625**2 - 0.1**2)
    strip = shapely.box(13.0, 11.9, tip - d, 12.1)
    return scene(top=[pour("A", shapely.union_all([shapely.box(10, 10, 14, 14), strip]))], nets=[A])


def relief(d: float) -> Scene:
    """A land 8 square, relief 0.4: the ring half way is 8.4 wide, its corners rounded to 0.2: 32 + 0.4 pi long.

    Four spokes that together cover half of it, less `d` each.
    """
    land = pad("A", (20, 20), PadForm("rectangle", 8.0, 8.0), through=True)
    round_it = 32 + 0.4 * math.pi
    wide = 0.5 * round_it / 4 - d
    field = shapely.box(2, 2, 38, 38).difference(shapely.box(15.6, 15.6, 24.4, 24.4))
    ways = [
        shapely.box(14, 20 - wide / 2, 26, 20 + wide / 2),
        shapely.box(20 - wide / 2, 14, 20 + wide / 2, 26),
    ]
    area = shapely.union_all([field, *ways])
    return scene(
        top=[land], bottom=[land, pour("A", area)], drills=[drill("A", (20, 20), 0.8)], nets=[net("A", [("X1", "1")])]
    )


def via_beside_land(d: float) -> Scene:
    """A hole of 0.6 that touches a land 1.0 wide: 0.5 + 0.3 between centres."""
    land, hole = via("A", (10.8 + d, 10))
    chip = pad("A", (10, 10), PadForm("rectangle", 1.0, 1.0))
    return scene(top=[chip, land], bottom=[land], drills=[hole], nets=[A])


def tent(d: float) -> Scene:
    """The rules tent up to 0.4."""
    land, hole = via("A", (10, 10), hole=0.4 - d)
    return scene(top=[land], bottom=[land], drills=[hole], nets=[A])


def marked(x: float) -> tuple[PlacedPart, PlacedPart, Stroke]:
    """A part with a mark 1 mm long from x 10 to 11 on y 15, and a neighbour whose body begins at `x`."""
    part = box_part("P1", (10, 10), (4, 4))
    footprint = replace(part.part.footprint, mark=(((0.0, 5.0), (1.0, 5.0)),))
    part = replace(part, part=replace(part.part, footprint=footprint))
    ink = Stroke(((10.0, 15.0), (11.0, 15.0)), 0.15, "legend", Owner(reference="P1"))
    return part, box_part("P2", (x + 2, 15), (4, 4)), ink


def mark_under_a_neighbour(d: float) -> Scene:
    """The neighbour leaves 0.3 mm of the mark to be seen."""
    part, neighbour, ink = marked(10.3 + d)
    return scene(parts=[part, neighbour], legend=[ink])


def probe(d: float) -> Scene:
    """Lands 2 mm square, of which bodies leave 0.49 mm: half a millimetre, less what chords cut off a disc."""
    bare = 0.49 + d
    lands = [
        pad("A", (10, 10), PadForm("rectangle", 2, 2)),
        pad("A", (20, 10), PadForm("rectangle", 2, 2), name="X2.1"),
    ]
    bodies = [box_part("X1", (9 - bare, 10), (4, 4)), box_part("X2", (19 - bare, 10), (4, 4))]
    return scene(
        top=lands,
        mask=[opening(land, 0.1) for land in lands],
        parts=bodies,
        nets=[net("A", [("X1", "1"), ("X2", "1")])],
    )


def uneven(d: float) -> Scene:
    """A board 100 by 40 with a quarter of its top covered: 1000 mm², and nothing on the bottom."""
    board = shapely.box(0, 0, 100, 40)
    return scene(top=[pour("A", shapely.box(10, 10, 60 - d, 30))], nets=[A], outline=board)


CASES: list[tuple[str, Callable[[float], Scene]]] = [
    ("slot-width", narrow_slot),
    ("slot-width", narrow_notch),
    ("hole-fit", hole_of_a_lead),
    ("hole-fit", hole_as_wide_as_its_lead_asks),
    ("aspect-ratio", deep_hole),
    ("drill-sizes", sizes_nearly_alike),
    ("acute-angle", branch_at_right_angle),
    ("acute-angle", corner_of_a_track),
    ("acute-angle", branch_crossing),
    ("pour-sliver", finger_of_a_pour),
    ("thermal-relief", relief),
    ("via-in-land", via_beside_land),
    ("via-mask", tent),
    ("mark-hidden", mark_under_a_neighbour),
    ("test-access", probe),
    ("copper-balance", uneven),
]
