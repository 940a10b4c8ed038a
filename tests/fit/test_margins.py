"""Margins worked out by hand: a board 20 x 20 in a room 30 x 30 x 20, measured to 0.3, outline made to 0.25."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from modboard.describe.model import CavityModel, Obstacle
from modboard.fit.margins import Margin, margins, tightest
from modboard.layout.board import Board
from tests.check.build import RULES, box_part, scene

ROOM = CavityModel(shapely.box(0, 0, 30, 30), 20.0, 4.0, 0.3, 0.5, (), ())


def board(*obstacles: Obstacle, x: float = 5.0) -> Board:
    """Return a board 20 mm square with a block 4 x 4, 3 mm high, in its middle on leads 1.5 mm long below."""
    block = box_part("P1", (x + 10, 15), (4, 4), leads=[("1", (0, 0))])
    outline = shapely.box(x, 5, x + 20, 25)
    made, _ = scene(parts=[block], outline=outline, cavity=replace(ROOM, obstacles=obstacles))
    return made


def of(found: tuple[Margin, ...], between: str) -> Margin:
    return next(m for m in found if m.between == between)


def test_nominal_and_worst_of_every_pair() -> None:
    """The board stands 5 mm from the walls; at worst 0.3 + 0.25 less.  Block: 4.0 + 1.6 + 3.0 = 8.6
    under 20, of which 0.3 and a tenth of the thickness are in doubt."""
    assert (RULES.outline_tolerance, RULES.thickness) == (0.25, 1.6)
    found = margins(board())
    wall, lid = of(found, "the board and the wall"), of(found, "P1 and the lid")
    floor = of(found, "the leads of P1 and the floor")
    assert (wall.nominal, wall.worst) == pytest.approx((5.0, 4.45))
    assert (lid.nominal, lid.worst) == pytest.approx((11.4, 10.94)) and lid.kind == "above"
    assert (floor.nominal, floor.worst) == pytest.approx((2.5, 2.2)) and floor.kind == "below"
    beside = of(found, "P1 and the wall")
    assert beside.nominal == pytest.approx(13.0)


def test_tightest_come_first_each_pair_once() -> None:
    post = Obstacle("post", shapely.Point(1, 15).buffer(0.5), round=((1.0, 15.0), 1.0))
    three = tightest(board(post, x=2.0))
    assert [m.between for m in three] == [
        "the board and post",
        "the board and the wall",
        "the leads of P1 and the floor",
    ]
    assert three[0].nominal == pytest.approx(2.0 - 1.5) and three[0].worst == pytest.approx(0.5 - 0.55)
    assert three[0].words.startswith("the board and post: 0.50 mm between them as measured, -0.05 mm at worst, at ")


def test_rib_over_a_part_is_measured_upwards() -> None:
    """From 12 mm up, over a block that ends at 8.6; 0.3 and a tenth of 1.6 may be out."""
    rib = Obstacle("rib", shapely.box(14, 14, 16, 16), bottom=12.0)
    over = of(margins(board(rib)), "P1 and rib")
    assert over.kind == "above" and (over.nominal, over.worst) == pytest.approx((3.4, 2.94))


def test_without_a_room_there_are_no_margins() -> None:
    made, _ = scene()
    assert margins(made) == tightest(made) == ()
