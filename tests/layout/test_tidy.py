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
from modboard.layout.route.bends import links, octilinear
from modboard.layout.route.paths import straightened
from modboard.layout.route.tidy import tidied
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


def three(points: tuple[tuple[float, float], ...], third: tuple[float, float]) -> list[Track]:
    """Tidy a branch from a third pin to the track that joins two pins (at 20, 4 and 20, 16), 0.25 mm wide."""
    kinds = (("J0", (20.0, 4.0)), ("J1", (20.0, 16.0)), ("J2", third))
    placed = tuple(
        PlacedPart(Part(name, "test", None, "", sample.header(1), sample.SITE), at, 0.0) for name, at in kinds
    )
    nets = (Net("A", (("J0", "1"), ("J1", "1"), ("J2", "1")), sample.SITE, 0.25, 0.25),)
    description = Description(
        "tidy", "", "A", tuple(p.part for p in placed), nets, (), {}, (), None, shapely.box(0, 0, 30, 20), (),
        sample.sample_rules(),
    )  # fmt: skip
    trunk = Track("A", "top", ((20.0, 4.0), (20.0, 16.0)), 0.25)
    return list(tidied(description, placed, (trunk, Track("A", "top", points, 0.25)), ()))


# Common practice, from memory: tracks leave lands from their middles and meet each other at right angles.


def test_a_branch_that_ends_beside_a_land_is_led_to_its_middle() -> None:
    _, branch = three(((6.0, 16.0), (6.7, 15.3), (20.0, 15.3)), third=(6.0, 16.0))
    assert branch.points == ((6.0, 16.0), (20.0, 16.0))


@pytest.mark.parametrize("end", [(20.0, 12.0), (20.0, 8.0)])
def test_a_branch_meets_a_track_at_a_right_angle(end: tuple[float, float]) -> None:
    aside = abs(end[1] - 10.0)
    _, branch = three(((6.0, 10.0), (20.0 - aside, 10.0), end), third=(6.0, 10.0))
    assert branch.points == ((6.0, 10.0), (20.0, 10.0))


@pytest.mark.parametrize("aside", [0.5, 0.7, 0.75])
def test_a_track_bends_outside_the_lands_it_leaves(aside: float) -> None:
    _, branch = three(((6.0, 4.0 + aside), (20.0 - aside, 4.0 + aside), (20.0, 4.0)), third=(6.0, 4.0 + aside))
    for land, bend in ((branch.points[0], branch.points[1]), (branch.points[-1], branch.points[-2])):
        assert math.dist(land, bend) > 1.7 / 2  # the land's radius: it leaves on a line through the middle
    assert branch.points[-1] == (20.0, 4.0)
