"""The assembly sheet: bodies, letters that can be read, and the cavity's true figures."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.describe.model import Description
from modboard.describe.one_sided import one_sided_footprint
from modboard.view.assembly import assembly_view
from tests.artwork.boards import strewn
from tests.sample import sample_artwork, sample_board
from tests.view.reading import SVG, label_box, parsed, sizes, texts


def drawn_with(**changes: object) -> Artwork:
    """Return the sample's artwork with its description changed."""
    board = sample_board()
    described: Description = replace(board.description, **changes)  # type: ignore[arg-type]
    return draw(replace(board, description=described))


def test_every_part_is_lettered_with_its_value() -> None:
    said = texts(assembly_view(sample_artwork()))
    assert {"U1", "R1", "R2", "C1", "C2", "J1", "J2", "100k", "1k", "100n", "1u"} <= set(said)


def test_letters_of_parts_do_not_overlap() -> None:
    svg = assembly_view(sample_artwork())
    boxes = {t: label_box(svg, t) for t in ("U1", "R1", "R2", "C1", "C2", "J1", "J2", "100k", "1k", "100n", "1u")}
    for (a, one), (b, other) in itertools.combinations(boxes.items(), 2):
        assert not shapely.box(*one).intersects(shapely.box(*other)), f"{a} and {b}"


def test_with_copper_on_one_side_nets_are_named_and_no_letters_hide_lands() -> None:
    """Lands at the bottom, parts on top, as on home-etched boards (common practice): the holes still show on top."""
    board = sample_board()
    rules = replace(board.description.rules, one_sided=True, layers_plated=False, legend=False)
    parts = tuple(
        replace(p, part=replace(p.part, footprint=one_sided_footprint(p.part.footprint))) for p in board.parts
    )
    one_sided = draw(replace(board, parts=parts, description=replace(board.description, rules=rules)))
    two_sided = drawn_with()
    assert any(pad.layers == ("bottom",) for pad in one_sided.board.pads if pad.reference == "J1")
    before, now = assembly_view(two_sided), assembly_view(one_sided)
    nets = {net.name for net in board.description.nets} & set(texts(before))
    assert len(nets) >= 2
    assert nets <= set(texts(now))
    for text in ("U1", "J1", "J2", "100n"):
        assert label_box(now, text) == label_box(before, text)
    assert not any("as printed" in text for text in texts(now))


def test_letters_of_parts_back_to_back_do_not_overlap() -> None:
    """On a board so large that letters do not fit into the bodies, both want the same place beside them."""
    svg = assembly_view(draw(strewn([("C", 30.0, 30.0, 0.0, "top"), ("C", 30.0, 30.0, 0.0, "bottom")], 60.0, 60.0)))
    boxes = [shapely.box(*label_box(svg, t)) for t in ("C1", "0k0", "C2", "1k1")]
    assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))


def test_cavity_board_and_gaps_are_dimensioned_with_their_true_figures() -> None:
    """Cavity 31.6 × 26.6, board 30 × 25 set 0.8 in from each wall; hole at (27.0, 21.8), board corner at (0.8, 0.8)."""
    said = texts(assembly_view(sample_artwork()))
    for figure in ("31.6", "26.6", "30", "25", "26.2", "21"):
        assert said.count(figure) == 1, figure
    assert said.count("0.8") == 4


def test_the_figures_follow_the_cavity() -> None:
    cavity = sample_board().description.cavity
    assert cavity
    wider = replace(cavity, inside=shapely.box(-1.25, 0.0, 33.0, 26.6))
    said = texts(assembly_view(drawn_with(cavity=wider)))
    assert {"34.25", "2.05", "2.2"} <= set(said) and "31.6" not in said


def test_openings_posts_and_heights_are_named() -> None:
    said = texts(assembly_view(sample_artwork()))
    assert "lead hole: 9 wide, centre y = 7.5" in said and "vent: 6 wide, centre x = 16" in said
    assert "Ø4" in said and any("post" in t for t in said)
    # Room above the board: 18 to the lid less 4 to the board's underside less 1.6 of board.
    assert "Floor to lid 18, floor to board 4, clear above the board 12.4." in said


def test_no_letters_of_the_cavity_collide() -> None:
    svg = assembly_view(sample_artwork())
    figures = [
        "31.6",
        "26.6",
        "30",
        "25",
        "26.2",
        "21",
        "lead hole: 9 wide, centre y = 7.5",
        "vent: 6 wide, centre x = 16",
    ]
    boxes = [shapely.box(*label_box(svg, f)) for f in figures]
    assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))
    width, height = sizes(svg)
    assert all(shapely.box(0, 0, width, height).covers(b) for b in boxes)


def test_cautions_come_first_in_the_notes() -> None:
    svg = assembly_view(drawn_with(cautions=("The supply can give 12 V.",)))
    caution, cavity = label_box(svg, "Caution: The supply can give 12 V."), next(
        label_box(svg, t) for t in texts(svg) if t.startswith("Cavity measured")
    )  # fmt: skip
    assert caution[1] < cavity[1]


def test_parts_below_are_dashed_and_those_above_are_not() -> None:
    svg = assembly_view(sample_artwork())
    dashed = [e for e in parsed(svg).iter(f"{SVG}polyline") if e.get("stroke-dasharray")]
    group = next(g for g in parsed(svg).iter(f"{SVG}g") if g.get("transform"))
    in_board = [e for e in group.iter(f"{SVG}polyline") if e.get("stroke-dasharray")]
    # One body is on the bottom (C2); the other dashes are the centre lines of the mounting hole.
    assert len(in_board) == 1 and len(dashed) == 3
    xs = [float(p.split(",")[0]) for p in in_board[0].attrib["points"].split()]
    assert (min(xs), max(xs)) == pytest.approx((15.8 - 0.625, 15.8 + 0.625))


def test_pin_one_is_filled_on_parts_that_have_a_right_way_round() -> None:
    board = sample_board()
    filled = sum(e.get("fill") == "#E69F00" for e in parsed(assembly_view(sample_artwork())).iter(f"{SVG}path"))
    turnable = [p for p in board.parts if len(p.part.footprint.numbers()) > 2 or p.part.footprint.polarised]
    assert filled == len(turnable) == 2


def test_a_board_without_cavity_is_dimensioned_alone() -> None:
    said = texts(assembly_view(draw(strewn([("U", 8.0, 14.0, 0.0, "top")], 22.5, 18.0))))
    assert {"22.5", "18"} <= set(said)
    assert "Assembly" in said and not any(t.startswith("Cavity") for t in said)


def test_large_boards_get_larger_paper() -> None:
    choices = [("R", 10.0 + 25 * k, 10.0, 0.0, "top") for k in range(12)]
    svg = assembly_view(draw(strewn(choices, 320.0, 200.0)))  # type: ignore[arg-type]
    assert sizes(svg) == (420.0, 297.0), "A3, ISO 216: 320 × 200 does not go on A4 (297 × 210) at full size"
    assert "Scale 1:1" in texts(svg)
