"""Holes that may as well be alike are made alike, where the lands allow."""

from __future__ import annotations

from dataclasses import replace

import pytest

from modboard import Design
from modboard.check.drilling import ALIKE as CLOSE
from modboard.describe.drills import ALIKE, with_few_drills
from modboard.describe.model import Description
from modboard.library.model import Hole


def rows(*parts: str) -> Description:
    board = Design("drills", outline=(60.0, 40.0))
    for k, footprint in enumerate(parts):
        board.part(f"R{k + 1}", "resistor", "1k", footprint=footprint)
    board.net("A", " ".join(f"R{k + 1}.1" for k in range(len(parts))))
    board.net("B", " ".join(f"R{k + 1}.2" for k in range(len(parts))))
    return board.described()


def holes(description: Description) -> set[float]:
    return {land.hole.diameter for part in description.parts for land in part.footprint.lands if land.hole}


def with_holes(description: Description, *sizes: float) -> Description:
    parts = []
    for part, size in zip(description.parts, sizes, strict=True):
        lands = tuple(replace(land, hole=Hole(land.at, size)) for land in part.footprint.lands)
        parts.append(replace(part, footprint=replace(part.footprint, lands=lands)))
    return replace(description, parts=tuple(parts))


def test_the_check_and_the_cure_agree_on_what_is_alike() -> None:
    assert ALIKE == CLOSE


@pytest.mark.parametrize(
    ("sizes", "left"),
    [
        ((0.90, 0.91, 1.00), {0.91, 1.00}),
        ((0.90, 0.94, 0.98), {0.90, 0.98}),  # not a chain: none grows by as much as ALIKE
        ((0.90, 0.95, 1.00), {0.90, 0.95, 1.00}),  # a drill step apart is not alike
        ((0.90, 0.90, 0.90), {0.90}),
    ],
)
def test_sizes_by_hand(sizes: tuple[float, ...], left: set[float]) -> None:
    described = with_holes(rows(*["resistor-axial-10.16"] * 3), *sizes)
    (width,) = {land.form.width for part in described.parts for land in part.footprint.lands}
    assert (width - 1.0) / 2 >= described.rules.ring_pad  # the lands would bear all of these
    parts = with_few_drills(described.parts, described.rules)
    assert {land.hole.diameter for part in parts for land in part.footprint.lands if land.hole} == left


def test_a_land_that_would_keep_too_narrow_a_ring_keeps_its_hole() -> None:
    described = rows(*["resistor-axial-10.16"] * 2)
    (land, *_) = described.parts[0].footprint.lands
    widest = min(land.form.width, land.form.height) - 2 * described.rules.ring_pad
    tight = with_holes(described, round(widest - 0.01, 6), round(widest + 0.02, 6))
    parts = with_few_drills(tight.parts, tight.rules)
    assert parts == tight.parts


def test_equal_footprints_stay_one_footprint() -> None:
    parts = rows("resistor-axial-10.16", "resistor-axial-10.16").parts
    assert parts[0].footprint is parts[1].footprint
