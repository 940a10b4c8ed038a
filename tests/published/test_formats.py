"""Check values of the file formats, worked out from their specifications and not from our code."""

from __future__ import annotations

import hashlib
import re

import pytest

from modboard.fab.gerber_adapter import LayerWriter
from modboard.fab.netlist_columns import TestRecord, chains, net_names
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.macros import macro_shape, value_of
from modboard.fab.readback.netlist import read_netlist
from modboard.fab.readback.trouble import ReadError

# --- Gerber: Ucamco, Gerber Layer Format Specification (GLFS)

HEAD = "%FSLAX46Y46*%%MOMM*%%ADD10C,1*%D10*X0Y0D03*"


@pytest.mark.parametrize("line_end", ["", "\n", "\r\n"])
def test_md5_leaves_line_ends_out(line_end: str) -> None:
    """GLFS 5.6.9; the digest of this text is e9014517f8599a3233724c2140b049f2 (computed with coreutils' md5sum)."""
    text = HEAD.replace("*%%", f"*%{line_end}%").replace("%D", f"%{line_end}D")
    assert (
        read_gerber(f"{text}{line_end}%TF.MD5,e9014517f8599a3233724c2140b049f2*%{line_end}M02*").checksum_holds is True
    )
    wrong = text.replace("X0Y0", "X1Y0")
    assert read_gerber(f"{wrong}%TF.MD5,e9014517f8599a3233724c2140b049f2*%M02*").checksum_holds is False


def test_our_files_carry_the_md5_of_their_own_bytes() -> None:
    """GLFS 5.6.9, by hashlib over everything before the command."""
    writer = LayerWriter(((".Part", ("Single",)),))
    writer.draw([(0.0, 0.0), (1.0, 0.0)], 0.25, "Conductor")
    body, digest = re.fullmatch(r"(.*)%TF\.MD5,(\w{32})\*%\nM02\*\n", writer.text(), re.DOTALL).groups()  # type: ignore[union-attr]
    assert hashlib.md5(body.replace("\n", "").encode()).hexdigest() == digest


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("1.5x2", 3.0),
        ("$1+$2x$3", 7.0),
        ("($1+$2)x$3", 9.0),
        ("$3/$2-$1", 0.5),
        ("-$2+5", 3.0),
        ("$9", 0.0),
        ("6/3/2", 1.0),
    ],
)
def test_macro_arithmetic(expression: str, value: float) -> None:
    """GLFS 4.5.4: + - x / with the usual precedence, brackets, undefined variables are 0; here $1=1, $2=2, $3=3."""
    assert value_of(expression, {1: 1.0, 2: 2.0, 3: 3.0}) == pytest.approx(value)


def test_macro_primitives_turn_about_the_macros_origin() -> None:
    """GLFS 7.1, a classic fault: a centre line at (1, 0) turned by 90° stands at (0, 1), not on its own centre."""
    shape = macro_shape(["21,1,0.4,0.2,1,0,90"], [], 32)
    assert shape.bounds == pytest.approx((-0.1, 0.8, 0.1, 1.2))


def test_polygon_size_is_that_of_the_circle_round_it() -> None:
    """GLFS 4.4.5 and 7.1: P,1X4 has its corners on a circle of diameter 1, one on the x axis: area 0.5."""
    read = read_gerber("%FSLAX46Y46*%%MOMM*%%ADD10P,1X4*%D10*X0Y0D03*M02*")
    assert read.image.area == pytest.approx(0.5)
    assert read.image.bounds == pytest.approx((-0.5, -0.5, 0.5, 0.5))


def test_hole_in_an_aperture_does_not_erase_what_is_below() -> None:
    """GLFS 4.4.6 and 7.1: the hole is see-through."""
    text = "%FSLAX46Y46*%%MOMM*%%ADD10R,2X2*%%ADD11C,2X1*%D10*X0Y0D03*D11*X0Y0D03*X5000000D03*M02*"
    ring = 3.141593 * (1 - 0.25)
    assert read_gerber(text).image.area == pytest.approx(4 + ring, rel=1e-3)


def test_contours_of_one_region_add_up() -> None:
    """GLFS 4.10.3: a second contour inside the first is not a hole."""
    box = "X0Y0D02*X{0}D01*Y{0}D01*X0D01*Y0D01*"
    text = f"%FSLAX46Y46*%%MOMM*%G01*G36*{box.format(4000000)}{box.format(2000000)}G37*M02*"
    assert read_gerber(text).image.area == pytest.approx(16.0)


def test_cut_in_makes_a_hole() -> None:
    """GLFS 4.10.3: two coincident segments lead to the hole and back; 4 × 4 less 1 × 1."""
    points = [(0, 0), (4, 0), (4, 4), (0, 4), (0, 2), (1, 2), (1, 3), (2, 3), (2, 2), (1, 2), (0, 2), (0, 0)]
    path = "".join(f"X{x}000000Y{y}000000D0{2 if k == 0 else 1}*" for k, (x, y) in enumerate(points))
    assert read_gerber(f"%FSLAX46Y46*%%MOMM*%G01*G36*{path}G37*M02*").image.area == pytest.approx(15.0)


@pytest.mark.parametrize(("code", "share"), [("G03", 0.75), ("G02", 0.25)])
def test_arcs_run_the_way_their_code_says(code: str, share: float) -> None:
    """GLFS 4.7.2: from (1, 0) to (0, -1) round the origin, G03 counter-clockwise takes the long way."""
    path = f"X1000000Y0D02*G75*{code}*X0Y-1000000I-1000000J0D01*G01*X0Y0D01*X1000000Y0D01*"
    read = read_gerber(f"%FSLAX46Y46*%%MOMM*%G36*{path}G37*M02*")
    assert read.image.area == pytest.approx(3.141593 * share, rel=1e-3)


def test_arc_that_ends_where_it_starts_is_a_full_circle() -> None:
    """GLFS 4.7.2, in G75: a ring of mean radius 1 and width 0.2 has the area 2π × 0.2."""
    text = "%FSLAX46Y46*%%MOMM*%%ADD10C,0.2*%G75*G03*D10*X1000000Y0D02*X1000000Y0I-1000000J0D01*M02*"
    assert read_gerber(text).image.area == pytest.approx(2 * 3.141593 * 0.2, rel=1e-3)


@pytest.mark.parametrize(
    ("head", "digits", "mm"),
    [
        ("%FSLAX46Y46*%%MOMM*%", "12700000", 12.7),
        ("%FSLAX24Y24*%%MOIN*%", "5000", 12.7),
        ("%FSTAX24Y24*%%MOIN*%", "005", 12.7),
        ("%FSLAX33Y33*%%MOMM*%", "-12700", -12.7),
        ("%FSTAX33Y33*%%MOMM*%", "0127", 12.7),
    ],
)
def test_coordinates_in_every_notation(head: str, digits: str, mm: float) -> None:
    """GLFS 4.2, and its older forms with trailing zeros left out: all say 12.7 mm."""
    (flash,) = read_gerber(f"{head}%ADD10C,0.01*%D10*X{digits}Y0D03*M02*").objects
    assert flash.at == pytest.approx((mm, 0.0))


# --- drill files: the Excellon header rules, as tool vendors state them


@pytest.mark.parametrize(
    ("unit", "digits", "mm"),
    [
        ("INCH,LZ", "12345", 12.3450 * 25.4),
        ("INCH,TZ", "12345", 1.2345 * 25.4),
        ("METRIC,TZ", "12345", 12.345),
        ("METRIC,LZ", "0125", 12.5),
        ("METRIC", "12.345", 12.345),
        ("INCH", "-1.5", -38.1),
        ("METRIC,LZ,0000.00", "0012", 12.0),
    ],
)
def test_drill_coordinates_in_every_notation(unit: str, digits: str, mm: float) -> None:
    """LZ keeps leading zeros and TZ trailing ones; inch is 2.4 and metric 3.3 unless a pattern is given."""
    (hole,) = read_drill(f"M48\n{unit}\nT1C0.5\n%\nT1\nX{digits}Y0{'.0' if '.' in digits else ''}\nM30\n").holes
    assert hole.path[0] == pytest.approx((mm, 0.0))


def test_drill_coordinates_that_could_mean_two_things_are_refused() -> None:
    """Without a point and without LZ or TZ nobody can know."""
    with pytest.raises(ReadError, match=r"plated\.drl:6: 1234 has no decimal point"):
        read_drill("M48\nMETRIC\nT1C0.5\n%\nT1\nX1234Y0\nM30\n", "plated.drl")


def test_drill_example_with_both_kinds_of_slot() -> None:
    """A plated file with two hits, a chained slot (length 2 + 1 mm) and a routed one (3 + 1 mm)."""
    text = "\n".join([
        "; #@! TF.FileFunction,Plated,1,2,PTH", "M48", "METRIC", "; #@! TA.AperFunction,ViaDrill", "T01C0.300",
        "; #@! TA.AperFunction,ComponentDrill", "T02C0.800", "T03C1.000", "; #@! TD", "%", "G05", "T01", "X5.0Y1.5",
        "T02", "X12.7Y25.4", "X12.7Y27.94", "T03", "X40.0Y10.0G85X42.0Y10.0", "G00X50.0Y10.0", "M15", "G01X53.0Y10.0",
        "M16", "G05", "M30", "",
    ])  # fmt: skip
    read = read_drill(text)
    assert read.plated is True and read.tools == {1: 0.3, 2: 0.8, 3: 1.0}
    assert [h.function for h in read.holes] == ["ViaDrill"] + ["ComponentDrill"] * 4
    assert [h.core.length + h.diameter for h in read.holes[3:]] == pytest.approx([3.0, 4.0])


# --- IPC-D-356A: column rules after an equipment maker's application note on the format, which restates the standard

RECORDS = [
    (
        TestRecord("317", "GND", "U1", "14", False, (0.8, True), "00", (12.7, 25.4), (1.6, 0.0), 0.0, 0),
        "317GND              U1    -14   D0800PA00X+012700Y+025400X1600Y0000R000 S0",
    ),
    (
        TestRecord("317", "NNAME00001", "VIA", "", True, (0.3, True), "00", (5.0, -1.5), (0.6, 0.0), 0.0, 3),
        "317NNAME00001       VIA        MD0300PA00X+005000Y-001500X0600Y0000R000 S3",
    ),
    (
        TestRecord("327", "VCC", "C3", "1", False, None, "01", (8.0, 3.25), (1.0, 1.45), 90.0, 0),
        "327VCC              C3    -1          A01X+008000Y+003250X1000Y1450R090 S0",
    ),
    (
        TestRecord("327", "N/C", "J2", "3", False, None, "02", (40.0, 2.0), (1.575, 7.62), 0.0, 0),
        "327N/C              J2    -3          A02X+040000Y+002000X1575Y7620R000 S0",
    ),
    (
        TestRecord("367", "N/C", "H1", "1", False, (3.2, False), "00", (3.5, 3.5), None, 0.0, 0),
        "367N/C              H1    -1    D3200UA00X+003500Y+003500",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("record", "line"), RECORDS, ids=[line[:3] + line[20:24] for _, line in RECORDS])
def test_test_records_fall_into_their_columns(record: TestRecord, line: str) -> None:
    """Every column from 1 to 74."""
    assert record.line() == line


COLUMNS = {  # first column, last column, text of the first record above
    "code": (1, 3, "317"), "net": (4, 17, "GND".ljust(14)), "blank": (18, 20, "   "), "reference": (21, 26, "U1    "),
    "dash": (27, 27, "-"), "pin": (28, 31, "14  "), "middle": (32, 32, " "), "drilled": (33, 33, "D"),
    "diameter": (34, 37, "0800"), "plated": (38, 38, "P"), "access": (39, 39, "A"), "side": (40, 41, "00"),
    "X": (42, 42, "X"), "x sign": (43, 43, "+"), "x": (44, 49, "012700"), "Y": (50, 50, "Y"), "y sign": (51, 51, "+"),
    "y": (52, 57, "025400"), "size x": (58, 62, "X1600"), "size y": (63, 67, "Y0000"), "turn": (68, 71, "R000"),
    "blank before mask": (72, 72, " "), "mask": (73, 74, "S0"),
}  # fmt: skip


@pytest.mark.parametrize("field", COLUMNS)
def test_each_field_stands_where_the_note_says(field: str) -> None:
    """Columns are counted from 1."""
    first, last, text = COLUMNS[field]
    assert RECORDS[0][0].line()[first - 1 : last] == text


def test_conductor_and_outline_records_fall_into_their_columns() -> None:
    """Layer in 19 to 21, size from 23, blank draws on, star lifts the pen, 078 goes on."""
    lines = chains(
        f"378{'GND':<14} L01 ", "X0250", [[(12.7, 25.4), (20.0, 25.4), (20.0, 30.0)], [(1.0, 1.0), (2.0, 4.0)]]
    )
    assert lines == [
        "378GND            L01 X0250 X+012700Y+025400 X+020000Y+025400",
        "078 X+020000Y+030000*X+001000Y+001000 X+002000Y+004000",
    ]
    edge = chains(f"389{'BOARD_EDGE':<14}     ", "X0100", [[(0, 0), (50.0, 0), (50.0, 30.0), (0, 0)]])
    assert edge[0].startswith("389BOARD_EDGE         X0100 X+000000Y+000000 ")


def test_long_net_names_get_an_alias() -> None:
    """15 characters do not fit columns 4 to 17; the NNAME line has the alias in 9 to 13 and the name from 15."""
    short, lines = net_names(["COMPOSITE_VIDEO_BUFFERED", "EXACTLY_14_CHR", "FIFTEEN_CHARACT"])
    assert short["EXACTLY_14_CHR"] == "EXACTLY_14_CHR"
    assert lines == ["P  NNAME00001 COMPOSITE_VIDEO_BUFFERED", "P  NNAME00002 FIFTEEN_CHARACT"]
    assert short["COMPOSITE_VIDEO_BUFFERED"] == "NNAME00001"
    assert lines[0][8:13] == "00001" and lines[0][14:] == "COMPOSITE_VIDEO_BUFFERED"


EXAMPLE = """P  JOB   MODBOARD
P  CODE  00
P  UNITS CUST 1
P  TITLE MOD BOARD
P  NUM   0001
P  REV   A
P  VER   IPC-D-356A
P  IMAGE PRIMARY
P  NNAME00001 COMPOSITE_VIDEO_BUFFERED
317GND              U1    -14   D0800PA00X+012700Y+025400X1600Y0000R000 S0
317NNAME00001       VIA        MD0300PA00X+005000Y-001500X0600Y0000R000 S3
327VCC              C3    -1          A01X+008000Y+003250X1000Y1450R090 S0
367N/C              H1    -1    D3200UA00X+003500Y+003500
378GND            L01 X0250 X+012700Y+025400 X+020000 Y+030000*X+001000Y+001000
078 X+002000 Y+004000
389BOARD_EDGE         X0100 X+000000Y+000000 X+050000 Y+030000 X+000000 Y+000000
999
"""


def test_reader_takes_an_example_apart() -> None:
    """Modal coordinates, a chain that goes on over two lines, an alias, all in units of 0.001 mm."""
    read = read_netlist(EXAMPLE)
    pin, via, pad, bare = read.records
    assert (pin.net, pin.reference, pin.pin, pin.hole) == ("GND", "U1", "14", (0.8, True))
    assert pin.at == pytest.approx((12.7, 25.4))
    assert (via.net, via.middle, via.mask) == ("COMPOSITE_VIDEO_BUFFERED", True, 3)
    assert (pad.side, pad.sizes, pad.turn, pad.hole) == ("01", (1.0, pytest.approx(1.45)), 90.0, None)
    assert (bare.code, bare.hole, bare.sizes) == ("367", (pytest.approx(3.2), False), None)
    (chain,) = read.conductors
    assert chain.layer == 1 and chain.width == 0.25
    places = [[(round(x, 3), round(y, 3)) for x, y in points] for points in chain.chains]
    assert places == [[(12.7, 25.4), (20.0, 25.4), (20.0, 30.0)], [(1.0, 1.0), (2.0, 1.0), (2.0, 4.0)]]
    (edge,) = read.outlines
    assert edge.name == "BOARD_EDGE" and edge.chains[0][0] == edge.chains[0][-1]


@pytest.mark.parametrize(("unit", "mm"), [("CUST 0", 32.258), ("CUST 1", 12.7), ("SI", 12.7), ("CUST", 32.258)])
def test_units_of_the_netlist(unit: str, mm: float) -> None:
    """CUST 0 counts in 0.0001 inch, CUST 1 and SI in 0.001 mm."""
    read = read_netlist(EXAMPLE.replace("UNITS CUST 1", f"UNITS {unit}"))
    assert read.records[0].at[0] == pytest.approx(mm)
