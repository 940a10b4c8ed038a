"""Boards with parts strewn over them at random: never routed, often overlapping, to try the legend hard."""

from __future__ import annotations

from dataclasses import replace

import shapely
from hypothesis import strategies as st

from modboard.describe.model import Net, Part, Side
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart, Via
from modboard.library.footprints import footprint
from tests.sample import SITE, axial, chip, dip8, header, lugs, sample_board

FOOTPRINTS = {"U": dip8(), "R": axial(), "C": chip(), "J": header(3), "X": lugs()}
TURNS = (0.0, 90.0, 180.0, 270.0, 33.0)


def strewn(
    choices: list[tuple[str, float, float, float, Side]],
    width: float,
    height: float,
    vias: tuple[Position, ...] = (),
    hole: float = 0.6,
) -> Board:
    """Return a board of the given size with a part of each (kind, x, y, turn, side) and vias of the given hole."""
    parts = tuple(
        Part(f"{kind}{k + 1}", "thing", None, f"{k}k{k}", FOOTPRINTS[kind], SITE)
        for k, (kind, *_) in enumerate(choices)
    )
    placed = tuple(
        PlacedPart(part, (x, y), turn, side) for part, (_, x, y, turn, side) in zip(parts, choices, strict=True)
    )
    pins = tuple((p.reference, land.number) for p in parts for land in p.footprint.lands)
    described = replace(
        sample_board().description,
        parts=parts,
        nets=(Net("SIGNAL", pins, SITE, 0.25, 0.25),),
        outline=shapely.box(0.0, 0.0, width, height),
        cavity=None,
    )
    return Board(described, described.outline, placed, (), tuple(Via("SIGNAL", at, 1.1, hole) for at in vias), ())


@st.composite
def strewn_boards(draw: st.DrawFn) -> Board:
    """Draw a board of up to eight parts."""
    width, height = draw(st.floats(12, 40)), draw(st.floats(12, 40))
    where = st.tuples(
        st.sampled_from(sorted(FOOTPRINTS)), st.floats(0, width), st.floats(0, height), st.sampled_from(TURNS),
        st.sampled_from(["top", "bottom"]),
    )  # fmt: skip
    choices = draw(st.lists(where, min_size=1, max_size=8))
    vias = draw(st.lists(st.tuples(st.floats(1, width - 1), st.floats(1, height - 1)), max_size=4))
    return strewn(choices, width, height, tuple(vias), draw(st.sampled_from([0.3, 0.6])))


def turned_mark() -> Board:
    """Return a header so near the lower edge that its mark, which would lie off the board, is turned about its land."""
    return strewn([("J", 6.0, 1.6, 0.0, "top")], 12.0, 12.0)


def moved_mark() -> Board:
    """Return a screw terminal whose mark is moved: its body is all round the land, and left of it the board ends."""
    bare = strewn([("J", 3.2, 10.0, 0.0, "top")], 20.0, 20.0)
    part = replace(bare.parts[0].part, footprint=footprint("screw-terminal-2"))
    nets = (replace(bare.description.nets[0], pins=(("J1", "1"), ("J1", "2"))),)
    described = replace(bare.description, parts=(part,), nets=nets)
    return replace(bare, description=described, parts=(replace(bare.parts[0], part=part),))
