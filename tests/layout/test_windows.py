"""Parts at an edge and the openings in its wall: who faces which, and what standing beside one costs."""

from __future__ import annotations

import numpy as np
import pytest

from modboard import Cavity, Design
from modboard.describe.model import Description, Opening
from modboard.layout.place import place
from modboard.layout.place.windows import OUT_OF_LINE, beside_windows, in_own_window, shared_out


def described(*openings: tuple[str, float, float], parts: str = "J1", along: float | None = None) -> Description:
    """Return a room of 60 × 40 mm with openings (name, centre, width) on the right and 4-way headers there."""
    room = Cavity.rectangle(60.0, 40.0, height=20.0, board_at=3.0, measured_to=0.5)
    for name, centre, width in openings:
        room.opening(name, wall="right", centre=centre, width=width)
    board = Design("windows", cavity=room)
    for reference in parts.split():
        board.part(reference, "header-1x4", pins="A B C D")
        board.place(reference, edge="right", **({"along": along} if along and reference == "J2" else {}))
    for pin in "ABCD":
        board.part(f"R{pin}", "resistor", "1k")
        board.net(pin, " ".join(f"{reference}.{pin}" for reference in parts.split()) + f" R{pin}.1")
    board.net("COMMON", " ".join(f"R{pin}.2" for pin in "ABCD"))
    return board.described()


def names(found: dict[str, Opening]) -> dict[str, list[str]]:
    return {reference: [opening.name] for reference, opening in found.items()}


def test_parts_share_a_wide_window_and_take_one_narrow_one_each() -> None:
    wide = described(("slot", 20.0, 30.0), parts="J1 J2")
    assert names(shared_out(wide, "right")) == {"J1": ["slot"], "J2": ["slot"]}
    narrow = described(("low", 10.0, 6.0), ("high", 30.0, 6.0), parts="J1 J2 J3")
    assert names(shared_out(narrow, "right")) == {"J1": ["low"], "J2": ["high"]}
    taken = described(("low", 10.0, 12.0), ("high", 30.0, 12.0), parts="J1 J2", along=10.0)
    assert names(shared_out(taken, "right")) == {"J1": ["high"]}
    assert shared_out(wide, "left") == {}


def test_cost_of_standing_beside_a_window_by_hand() -> None:
    # A body 10 mm long in a window 20 mm wide, measured to 0.5 mm: its middle may be 10 - 0.5 - 5 = 4.5 mm off.
    board = described(("slot", 20.0, 20.0), ("other", 33.0, 4.0))
    part = board.parts[0]
    cost = beside_windows(board, part, "right", np.array([20.0, 24.5, 15.5, 26.5, 31.0]), 10.0)
    # Off by 2 mm more at 26.5, and 33 - 26.5 = 6.5 < 2 + 5 by 0.5 mm in the other; at 31: 6.5 out, 5 within.
    assert cost == pytest.approx([0.0, 0.0, 0.0, OUT_OF_LINE * 2.5, OUT_OF_LINE * 11.5])


def test_places_out_of_the_own_window_are_not_looked_at_where_there_are_others() -> None:
    board = described(("slot", 20.0, 20.0))
    part = board.parts[0]
    middles, every = np.array([20.0, 24.5, 15.5, 26.5, 31.0]), np.ones(5, bool)
    assert in_own_window(board, part, "right", middles, 10.0, every).tolist() == [True, True, True, False, False]
    outside = np.array([False, False, False, True, True])
    assert in_own_window(board, part, "right", middles, 10.0, outside).tolist() == [False, False, False, True, False]
    assert in_own_window(board, part, "left", middles, 10.0, every).all()  # no opening there
    assert not in_own_window(board, part, "right", middles, 10.0, ~every).any()


def test_a_connector_at_an_edge_comes_to_stand_in_its_window() -> None:
    board = described(("slot", 27.0, 16.0))
    placed = place(board, 3)[0]
    y = [p[1] for body in placed.bodies() for p in body.outline]
    assert min(y) >= 19.0 + 0.5 and max(y) <= 35.0 - 0.5
