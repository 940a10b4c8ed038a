"""Sizes of lands, holes and bodies against published tables; the source stands beside each."""

import pytest

from modboard.library import footprint
from modboard.library.sizing import (
    GOALS,
    Level,
    diagonal,
    finished_hole,
    land_diameter,
    least_axial_pitch,
    least_hole,
    least_land,
    surface_lands,
)

# Lead -> finished hole at levels A, B, C by IPC-2222 table 9-5 and land by IPC-2221 9.1 with the IPC-7251 allowance
HOLES_AND_LANDS = [
    ("DIP lead 0.56 x 0.36, MS-001", diagonal(0.56, 0.36), (0.916, 0.866, 0.816), (1.616, 1.466, 1.316)),
    ("square post 0.64", diagonal(0.64, 0.64), (1.155, 1.105, 1.055), (1.855, 1.705, 1.555)),
    ("TO-220 1.01 x 0.61", diagonal(1.01, 0.61), (1.430, 1.380, 1.330), (2.130, 1.980, 1.830)),
    ("round 0.55", 0.55, (0.80, 0.75, 0.70), (1.50, 1.35, 1.20)),
    ("round 0.65", 0.65, (0.90, 0.85, 0.80), (1.60, 1.45, 1.30)),
    ("DO-41 0.86", 0.86, (1.11, 1.06, 1.01), (1.81, 1.66, 1.51)),
    ("DO-201AD 1.32", 1.32, (1.57, 1.52, 1.47), (2.27, 2.12, 1.97)),
]


@pytest.mark.parametrize(("what", "lead", "holes", "lands"), HOLES_AND_LANDS, ids=[row[0] for row in HOLES_AND_LANDS])
def test_holes_and_lands_of_each_level(what, lead, holes, lands):
    for level, hole, land in zip("ABC", holes, lands, strict=True):
        assert least_hole(lead, level) == pytest.approx(hole, abs=0.0006)
        assert least_land(least_hole(lead, level), level) == pytest.approx(land, abs=0.0006)
        ordered = finished_hole(lead, level)
        assert 0 <= ordered - hole < 0.0506
        assert ordered / 0.05 == pytest.approx(round(ordered / 0.05))
        assert land_diameter(ordered, level) >= least_land(ordered, level) - 1e-9


# (name, level) -> hole, land: the table above rounded up to 0.05 by hand, land from the rounded hole
ON_FOOTPRINTS = [
    ("dip-14", "A", 0.95, 1.65),
    ("dip-14", "B", 0.90, 1.50),
    ("dip-14", "C", 0.85, 1.35),
    ("header-1x1", "B", 1.15, 1.75),
    ("resistor-axial-10.16", "A", 0.90, 1.60),
    ("resistor-axial-10.16", "B", 0.85, 1.45),
    ("diode-do41-10.16", "B", 1.10, 1.70),
    ("diode-do201-15.24", "C", 1.50, 2.00),
]


@pytest.mark.parametrize(("name", "level", "hole", "land"), ON_FOOTPRINTS)
def test_footprints_carry_the_computed_sizes(name, level, hole, land):
    pad = footprint(name, level=level).lands[0]
    assert pad.hole is not None
    assert pad.hole.diameter == pytest.approx(hole)
    assert pad.form.width == pytest.approx(land)


# Z, G, X with the fillet goals of IPC-7351B tables 3-5 (chip) and 3-2 (gull wing)
LAND_EQUATIONS = [
    ("chip", ((1.85, 2.15), (0.20, 0.60), (1.10, 1.40)), "A", (3.258, 0.876, 1.508)),
    ("chip", ((1.85, 2.15), (0.20, 0.60), (1.10, 1.40)), "B", (2.858, 0.876, 1.408)),
    ("chip", ((1.85, 2.15), (0.20, 0.60), (1.10, 1.40)), "C", (2.458, 0.876, 1.308)),
    ("gull-wing", ((5.80, 6.20), (0.40, 1.27), (0.31, 0.51)), "A", (7.306, 2.781, 0.622)),
    ("gull-wing", ((5.80, 6.20), (0.40, 1.27), (0.31, 0.51)), "B", (6.906, 2.981, 0.582)),
    ("gull-wing", ((5.80, 6.20), (0.40, 1.27), (0.31, 0.51)), "C", (6.506, 3.181, 0.542)),
]


@pytest.mark.parametrize(("table", "limits", "level", "expected"), LAND_EQUATIONS)
def test_land_equations_at_each_level(table, limits, level: Level, expected):
    lands = surface_lands(*limits, GOALS[table][level])
    assert (lands.outer, lands.inner, lands.width) == pytest.approx(expected, abs=0.0006)


# Level B land width X, length Y, centre distance C by the same equations, package limits by the standard named
LEVEL_B = [
    ("0402 R, makers", "chip-small", ((0.95, 1.05), (0.15, 0.35), (0.45, 0.55)), (0.57, 0.565, 0.907)),
    ("0603 R, makers", "chip", ((1.50, 1.70), (0.15, 0.45), (0.70, 0.95)), (0.96, 0.826, 1.586)),
    ("0603 C, makers", "chip", ((1.45, 1.75), (0.20, 0.50), (0.65, 0.95)), (0.958, 0.911, 1.547)),
    ("0805 C, IEC/EIA 2012", "chip", ((1.80, 2.20), (0.25, 0.75), (1.05, 1.45)), (1.456, 1.158, 1.748)),
    ("1206 R, makers", "chip", ((3.05, 3.35), (0.25, 0.75), (1.45, 1.75)), (1.758, 1.123, 2.935)),
    ("1206 C, EIA 3216", "chip", ((3.00, 3.40), (0.25, 0.75), (1.40, 1.80)), (1.806, 1.158, 2.948)),
    ("SOD-123, makers", "gull-wing", ((3.55, 3.85), (0.25, 0.55), (0.45, 0.65)), (0.722, 1.311, 3.247)),
    ("SOD-323, makers", "gull-wing", ((2.30, 2.70), (0.20, 0.45), (0.25, 0.40)), (0.476, 1.264, 2.142)),
    ("SMA DO-214AC, makers", "inward-l", ((4.80, 5.28), (0.76, 1.52), (1.25, 1.65)), (1.556, 2.208, 4.077)),
    ("MiniMELF, makers", "melf", ((3.30, 3.70), (0.30, 0.50), (1.35, 1.60)), (1.71, 1.128, 3.378)),
    ("tantalum A, EIA 3216-18", "inward-l", ((3.0, 3.4), (0.5, 1.1), (1.1, 1.3)), (1.212, 1.789, 2.617)),
    ("SOT-23, TO-236", "gull-wing", ((2.10, 2.64), (0.40, 0.60), (0.30, 0.50)), (0.57, 1.49, 1.85)),
    ("SOT-23-5, from memory", "gull-wing", ((2.60, 3.00), (0.30, 0.60), (0.30, 0.50)), (0.57, 1.40, 2.305)),
    ("TSSOP, MO-153", "gull-wing", ((6.20, 6.60), (0.45, 0.75), (0.19, 0.30)), (0.38, 1.55, 5.755)),
    ("tantalum B, EIA 3528-21", "inward-l", ((3.3, 3.7), (0.5, 1.1), (2.1, 2.3)), (2.212, 1.789, 2.917)),
    ("tantalum C, EIA 6032-28", "inward-l", ((5.7, 6.3), (1.0, 1.6), (2.1, 2.3)), (2.212, 2.363, 4.941)),
    ("tantalum D, EIA 7343-31", "inward-l", ((7.0, 7.6), (1.0, 1.6), (2.3, 2.5)), (2.412, 2.363, 6.241)),
    ("1210 C, EIA 3225", "chip", ((3.00, 3.40), (0.25, 0.75), (2.30, 2.70)), (2.706, 1.158, 2.948)),
    ("0805 R, makers", "chip", ((1.85, 2.15), (0.20, 0.60), (1.10, 1.40)), (1.408, 0.991, 1.867)),
    ("SOIC-8, MS-012", "gull-wing", ((5.80, 6.20), (0.40, 1.27), (0.31, 0.51)), (0.58, 1.96, 4.944)),
    ("SOIC wide, MS-013", "gull-wing", ((10.00, 10.65), (0.40, 1.27), (0.31, 0.51)), (0.58, 2.05, 9.306)),
]


@pytest.mark.parametrize(("what", "table", "limits", "expected"), LEVEL_B, ids=[row[0] for row in LEVEL_B])
def test_level_b_lands_of_packages(what, table, limits, expected):
    lands = surface_lands(*limits, GOALS[table]["B"])
    assert (lands.width, lands.length, lands.centres) == pytest.approx(expected, abs=0.006)


ROUNDED = [  # package -> level B width, length, centre distance as above, each within the 0.05 rounding of Z, G and X
    ("chip-0603-r", 0.96, 0.826, 1.586),
    ("chip-0603-c", 0.958, 0.911, 1.547),
    ("chip-0805-r", 1.408, 0.991, 1.867),
    ("chip-0805-c", 1.456, 1.158, 1.748),
    ("chip-1206-r", 1.758, 1.123, 2.935),
    ("chip-1206-c", 1.806, 1.158, 2.948),
    ("chip-1210-c", 2.706, 1.158, 2.948),
    ("sod123", 0.722, 1.311, 3.247),
    ("sod323", 0.476, 1.264, 2.142),
    ("sma", 1.556, 2.208, 4.077),
    ("minimelf", 1.71, 1.128, 3.378),
    ("tantalum-a", 1.212, 1.789, 2.617),
    ("tantalum-b", 2.212, 1.789, 2.917),
    ("tantalum-c", 2.212, 2.363, 4.941),
    ("tantalum-d", 2.412, 2.363, 6.241),
]


@pytest.mark.parametrize(("name", "width", "length", "centres"), ROUNDED)
def test_two_terminal_footprints_follow_the_equations(name, width, length, centres):
    first, second = footprint(name).lands
    assert first.form.height == pytest.approx(width, abs=0.026)
    assert first.form.width == pytest.approx(length, abs=0.026)
    assert second.at[0] - first.at[0] == pytest.approx(centres, abs=0.026)


# Pins, wide rows -> row spacing, greatest body length D, width E1 and height A: MS-001, MS-010, MS-011, MS-015
DIP_BODIES = [
    ("dip-4", 7.62, 5.1, 7.0, 4.0),  # opto-isolator outline, from memory
    ("dip-6", 7.62, 8.9, 6.6, 5.1),  # opto-isolator outline, from memory
    ("dip-8", 7.62, 10.16, 7.11, 5.33),  # MS-001 BA
    ("dip-14", 7.62, 19.69, 7.11, 5.33),  # MS-001
    ("dip-16", 7.62, 19.69, 7.11, 5.33),  # MS-001
    ("dip-18", 7.62, 23.37, 7.11, 5.33),  # MS-001 AC
    ("dip-20", 7.62, 26.92, 7.11, 5.33),  # MS-001 AD
    ("dip-22", 10.16, 28.4, 9.7, 5.33),  # MS-010
    ("dip-24", 7.62, 32.51, 7.11, 5.33),  # MS-001 AF
    ("dip-28", 7.62, 35.6, 7.5, 5.33),  # MS-015
    ("dip-24-wide", 15.24, 32.8, 14.73, 6.35),  # MS-011 AA
    ("dip-28-wide", 15.24, 39.75, 14.73, 6.35),  # MS-011 AB
    ("dip-32-wide", 15.24, 42.4, 14.7, 6.35),  # from memory of makers' outlines
    ("dip-40-wide", 15.24, 53.2, 14.73, 6.35),  # MS-011 AC
]


@pytest.mark.parametrize(("name", "row", "length", "width", "height"), DIP_BODIES)
def test_dip_outlines(name, row, length, width, height):
    part = footprint(name)
    pins = len(part.lands)
    (body,) = part.bodies
    xs, ys = zip(*body.outline, strict=True)
    assert max(xs) - min(xs) == pytest.approx(width)
    assert max(ys) - min(ys) == pytest.approx(length)
    assert body.height == height
    assert part.lands[-1].at == pytest.approx((row, 0.0))  # the last pin faces pin 1
    assert part.lands[1].at == pytest.approx((0.0, -2.54))  # MS-001: pitch 2.54, numbers run down the left side
    assert part.lands[pins // 2].at == pytest.approx((row, part.lands[pins // 2 - 1].at[1]))  # and up the right


def test_socket_stands_chip_above_its_frame():
    # sockets with stamped contacts are 4.5-5.1 high, bodies n/2 x 2.54 long and row + 2.54 wide (makers' series);
    # the chip of MS-011 adds 6.35
    part = footprint("dip-28-wide-socket")
    assert part.height == pytest.approx(5.1 + 6.35)
    frame = [b for b in part.bodies if b.above == 0]
    xs = [x for b in frame for x, _ in b.outline]
    ys = [y for b in frame for _, y in b.outline]
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((15.24 + 2.54, 14 * 2.54))
    assert {b.above for b in part.bodies} == {0.0, 5.1}


# body length, lead diameter, the pitch that the trade uses for it (makers' taping charts): bend rule of IPC-A-610
AXIAL = [(3.5, 0.45, 7.62), (6.5, 0.65, 10.16), (9.0, 0.65, 12.70), (11.5, 0.70, 15.24), (15.5, 0.80, 20.32)]


@pytest.mark.parametrize(("body", "lead", "pitch"), AXIAL)
def test_bend_rule_agrees_with_the_usual_pitches(body, lead, pitch):
    assert least_axial_pitch(body, lead) <= pitch
    assert least_axial_pitch(body, lead) > pitch - 2.54  # the next smaller step of the grid would be too short


# Nominal diameter, height -> pitch, lead: electrolytic makers' data sheets; can at most 0.5 wider and 1.5 higher
ELECTROLYTICS = [
    (4, 7, 1.5, 0.45),
    (5, 11, 2.0, 0.5),
    (6.3, 11, 2.5, 0.5),
    (8, 11.5, 3.5, 0.6),
    (10, 16, 5.0, 0.6),
    (12.5, 20, 5.0, 0.6),
    (16, 25, 7.5, 0.8),
    (18, 35.5, 7.5, 0.8),
]


@pytest.mark.parametrize(("diameter", "height", "pitch", "lead"), ELECTROLYTICS)
def test_electrolytic_cans(diameter, height, pitch, lead):
    part = footprint(f"electrolytic-{diameter}x{height}-{pitch}")
    assert part.lands[1].at[0] - part.lands[0].at[0] == pytest.approx(pitch)
    assert part.lands[0].lead == pytest.approx(lead)
    assert part.height == pytest.approx(height + 1.5)
    ys = [y for _, y in part.bodies[0].outline]
    assert max(ys) - min(ys) == pytest.approx(diameter + 0.5, abs=0.01)


def test_sot223_makers_lands():
    # SOT-223 data sheets: lands 1.2 x 1.6 and tab 3.3 x 1.6, rows 6.40 apart, e 2.30, tab joined to the middle pin
    part = footprint("sot223")
    first, second, _, tab = part.lands
    assert tab.at[1] - first.at[1] == pytest.approx(6.40)
    assert (first.form.width, first.form.height) == pytest.approx((1.2, 1.6))
    assert (tab.form.width, tab.form.height) == pytest.approx((3.3, 1.6))
    assert second.at[0] - first.at[0] == pytest.approx(2.30)
    assert tab.number == "2"


def test_sot23_both_patterns():
    # TO-236 by IPC-7351B table 3-2: 0.57 x 1.49, rows 1.85; makers print 0.8 x 0.9, rows 2.0; e 0.95
    for name, width, length, rows in (("sot23", 0.57, 1.49, 1.85), ("sot23-maker", 0.8, 0.9, 2.0)):
        first, second, third = footprint(name).lands
        assert (first.form.width, first.form.height) == pytest.approx((width, length), abs=0.026)
        assert third.at[1] - first.at[1] == pytest.approx(rows, abs=0.026)
        assert second.at[0] - first.at[0] == pytest.approx(2 * 0.95)


def test_plcc_lands_reach_as_far_as_the_j_lead_table_asks():
    # MS-016, 12.32-12.57 x 14.86-15.11 over the leads; IPC-7351B table 3-4, level B: overall + 2 x 0.35 + tolerance
    part = footprint("plcc-32")
    x0, y0, x1, y1 = zip(*(land.form.shape(land.at).bounds() for land in part.lands), strict=True)
    tolerance = (0.25**2 + 0.05**2 + 0.05**2) ** 0.5
    assert max(x1) - min(x0) == pytest.approx(12.32 + 0.70 + tolerance, abs=0.026)
    assert max(y1) - min(y0) == pytest.approx(14.86 + 0.70 + tolerance, abs=0.026)
    at = {land.number: land.at for land in part.lands}
    assert len(at) == 32
    assert at["1"][0] == 0.0 and at["1"][1] > 0  # pin 1 in the middle of the upper side, MS-016
    assert at["2"] == pytest.approx((-1.27, at["1"][1]))  # counter-clockwise seen from the top, pitch 1.27
    assert at["5"][0] < 0 and at["14"][1] < 0 and at["21"][0] > 0
    assert at["13"][1] == pytest.approx(-at["5"][1])


# what the package limits are made of: width and depth over the bodies, greatest height
OUTLINES = [
    ("to39", 9.40, 7.1),  # TO-205AD, MIL-PRF-19500: flange 8.51-9.40, can 6.1-6.6 high and 0.5 of seat
    ("to18", 5.84, 8.3),  # TO-206AA from memory: flange 5.31-5.84, can to 5.3, and leads spread under it, 3 mm
    ("to18-circle", 5.84, 6.3),
]


@pytest.mark.parametrize(("name", "flange", "height"), OUTLINES)
def test_metal_cans(name, flange, height):
    part = footprint(name)
    xs = [x for x, _ in part.bodies[0].outline]
    assert max(xs) - min(xs) == pytest.approx(flange, abs=0.1)
    assert part.height == pytest.approx(height)


def test_metal_can_leads_stand_on_their_circle():
    # leads on a circle, 90 degrees apart, E B C clockwise from the tab seen from below (lead 1 E, 2 B, 3 C)
    for name, circle in (("to39", 5.08), ("to18-circle", 2.54), ("to18", 5.08)):
        at = {land.number: land.at for land in footprint(name).lands}
        assert at["3"][0] - at["1"][0] == pytest.approx(circle)
        assert at["2"] == pytest.approx((circle / 2, -circle / 2))
        tab = footprint(name).bodies[1].outline
        assert max(x for x, _ in tab) < circle / 2 and min(y for _, y in tab) > 0  # upper left, by pin 1


# thread -> clearance hole ISO 273 medium, washer ISO 7089 (from memory)
SCREWS = [("m2", 2.4, 5.0), ("m2.5", 2.9, 6.0), ("m3", 3.4, 7.0), ("m3.5", 3.9, None), ("m4", 4.5, 9.0)]


@pytest.mark.parametrize(("thread", "hole", "washer"), SCREWS)
def test_screw_holes(thread, hole, washer):
    bare, plated = footprint(f"mounting-hole-{thread}"), footprint(f"mounting-hole-{thread}-plated")
    assert not bare.lands and bare.holes[0].diameter == hole and not bare.holes[0].plated
    assert plated.lands[0].hole is not None and plated.lands[0].hole.diameter == hole
    if washer:
        assert plated.lands[0].form.width == washer


def test_card_edge_fingers():
    # EISA and ISA recommendation: fingers 1.575 x 7.62 at 2.54; at 3.96 the gap is never below 1.0
    finger = footprint("card-edge-31").lands
    assert (finger[0].form.width, finger[0].form.height) == (1.575, 7.62)
    assert finger[1].at[0] == pytest.approx(2.54)
    wide = footprint("card-edge-22-3.96").lands
    assert wide[1].at[0] == pytest.approx(3.96)
    assert 2.4 <= wide[0].form.width <= 2.8 and 8 <= wide[0].form.height <= 10
    assert wide[1].at[0] - wide[0].form.width >= 1.0


def test_dip_switches_are_a_little_shorter_than_their_pitch():
    # makers' data sheets: 2.54 n - 0.10 long, rows 7.62
    for ways in (1, 4, 8, 10):
        part = footprint(f"dip-switch-{ways}")
        ys = [y for _, y in part.bodies[0].outline]
        assert max(ys) - min(ys) == pytest.approx(2.54 * ways - 0.10)
        assert len(part.lands) == 2 * ways and part.lands[-1].at == pytest.approx((7.62, 0.0))


def test_d_connectors():
    # DIN 41652 (from memory): columns 2.77, rows 2.84, screws 24.99, 33.32 and 47.04 apart; a plug's face shows pin 1
    # on the left, a socket's on the right, longer row up, so behind
    for pins, screws in ((9, 24.99), (15, 33.32), (25, 47.04)):
        for plug in ("", "-plug"):
            part = footprint(f"d-sub-{pins}{plug}")
            at = [land.at for land in part.lands]
            assert len(at) == pins
            assert abs(at[1][0] - at[0][0]) == pytest.approx(2.77)
            assert (at[1][0] > at[0][0]) == (plug == "-plug")
            assert at[0][1] - at[-1][1] == pytest.approx(2.84)
            assert part.holes[1].at[0] - part.holes[0].at[0] == pytest.approx(screws)


# sizes a person measures -> where the pins then are
MEASURED = [
    ("phono-jack-5.5", [(0, 0), (0, -5.5)]),
    ("phono-jack-4.5-10", [(0, 0), (-5, -4.5), (5, -4.5)]),
    ("dc-jack-6.5-4.8", [(0, 0), (0, -6.5), (4.8, -3.25)]),
    ("jack-3.5mm-6.5-5.0", [(0, 0), (-2.5, 6.5), (2.5, 6.5)]),
    ("screw-terminal-2-3.5", [(0, 0), (3.5, 0)]),
]


@pytest.mark.parametrize(("name", "at"), MEASURED)
def test_jacks_follow_the_sizes_measured(name, at):
    part = footprint(name)
    assert [land.at for land in part.lands] == [pytest.approx(p) for p in at]
    assert part.measure_yours
