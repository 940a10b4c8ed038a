"""The ± that a dimension carries of its own, on every kind of thing in a room: which face it moves, and how far.

By hand: a face is out by the ± of where the thing's middle is plus half that of its size; a figure without one of its
own by `measured_to`, 0.3 here.  The board is 40 × 30 mm with its edge made to 0.25, in a room of 50 × 40 × 20.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely

from modboard import Cavity, pm
from modboard.describe.faces import inside_at, mouth_at_worst, moved
from modboard.fit.room import Room
from modboard.fit.way_in import lifts_straight
from modboard.layout.board import Board
from tests.check.build import box_part
from tests.fit.build import PLATE, board, found

MICROMETRE = 1e-3  # mm


def room(**words: float) -> Cavity:
    return Cavity.rectangle(50.0, 40.0, **{"height": 20.0, "board_at": 4.0, "measured_to": 0.3, **words})  # type: ignore[arg-type]


def with_board(made: Cavity, outline: object = PLATE) -> Board:
    return board(made.model(), outline=outline)


def loose(made: Cavity, name: str, side: str) -> float:
    """Return the ± of the face of an obstacle that looks to the left, right, bottom or top."""
    (thing,) = [o for o in made.model().obstacles if o.name == name]
    points = [(x, y) for x, y in thing.outline.exterior.coords]
    x0, y0, x1, y1 = thing.outline.bounds
    axis, level = {"left": (0, x0), "right": (0, x1), "bottom": (1, y0), "top": (1, y1)}[side]
    tos = thing.sides_to or (0.3,) * (len(points) - 1)
    on_it = [k for k in range(len(tos)) if all(abs(points[j][axis] - level) < 1e-9 for j in (k, k + 1))]
    assert len(on_it) == 1
    return tos[on_it[0]]


FACES = ("left", "right", "bottom", "top")


def of_all(made: Cavity, name: str) -> list[float]:
    return [loose(made, name, side) for side in FACES]


def test_rectangle_moves_each_face_by_its_own_figure() -> None:
    made = room()
    made.obstacle("block", (pm(10, 0.01), pm(10, 0.02), pm(14, 0.03), 12))
    assert of_all(made, "block") == pytest.approx([0.01, 0.03, 0.02, 0.3])


def test_tab_moves_across_and_along_apart() -> None:
    """x ± 0.1 and width ± 0.04: 0.12 left and right; y without a ± (0.3), depth ± 0.1: 0.35."""
    made = room()
    made.tab("lug", at=(pm(10, 0.1), 10), size=(pm(3, 0.04), pm(1, 0.1)), height=9)
    assert of_all(made, "lug") == pytest.approx([0.12, 0.12, 0.35, 0.35])


def test_rib_moves_its_sides_by_place_and_thickness_and_its_ends_by_place_alone() -> None:
    """Along x from (10 ± 0.01, 10 ± 0.05) to (20 ± 0.02, 10 ± 0.04), 2 ± 0.1 thick: sides 0.05 + 0.05."""
    made = room()
    made.rib("rib", (pm(10, 0.01), pm(10, 0.05)), (pm(20, 0.02), pm(10, 0.04)), thick=pm(2, 0.1))
    assert of_all(made, "rib") == pytest.approx([0.01, 0.02, 0.1, 0.1])


@pytest.mark.parametrize(("wall", "order"), [("bottom", "left right top"), ("left", "bottom top right"),
                                             ("top", "left right bottom"), ("right", "bottom top left")])  # fmt: skip
def test_ledge_has_the_depth_on_its_face_and_the_ends_on_its_ends(wall: str, order: str) -> None:
    made = room()
    made.ledge("ledge", wall=wall, depth=pm(3, 0.05), bottom=5, between=(pm(10, 0.1), pm(20, 0.2)))
    assert [loose(made, "ledge", side) for side in order.split()] == pytest.approx([0.1, 0.2, 0.05])


def test_round_post_moves_by_the_figure_that_looks_that_way() -> None:
    """x ± 0.02 and diameter ± 0.1 to the right of the board, y ± 0.4: 0.02 + 0.05 matter, not 0.4 + 0.05.

    Its face is at 45.32: 0.07 and the edge's 0.25 leave nothing, a micrometre less would be too little.
    """
    for nearer, fires in ((0.002, True), (-0.002, False)):  # chords of the post are drawn 1 µm outside it
        made = room()
        made.post("post", at=(pm(47.32 - nearer, 0.02), pm(20, 0.4)), diameter=pm(4, 0.1), gap=0.0)
        assert bool(found(with_board(made), "board-to-obstacle")) is fires, nearer
    made = room()
    made.post("post", at=(pm(25, 0.4), pm(37.32, 0.02)), diameter=pm(4, 0.1), gap=0.0)
    assert found(with_board(made), "board-to-obstacle") == []


def test_round_post_with_one_tolerance_all_round_is_measured_exactly() -> None:
    for nearer, fires in ((MICROMETRE, True), (0.0, False)):
        made = room()
        made.post("post", at=(pm(47.35 - nearer, 0.1), pm(20, 0.1)), diameter=4, gap=0.0)
        assert bool(found(with_board(made), "board-to-obstacle")) is fires


def heights(kind: str, own: float) -> Callable[[Cavity, float], None]:
    """Return what adds a thing that reaches from below up to `top` ± `own` under the middle of the board."""

    def add(made: Cavity, top: float) -> None:
        level = pm(top, own)
        if kind == "post":
            made.post("thing", at=(25, 20), diameter=4, height=level)
        elif kind == "neighbour":
            made.neighbour("thing", (22, 17, 28, 23), height=level)
        elif kind == "floor step":
            made.floor_step("thing", (22, 17, 28, 23), height=level)
        elif kind == "rib":
            made.rib("thing", (20, 20), (30, 20), thick=2, height=level)
        elif kind == "ledge":
            made.ledge("thing", wall="bottom", depth=25, bottom=0, top=level)
        else:
            made.obstacle("thing", (22, 17, 28, 23), top=level)

    return add


@pytest.mark.parametrize("kind", ["post", "neighbour", "rib", "ledge", "obstacle", "floor step"])
@pytest.mark.parametrize("own", [0.05, 0.5])
def test_top_counts_with_its_own_tolerance(kind: str, own: float) -> None:
    """A part 1 mm high under the board ends at 3.0: the thing may be 3.0 - own high; a floor step 0.5 lower for air."""
    air = 0.5 if kind == "floor step" else 0.0
    hanging = box_part("P1", (25, 20), (4, 4), height=1.0, side="bottom")
    for more, count in ((MICROMETRE, 1), (-MICROMETRE, 0)):
        made = room()
        heights(kind, own)(made, 3.0 - own - air + more)
        assert len(found(board(made.model(), [hanging]))) == count


def test_lid_step_counts_with_its_own_tolerance() -> None:
    """A part 5 high ends at 10.6; 0.5 of air, 0.05 of its own and 0.16 of the board: 11.31."""
    part = box_part("P1", (25, 20), (4, 4), height=5.0)
    for less, count in ((MICROMETRE, 1), (0.0, 0)):
        made = room()
        made.lid_step("bulge", (20, 15, 30, 25), height=pm(11.31 - less, 0.05))
        assert [f.rule for f in found(board(made.model(), [part]))] == ["under-lid"] * count


def test_board_on_posts_hangs_on_the_tolerance_of_the_highest() -> None:
    """Posts of 3.0 ± 0.05, spacers of 1.0 ± 0.1: underside at 4.0 ± 0.15; leads to 2.5, 0.5 of air: 1.85 is free."""
    part = box_part("R1", (25, 20), (4, 4), leads=[("1", (0, 0))])
    for more, count in ((MICROMETRE, 1), (0.0, 0)):
        made = Cavity.rectangle(50, 40, height=20, measured_to=0.3, stand_off=pm(1.0, 0.1))
        made.post("leg", at=(8, 8), diameter=3, height=pm(3.0, 0.05), carries=True)
        made.floor_step("plinth", (20, 15, 30, 25), height=pm(1.85 + more, 0.0))
        assert [f.rule for f in found(board(made.model(), [part]))] == ["over-floor"] * count


def test_slot_takes_the_board_within_its_own_tolerances() -> None:
    """The board reaches 1 mm into a slot from 3.9 up: underside at 4.0 less 3.9 is its own ± 0.1 exactly."""
    reaching = shapely.box(5, 10, 51, 30)
    for own, fits in ((0.1, True), (0.101, False)):
        made = room()
        made.slot("groove", wall="right", centre=20, width=25, depth=pm(2, 0.0), bottom=pm(3.9, own), top=pm(7, 0.0))
        assert (found(with_board(made, reaching), "board-to-wall") == []) is fits


def test_mouth_sides_have_their_own() -> None:
    """The board reaches from 5 to 45: with 0.25 for its edge, 0.05 on the left and the usual 0.3 on the right."""
    for left, right, passes in ((4.7, 45.55, True), (4.701, 45.55, False), (4.7, 45.549, False)):
        made = room()
        made.mouth((pm(left, 0.05), 1.0, right, 39.0))
        model = made.model()
        assert model.mouth is not None
        assert lifts_straight(Room(board(model), model), worst=True) is passes
        assert mouth_at_worst(model.mouth, model, 0.25).bounds == pytest.approx(
            (left + 0.3, 1.55, right - 0.55, 38.45)
        )  # fmt: skip


def test_mouth_without_its_own_takes_the_rooms() -> None:
    made = room()
    made.mouth((4.45, 4.45, 45.55, 35.55))
    model = made.model()
    assert lifts_straight(Room(board(model), model), worst=True)
    vaguer = replace(model, measured_to=0.301)
    assert not lifts_straight(Room(board(vaguer), vaguer), worst=True)


def test_leaning_walls_keep_the_tolerance_of_their_face() -> None:
    """20 high, board at 4, 45° would be 16 mm; at 2° 16 tan 2° = 0.5587: the face is there, ± 0.05 on width alone."""
    made = Cavity.rectangle(pm(50, 0.05), 40, height=20, board_at=4, measured_to=0.3, draft=2.0, wall_gap=0.0)
    model = made.model()
    lean = 16 * 0.0349207695
    assert inside_at(model, 4.0).bounds == pytest.approx((lean, lean, 50 - lean, 40 - lean))
    edge = 50 - lean - 0.05 - 0.25
    for more, count in ((MICROMETRE, 1), (-1e-4, 0)):
        assert len(found(board(model, outline=shapely.box(5, 5, edge + more, 35)), "board-to-wall")) == count


def test_corner_radius_moves_as_its_two_sides_do() -> None:
    """A corner of radius 5 between walls ± 0.1 and ± 0.1 moves by 0.1 √2 along its diagonal."""
    made = Cavity.rectangle(pm(50, 0.1), pm(40, 0.1), height=20, board_at=4, measured_to=0.3, corner=5.0)
    model = made.model()
    points = list(model.inside.exterior.coords)
    diagonal = max(model.sides_to)
    assert diagonal == pytest.approx(0.1 * 2**0.5, rel=1e-3) and len(model.sides_to) == len(points) - 1


@pytest.mark.parametrize("by", [-0.6, -1.2, -3.0])
def test_shape_shrunk_past_its_middle_is_nothing_and_not_inside_out(by: float) -> None:
    """A strip of 1 mm drawn in by 0.6 on both sides has no inside left."""
    assert moved(shapely.box(0, 0, 1, 10), [by] * 4).is_empty
    assert moved(shapely.box(0, 0, 1, 10), [by, by / 2, by, by]).is_empty
