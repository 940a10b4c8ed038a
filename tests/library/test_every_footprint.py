"""What must hold for every footprint of the library, at every level, and for the parametric ones at every size."""

import math
from dataclasses import replace
from functools import cache

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from modboard.errors import LibraryError
from modboard.geometry import turn_point
from modboard.library import footprint, footprint_names
from modboard.library.model import Footprint

# the figures below are those of the easy tier of published capability tables: legend line 0.15, legend to exposed
# copper 0.15, mask expansion 0.10, gap 0.25
LEGEND_LINE = 0.15
LEGEND_TO_COPPER = 0.15
MASK_EXPANSION = 0.10
GAP = 0.25

SETTINGS = [("A", 0.0), ("B", 0.0), ("C", 0.0), ("A", 2.0)]
everywhere = pytest.mark.parametrize(("level", "land_min"), SETTINGS)


@cache
def drawer(level: str, land_min: float) -> tuple[Footprint, ...]:
    """Every footprint that can be made with these settings."""
    return tuple(footprint(n, level=level, land_min=land_min) for n in footprint_names())


def closest_pair(part: Footprint) -> float:
    """Least gap between two lands on one side, but for those that share a number."""
    shapes = [(land, land.form.shape(land.at)) for land in part.lands]
    pairs = ((a, b) for i, a in enumerate(shapes) for b in shapes[i + 1 :])
    apart = (a.distance(b) for (one, a), (other, b) in pairs if one.number != other.number and one.meets(other))
    return min(apart, default=9.0)


def printed(part: Footprint) -> list[Polygon]:
    return [LineString(line).buffer(LEGEND_LINE / 2) for line in (*part.legend, *part.mark)]


def test_the_drawer_is_filled():
    # the families that the bench needs, by their plain names
    wanted = {
        "resistor-axial-10.16", "resistor-upright-2.54", "diode-do35-7.62", "diode-do41-10.16", "capacitor-disc-2.54",
        "capacitor-film-5", "electrolytic-5x11-2.0", "to92", "to92-inline-1.27", "to220", "to220-flat", "dip-6",
        "dip-28-wide", "dip-28-wide-socket", "dip-40-wide", "header-1x1", "header-1x40", "header-2x40",
        "socket-strip-1x40", "wire-pad-24awg", "wire-pads-1x4", "led-3mm", "led-5mm", "trimmer-multiturn",
        "crystal-hc49", "crystal-hc49-low", "screw-terminal-2", "chip-0603-r", "chip-0603-c", "chip-0805-r",
        "chip-0805-c", "chip-1206-r", "chip-1206-c", "sot23", "sot223", "soic-8", "soic-14", "soic-16", "dc-jack",
        "phono-jack", "host-plug-24-wide",
    }  # fmt: skip
    assert wanted <= set(footprint_names())


@everywhere
def test_lands_keep_their_gap(level, land_min):
    # mask web 0.20 and expansion 0.10 of the easy tier, 0.15 and 0.075 of the standard one, copper gap 0.25 at level C
    gap = {"A": 0.40, "B": 0.30, "C": 0.25}[level]
    tight = {p.name: closest_pair(p) for p in drawer(level, land_min) if closest_pair(p) < gap - 1e-6}
    assert {name for name in tight if not footprint(name).exception} == set()
    assert all(found >= GAP - 1e-6 for found in tight.values())
    assert len(tight) <= len(footprint_names()) / 15


@everywhere
def test_rings_are_those_of_the_capability_tables(level, land_min):
    # component ring 0.35 (easy tier; 0.30 where pins are so near that a track would not pass), 0.25 (standard),
    # 0.20 (reduced); IPC-2221 table 9-2 asks for 0.05 at least
    least = {"A": 0.35 if land_min else 0.30, "B": 0.25, "C": 0.20}[level]
    for part in drawer(level, land_min):
        for land in part.lands:
            if land.hole is None:
                continue
            copper, opening = land.form.shape(land.at).bounds(), land.hole.shape().bounds()
            ring = min(opening[0] - copper[0], opening[1] - copper[1], copper[2] - opening[2], copper[3] - opening[3])
            assert ring >= (0.05 if part.exception else least) - 1e-6, (part.name, land.number, ring)


def test_exceptions_are_few_and_say_why():
    assert {n: footprint(n).exception for n in footprint_names() if footprint(n).exception}.keys() == {
        "electrolytic-4x7-1.5", "to126", "to18-circle", "to92-inline-1.27",
        *(name for name in footprint_names() if name.startswith(("castellated", "plcc-socket", "tssop"))),
    }  # fmt: skip


def test_a_track_passes_between_pins_at_2_54():
    # 0.25 track and two 0.25 gaps: lands in a row at 2.54 may be 2.54 - 0.75 = 1.79 wide
    checked = 0
    for level in "ABC":
        for part in drawer(level, 0.0):
            if not part.name.startswith(
                ("dip-", "header-", "socket-strip", "host-plug", "wire-pads", "to92", "trimmer")
            ):
                continue
            for i, a in enumerate(part.lands):
                for b in part.lands[i + 1 :]:
                    if math.dist(a.at, b.at) == pytest.approx(2.54):
                        assert a.form.shape(a.at).distance(b.form.shape(b.at)) >= 0.75 - 1e-6, part.name
                        checked += 1
    assert checked > 500


def test_home_etching_gets_big_lands():
    # lands of 2.0 for hand-drilled 0.8-1.0 holes (common practice), oval where the pitch leaves less than a 0.4 gap
    for part in drawer("A", 2.0):
        for land in part.lands:
            if land.hole is None:
                continue
            if not part.name.startswith(
                ("to18-circle", "plcc-socket", "castellated-1x8-2")
            ):  # their exceptions say why
                assert max(land.form.width, land.form.height) >= 2.0 - 1e-9, part.name
        if part.technology == "through-hole":
            assert closest_pair(part) >= 0.4 - 1e-6, part.name
    electrolytic = footprint("electrolytic-5x11-2.0", level="A", land_min=2.0)
    assert [(p.form.width, p.form.height) for p in electrolytic.lands] == [(1.6, 2.0), (1.6, 2.0)]


@everywhere
def test_legend_and_mark_keep_off_the_lands(level, land_min):
    for part in drawer(level, land_min):
        for land in part.lands:
            opening = land.form.shape(land.at).grown(MASK_EXPANSION)
            for line in (*part.legend, *part.mark):
                gap = shapely.distance(LineString(line), opening.core) - opening.radius - LEGEND_LINE / 2
                assert gap >= LEGEND_TO_COPPER - 1e-6, (part.name, land.number, gap)
        for hole in part.holes:
            assert all(shapely.distance(p, hole.shape().polygon()) >= 0.1 for p in printed(part)), part.name


@everywhere
def test_mark_is_seen_after_fitting_and_belongs_to_pad_1(level, land_min):
    marked = 0
    for part in drawer(level, land_min):
        assert part.polarised == bool(part.mark), part.name
        if not part.mark:
            continue
        marked += 1
        bodies = shapely.union_all([Polygon(b.outline) for b in part.bodies])
        mark = shapely.union_all([LineString(line).buffer(LEGEND_LINE / 2) for line in part.mark])
        assert mark.distance(bodies) >= 0.1, part.name
        by_distance = sorted(part.lands, key=lambda land: land.form.shape(land.at).polygon().distance(mark))
        assert by_distance[0].number == part.lands[0].number in ("1", "A1"), part.name
    assert marked > 60


def test_parts_that_can_be_fitted_wrong_are_marked():
    for name in footprint_names():
        if name.startswith("dip-switch") or name == "host-pin":
            continue  # turned about, the one works as before; the other has one pin only
        if name.startswith(("diode", "electrolytic", "led", "dip", "soic", "sot", "to92", "to220", "sod", "host")):
            assert footprint(name).polarised, name


@everywhere
def test_courtyard_contains_everything(level, land_min):
    for part in drawer(level, land_min):
        yard = Polygon(part.courtyard)
        assert yard.is_valid, part.name
        if part.bridge:  # a bare wire keeps others off no more than its own breadth
            assert all(yard.covers(Polygon(b.outline)) for b in part.bodies)
            continue
        inside = [land.form.shape(land.at).polygon() for land in part.lands]
        inside += [Polygon(b.outline) for b in part.bodies] + printed(part)
        inside += [h.kept_off(0.0).polygon() for h in part.holes]  # with what its screw covers
        if part.edge == "halved":  # the board, and with it the courtyard, ends at y = 0
            inside = [shape.intersection(shapely.box(-9, 0, 200, 200)) for shape in inside]
        assert all(yard.buffer(1e-6).covers(shape) for shape in inside), part.name
        # IPC-7351B: at least 0.10 beyond lands and bodies at level C
        hull = shapely.union_all(inside[: len(part.lands) + len(part.bodies)]).bounds
        beyond = [abs(a - b) for a, b in zip(yard.bounds, hull, strict=True)]
        assert all(b >= 0.1 - 1e-6 for k, b in enumerate(beyond) if not (part.edge == "halved" and k == 1)), part.name


@everywhere
def test_every_footprint_says_where_it_comes_from(level, land_min):
    for part in drawer(level, land_min):
        assert part.source and part.title and part.family, part.name
        assert part.bodies and part.height > 0, part.name
        assert all(b.height > b.above >= 0 for b in part.bodies), part.name
        assert (part.lead_below > 0) == (part.technology == "through-hole"), part.name
        half_holes = part.family == "castellated"  # no lead goes through them
        assert half_holes or all(land.hole is None or land.lead is not None for land in part.lands), part.name


def test_nobody_buys_or_solders_bare_copper():
    # "none": left out of parts list, positions and paste
    bare = {n for n in footprint_names() if footprint(n).technology == "none"}
    assert {"fiducial-1.0", "test-point-1.5", "solder-jumper", "card-edge-10", "mounting-hole-m3"} <= bare
    assert all(land.hole is None for name in bare for land in footprint(name).lands)
    assert not bare & {"dip-14", "sot23", "mounting-hole-m3-plated", "test-point-loop", "wire-pad"}


def test_the_drawer_is_large():
    # what a well-filled drawer was asked to hold: 200 patterns of 45 families
    assert len(footprint_names()) >= 200
    assert len({footprint(name).family for name in footprint_names()}) >= 45


def test_pad_1_is_square_where_it_matters():
    for name in ("dip-14", "header-2x5", "diode-do41-10.16", "electrolytic-8x11.5-3.5", "led-5mm", "to92"):
        forms = [land.form.form for land in footprint(name).lands]
        assert forms[0] == "rectangle" and "rectangle" not in forms[1:], name


def test_host_plug_hangs_below_and_lines_up_with_its_socket():
    plug, socket = footprint("host-plug-24-wide"), footprint("dip-24-wide")
    assert plug.underside and not socket.underside
    assert [p.at for p in plug.lands] == [p.at for p in socket.lands]
    assert plug.height <= 1.0
    assert plug.lead_below > 3.0


def test_host_plug_clears_an_offset_socket():
    # the plug centred lengthwise under the longer socket and one 2.54 step to its left: its joints stand outside the
    # left rail and inside the right one
    plug, socket = footprint("host-plug-24-wide"), footprint("dip-28-wide-socket")
    for a in plug.lands:
        for b in socket.lands:
            assert a.form.shape(a.at).distance(b.form.shape((b.at[0] + 2.54, b.at[1] + 2.54))) >= GAP
    joints = [Polygon(b.outline) for b in plug.bodies]
    frame = [translate(Polygon(b.outline), 2.54, 2.54) for b in socket.bodies if b.above == 0]
    assert not any(j.intersects(f) for j in joints for f in frame)


def turned(part: Footprint, angle: float) -> Footprint:
    """The part with its land positions turned (the forms turn with them)."""
    return replace(part, lands=tuple(replace(p, at=turn_point(p.at, angle)) for p in part.lands))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(footprint_names()), st.floats(0, 360), st.data())
def test_turning_keeps_distances(name, angle, data):
    part = footprint(name)
    if not part.lands:
        return
    after = turned(part, angle)
    i = data.draw(st.integers(0, len(part.lands) - 1))
    for k, land in enumerate(part.lands):
        before = land.form.shape(land.at).distance(part.lands[i].form.shape(part.lands[i].at))
        a, b = after.lands[k], after.lands[i]
        assert a.form.shape(a.at, angle).distance(b.form.shape(b.at, angle)) == pytest.approx(before, abs=1e-6)


@settings(max_examples=80, deadline=None)
@given(
    st.integers(1, 60), st.booleans(), st.booleans(), st.sampled_from(["A", "B", "C"]), st.sampled_from([0.0, 1.8, 2.0])
)
def test_dip_takes_its_range_and_nothing_else(pins, wide, socket, level, land_min):
    name = f"dip-{pins}{'-wide' if wide else ''}{'-socket' if socket else ''}"
    narrow_rows, wide_rows = {*range(4, 30, 2)}, {24, 28, 30, 32, 34, 36, 38, 40}
    if pins not in (wide_rows if wide else narrow_rows):
        with pytest.raises(LibraryError, match=f'no footprint "{name}"') as caught:
            footprint(name, level=level)
        assert "\n" not in str(caught.value)
        return
    part = footprint(name, level=level, land_min=land_min)
    assert part.numbers() == tuple(str(k + 1) for k in range(pins))
    assert closest_pair(part) >= GAP


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 50), st.integers(0, 3))
def test_headers_take_1_to_40(columns, rows):
    name = f"header-{rows}x{columns}"
    if 1 <= columns <= 40 and rows in (1, 2):
        part = footprint(name)
        assert len(part.lands) == rows * columns
        assert closest_pair(part) > 0.7
    else:
        with pytest.raises(LibraryError, match=r"rows must be one of 1 2|columns must be 1 to 40"):
            footprint(name)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([4, 5, 6.3, 8, 10, 12.5, 16, 18, 22, 25, 7, 30]),
    st.integers(3, 55),
    st.sampled_from([1.5, 2.0, 2.5, 3.5, 5.0, 7.5, 10.0, 12.5, 4.0]),
    st.sampled_from(SETTINGS),
)
def test_electrolytics_take_the_cans_that_are_made(diameter, height, pitch, setting):
    name = f"electrolytic-{diameter}x{height}-{pitch}"
    # makers' series: the can's own pitch, or leads formed to 2.5 or 5.0 for small ones
    own = {4: 1.5, 5: 2.0, 6.3: 2.5, 8: 3.5, 10: 5.0, 12.5: 5.0, 16: 7.5, 18: 7.5, 22: 10.0, 25: 12.5}
    formed = (
        {2.0, 2.5, 5.0} if diameter == 4 else {2.5, 5.0} if diameter == 5 else {5.0} if diameter in (6.3, 8) else set()
    )
    if diameter in own and 5 <= height <= 50 and pitch in {own[diameter], *formed}:
        part = footprint(name, level=setting[0], land_min=setting[1])
        assert part.height == height + 1.5
        assert closest_pair(part) >= GAP - 1e-6
        assert part.mark
    else:
        with pytest.raises(LibraryError, match=f'no footprint "{name}"'):
            footprint(name)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 30.0).map(lambda v: round(v, 2)), st.integers(1, 8), st.sampled_from(["A", "B", "C"]))
def test_wire_pads_take_pitches_from_2_54(pitch, count, level):
    name = f"wire-pads-1x{count}-{pitch:g}"
    if 2.54 <= pitch <= 20:
        part = footprint(name, level=level)
        if count > 1:
            assert part.lands[1].at[0] == pytest.approx(pitch)
            assert closest_pair(part) >= GAP
    else:
        with pytest.raises(LibraryError, match=r"pitch must be 2\.54 to 20"):
            footprint(name, level=level)
