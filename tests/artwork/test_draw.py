"""Copper, mask, paste, profile and holes of the sample against what the board says."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.mask import grown_form
from modboard.artwork.model import Flash, Region, Stroke
from modboard.describe.model import Net
from modboard.layout.board import COPPER_LAYERS, Board, Track
from modboard.library.model import LandForm, PadForm
from tests.artwork.boards import strewn
from tests.sample import LEFT, POST_AT, SITE, sample_artwork, sample_board


def test_copper_comes_in_the_order_pours_pads_tracks_vias() -> None:
    kinds = []
    for feature in sample_artwork().features("copper-bottom"):
        if isinstance(feature, Region):
            kinds.append("pour")
        elif isinstance(feature, Stroke):
            kinds.append("track")
        else:
            kinds.append("via" if feature.function == "via-pad" else "pad")
    assert kinds == sorted(kinds, key=["pour", "pad", "track", "via"].index)
    assert set(kinds) == {"pour", "pad", "track", "via"}


@pytest.mark.parametrize("side", COPPER_LAYERS)
def test_copper_is_exactly_what_the_board_has(side: str) -> None:
    board = sample_board()
    shapes = [p.shape for p in board.pads if side in p.layers] + [v.shape for v in board.vias]
    shapes += [t.shape for t in board.tracks if t.layer == side]
    wanted = shapely.union_all([s.polygon() for s in shapes] + [p.area for p in board.pours if p.layer == side])
    drawn = sample_artwork().layer(f"copper-{side}").area()  # type: ignore[arg-type]
    assert drawn.symmetric_difference(wanted).area < 1e-9


def test_through_lands_are_on_both_sides_and_surface_lands_on_one() -> None:
    artwork = sample_artwork()
    on = {
        side: {(f.owner.reference, f.owner.number): f.function for f in artwork.features(f"copper-{side}")}  # type: ignore[arg-type]
        for side in COPPER_LAYERS
    }
    assert on["top"]["R1", "1"] == on["bottom"]["R1", "1"] == "component-pad"
    assert on["top"]["C1", "1"] == "surface-pad" and ("C1", "1") not in on["bottom"]
    assert on["bottom"]["C2", "1"] == "surface-pad" and ("C2", "1") not in on["top"]


def test_an_opening_is_its_land_grown_by_the_expansion() -> None:
    """Easy column of published capability tables: 0.10 mm a side."""
    artwork, expansion = sample_artwork(), 0.10
    for side in COPPER_LAYERS:
        openings = {f.owner: f for f in artwork.features(f"mask-{side}") if f.owner.reference}  # type: ignore[arg-type]
        lands = [f for f in artwork.features(f"copper-{side}") if f.owner.reference]  # type: ignore[arg-type]
        assert {f.owner for f in lands} == set(openings)
        for land in lands:
            grown = land.shape.grown(expansion).polygon()
            opened = openings[land.owner].shape.polygon()
            assert opened.symmetric_difference(grown).area < 2e-3 * grown.area


@pytest.mark.parametrize("form", ["round", "oval", "rectangle", "rounded", "polygon"])
def test_growing_a_form_moves_its_edge_outwards_by_exactly_that(form: LandForm) -> None:
    corners = ((-1.0, -0.5), (1.0, -0.5), (1.0, 0.5), (-1.0, 0.5))
    width, height = (1.0, 1.0) if form == "round" else (2.0, 1.0)
    plain = PadForm(form, width, height, 0.2 if form == "rounded" else 0.0, corners if form == "polygon" else ())
    grown = grown_form(plain, 0.1).shape()
    assert grown.bounds() == pytest.approx((-width / 2 - 0.1, -height / 2 - 0.1, width / 2 + 0.1, height / 2 + 0.1))
    radius = {"round": 0.5, "oval": 0.5, "rounded": 0.2}.get(form, 0.0) + 0.1
    exact = (width + 0.2) * (height + 0.2) - (0.0 if form == "polygon" else (4 - math.pi) * radius**2)
    assert grown.area() == pytest.approx(exact, rel=1e-9)


def test_small_vias_are_tented_and_large_ones_opened() -> None:
    """Common practice: tent holes up to 0.3-0.4 mm, leave holes above 0.6 mm open."""
    small, large = (strewn([("C", 5.0, 5.0, 0.0, "top")], 20.0, 20.0, ((15.0, 15.0),), hole) for hole in (0.3, 0.6))
    at_via = [
        (f.at, f.form.width) for f in draw(large).features("mask-top") if isinstance(f, Flash) and f.at[0] == 15.0
    ]
    assert at_via == [((15.0, 15.0), pytest.approx(1.1 + 0.2))]
    assert all(f.at[0] != 15.0 for f in draw(small).features("mask-top") if isinstance(f, Flash))


def test_bare_holes_are_opened_on_both_sides() -> None:
    for side in COPPER_LAYERS:
        sizes = {f.at: f.form.width for f in sample_artwork().features(f"mask-{side}") if isinstance(f, Flash)}  # type: ignore[arg-type]
        assert sizes[27.0, 21.8] == pytest.approx(3.2 + 2 * 0.1)


def close_chips(one: str, other: str) -> Board:
    """Return two chips whose facing lands, on nets `one` and `other`, leave 0.1 mm of mask between their openings."""
    board = strewn([("C", 5.0, 5.0, 0.0, "top"), ("C", 5.0 + 1.9 + 1.0 + 0.3, 5.0, 0.0, "top")], 20.0, 20.0)
    nets = (
        Net("LEFT", (("C1", "1"),), SITE, 0.25, 0.25),
        Net("RIGHT", (("C2", "2"),), SITE, 0.25, 0.25),
    )
    pins: dict[str, list[tuple[str, str]]] = {}
    pins.setdefault(one, []).append(("C1", "2"))
    pins.setdefault(other, []).append(("C2", "1"))
    nets += tuple(Net(name, tuple(own), SITE, 0.25, 0.25) for name, own in pins.items())
    return replace(board, description=replace(board.description, nets=nets))


def test_a_web_too_narrow_to_hold_is_opened_within_a_net_only() -> None:
    """Mask slivers below the web value are to be merged into one opening (published guideline; web 0.2 mm)."""
    within, between = draw(close_chips("A", "A")).layer("mask-top"), draw(close_chips("A", "B")).layer("mask-top")
    web = shapely.box(6.3, 4.6, 6.7, 5.4).intersection(shapely.box(6.55, 0.0, 6.65, 10.0))
    assert within.area().buffer(1e-6).covers(web)
    assert not between.area().intersects(web.buffer(-0.01))
    assert sum(isinstance(f, Region) for f in within.features) == 1
    assert sum(isinstance(f, Region) for f in between.features) == 0


def test_a_web_that_covers_a_strange_track_is_left() -> None:
    board = close_chips("A", "A")
    track = Track("RIGHT", "top", ((6.6, 3.0), (6.6, 7.0)), 0.05)
    openings = draw(replace(board, tracks=(track,))).layer("mask-top")
    assert not openings.area().intersects(track.shape.polygon())


def test_paste_is_the_surface_lands_and_nothing_else() -> None:
    artwork = sample_artwork()
    for side, part in (("top", "C1"), ("bottom", "C2")):
        paste = list(artwork.features(f"paste-{side}"))  # type: ignore[arg-type]
        assert [(f.owner.reference, f.owner.number) for f in paste] == [(part, "1"), (part, "2")]
        lands = [f for f in artwork.features(f"copper-{side}") if f.owner.reference == part]  # type: ignore[arg-type]
        assert [p.shape.bounds() for p in paste] == [f.shape.bounds() for f in lands]


def test_the_profile_is_one_closed_line_on_the_edge() -> None:
    (edge,) = sample_artwork().features("profile")
    assert isinstance(edge, Stroke) and edge.points[0] == edge.points[-1] and edge.function == "profile"
    ring = shapely.Polygon(edge.points)
    plate = 30.0 * 25.0
    notch = plate - ring.area
    # The notch is a circle of 2.8 mm about the post less what lies off the plate: less than the disc, more than half.
    assert math.pi * 2.8**2 / 2 < notch < math.pi * 2.8**2
    assert ring.bounds == (LEFT, 0.8, 30.8, 25.8)
    assert ring.exterior.distance(shapely.Point(POST_AT)) == pytest.approx(2.8, abs=2e-3)


def test_openings_in_the_board_are_profile_too() -> None:
    board = strewn([("C", 5.0, 5.0, 0.0, "top")], 20.0, 20.0)
    board = replace(board, outline=board.outline.difference(shapely.box(10.0, 10.0, 14.0, 16.0)))
    outer, inner = draw(board).features("profile")
    assert outer.shape.core.length == pytest.approx(80.0) and inner.shape.core.length == pytest.approx(20.0)


def test_every_hole_is_drilled_once_with_its_function() -> None:
    drills = sample_artwork().drills
    counts = {f: sum(d.function == f for d in drills) for f in ("component-drill", "via-drill", "mechanical-drill")}
    # DIP-8, two axial parts, four-way header, two lugs; two vias; one mounting hole.
    assert counts == {"component-drill": 8 + 4 + 4 + 2, "via-drill": 2, "mechanical-drill": 1}
    (slot,) = [d for d in drills if d.to]
    assert slot.diameter == 1.2 and math.dist(slot.at, slot.to or slot.at) == pytest.approx(1.0)
    assert all(d.plated == (d.function != "mechanical-drill") for d in drills)


def test_home_etching_has_no_mask_and_no_legend() -> None:
    board = sample_board()
    rules = replace(board.description.rules, mask=False, legend=False, mask_expansion=0.0)
    artwork = draw(replace(board, description=replace(board.description, rules=rules)))
    assert {layer.name for layer in artwork.layers} == {
        "copper-top",
        "copper-bottom",
        "paste-top",
        "paste-bottom",
        "profile",
    }
