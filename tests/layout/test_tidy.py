"""Tidying: octilinear links by arithmetic, and tidy boards that are as joined and as clear as before."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from modboard.describe.model import Description, Net, Part
from modboard.layout.board import PlacedPart, Track
from modboard.layout.route.paths import straightened
from modboard.layout.route.tidy import links, octilinear, tidied
from tests import sample

COORDINATE = st.integers(-40_000, 40_000).map(lambda v: v / 1000)


@given(COORDINATE, COORDINATE, COORDINATE, COORDINATE)
def test_links_have_octile_length(ax: float, ay: float, bx: float, by: float) -> None:
    # The shortest path of straight and 45° pieces: max + (√2 - 1) min of the two offsets (octile distance).
    dx, dy = abs(bx - ax), abs(by - ay)
    octile = max(dx, dy) + (math.sqrt(2) - 1) * min(dx, dy)
    for link in links((ax, ay), (bx, by)):
        length = sum(math.dist(p, q) for p, q in itertools.pairwise(link))
        if all(octilinear(p, q) for p, q in itertools.pairwise(link)):
            assert length == pytest.approx(octile, abs=2e-5)
        else:
            assert len(link) == 2
            assert length <= octile + 1e-9


def pair(points: tuple[tuple[float, float], ...], blocker: tuple[float, float] | None = None) -> tuple[Track, ...]:
    """Tidy one track between the facing pads of two chips; optionally a third chip stands in the way."""
    places = [(5.0, 10.0), (25.0, 10.0)] + ([blocker] if blocker else [])
    placed = tuple(
        PlacedPart(Part(f"C{k}", "test", None, "", sample.chip(), sample.SITE), at, 0.0) for k, at in enumerate(places)
    )
    nets = (Net("A", (("C0", "2"), ("C1", "1")), sample.SITE, 0.25, 0.25),)
    description = Description(
        "tidy", "", "A", tuple(p.part for p in placed), nets, (), {}, (), None, shapely.box(0, 0, 30, 20), (),
        sample.sample_rules(),
    )  # fmt: skip
    return tidied(description, placed, (Track("A", "top", points, 0.25),), ())


START, END = (5.95, 10.0), (24.05, 10.0)


def test_a_needless_detour_becomes_a_straight_line() -> None:
    (track,) = pair((START, (8.0, 12.0), (20.0, 12.0), (22.0, 10.0), END))
    assert track.points == (START, END)


def test_a_needed_detour_stays_and_keeps_its_distance() -> None:
    (track,) = pair((START, (8.0, 13.0), (21.0, 13.0), END), blocker=(15.0, 10.0))
    assert len(track.points) > 2
    for at in (14.05, 15.95):
        land = sample.chip().lands[0].form.shape((at, 10.0))
        assert track.shape.distance(land) >= 0.25 - 1e-9
    before = math.dist(START, (8.0, 13.0)) + 13.0 + math.dist((21.0, 13.0), END)
    after = sum(math.dist(p, q) for p, q in zip(track.points[:-1], track.points[1:], strict=True))
    assert after < before


@given(st.lists(st.tuples(st.integers(-3, 3), st.integers(-3, 3)), min_size=2, max_size=9))
def test_straightening_keeps_the_same_copper(points: list[tuple[int, int]]) -> None:
    given_points = [(float(x), float(y)) for x, y in points]
    kept = straightened(given_points)
    if len(kept) < 2:
        assert len(set(given_points)) == 1
        return
    before = shapely.LineString(given_points) if len(set(given_points)) > 1 else shapely.Point(given_points[0])
    assert before.hausdorff_distance(shapely.LineString(kept)) < 1e-9
    assert kept[0] == given_points[0]
    assert kept[-1] == given_points[-1]
