"""Written layers against the artwork, by gerbonara (a reader of others) and by our own reader."""

from __future__ import annotations

from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.artwork.model import Flash, Layer, Owner, Region
from modboard.fab.gerber import gerber_layer, in_safe_order
from modboard.fab.gerber_adapter import GerberError
from modboard.fab.readback.gerber import read_gerber
from modboard.library.model import PadForm
from tests.fab.boards import FORMS, TURNS, artwork_of, every_form, fifty_parts, flash, nested_pours, pour, tracks
from tests.fab.third_party import gerbonara_image
from tests.sample import sample_artwork

SHARE = 1e-4  # of the area: the 0.01 % that is asked of third-party readers
LAYERS = [layer.name for layer in sample_artwork().layers]


def apart(one: Any, other: Any) -> float:
    """Return the share of the area in which two images differ."""
    return float(shapely.symmetric_difference(one, other).area / other.area)


@pytest.mark.parametrize("name", LAYERS)
def test_every_layer_of_the_sample_comes_back_from_both_readers(name: str) -> None:
    """Copper area within 0.01 % by gerbonara 1.5.0, within 1e-6 by our own reader."""
    layer = sample_artwork().layer(name)  # type: ignore[arg-type]
    text = gerber_layer(layer, sample_artwork())
    drawn = layer.area()
    assert apart(gerbonara_image(text), drawn) < SHARE
    image = read_gerber(text).image
    assert abs(image.area - drawn.area) < 1e-6 * drawn.area
    assert apart(image, drawn) < 1e-5


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("form", FORMS, ids=[f"{f.form}-{f.width}x{f.height}-{k}" for k, f in enumerate(FORMS)])
def test_pad_of_any_form_turn_and_side_is_one_true_flash(form: PadForm, turn: float, mirrored: bool) -> None:
    """Area by Steiner's formula for the exact shape; place and turn by both readers."""
    pad = flash(form, (7.654321, -3.21), turn, mirrored)
    text = gerber_layer(Layer("copper-top", (pad,)), artwork_of(pad))
    read = read_gerber(text, quarter_segments=512)
    assert [o.kind for o in read.objects] == ["flash"]
    assert read.image.area == pytest.approx(pad.shape.area(), rel=2e-6)  # chords lie inside the true outline
    assert apart(read.image, pad.shape.polygon(512)) < 2e-6
    assert apart(gerbonara_image(text, 256), pad.shape.polygon(256)) < SHARE / 10


def test_forms_side_by_side_do_not_take_each_others_place() -> None:
    """All forms and turns in one file: an aperture mixed up shows as a wrong area."""
    layer = Layer("copper-top", every_form())
    text = gerber_layer(layer, artwork_of(*layer.features))
    assert apart(read_gerber(text).image, layer.area()) < SHARE
    assert apart(gerbonara_image(text), layer.area()) < SHARE


def test_pours_inside_pours_keep_their_holes_and_their_copper() -> None:
    """Three pours in one another, listed from the inside out, with a pad in a hole and a track across a gap."""
    layer = Layer("copper-top", (*nested_pours(), flash(FORMS[0], (22.0, 3.0)), *tracks()))
    text = gerber_layer(layer, artwork_of(*layer.features))
    assert apart(gerbonara_image(text), layer.area()) < SHARE
    read = read_gerber(text)
    assert apart(read.image, layer.area()) < 1e-6
    kinds = [o.kind for o in read.objects]
    assert kinds == sorted(
        kinds, key=["region", "flash", "draw"].index
    )  # nothing is drawn before the last clear region


def test_clear_regions_follow_their_own_pour_at_once() -> None:
    """GLFS 4.10: dark region, then the clear objects in it, then on."""
    order = in_safe_order(list(nested_pours()))
    assert [r.owner.net for r in order] == ["GND", "B", "A"]


def test_overlapping_pours_of_one_net_are_joined_rather_than_erased() -> None:
    """A small pour over the hole of a large one of the same net, listed so that the hole would erase it."""
    small = pour(shapely.box(8, 8, 60, 9))
    ring = pour(shapely.box(7, 7, 12, 12).difference(shapely.box(9, 8.2, 11, 8.8)))
    layer = Layer("copper-top", (small, ring))
    image = read_gerber(gerber_layer(layer, artwork_of(*layer.features))).image
    assert apart(image, layer.area()) < 1e-6


def test_overlapping_pours_of_two_nets_are_refused() -> None:
    """Such copper is a short; writing it would erase one of the two."""
    small = pour(shapely.box(8, 8.3, 90, 8.7), "A")
    ring = pour(shapely.box(8.5, 7, 12, 12).difference(shapely.box(9, 8.2, 11, 8.8)), "B")
    layer = Layer("copper-top", (small, ring))
    with pytest.raises(GerberError, match=r"copper-top: two pours overlap near \("):
        gerber_layer(layer, artwork_of(*layer.features))


def test_corners_nearer_than_a_micrometre_are_cleaned_out() -> None:
    """GLFS 4.14: points that are not the same must be 1 µm apart or more."""
    ragged = shapely.Polygon([(0, 0), (5, 0), (5.0000004, 0.0000003), (5, 5), (0, 5), (0, 0.0000002)])
    layer = Layer("copper-top", (pour(ragged),))
    (region,) = read_gerber(gerber_layer(layer, artwork_of(*layer.features))).objects
    points = shapely.get_coordinates(region.core)
    steps = abs(points[1:] - points[:-1]).max(axis=1)
    assert steps.min() >= 0.001
    assert len(points) == 5


def test_a_layer_with_fifty_parts_comes_back(name: str = "copper-bottom") -> None:
    """A pour with a hundred holes, against the artwork by both readers."""
    layer = fifty_parts().layer("copper-bottom")
    text = gerber_layer(layer, fifty_parts())
    assert apart(gerbonara_image(text), layer.area()) < SHARE
    assert apart(read_gerber(text).image, layer.area()) < 1e-5


def test_profile_is_a_closed_chain_on_the_boards_edge() -> None:
    """GLFS 6.5: the profile's centre line is the edge."""
    artwork = sample_artwork()
    read = read_gerber(gerber_layer(artwork.layer("profile"), artwork))
    assert {o.kind for o in read.objects} == {"draw"}
    (edge,) = shapely.polygonize([o.core for o in read.objects]).geoms
    assert apart(edge, artwork.board.outline) < 1e-7


sizes = st.floats(0.2, 4.0, allow_nan=False)
places = st.tuples(st.floats(-150, 150), st.floats(-150, 150))


@st.composite
def pads(draw: Any) -> Flash:
    """Return a pad of any form that a footprint may have."""
    width, height = draw(sizes), draw(sizes)
    kind = draw(st.sampled_from(["round", "oval", "rectangle", "rounded"]))
    form = PadForm(kind, width, width if kind == "round" else height, min(width, height) * draw(st.floats(0, 0.5)))
    return Flash(form, draw(places), draw(st.floats(-360, 360)), "surface-pad", Owner("A", "U1", "1"))


@settings(max_examples=60, deadline=None)
@given(pads())
def test_any_pad_is_written_true_to_its_exact_area(pad: Flash) -> None:
    """Property: area against Steiner's formula, less what chords lose (4e-4 of a disc)."""
    read = read_gerber(gerber_layer(Layer("copper-top", (pad,)), artwork_of(pad)))
    assert read.image.area == pytest.approx(pad.shape.area(), rel=6e-4, abs=2e-6)
    x0, y0, x1, y1 = read.image.bounds
    assert (x0, y0, x1, y1) == pytest.approx(pad.shape.bounds(), abs=2.5e-3)


def test_region_with_a_bow_tie_is_refused() -> None:
    """GLFS 4.10.3: a contour must not cross itself."""
    bow = Region(shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), "conductor", Owner("A"))
    with pytest.raises(GerberError, match="crosses itself"):
        gerber_layer(Layer("copper-top", (bow,)), artwork_of(bow))
