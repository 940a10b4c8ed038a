"""Files from elsewhere: older forms, copies, inches, names without attributes; each check value worked out by hand."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.package import package_of, read_package
from modboard.fab.readback.trouble import ReadError

HEAD = "%FSLAX46Y46*%%MOMM*%"
DOT = f"{HEAD}%ADD10R,1X1*%"


def image(text: str) -> object:
    """Return the dark area of a file."""
    return read_gerber(text).image


# --- Ucamco, Gerber Layer Format Specification (GLFS)


def test_steps_repeat_in_y_first_and_then_in_x() -> None:
    """GLFS 4.12: 3 × 2 squares of 1 mm², 5 and 4 mm apart; copies keep their attributes."""
    read = read_gerber(f"{DOT}%TO.N,A*%%SRX3Y2I5.0J4.0*%D10*X0Y0D03*%SR*%X20000000Y0D03*M02*")
    places = [o.at for o in read.objects]
    assert places[:6] == [(0, 0), (0, 4), (5, 0), (5, 4), (10, 0), (10, 4)] and len(places) == 7
    assert read.image.area == pytest.approx(7.0) and {o.field(".N") for o in read.objects} == {"A"}


def test_order_of_copies_counts_where_a_clear_object_is_among_them() -> None:
    """GLFS 4.12: each step draws all its objects; the clear one of a later step erases dark ones of earlier steps.

    A bar of 3 × 1 at x = 0, 2 and 4, each followed by a clear square of 1 mm² at its own left end (x = -1): the later
    two squares cut the earlier bars at x = 1 and 3.  Bars cover -1.5 to 5.5; erased -1.5 to -0.5, 0.5 to 1.5, 2.5 to
    3.5, but the bar after each covers from 0.5 on and from 2.5 on: it is drawn before its own square erases.
    """
    text = f"{HEAD}%ADD10R,3X1*%%ADD11R,1X1*%%SRX3Y1I2J0*%%LPD*%D10*X0Y0D03*%LPC*%D11*X-1000000Y0D03*%SR*%M02*"
    assert read_gerber(text).image.area == pytest.approx(7.0 - 3.0)


def test_block_aperture_is_put_down_turned_mirrored_and_enlarged() -> None:
    """GLFS 4.11: a block of a square at (2, 0); flashed at (10, 0) turned by 90° it lies at (10, 2)."""
    block = "%ABD12*%D10*X2000000Y0D03*%AB*%D12*"
    assert read_gerber(f"{DOT}{block}%LR90*%X10000000Y0D03*M02*").objects[0].at == pytest.approx((10.0, 2.0))
    assert read_gerber(f"{DOT}{block}%LMX*%X10000000Y0D03*M02*").objects[0].at == pytest.approx((8.0, 0.0))
    (big,) = read_gerber(f"{DOT}{block}%LS2*%X0Y0D03*M02*").objects
    assert big.at == pytest.approx((4.0, 0.0)) and big.core.area == pytest.approx(4.0)


def test_clear_flash_of_a_block_turns_its_polarity_round() -> None:
    """GLFS 4.11: with LPC what is dark in the block erases: 4 × 4 less 1 × 1."""
    text = f"{DOT}%ADD11R,4X4*%%ABD12*%D10*X0Y0D03*%AB*%D11*X0Y0D03*%LPC*%D12*X0Y0D03*M02*"
    assert read_gerber(text).image.area == pytest.approx(15.0)


def test_blocks_inside_blocks() -> None:
    """GLFS 4.11: 2 in the inner, 3 of the inner in the outer, 2 of the outer: 12 squares."""
    inner = "%ABD12*%D10*X0Y0D03*X0Y2000000D03*%AB*%"
    outer = "%ABD13*%D12*X0Y0D03*X2000000Y0D03*X4000000Y0D03*%AB*%"
    assert read_gerber(f"{DOT}{inner}{outer}D13*X0Y0D03*X9000000Y0D03*M02*").image.area == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("commands", "bounds"),
    [
        ("%LR90*%", (-0.5, -1.5, 0.5, 1.5)),
        ("%LS0.5*%", (-0.75, -0.25, 0.75, 0.25)),
        ("%LR90*%%LS2*%", (-1, -3, 1, 3)),
        ("%LMXY*%", (-1.5, -0.5, 1.5, 0.5)),
    ],
)
def test_apertures_are_turned_and_enlarged(commands: str, bounds: tuple[float, ...]) -> None:
    """GLFS 4.9.3 to 4.9.5: a rectangle of 3 × 1."""
    read = read_gerber(f"{HEAD}%ADD10R,3X1*%D10*{commands}X0Y0D03*M02*")
    assert read.image.bounds == pytest.approx(bounds)


def test_mirroring_comes_before_turning() -> None:
    """GLFS 4.9.3: a macro square at (2, 0) mirrored in X is at (-2, 0), turned by 90° at (0, -2)."""
    text = f"{HEAD}%AMQ*21,1,1,1,2,0,0*%%ADD10Q*%D10*%LMX*%%LR90*%X0Y0D03*M02*"
    assert read_gerber(text).image.bounds == pytest.approx((-0.5, -2.5, 0.5, -1.5))


@pytest.mark.parametrize(
    ("code", "end", "centre"),
    [("G03", (0, 1), (0, 0)), ("G02", (0, 1), (1, 1))],
)
def test_single_quadrant_arcs(code: str, end: tuple[int, int], centre: tuple[int, int]) -> None:
    """GLFS 8.1.10 (G74): I and J without sign, at most 90°; from (1, 0) to (0, 1) there are two such arcs."""
    i, j = abs(1 - centre[0]) * 1000000, abs(0 - centre[1]) * 1000000
    text = f"{HEAD}%ADD10C,0.1*%G74*D10*X1000000Y0D02*{code}*X{end[0]}000000Y{end[1]}000000I{i}J{j}D01*M02*"
    read = read_gerber(text)
    middle = read.objects[0].core.interpolate(0.5, normalized=True)
    assert math.dist((middle.x, middle.y), centre) == pytest.approx(1.0, abs=1e-3)
    assert read.objects[0].core.length == pytest.approx(math.pi / 2, rel=1e-3)
    assert any("G74" in w for w in read.warnings)


def test_thermal_primitive() -> None:
    """GLFS 4.5.1.9: outer 2, inner 1, gap 0.2: the ring's area less four bars.

    A bar of width g cuts from a disc of radius r the area g·√(r² - g²/4) + 2 r²·asin(g/2r); two bars share g².
    """
    text = f"{HEAD}%AMT*7,0,0,2,1,0.2,0*%%ADD10T*%D10*X0Y0D03*M02*"

    def cross(r: float, g: float = 0.2) -> float:
        return 2 * (g * math.sqrt(r * r - g * g / 4) + 2 * r * r * math.asin(g / (2 * r))) - g * g

    expected = math.pi * (1 - 0.25) - (cross(1.0) - cross(0.5))
    read = read_gerber(text)
    assert read.image.area == pytest.approx(expected, rel=1e-3) and len(read.image.geoms) == 4


OLD = [
    ("G54D10*X0Y0D03*", "G54"),
    ("G90*D10*X0Y0D03*", "G90"),
    ("D10*G55*X0Y0D03*", "G55"),
    ("%IPPOS*%%ASAXBY*%%IR0*%%MIA0B0*%%OFA0.0B0.0*%%SFA1.0B1.0*%%INboard*%D10*X0Y0D03*", "SF"),
    ("%LNtop*%D10*X0Y0D03*", "LN"),
    ("D10*X0Y0D3*", "a code of one digit"),
    ("G01*D10*X0Y0D02*G01X1Y0D01*X0Y0D03*", "a mode and a place in one word"),
]


@pytest.mark.parametrize(("commands", "warned"), OLD, ids=[w for _, w in OLD])
def test_harmless_old_commands_are_read_with_a_warning(commands: str, warned: str) -> None:
    """GLFS 8: they change nothing, and nobody may write them."""
    read = read_gerber(f"{DOT}\n{commands}M02*", "old.gbr")
    assert read.image.area == pytest.approx(1.0, abs=1e-5)
    assert any(re.match(rf"old\.gbr:2: {re.escape(warned)} is deprecated", w) for w in read.warnings), read.warnings


def test_a_place_without_a_code_goes_on_drawing() -> None:
    """GLFS 8.3.1: D01 stays in force; two strokes of 1 × 0.1 mm and their ends."""
    read = read_gerber(f"{HEAD}%ADD10C,0.1*%G01*D10*X0Y0D02*X1000000Y0D01*X1000000Y1000000*M02*")
    assert len(read.objects) == 2 and any("without a D code" in w for w in read.warnings)


def test_incremental_coordinates() -> None:
    """GLFS 8: G91 adds up: 1, 3, 6."""
    read = read_gerber(f"{DOT}G91*D10*X1000000Y0D03*X2000000Y0D03*X3000000Y0D03*M02*")
    assert [o.at[0] for o in read.objects if o.at] == pytest.approx([1.0, 3.0, 6.0])


def test_a_draw_with_a_square_pen_is_the_hull_of_its_ends() -> None:
    """GLFS 8 (deprecated in 2020): a pen of 1 × 1 drawn 3 mm to the right covers 4 × 1."""
    read = read_gerber(f"{DOT}G01*D10*X0Y0D02*X3000000Y0D01*M02*")
    assert read.image.area == pytest.approx(4.0) and any("not round" in w for w in read.warnings)


def test_a_square_hole_in_an_aperture() -> None:
    """GLFS 8 (deprecated): C,2X1X1 is a disc of 2 mm less a square of 1 mm."""
    read = read_gerber(f"{HEAD}%ADD10C,2X1X1*%D10*X0Y0D03*M02*")
    assert read.image.area == pytest.approx(math.pi - 1, rel=1e-3) and any(
        "rectangular hole" in w for w in read.warnings
    )


def test_inch_by_a_word() -> None:
    """GLFS 8: G70 is inch; 2.4 digits, 1 inch is 25.4 mm, aperture sizes too."""
    read = read_gerber("G70*%FSLAX24Y24*%%ADD10R,1X1*%D10*X10000Y0D03*M02*")
    assert read.objects[0].at == pytest.approx((25.4, 0.0)) and read.image.area == pytest.approx(25.4**2)


# --- drill files


def test_routed_arcs_by_radius_and_by_centre() -> None:
    """A half circle of radius 2 is 2π long, either way; the way decides on which side it bulges."""
    body = "M48\nMETRIC\nT1C1.0\n%\nT1\nG00X0.0Y0.0\nM15\n{}\nM16\nM30\n"
    for arc in ("G03X4.0Y0.0A2.0", "G03X4.0Y0.0I2.0J0.0"):
        (slot,) = read_drill(body.format(arc)).holes
        assert slot.core.length == pytest.approx(2 * math.pi, rel=1e-3)
        assert min(y for _, y in slot.path) == pytest.approx(-2.0)
    (other,) = read_drill(body.format("G02X4.0Y0.0A2.0")).holes
    assert max(y for _, y in other.path) == pytest.approx(2.0)
    (short,) = read_drill(body.format("G02X2.0Y2.0A2.0")).holes
    assert short.core.length == pytest.approx(math.pi, rel=1e-3)


def test_repeats_of_a_hit() -> None:
    """R3X2.0 after a hit at 1: three more at 3, 5 and 7."""
    read = read_drill("M48\nMETRIC\nT1C1.0\n%\nT1\nX1.0Y1.0\nR3X2.0\nM30\n", "d.drl")
    assert [h.path[0] for h in read.holes] == [(1, 1), (3, 1), (5, 1), (7, 1)]
    assert read.warnings == ("d.drl:7: R (repeat) is not of XNC",)


def test_older_drill_headers_are_read_with_warnings() -> None:
    """Unit by code, machine data, a tool defined where it is used, a chained slot with one axis left out."""
    read = read_drill(
        "M48\nFMAT,2\nM71\n%\nG90\nT1C0.8F200S65\nX1.0Y2.0G85X3.0\nM17\nM30\n".replace("M17\n", ""), "d.drl"
    )
    (slot,) = read.holes
    assert slot.path == ((1, 2), (3, 2)) and slot.diameter == pytest.approx(0.8)
    assert [w.split(" is not")[0].split(": ", 1)[1] for w in read.warnings] == [
        "FMAT,2", "M71", "G90", "a tool defined after the header",
    ]  # fmt: skip


# --- packages without attributes


def plain(size: float = 1.0) -> bytes:
    """Return a layer without any attribute."""
    return f"{HEAD}%ADD10C,{size}*%D10*X0Y0D03*M02*".encode()


def edge() -> bytes:
    """Return a closed line without any attribute."""
    return f"{HEAD}%ADD10C,0.1*%G01*D10*X0Y0D02*X9000000D01*Y9000000D01*X0D01*Y0D01*M02*".encode()


DRILL = b"M48\nMETRIC\nT1C0.8\n%\nT1\nX1.0Y1.0\nM30\n"
NAMES = {
    "board copper top.gbr": "Copper,L1,Top", "amp_bottom_copper.ger": "Copper,L2,Bot",
    "x-mask-top.art": "Soldermask,Top",
    "solder mask bottom.pho": "Soldermask,Bot", "top-legend.gbr": "Legend,Top", "legend_bottom.gbr": "Legend,Bot",
    "paste-top.gbr": "Paste,Top", "outline.gbr": "Profile,NP", "amp-bottom-copper.gbr": "Copper,L2,Bot",
}  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_names_tell_the_layer_and_it_is_said(name: str) -> None:
    """X1 files have no attributes; the reason is among the warnings."""
    package = package_of({name: plain()})
    assert list(package.layers) == [NAMES[name]]
    assert any(f"{name}:1: taken for {NAMES[name]} by" in w for w in package.warnings)


def test_content_tells_the_profile_and_nothing_else() -> None:
    """Fine closed lines are an edge; a lone pad could be anything, and that is said."""
    package = package_of({"a.gbr": edge(), "b.gbr": plain()})
    assert package.layer("Profile,NP") is not None and package.unknown == ("b.gbr",)
    assert any("b.gbr:1: neither attributes nor name nor content" in w for w in package.warnings)


@pytest.mark.parametrize(("name", "plated"), [("x-pth.txt", True), ("x-npth.txt", False), ("x non-plated.xln", False)])
def test_names_tell_the_plating(name: str, plated: bool) -> None:
    """By the words board houses use."""
    package = package_of({name: DRILL})
    assert package.drills[0].plated is plated and any("by the file's name" in w for w in package.warnings)


def test_holes_of_which_nothing_is_said_are_taken_to_be_plated_and_that_is_said() -> None:
    """Never in silence."""
    package = package_of({"holes.txt": DRILL})
    assert package.drills[0].plated is True and any("they are taken to be" in w for w in package.warnings)


def test_other_files_are_left_alone(tmp_path: Path) -> None:
    """A picture and a note in the folder are no concern of the readers."""
    (tmp_path / "photo.jpg").write_bytes(b"\xff\xd8\x00\x01")
    (tmp_path / "read me.txt").write_text("hello")
    assert read_package(tmp_path).layers == {}
    with pytest.raises(ReadError, match=r"y\.ipc:1: "):
        package_of({"y.ipc": b"hello"})
