"""What holds the board, bare metal, plugs and wires, worked out by hand: a micrometre too little fires, none does not.

Measured to 0.3, holes good to 0.1, the board's edge made to 0.25 and its thickness, 1.6, good to 0.16; underside at
4.0, top at 5.6, lid at 20.0.  1 mm of air is kept to bare metal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely

from modboard.describe.model import AtEdge, Fixing, HostWire, MountingHole, Obstacle, Opening
from modboard.layout.board import Board
from tests.check.build import SITE, box_part
from tests.fit.build import board, cavity, found

MICROMETRE = 1e-3  # mm


def holed(room: object, diameter: float = 3.2) -> Board:
    return board(room, holes=[MountingHole((10.0, 10.0), diameter, 6.0)])  # type: ignore[arg-type]


def screw_in_its_hole(d: float) -> Board:
    """A screw 2.2 thick in a hole of 3.2: 0.5 of play less 0.3 and 0.1 lets it be 0.1 off."""
    return holed(cavity(fixings=(Fixing("M2", (10.1 - d, 10.0), 2.2),)))


def screw_with_its_own(d: float) -> Board:
    """Its place is good to 0.05: 0.5 less 0.05 and 0.1 lets it be 0.35 off, along 3-4-5."""
    return holed(cavity(fixings=(Fixing("M2", (10 + 0.6 * (0.35 - d), 10 + 0.8 * (0.35 - d)), 2.2, 0.05),)))


def tab_in_its_hole(d: float) -> Board:
    """A tab 1.6 × 1.2: 1.0 from middle to corner; with 0.3 and 0.1 the hole must be 2.8 wide."""
    tab = Obstacle("lug", shapely.box(9.2, 9.4, 10.8, 10.6), top=9.0, through=True)
    return holed(cavity(obstacles=[tab]), 2.8 + 2 * d)


def tab_beside_the_edge(d: float) -> Board:
    """0.4 off the board's edge at x 45."""
    return board(cavity(obstacles=[Obstacle("lug", shapely.box(45.4 + d, 9, 46, 11), top=9.0, through=True)]))


def legs_of_two_lengths(d: float) -> Board:
    """One leg is 4.0 high; the other may be 0.3 lower."""
    legs = [Obstacle(n, shapely.box(x, 8, x + 2, 10), top=t, carries=True)
            for n, x, t in (("a", 8, 4.0), ("b", 30, 3.7 + d))]  # fmt: skip
    return board(cavity(obstacles=legs))


def leg_under_the_edge(d: float) -> Board:
    """A leg from x 45 on touches the edge of the board; a micrometre beside it, it carries nothing."""
    return board(cavity(obstacles=[Obstacle("leg", shapely.box(45 - d, 8, 47, 10), top=4.0, carries=True)]))


LEAD = [("1", (0.0, 0.0))]  # a land 1.5 across, its lead trimmed to 1.5 below the board: to 2.5 over the floor


def metal_floor(d: float) -> Board:
    """Leads down to 2.5 in a room whose depth is good to 0.3: the board may be 1.2 lower, at 2.8."""
    return board(cavity(metal=True, board_at=2.8 + d), [box_part("R1", (25, 20), (5, 5), leads=LEAD)])


def metal_lid(d: float) -> Board:
    """Leads of a part below stand up to 5.6 + 1.5; lid 1.0 + 0.3 + 0.16 above: 8.56."""
    part = box_part("R1", (25, 20), (5, 5), leads=LEAD, side="bottom", height=1.0)
    return board(cavity(metal=True, height=8.56 + d), [part])


def metal_wall(d: float) -> Board:
    """A land 0.75 round its middle, 1.0 + 0.3 + 0.25 from the wall: middle at 2.3; the board ends at 1.0.

    Round copper is measured by a polygon round it, less than 1 µm outside.
    """
    part = box_part("R1", (2.3 + d, 20), (1, 1), leads=LEAD)
    return board(cavity(metal=True), [part], outline=shapely.box(1, 5, 45, 35))


def metal_under_a_lead(d: float) -> Board:
    """Leads down to 2.5, 1.0 of air and 0.3: a block may be 1.2 high."""
    block = Obstacle("coil can", shapely.box(20, 15, 30, 25), top=1.2 - d, metal=True)
    return board(cavity(obstacles=[block]), [box_part("R1", (25, 20), (5, 5), leads=LEAD)])


def metal_across_a_corner(d: float) -> Board:
    """0.8 beside (with 0.3 and 0.25: 1.35) and 0.6 below (with 0.3: 0.9) make 1.0, as 3-4-5; land ends at 25.75."""
    block = Obstacle("coil can", shapely.box(25.75 + 0.55 + 0.8, 10, 30, 30), top=2.5 - 0.3 - 0.6 - d, metal=True)
    return board(cavity(obstacles=[block]), [box_part("R1", (25, 20), (5, 5), leads=LEAD)])


def plug_through_the_wall(d: float) -> Board:
    """A plug 7 wide needs 7.6 of opening; else it stops at the outer face, 2 mm before the part."""
    socket = Opening("socket", "right", 20.0, 7.6 + 2 * d, thick=2.0, plug=(7.0, 3.0))
    return board(cavity(openings=[socket]), [box_part("J1", (48.0, 20), (4, 4))], wishes={"J1": AtEdge("right")})


def plug_stops_outside(d: float) -> Board:
    """Too wide by far, but a wall of 0.5 lets it be home."""
    socket = Opening("socket", "right", 20.0, 5.0, thick=0.5 - d, plug=(7.0, 3.0))
    return board(cavity(openings=[socket]), [box_part("J1", (48.0, 20), (4, 4))], wishes={"J1": AtEdge("right")})


def plug_under_the_arch(d: float) -> Board:
    """Its axis is half way up a part 3 high, at 7.1; 2 more, 0.3 and 0.16 of the board: 9.56."""
    socket = Opening("socket", "right", 20.0, 20.0, top=9.56 + d, thick=2.0, plug=(4.0, 4.0))
    return board(cavity(openings=[socket]), [box_part("J1", (48.0, 20), (4, 4))], wishes={"J1": AtEdge("right")})


def wired(opening: Opening, count: int) -> Board:
    wires = tuple(HostWire(("R1", "1"), "the lamp", SITE, (90.0, 5.0)) for _ in range(count))
    return board(cavity(openings=[opening]), wires=wires)


def one_wire(d: float) -> Board:
    """A wire of 1.5 and 0.3 on each side: 2.1."""
    return wired(Opening("gap", "left", 20.0, 2.1 + 2 * d, 8.0, 14.0, wires=True), 1)


def many_wires(d: float) -> Board:
    """Ten of 1.767 mm² fill half of 35.34 mm²: 4.4 wide at worst, 8.0325 high at worst."""
    area = 10 * 1.5**2 * 3.14159265358979 / 4 * 2
    return wired(Opening("gap", "left", 20.0, 5.0, 8.0, 8.6 + area / 4.4 + 2 * d, wires=True), 10)


CASES: list[tuple[str, Callable[[float], Board]]] = [
    ("fixing-line", screw_in_its_hole),
    ("fixing-line", screw_with_its_own),
    ("tab-passes", tab_in_its_hole),
    ("tab-passes", tab_beside_the_edge),
    ("board-carried", legs_of_two_lengths),
    ("board-carried", leg_under_the_edge),
    ("metal-gap", metal_floor),
    ("metal-gap", metal_lid),
    ("metal-gap", metal_wall),
    ("metal-gap", metal_under_a_lead),
    ("metal-gap", metal_across_a_corner),
    ("plug-clear", plug_through_the_wall),
    ("plug-clear", plug_stops_outside),
    ("plug-clear", plug_under_the_arch),
    ("wires-leave", one_wire),
    ("wires-leave", many_wires),
]


@pytest.mark.parametrize(("rule", "case"), CASES, ids=[case.__name__ for _, case in CASES])
def test_a_micrometre_decides(rule: str, case: Callable[[float], Board]) -> None:
    assert found(case(-MICROMETRE), rule) != []
    assert found(case(MICROMETRE), rule) == []


def test_metal_that_is_insulated_by_distance_of_another_kind_is_not_asked_for() -> None:
    """The same block without `metal` needs no air."""
    made = metal_under_a_lead(-0.5)
    room = made.description.cavity
    assert room is not None and len(found(made, "metal-gap")) == 1
    dull = replace(room, obstacles=tuple(replace(o, metal=False) for o in room.obstacles))
    assert found(replace(made, description=replace(made.description, cavity=dull)), "metal-gap") == []


def test_each_piece_of_metal_is_told_apart() -> None:
    """A sheet over the can under a lead leaves the floor bare, 1.2 below: 1.3 are asked."""
    block = Obstacle("coil can", shapely.box(20, 15, 30, 25), top=0.5, metal=True)
    room = cavity(metal=True, board_at=2.7, obstacles=[block])
    told = found(board(room, [box_part("R1", (25, 20), (5, 5), leads=LEAD)]), "metal-gap")
    assert [f.where for f in told] == ["the leads of R1 and coil can", "the leads of R1 and the floor"]


def test_leads_run_into_a_step_of_the_floor_that_carries_the_board() -> None:
    step = Obstacle("shelf", shapely.box(5, 15, 45, 25), top=4.0, kind="floor step", carries=True)
    (told,) = found(board(cavity(obstacles=[step]), [box_part("R1", (25, 20), (5, 5), leads=LEAD)]))
    assert (told.rule, told.message) == ("part-to-obstacle", "the leads of R1 run into shelf")


def test_openings_begin_at_the_leaning_wall() -> None:
    """2.5 above the floor the wall is 0.03 farther in than at the board, at 4.0; leads in a wide opening are free."""
    gap = Opening("gap", "bottom", 10.0, 12.0, top=12.0)
    part = box_part("R1", (10, 0), (2, 2), leads=LEAD, height=1.0)
    assert found(board(cavity(openings=[gap], lean=0.02), [part]), "part-to-wall") == []


def test_plug_nobody_measured_must_get_its_metal_through() -> None:
    """A phono plug's shell goes over the barrel, 8.3 thick (from memory); the opening is good to 0.3 on each side."""
    wish = {"J1": AtEdge("right")}
    jack = box_part("J1", (45.0, 20), (8.3, 8.3), height=8.3)
    jack = replace(jack, part=replace(jack.part, footprint=replace(jack.part.footprint, family="phono-jack")))
    for width, count in ((2.0, 1), (8.9 - 2 * MICROMETRE, 1), (8.9 + 2 * MICROMETRE, 0)):
        socket = Opening("socket", "right", 20.0, width, thick=1.0)
        told = found(board(cavity(openings=[socket]), [jack], wishes=wish), "plug-clear")
        assert [f.message[:37] for f in told] == ["the plug's metal of 8.3 × 8.3 mm does"] * count
