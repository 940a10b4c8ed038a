"""Rooms with rounded corners and leaning walls, by hand."""

from __future__ import annotations

import math

import pytest

from modboard import Cavity
from modboard.describe.faces import inside_at
from modboard.errors import DesignError


def test_rounded_corners_take_off_four_spandrels() -> None:
    """40 x 30 with corners of 5 mm: 1200 - (4 - pi) 25 mm²; chords lie inside the arcs, a micrometre at most."""
    inside = Cavity.rectangle(40, 30, corner=5).model().inside
    assert inside.bounds == pytest.approx((0, 0, 40, 30), abs=1e-9)
    assert 0 <= (1200 - (4 - math.pi) * 25) - inside.area <= 2 * math.pi * 5 * 0.001


def test_inside_corner_of_a_step_stays_sharp() -> None:
    """An L whose one corner points into the room: five corners are rounded, that one is not."""
    ell = [(0, 0), (40, 0), (40, 15), (20, 15), (20, 30), (0, 30)]
    inside = Cavity.polygon(ell, corner=2).model().inside
    assert inside.area == pytest.approx(900 - 5 * (1 - math.pi / 4) * 4, abs=0.02)
    assert (20.0, 15.0) in {(round(x, 6), round(y, 6)) for x, y in inside.exterior.coords}


def test_walls_lean_in_towards_the_floor() -> None:
    """20 high, board at 3: 17 tan 2° = 0.594 mm on each side there, 0.698 at the floor, nothing at the lid."""
    room = Cavity.rectangle(40, 30, height=20, board_at=3, draft=2).model()
    for height, deep in ((3.0, 17.0), (0.0, 20.0), (20.0, 0.0)):
        lean = deep * math.tan(math.radians(2))
        assert inside_at(room, height).bounds == pytest.approx((lean, lean, 40 - lean, 30 - lean))
    assert room.inside.bounds == inside_at(room, 3.0).bounds


@pytest.mark.parametrize(
    ("call", "words"),
    [(lambda: Cavity.rectangle(40, 30, draft=2), "needs height="),
     (lambda: Cavity.rectangle(40, 30, height=20, draft=60), "0 to 45 degrees"),
     (lambda: Cavity.rectangle(40, 30, corner=16), "nothing is left"),
     (lambda: Cavity.rectangle(40, 30, corner=-1), "can't be negative")],
)  # fmt: skip
def test_rooms_that_cannot_be(call: object, words: str) -> None:
    with pytest.raises(DesignError, match=words):
        call()  # type: ignore[operator]


def room() -> Cavity:
    return Cavity.rectangle(50, 40, height=20)


@pytest.mark.parametrize(
    ("call", "words"),
    [(lambda: room().mouth((60, 0, 90, 20)), "the mouth is outside the cavity, which spans x 0 to 50"),
     (lambda: room().fixing("s", at=(60, 5), screw="M3"), 'fixing "s" is outside the cavity'),
     (lambda: room().obstacle("bar", (10, 10, 20, 20), bottom=25), "25 mm above the floor, and the cavity 20 mm high"),
     (lambda: room().lid_step("bulge", (10, 10, 20, 20), height=20), "is 20 mm above the floor"),
     (lambda: room().floor_step("plinth", (10, 10, 20, 20), height=25), "is 25 mm above the floor"),
     (lambda: room().opening("x", wall="left", centre=20, width=5, bottom=25, top=30), "is 25 mm above"),
     (lambda: room().opening("x", wall="left", centre=20, width=5, bottom=3, top=25), "25 mm above the floor, over"),
     (lambda: room().post("p", at=(5, 5), diameter=3, height=20.5), "is 20.5 mm above the floor, over the lid at 20"),
     (lambda: room().opening("x", wall="lid", centre=20, width=5), "left, right, bottom, top, front, back"),
     (lambda: room().opening("x", wall="left", centre=60, width=5), "beyond the left wall, which runs from 0 to 40")],
)  # fmt: skip
def test_things_that_cannot_be_in_the_room(call: object, words: str) -> None:
    with pytest.raises(DesignError, match=words) as told:
        call()  # type: ignore[operator]
    assert "\n" not in str(told.value)
