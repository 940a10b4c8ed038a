"""Like parts with running numbers at one window come in a row, evenly and in their order."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from modboard import Cavity, Design
from modboard.describe.model import AtEdge, Description, Wall
from modboard.layout.place import place
from modboard.layout.place.rows import in_rows


def lamps(count: int, wall: Wall = "top", width: float = 40.0, post: float | None = None) -> Description:
    """Return a room of 60 × 60 mm with `count` lamps at a window in the middle of a wall, and their resistors."""
    room = Cavity.rectangle(60.0, 60.0, height=20.0, board_at=3.0)
    room.opening("window", wall=wall, centre=30.0, width=width)
    if post is not None:
        room.post("post", at=(post, 57.0), diameter=4.0)
    board = Design("lamps", cavity=room)
    for k in range(count):
        board.part(f"D{k}", "led", "red", footprint="led-3mm")
        board.part(f"R{k}", "resistor", "1k")
        board.net(f"A{k}", f"D{k}.A R{k}.1")
    board.net("K", " ".join(f"D{k}.K" for k in range(count)))
    board.net("V5", " ".join(f"R{k}.2" for k in range(count)))
    board.place(f"D[0..{count - 1}]", edge=wall)
    return board.described()


@pytest.mark.parametrize(("wall", "axis", "way"), [("top", 0, 1), ("bottom", 0, 1), ("left", 1, -1), ("right", 1, -1)])
def test_a_row_is_even_in_order_and_in_the_middle_of_its_window(wall: Wall, axis: int, way: int) -> None:
    description = lamps(5, wall)
    parts = {p.part.reference: p for p in place(description, 1)}
    middles = []
    for k in range(5):
        points = [point for body in parts[f"D{k}"].bodies() for point in body.outline]
        middles.append((min(p[axis] for p in points) + max(p[axis] for p in points)) / 2)
    assert sum(middles) / 5 == pytest.approx(30.0)
    steps = [way * (b - a) for a, b in pairwise(middles)]
    assert steps == pytest.approx([steps[0]] * 4) and steps[0] > 0
    assert len({parts[f"D{k}"].turn for k in range(5)}) == 1


def test_no_row_where_it_finds_no_room_or_is_none() -> None:
    narrow, blocked, two = lamps(5, width=15.0), lamps(5, post=30.0), lamps(2)
    for description in (narrow, blocked, two):
        assert in_rows(description) is description


def test_a_part_that_was_given_its_place_is_left_there() -> None:
    description = lamps(5)
    wishes = {**description.wishes, "D2": AtEdge("top", along=12.0)}
    assert in_rows(replace(description, wishes=wishes)).wishes["D2"] == wishes["D2"]
