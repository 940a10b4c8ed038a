"""The two sides of the board as pictures: to scale, the right way round, safe to open, the same every time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.check.findings import Finding
from modboard.view import pictures
from modboard.view.board import board_view
from tests.sample import sample_artwork, sample_board
from tests.view.reading import SVG, centres, colours_used, label_box, parsed, sizes, texts

# Okabe & Ito, "Color Universal Design" (2008): orange, sky blue, vermilion.
ORANGE, SKY_BLUE, VERMILION = "#E69F00", "#56B4E9", "#D55E00"


def scale_of(svg: str) -> float:
    """Return the scale as lettered in the title block."""
    (line,) = [t for t in texts(svg) if t.startswith("Scale ")]
    return float(line.removeprefix("Scale ").removesuffix(":1"))


def renamed(name: str, title: str) -> Artwork:
    """Return the sample's artwork under another name, drawn afresh."""
    board = sample_board()
    return draw(replace(board, description=replace(board.description, name=name, title=title)))


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_the_sheet_is_a_standard_size_and_distances_are_to_the_scale_lettered(side) -> None:  # type: ignore[no-untyped-def]
    svg = board_view(sample_artwork(), side)
    assert sizes(svg) == (297.0, 210.0), "A4, ISO 216"
    scale = scale_of(svg)
    (x1, y1), (x2, y2) = centres(svg, "R1", "1")[0], centres(svg, "R1", "2")[0]
    assert abs(x2 - x1) == pytest.approx(10.16 * scale, abs=1e-2) and y1 == pytest.approx(y2)


def test_the_top_is_upright_and_the_bottom_mirrored() -> None:
    """J1 is at the left as seen from the top, so at the right from below; what is up stays up."""
    top, bottom = board_view(sample_artwork(), "top"), board_view(sample_artwork(), "bottom")
    width, _ = sizes(top)
    for part, pin, at in (("J1", "4", (3.34, 11.62)), ("R2", "2", (18.16, 21.5))):
        (tx, ty), (bx, by) = centres(top, part, pin)[0], centres(bottom, part, pin)[0]
        middle, scale = 0.8 + 15.0, scale_of(top)
        assert tx == pytest.approx(width / 2 + (at[0] - middle) * scale, abs=1e-2)
        assert bx == pytest.approx(width / 2 - (at[0] - middle) * scale, abs=1e-2)
        assert ty == pytest.approx(by, abs=1e-2)
    assert centres(top, "R2", "2")[0][1] < centres(top, "J1", "4")[0][1], "greater y is further up the sheet"


def test_a_side_shows_its_own_copper_in_its_own_colour() -> None:
    top, bottom = board_view(sample_artwork(), "top"), board_view(sample_artwork(), "bottom")
    assert ORANGE in colours_used(top) and SKY_BLUE not in colours_used(top)
    assert SKY_BLUE in colours_used(bottom) and ORANGE not in colours_used(bottom)
    parts = {side: {e.get("data-part") for e in parsed(s).iter()} for side, s in (("top", top), ("bottom", bottom))}
    assert "C1" in parts["top"] - parts["bottom"] and "C2" in parts["bottom"] - parts["top"]


def test_the_mask_lets_copper_show() -> None:
    paths = [e for e in parsed(board_view(sample_artwork(), "top")).iter(f"{SVG}path") if e.get("fill-opacity")]
    assert len(paths) == 1 and 0.2 < float(paths[0].attrib["fill-opacity"]) < 0.8


def test_every_hole_is_drawn() -> None:
    svg = board_view(sample_artwork(), "bottom")
    white = [e for e in parsed(svg).iter(f"{SVG}circle") if e.get("fill") == "#FFFFFF"]
    assert len(white) == sum(d.to is None for d in sample_artwork().drills)


def test_dimensions_and_title_block_say_the_facts() -> None:
    said = texts(board_view(sample_artwork(), "bottom"))
    assert {"30", "25", "Sample buffer", "Revision 1", "Bottom side, seen from below"} <= set(said)
    assert "Board 30 × 25 × 1.6 mm" in said and "Rules: Easy pool board" in said


def test_findings_are_ringed_and_explained() -> None:
    placed = Finding("copper-gap", "error", (12.0, 11.46), "U1.2 and the track OUT", "too close", 0.2, 0.25)
    nowhere = Finding("no-decoupling", "warning", None, "U1", "none near")
    svg = board_view(sample_artwork(), "top", (placed, nowhere))
    rings = [g for g in parsed(svg).iter(f"{SVG}g") if g.get("data-finding")]
    assert [g.get("data-finding") for g in rings] == ["1"]
    ring = rings[0].findall(f"{SVG}circle")[-1]
    assert ring.get("stroke") == VERMILION
    assert (float(ring.attrib["cx"]), float(ring.attrib["cy"])) == pytest.approx(centres(svg, "U1", "2")[0], abs=1e-2)
    said = texts(svg)
    assert "1 copper-gap: U1.2 and the track OUT, 0.2 mm for 0.25" in said and "2 no-decoupling: U1" in said


def test_rings_are_mirrored_with_the_board() -> None:
    finding = Finding("copper-gap", "error", (18.16, 21.5), "R2.2", "too close")
    svg = board_view(sample_artwork(), "bottom", (finding,))
    ring = next(g for g in parsed(svg).iter(f"{SVG}g") if g.get("data-finding")).findall(f"{SVG}circle")[0]
    assert (float(ring.attrib["cx"]), float(ring.attrib["cy"])) == pytest.approx(centres(svg, "R2", "2")[0], abs=1e-2)


def test_many_findings_stay_on_the_sheet() -> None:
    many = tuple(Finding("rule", "error", (5.0 + k / 10, 5.0), f"place {k} " + "x" * 300, "m") for k in range(40))
    svg = board_view(sample_artwork(), "top", many)
    width, height = sizes(svg)
    for text in texts(svg):
        x0, y0, x1, y1 = label_box(svg, text)
        assert x0 >= 0 and y0 >= 0 and x1 <= width and y1 <= height, text[:40]
    assert "and 35 more" in texts(svg)


@pytest.mark.parametrize("hostile", ['<script>alert("x")</script>', "a & b", "nul\x00 bell\x07 \ud7ff", "漢字 ]]>"])
def test_hostile_names_are_only_ever_text(hostile: str) -> None:
    for name, svg in pictures(renamed("x", hostile)).items():
        root = parsed(svg.decode())
        assert not list(root.iter(f"{SVG}script")), name
        title = root.find(f"{SVG}title")
        assert title is not None and title.text and title.text.startswith(hostile.split("\x00", maxsplit=1)[0][:5])


def test_pictures_are_the_same_bytes_every_time() -> None:
    board = sample_board()
    assert pictures(draw(board)) == pictures(draw(board))


def test_home_etched_boards_have_no_mask_on_their_picture() -> None:
    board = sample_board()
    rules = replace(board.description.rules, mask=False, legend=False)
    svg = board_view(draw(replace(board, description=replace(board.description, rules=rules))), "top")
    assert not [e for e in parsed(svg).iter() if e.get("fill-opacity")]
