"""Fits and misfits worked out by hand: a micrometre too little fires, a micrometre to spare does not.

Heights: the board's underside is at 4.0 and it is 1.6 thick, so its upper face is at 5.6; the lid is at 20.0, of which
0.5 is margin, 0.3 measuring tolerance and 0.16 that of the board's thickness (10 %): a part may be
20.0 - 0.96 - 5.6 = 13.44 high.  In plan, walls may be 0.3
nearer than measured and the outline 0.25 larger than drawn: 0.55 together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely

from modboard.describe.model import AtEdge, Opening
from modboard.fit import fit
from modboard.layout.board import Board
from tests.check.build import box_part
from tests.fit.build import PLATE, ROOM, block, board, cavity, found, post

MICROMETRE = 1e-3  # mm


def lid(d: float) -> Board:
    return board(cavity(), [box_part("C3", (25, 20), (5, 5), height=13.44 - d)])


def measured_height_counts(d: float) -> Board:
    """The footprint says 20 mm, the part in hand was measured."""
    return board(cavity(), [box_part("C3", (25, 20), (5, 5), height=20.0, measured=13.44 - d)])


def clear_height_above(d: float) -> Board:
    """7.0 free above the board, less 0.5 and 0.3: 6.2."""
    return board(cavity(clear_above=7.0), [box_part("C3", (25, 20), (5, 5), height=6.2 - d)])


def part_below(d: float) -> Board:
    """On the underside: 4.0 to the floor less 0.8: 3.2."""
    return board(cavity(), [box_part("C3", (25, 20), (5, 5), height=3.2 - d, side="bottom")])


def clear_height_below(d: float) -> Board:
    """3.0 free below the board less 0.8: 2.2."""
    return board(cavity(clear_below=3.0), [box_part("C3", (25, 20), (5, 5), height=2.2 - d, side="bottom")])


def trimmed_leads(d: float) -> Board:
    """Leads of 3 mm are trimmed to 1.5: with 0.8 the board must be 2.3 above the floor."""
    return board(cavity(board_at=2.3 + d), [box_part("R1", (25, 20), (5, 5), leads=[("1", (0, 0))])])


def leads_up_from_a_part_below(d: float) -> Board:
    """The leads of a part on the underside stand 1.5 above the board: lid at 5.6 + 1.5 + 0.96 = 8.06."""
    part = box_part("R1", (25, 20), (5, 5), leads=[("1", (0, 0))], side="bottom", height=1.0)
    return board(cavity(height=8.06 + d), [part])


def board_and_wall(d: float) -> Board:
    """The gap asked, 0.5, and the measuring tolerance of 0.3: the outline ends at 49.2."""
    return board(cavity(), outline=shapely.box(5, 5, 49.2 - d, 35))


def board_and_post(d: float) -> Board:
    """A block from x 45.8, gap 0.5 and tolerance 0.3: the board ends at 45."""
    return board(cavity(obstacles=[block(45.8 + d, 10, 47, 12)]))


def part_and_wall(d: float) -> Board:
    """A body 4 wide, 0.55 from the wall at x 0: centre at 2.55."""
    return board(cavity(), [box_part("J1", (2.55 + d, 20), (4, 4))])


def part_and_block(d: float) -> Board:
    """A block above the board from x 30; a body 4 wide 0.55 before it: centre at 27.45."""
    return board(cavity(obstacles=[block(30, 10, 34, 30, bottom=7.0)]), [box_part("C1", (27.45 - d, 20), (4, 4))])


def part_under_block(d: float) -> Board:
    """A block that hangs down to 9.0; with 0.3 and 0.16 the part may end at 8.54: 2.94 high."""
    room = cavity(obstacles=[block(20, 10, 34, 30, bottom=9.0)])
    return board(room, [box_part("C1", (27, 20), (4, 4), height=2.94 - d)])


def bottom_part_over_block(d: float) -> Board:
    """A ledge up to 1.0; with 0.3 a part on the underside may reach down to 1.3: 2.7 high."""
    room = cavity(obstacles=[block(20, 10, 34, 30, top=1.0)])
    return board(room, [box_part("C1", (27, 20), (4, 4), height=2.7 - d, side="bottom")])


def leads_over_block(d: float) -> Board:
    """Leads reach 1.5 below the board, to 2.5: a ledge may be 2.2 high."""
    room = cavity(obstacles=[block(20, 10, 34, 30, top=2.2 - d)])
    return board(room, [box_part("R1", (27, 20), (4, 4), leads=[("1", (0, 0))])])


def part_through_opening(d: float) -> Board:
    """A body 4 wide reaches into an opening; 0.3 on each side: 4.6 wide."""
    room = cavity(openings=[Opening("socket", "right", 20.0, 4.6 + 2 * d)])
    return board(room, [box_part("J1", (48.5, 20), (4, 4))], wishes={"J1": AtEdge("right", inset=-5.5)})


def part_under_the_arch(d: float) -> Board:
    """A body 3 high reaches into an opening that ends at 9.06: 5.6 + 3.0 + 0.3 + 0.16."""
    room = cavity(openings=[Opening("socket", "right", 20.0, 6.0, top=9.06 + d)])
    return board(room, [box_part("J1", (48.5, 20), (4, 4))], wishes={"J1": AtEdge("right", inset=-5.5)})


def part_in_line(d: float) -> Board:
    """Half a millimetre out of line is allowed."""
    room = cavity(openings=[Opening("socket", "right", 20.0, 5.0)])
    return board(room, [box_part("J1", (47.5, 20.5 - d), (4, 4))], wishes={"J1": AtEdge("right")})


def part_in_a_window(d: float) -> Board:
    """In a window 9 wide, 0.3 of tolerance a side, a part 4 wide may stand 4.5 - 0.3 - 2 = 2.2 from the middle."""
    room = cavity(openings=[Opening("socket", "right", 20.0, 9.0)])
    return board(room, [box_part("J1", (47.5, 22.2 - d), (4, 4))], wishes={"J1": AtEdge("right")})


def part_reaches_the_wall(d: float) -> Board:
    """Two millimetres from the wall at x 50 are allowed: a body 4 wide with its middle at 46."""
    room = cavity(openings=[Opening("socket", "right", 20.0, 9.0)])
    return board(room, [box_part("J1", (46.0 + d, 20), (4, 4))], wishes={"J1": AtEdge("right")})


def board_below_lid(d: float) -> Board:
    """The upper face at 5.6, 0.3 and 0.16 of tolerance."""
    return board(cavity(height=6.06 + d))


CASES: list[tuple[str, Callable[[float], Board]]] = [
    ("under-lid", lid),
    ("under-lid", measured_height_counts),
    ("under-lid", clear_height_above),
    ("under-lid", leads_up_from_a_part_below),
    ("over-floor", part_below),
    ("over-floor", clear_height_below),
    ("over-floor", trimmed_leads),
    ("board-to-wall", board_and_wall),
    ("board-to-obstacle", board_and_post),
    ("part-to-wall", part_and_wall),
    ("part-to-obstacle", part_and_block),
    ("part-to-obstacle", part_under_block),
    ("part-to-obstacle", bottom_part_over_block),
    ("part-to-obstacle", leads_over_block),
    ("opening-pass", part_through_opening),
    ("opening-pass", part_under_the_arch),
    ("opening-line", part_in_line),
    ("opening-line", part_in_a_window),
    ("opening-reach", part_reaches_the_wall),
    ("board-under-lid", board_below_lid),
]


@pytest.mark.parametrize(("rule", "case"), CASES, ids=[case.__name__ for _, case in CASES])
def test_a_micrometre_decides(rule: str, case: Callable[[float], Board]) -> None:
    assert len(found(case(-MICROMETRE), rule)) == 1
    assert found(case(MICROMETRE), rule) == []
    assert found(case(0.0), rule) == []


def test_board_with_room_all_round_fits() -> None:
    part = box_part("C1", (25, 20), (5, 5), height=10.0, leads=[("1", (0, 0))])
    assert fit(board(cavity(), [part])) == ()


def test_no_cavity_nothing_to_fit() -> None:
    made = board(cavity())
    assert fit(replace(made, description=replace(made.description, cavity=None))) == ()


def test_heights_not_measured_are_not_checked() -> None:
    assert fit(board(cavity(height=None), [box_part("C3", (25, 20), (5, 5), height=500.0)])) == ()


def test_finding_says_how_much_too_tall_and_which_part() -> None:
    (too_tall,) = found(board(cavity(), [box_part("C3", (25, 20), (5, 5), height=14.3)]))
    assert too_tall.message == "0.9 mm too tall under the lid: C3"
    assert (too_tall.measured, too_tall.required) == (0.1, 0.96)


def test_wall_gap_is_a_warning_while_tolerances_still_let_the_board_in() -> None:
    near = found(board(cavity(), outline=shapely.box(5, 5, 49.3, 35)))
    nearer = found(board(cavity(), outline=shapely.box(5, 5, 49.5, 35)))
    through = found(board(cavity(), outline=shapely.box(5, 5, 51.0, 35)))
    assert [f.severity for f in near] == ["warning"]
    assert [f.severity for f in nearer] == ["error"]
    assert [(f.severity, f.measured) for f in through] == [("error", -1.0)]
    assert "reaches 1.00 mm into the wall" in through[0].message


def test_round_post_is_measured_as_a_circle() -> None:
    """A post of 4 mm about (47.3, 20): its face is at 45.3, 0.3 from the board; and straight beside a corner, 3-4-5."""
    (beside,) = found(board(cavity(obstacles=[post((47.3, 20.0), 4.0)])), "board-to-obstacle")
    assert beside.measured == pytest.approx(0.3, abs=1e-6)
    (corner,) = found(board(cavity(obstacles=[post((45 + 0.6 * 2.5, 35 + 0.8 * 2.5), 4.0)])), "board-to-obstacle")
    assert corner.measured == pytest.approx(0.5, abs=1e-6)


def test_post_that_carries_the_board_is_no_obstacle_but_a_part_over_it_is_fine_too() -> None:
    carrying = cavity(obstacles=[block(10, 10, 14, 14, top=4.0)])
    assert fit(board(carrying, [box_part("C1", (12, 12), (3, 3))])) == ()
    low = box_part("C1", (12, 12), (3, 3), side="bottom", height=1.0)
    assert [f.rule for f in fit(board(carrying, [low]))] == ["part-to-obstacle"]


def test_overhanging_part_is_free_only_in_its_opening() -> None:
    part = box_part("J1", (48.5, 20), (4, 4))
    wish = {"J1": AtEdge("right", inset=-5.5)}
    closed = board(cavity(), [part], wishes=wish)
    assert [f.rule for f in fit(closed)] == ["part-to-wall"]
    open_ = board(cavity(openings=[Opening("socket", "right", 20.0, 9.0)]), [part], wishes=wish)
    assert fit(open_) == ()
    elsewhere = board(cavity(openings=[Opening("socket", "right", 30.0, 9.0)]), [part], wishes=wish)
    assert "part-to-wall" in [f.rule for f in fit(elsewhere)]


def test_part_with_a_raised_body_stands_over_a_low_obstacle() -> None:
    """A body from 3.0 above the board, at 8.6, clears a block that ends at 8.0 by more than 0.3."""
    room = cavity(obstacles=[block(46, 10, 49, 30, top=8.0)])
    over = box_part("J1", (46, 20), (4, 4), height=6.0, above=3.0)
    assert fit(board(room, [over])) == ()
    on_board = box_part("J1", (46, 20), (4, 4), height=6.0)
    assert [f.rule for f in fit(board(room, [on_board]))] == ["part-to-obstacle"]


def test_parts_not_fitted_need_no_height() -> None:
    tall = box_part("C3", (25, 20), (5, 5), height=50.0)
    spare = replace(tall, part=replace(tall.part, fitted=False))
    assert fit(board(cavity(), [spare])) == ()


def test_plug_into_the_host_is_meant_to_reach_it() -> None:
    """Pins 8 mm long below a board 4 mm over the floor would strike it, were they not to plug into the host."""
    plug = box_part("P1", (25, 20), (5, 5), leads=[("1", (0, 0))], height=8.0)
    hanging = replace(plug, part=replace(plug.part, footprint=replace(plug.part.footprint, underside=True)))
    assert fit(board(cavity(), [hanging])) == ()
    below = replace(plug, side="bottom")
    assert [f.rule for f in fit(board(cavity(), [below]))] == ["over-floor"]


def test_cavity_and_plate_are_as_said() -> None:
    assert ROOM.area == 2000.0 and PLATE.area == 1200.0


def test_board_meets_what_is_over_or_under_it_within_the_tolerances() -> None:
    """Over it: 5.6 and a tenth of 1.6, and 0.3 measured: 6.06 is free.  Under it: 4.0 less 0.3."""
    for off, rules in ((-MICROMETRE, ["board-to-obstacle"]), (0.0, [])):
        over = board(cavity(obstacles=[block(20, 10, 30, 30, bottom=6.06 + off)]))
        under = board(cavity(obstacles=[block(20, 10, 30, 30, top=3.7 - off)]))
        assert [f.rule for f in fit(over)] == [f.rule for f in fit(under)] == rules
    (near,) = fit(board(cavity(obstacles=[block(20, 10, 30, 30, bottom=5.9)])))
    assert near.message == "the board comes so near in height that the tolerances may make it touch"


def test_each_limit_of_height_is_told_apart() -> None:
    """From 4.0 down 3.4, to 0.6: 0.3 over a step of 0.3, and over the floor, that ask 0.8 each; so are lid and step."""
    below = box_part("P0", (25, 20), (5, 5), height=3.4, side="bottom")
    step = replace(block(20, 10, 30, 30, top=0.3), name="step", kind="floor step")
    low = {f.where: round(f.measured or 0.0, 6) for f in fit(board(cavity(obstacles=[step]), [below]))}
    assert low == {"P0 over step": 0.3, "P0 over the floor": 0.6}
    tall = box_part("C3", (25, 20), (5, 5), height=14.0)
    hanging = replace(block(20, 10, 30, 30, bottom=19.0), name="step", kind="lid step")
    told = {f.where: round(f.measured or 0.0, 6) for f in fit(board(cavity(obstacles=[hanging]), [tall]))}
    assert told == {"C3 under step": -0.6, "C3 under the lid": 0.4}
