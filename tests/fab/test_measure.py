"""Figures measured on the artwork, against figures worked out by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.artwork.measure import gaps_by_kind, ring_of, smallest_gap, smallest_hole, smallest_ring, smallest_track
from modboard.artwork.measure import track_length as length_of_tracks
from modboard.artwork.model import Drill, Flash, Owner, Stroke
from modboard.geometry import rectangle
from modboard.library.model import PadForm
from tests.fab.boards import artwork_of, nested_pours, pour, tracks
from tests.sample import TRACKS, sample_artwork, sample_board

ROUND = PadForm("round", 1.0, 1.0)


def pad(x: float, y: float, net: str, form: PadForm = ROUND, turn: float = 0.0) -> Flash:
    """Return a land of a net."""
    return Flash(form, (x, y), turn, "surface-pad", Owner(net, "U1", f"{x}"))


def test_gap_between_round_pads_is_exact() -> None:
    """Pythagoras: centres 5 apart, radii 0.5 each."""
    found = smallest_gap(artwork_of(pad(0, 0, "A"), pad(3, 4, "B")))
    assert found and found.value == pytest.approx(4.0, abs=1e-12)
    assert found.at == pytest.approx((1.5, 2.0))


def test_gap_counts_nets_not_pads() -> None:
    """Copper of one net may touch; only different nets count."""
    found = smallest_gap(artwork_of(pad(0, 0, "A"), pad(0.5, 0, "A"), pad(10, 0, "B")))
    assert found and found.value == pytest.approx(8.5)
    assert smallest_gap(artwork_of(pad(0, 0, "A"), pad(2, 0, "A"))) is None


def test_unconnected_pads_are_nets_of_their_own() -> None:
    """Two no-connect pins of one chip must keep their distance as well."""
    found = smallest_gap(artwork_of(pad(0, 0, ""), pad(1.3, 0, "")))
    assert found and found.value == pytest.approx(0.3)


def test_touching_nets_have_no_gap() -> None:
    """Overlap by 0.4 mm counts as negative."""
    found = smallest_gap(artwork_of(pad(0, 0, "A"), pad(0.6, 0, "B")))
    assert found and found.value == pytest.approx(-0.4)


def test_gaps_are_told_apart_by_kind() -> None:
    """Pad to track, track to track, pour to pour."""
    lines = (
        Stroke(((0.0, 2.0), (9.0, 2.0)), 0.2, "conductor", Owner("B")),
        Stroke(((0.0, 3.0), (9.0, 3.0)), 0.4, "conductor", Owner("C")),
    )
    found = gaps_by_kind(artwork_of(pad(0, 0, "A"), *lines))
    assert {k: e.value for k, e in found.items()} == {
        ("pad", "track"): pytest.approx(2 - 0.5 - 0.1), ("track", "track"): pytest.approx(1 - 0.1 - 0.2),
    }  # fmt: skip
    rings = gaps_by_kind(artwork_of(*nested_pours()))
    assert rings[("region", "region")].value == pytest.approx(0.5, abs=1e-3)  # island of radius 4.5 in a hole 10 high


def test_far_nets_are_measured_as_well() -> None:
    """The search widens until it finds something."""
    found = smallest_gap(artwork_of(pad(0, 0, "A"), pad(150, 0, "B"), pour(shapely.box(0, 100, 1, 101), "A")))
    assert found and found.value == pytest.approx(149.0)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 30), st.floats(0, 30), st.integers(0, 3)), min_size=2, max_size=12))
def test_any_pads_against_a_plain_double_loop(places: list[tuple[float, float, int]]) -> None:
    """Property: the tree search finds what comparing all pairs finds."""
    pads = [Flash(ROUND, (x, y), 0.0, "via-pad", Owner(f"N{n}")) for x, y, n in places]
    pairs = [(a, b) for k, a in enumerate(pads) for b in pads[k + 1 :] if a.owner != b.owner]
    found = smallest_gap(artwork_of(*pads))
    if pairs:
        assert found and found.value == pytest.approx(min(math.dist(a.at, b.at) for a, b in pairs) - 1.0, abs=1e-9)
    else:
        assert found is None


def test_narrowest_track() -> None:
    """Of the three widths 0.25, 0.3 and 0.3."""
    found = smallest_track(artwork_of(*tracks()))
    assert found and found.value == 0.25 and "A on the top" in found.what
    assert smallest_track(artwork_of()) is None


@pytest.mark.parametrize(
    ("land", "drill", "ring"),
    [
        (rectangle((0, 0), 1.6, 1.6, 0.8), Drill((0, 0), 0.8, True, "component-drill"), 0.4),
        (rectangle((0, 0), 1.6, 1.6), Drill((0, 0), 0.8, True, "component-drill"), 0.4),
        (rectangle((0, 0), 1.6, 1.6, 0.8), Drill((0.1, 0), 0.8, True, "component-drill"), 0.3),
        (rectangle((0, 0), 2.2, 3.2, 1.1), Drill((0, -0.5), 1.2, True, "component-drill", to=(0, 0.5)), 0.5),
        (rectangle((0, 0), 3.0, 1.0, 0.5), Drill((0, 0), 0.6, True, "component-drill"), 0.2),
        (rectangle((0, 0), 1.0, 1.0, 0.5), Drill((0.9, 0), 0.6, True, "component-drill"), -0.7),
    ],
)  # fmt: skip
def test_ring_round_a_hole(land: object, drill: Drill, ring: float) -> None:
    """Half of land less hole where they are concentric; less the offset where not; negative where it breaks out."""
    assert ring_of(land, drill) == pytest.approx(ring)  # type: ignore[arg-type]


def test_figures_of_the_sample() -> None:
    """Vias of 1.1 mm with 0.6 mm holes have the narrowest ring, 0.25 mm; tracks add up by hand."""
    ring, hole, bare = (
        smallest_ring(sample_artwork()),
        smallest_hole(sample_artwork()),
        smallest_hole(sample_artwork(), False),
    )
    assert ring and ring.value == pytest.approx(0.25) and hole and hole.value == 0.6 and bare and bare.value == 3.2
    by_hand = sum(math.dist(a, b) for t in TRACKS for a, b in zip(t.points, t.points[1:], strict=False))
    assert length_of_tracks(sample_board()) == pytest.approx(by_hand)
