"""Parts that may stand on either side take none for which the room is too low."""

from __future__ import annotations

import pytest

from modboard import Cavity, Design
from modboard.describe.model import Description, Side
from modboard.fit.room import LID_MARGIN
from modboard.layout.place import place
from modboard.layout.place.room import CLEAR, Room


def room_for(height: float, board_at: float, parts: int = 2) -> Description:
    """Return a design with parts 11.5 mm tall (electrolytics) in a room of that height, all figures ±0.2 mm."""
    board = Design("sides", cavity=Cavity.rectangle(30.0, 20.0, height=height, board_at=board_at, measured_to=0.2))
    for k in range(1, parts + 1):
        board.part(f"C{k}", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
        board.place(f"C{k}", side="either")
    board.net("A", " ".join(f"C{k}.+" for k in range(1, parts + 1)))
    board.net("B", " ".join(f"C{k}.-" for k in range(1, parts + 1)))
    return board.described()


def test_the_placer_asks_for_as_much_air_as_the_fit() -> None:
    assert CLEAR == LID_MARGIN


@pytest.mark.parametrize("side", ["top", "bottom"])
@pytest.mark.parametrize(("spare", "enough"), [(0.001, True), (-0.001, False)])
def test_how_tall_is_tall_enough_by_hand(side: Side, spare: float, enough: bool) -> None:
    # Below: the part, 0.5 mm of air and 0.2 mm of doubt.  Above: besides them 1.6 mm of board, which is ±10 % thick.
    part = room_for(40.0, 20.0).parts[0]
    below = part.tall + 0.5 + 0.2 + (spare if side == "bottom" else 10.0)
    height = below + 1.6 + 0.16 + part.tall + 0.5 + 0.2 + (spare if side == "top" else 10.0)
    described = room_for(height, below)
    assert Room(described, ()).tall_enough(described.parts[0], side) is enough


def test_crowded_parts_stay_on_the_side_that_is_high_enough() -> None:
    low = room_for(20.0, 3.0, parts=6)
    assert {p.side for p in place(low, 1)} == {"top"}
