"""Ways in: cases whose answer is known by hand, and an independent search that tries poses on a fine grid.

The board is a bare plate 40 × 30 × 1.6 mm from (5, 5), its underside 4 mm over the floor of a room 50 × 40 mm.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy import ndimage  # type: ignore[import-untyped]
from shapely import affinity

from modboard.describe.model import CavityModel, Mouth, Obstacle
from modboard.fit.room import Room
from modboard.fit.way_in import SEARCHED, WayIn, way_in
from modboard.layout.board import Board
from tests.check.build import box_part
from tests.fit.build import board, cavity

Box = tuple[float, float, float, float]  # u0, z0, u1, z1


def exact(**values: object) -> CavityModel:
    """Return a room measured without error, for cases worked out by hand."""
    return replace(cavity(height=30.0), measured_to=0.0, **values)  # type: ignore[arg-type]


def plate(room: CavityModel, *parts: object) -> Board:
    made = board(room, parts)  # type: ignore[arg-type]
    rules = replace(made.description.rules, outline_tolerance=0.0)
    return replace(made, description=replace(made.description, rules=rules))


def way(made: Board) -> WayIn:
    room = made.description.cavity
    assert room is not None
    return way_in(Room(made, room))


def mouth(x0: float, x1: float, thick: float = 1.0) -> Mouth:
    return Mouth(shapely.box(x0, 0.0, x1, 40.0), thick)


def bar(name: str, x0: float, x1: float, low: float, high: float) -> Obstacle:
    """Return a ledge or bar from one long wall to the other."""
    return Obstacle(name, shapely.box(x0, 0.0, x1, 40.0), low, high, kind="ledge")


def test_open_room_takes_it_straight_down() -> None:
    assert way(plate(exact())).how == "straight down"


def test_straight_down_between_ribs_with_nothing_to_spare() -> None:
    """Ribs end where the board begins: contact is no collision; one more than touching is."""
    snug = exact(obstacles=(bar("left", 0, 5, 0, 28), bar("right", 45, 50, 0, 28)))
    assert way(plate(snug)).how == "straight down"
    tight = exact(obstacles=(bar("left", 0, 5.1, 0, 28), bar("right", 45, 50, 0, 28)))
    assert way(plate(tight)).how == "unfit"


def test_slid_under_a_ledge() -> None:
    """A ledge over the last 4 mm of the board; free on the left are 5 mm: down 5 to the left, then under it."""
    under = exact(obstacles=(bar("ledge", 41, 50, 8, 12),))
    found = way(plate(under))
    assert found.how == "slid" and "then slid to the right" in found.words


def test_ledge_too_long_to_slide_under_flat_is_passed_tilted() -> None:
    """Over it 6 mm, and only 5 free: the board's edge goes under it on the slant, with the height to do so."""
    under = exact(obstacles=(bar("ledge", 39, 50, 14, 16),))
    assert way(plate(under)).how == "tilted"


def test_mouth_narrower_than_the_board_is_passed_only_tilted() -> None:
    """38 mm for a board of 40: cos 18.2° = 0.95; under 30 mm of height there is room to lay it flat."""
    assert way(plate(exact(mouth=mouth(6, 44)))).how == "tilted"


def test_thin_rim_is_passed_like_a_letter_box_and_a_deep_one_is_not() -> None:
    """On the slant of 60°, the steepest, the board is 1.6 / sin 60° = 1.85 mm wide along the mouth, and a rim adds its
    depth / tan 60°: 20 mm make 13.4, less than 18.  All of 40 cos 60° + 1.6 sin 60° = 21.4 are in one 40 deep.
    """
    assert way(plate(exact(mouth=mouth(16, 34, 20.0)))).how == "tilted"
    found = way(plate(exact(mouth=mouth(16, 34, 40.0))))
    assert found.how == "none" and SEARCHED in found.words


def test_room_too_low_to_lay_the_board_flat() -> None:
    """With one end on the floor and the other at 8 mm a board 40 long reaches 39.2 along: from neither wall, 0 or 50,
    does its other end come within a mouth from 15 to 35; within one to 40 it does."""
    low = replace(exact(mouth=mouth(15, 35)), height=8.0)
    assert way(plate(low)).how == "none"
    assert way(plate(replace(low, mouth=mouth(15, 40)))).how == "tilted"


def test_tall_part_bars_the_way_that_a_bare_board_takes() -> None:
    """A mouth of 24 mm takes the bare board on the slant; a block 24.4 high makes it 26 mm thick any way round."""
    room = exact(mouth=mouth(10, 34))
    assert way(plate(room)).how == "tilted"
    assert way(plate(room, box_part("T1", (25, 20), (36, 20), height=24.4))).how == "none"


# --- the independent search: sections as polygons, poses on a grid, a flood from home to outside ---

SHIFT, TURN, STEEPEST = 1.0, 4.0, 60.0  # mm, degrees


def sampled(boxes: list[Box], mover: list[Box]) -> bool:
    """Tell whether a path of neighbouring free poses leads from home to above everything that stands.

    `boxes` stand, `mover` moves; a pose is free where no moved box overlaps a standing one by more than a hair.
    """
    still = shapely.union_all([shapely.box(*b) for b in boxes]).buffer(-0.01, join_style="mitre")
    shapely.prepare(still)
    body = shapely.union_all([shapely.box(*b) for b in mover])
    about, top = np.array([25.0, 4.0]), max(b[3] for b in boxes)
    tilts = np.arange(-STEEPEST, STEEPEST + 1e-9, TURN)
    us, zs = np.arange(-36.0, 36.1, SHIFT), np.arange(-6.0, 62.1, SHIFT)
    shifts = np.stack(np.meshgrid(us, zs, indexing="ij"), axis=-1).reshape(-1, 2)
    free = np.zeros((len(tilts), len(us), len(zs)), dtype=bool)
    out = np.zeros_like(free)
    for k, tilt in enumerate(np.radians(tilts)):
        turn = np.array([[math.cos(tilt), math.sin(tilt)], [-math.sin(tilt), math.cos(tilt)]])
        ring = (shapely.get_coordinates(body.exterior) - about) @ turn + about
        rings = ring[None, :, :] + shifts[:, None, :]
        free[k] = ~shapely.intersects(still, shapely.polygons(rings)).reshape(free.shape[1:])
        out[k] = (rings[:, :, 1].min(axis=1) > top).reshape(free.shape[1:])
    home = (len(tilts) // 2, int(np.argmin(abs(us))), int(np.argmin(abs(zs))))
    joined, _ = ndimage.label(free)  # neighbours along one of tilt, u, z
    return bool(joined[home] and (out & (joined == joined[home])).any())


def walls(*inner: Box) -> list[Box]:
    return [(-99, -99, 149, 0), (-99, -99, 0, 30), (50, -99, 149, 30), *inner]


PLATE = [(5.0, 4.0, 45.0, 5.6)]
CASES: dict[str, tuple[list[Box], CavityModel, list[Box], bool]] = {  # what stands beside the walls, room, parts, ways
    "low ledge": ([(30.0, 7.0, 50.0, 9.0)], exact(obstacles=(bar("ledge", 30, 50, 7, 9),)), [], True),
    "two ledges": (
        [(0.0, 12.0, 8.0, 14.0), (42.0, 12.0, 50.0, 14.0)],
        exact(obstacles=(bar("left", 0, 8, 12, 14), bar("right", 42, 50, 12, 14))),
        [],
        True,
    ),
    "tall part under a mouth": (
        [(-99.0, 30.0, 6.0, 31.0), (44.0, 30.0, 149.0, 31.0)],
        exact(mouth=mouth(6, 44)),
        [(12.0, 5.6, 38.0, 25.0)],
        True,
    ),
    "part under a mouth too small": (
        [(-99.0, 30.0, 14.0, 31.0), (36.0, 30.0, 149.0, 31.0)],
        exact(mouth=mouth(14, 36)),
        [(20.0, 5.6, 40.0, 29.0)],
        False,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_agrees_with_poses_tried_on_a_grid(name: str) -> None:
    """No slower answer can say more: a way on the grid must be found, and where none is found the grid has none."""
    inner, room, more, passes = CASES[name]
    parts = [
        box_part(f"P{k}", ((u0 + u1) / 2, 20), (u1 - u0, 30), height=z1 - z0) for k, (u0, z0, u1, z1) in enumerate(more)
    ]
    found = way(plate(room, *parts))
    assert (found.how != "none") is sampled(walls(*inner), [*PLATE, *more]) is passes
    still = shapely.union_all([shapely.box(*b) for b in walls(*inner)])
    for pose in found.poses:
        body = shapely.union_all([shapely.box(*b) for b in [*PLATE, *more]])
        moved = affinity.translate(affinity.rotate(body, pose.tilt, origin=pose.about), *pose.shift)
        assert moved.intersection(still).area < 0.05
