"""Component layers, drawings, manifest, prices, and the choice of files."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
import shapely

from modboard.artwork.drawings import tool_letter
from modboard.errors import ModboardError
from modboard.fab.components import component_layer
from modboard.fab.drawings import assembly_drawing, drill_drawing
from modboard.fab.names import GROUPS
from modboard.fab.package import Package, package_texts, write
from modboard.fab.parts_list import cost, parts_list
from modboard.fab.prices import read_prices
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.trouble import ReadError
from modboard.fab.readback.verify import verify
from modboard.layout.board import CopperLayer
from tests.fab.test_gerber_grammar import ALLOWED, commands
from tests.fab.third_party import gerbonara_image
from tests.sample import sample_artwork


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Package:
    """Give one written package of the sample, not to be changed."""
    return write(sample_artwork(), (), tmp_path_factory.mktemp("made") / "fab")


# --- component layers: Ucamco, Gerber Layer Format Specification (GLFS), 6.9


@pytest.mark.parametrize(("side", "function"), [("top", "Component,L1,Top"), ("bottom", "Component,L2,Bot")])
def test_component_layer_says_what_it_is(side: CopperLayer, function: str) -> None:
    """GLFS 6.9 and the table of .FileFunction; polarity positive."""
    text = component_layer(sample_artwork(), side)
    assert text is not None
    read = read_gerber(text)
    assert read.function == function and read.attributes[".FilePolarity"] == ("Positive",)
    assert read.warnings == () and read.checksum_holds


def test_component_layer_has_the_apertures_that_the_specification_gives() -> None:
    """GLFS 6.9: main C,0.300; outline C,0.100; key pin P,0.360X4X0.0; other pins C,0.1."""
    text = component_layer(sample_artwork(), "top") or ""
    functions = re.findall(r"%TA\.AperFunction,([\w,]+)\*%\n((?:%ADD.*\n)+)", text)
    found = {name: re.sub(r"%ADD\d+", "", shapes).split() for name, shapes in functions}
    assert found == {
        "ComponentMain": ["C,0.3*%"],
        "ComponentOutline,Body": ["C,0.1*%"],
        "ComponentPin": ["P,0.36X4X0.0*%", "C,0.1*%"],
    }


def test_parts_of_the_component_layers_are_the_parts_of_the_board() -> None:
    """Middle, turn and value of U1 (body 0.61 to 7.01 and -8.91 to 1.29 about (12, 14)), and of C2 on the bottom."""
    top, bottom = (read_gerber(component_layer(sample_artwork(), side) or "") for side in ("top", "bottom"))  # type: ignore[arg-type]
    middles = {o.field(".C"): o for o in top.objects if o.field(".AperFunction") == "ComponentMain"}
    assert sorted(middles) == ["C1", "J1", "J2", "R1", "R2", "U1"]
    assert middles["U1"].at == pytest.approx((15.81, 10.19))
    assert middles["R1"].field(".CVal") == "100k" and middles["R1"].field(".CMnt") == "TH"
    (c2,) = [o for o in bottom.objects if o.field(".AperFunction") == "ComponentMain"]
    assert (c2.field(".C"), c2.field(".CRot"), c2.at) == ("C2", "90", pytest.approx((15.8, 10.2)))
    pins = [o for o in top.objects if o.field(".AperFunction") == "ComponentPin" and o.field(".C") == "U1"]
    assert [o.attributes[".P"][1] for o in pins] == list("12345678")
    assert pins[0].core.area == pytest.approx(0.36**2 / 2)  # a square of that diagonal
    assert pins[3].field(".N") == "GND" and pins[4].field(".N") == "N/C"


def test_component_layers_and_drawings_keep_to_the_grammar() -> None:
    """As for the other layers: every command is one of the allowed forms, regular polygons among the apertures."""
    allowed = [*ALLOWED.values(), r"%ADD\d+P,0\.36X4X0\.0\*%"]
    artwork = sample_artwork()
    texts = [component_layer(artwork, "top"), assembly_drawing(artwork, "bottom"), drill_drawing(artwork)]
    for text in texts:
        assert text and not [c for c in commands(text) if not any(re.fullmatch(form, c) for form in allowed)]


# --- drawings


def test_drill_drawing_marks_every_hole_and_lists_every_tool() -> None:
    """Each hole's outline is drawn round its place; read by our reader and by gerbonara alike."""
    artwork = sample_artwork()
    text = drill_drawing(artwork) or ""
    read = read_gerber(text)
    assert read.function == "Drillmap"
    ink = read.image
    for drill in artwork.drills:
        assert ink.intersects(shapely.Point(drill.at))  # the cross of the centre lines
        assert ink.buffer(0.01).covers(drill.shape.polygon(8).exterior)
    other = gerbonara_image(text)
    assert other.symmetric_difference(ink).area < 1e-3 * ink.area
    y0 = artwork.board.outline.bounds[1]
    table = [o for o in read.objects if shapely.bounds(o.core)[3] < y0 - 1.0]
    rows = {round((y0 - shapely.bounds(o.core)[1]) / 2.2) for o in table}
    assert len(rows) >= 7  # a heading and six tools: 0.6, 0.8, 0.9, 1.0, 1.2 plated, 3.2 bare


def test_tools_are_lettered_as_columns_of_a_sheet() -> None:
    """A to Z, AA, AB."""
    assert [tool_letter(n) for n in (0, 25, 26, 27)] == ["A", "Z", "AA", "AB"]


# --- manifest


def test_manifest_is_what_sha256sum_reads(made: Package) -> None:
    """FIPS 180-4 digests of every other file; coreutils' sha256sum -c agrees where it is there."""
    (path,) = [p for p in made.files if p.name.endswith("-manifest.txt")]
    listed = dict(reversed(line.split("  ", 1)) for line in path.read_text().splitlines())
    assert listed == {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in made.files if p != path}
    if shutil.which("sha256sum"):
        subprocess.run(["sha256sum", "--status", "-c", path.name], cwd=made.folder, check=True)


SPOILED = [
    ("-parts.csv", "100k", "101k", "its bytes are not those of the manifest"),
    ("-components-top.gbr", "%TO.C,U1*%", "%TO.C,U7*%", "part U1 is missing"),
    ("-components-top.gbr", "X15810000Y10190000D03*", "X15910000Y10190000D03*", "part U1 is not where"),
    ("-components-bottom.gbr", "%TO.CRot,90*%", "%TO.CRot,270*%", "part C2 is turned by 270"),
    ("-components-top.gbr", "%TO.P,U1,2,IN-*%", "%TO.P,U1,9,IN-*%", "the pins of part U1"),
    ("-components-top.gbr", "X19010000Y5090000D01*", "X19020000Y5090000D01*", "the outline of part U1"),
    ("-drill-drawing.gbr", "X27500000", "X27600000", "does not show what is"),
    ("-assembly-top.gbr", "X19010000Y5090000D01*", "X19020000Y5090000D01*", "does not show what is"),
    ("-manifest.txt", "-parts.csv", "-ports.csv", "does not list"),
]


@pytest.mark.parametrize(("ending", "old", "new", "words"), SPOILED, ids=[w for *_, w in SPOILED])
def test_a_changed_list_or_drawing_is_found_out(
    made: Package, tmp_path: Path, ending: str, old: str, new: str, words: str
) -> None:
    """By what it says, not only by its checksum."""
    for path in made.files:
        text = path.read_bytes().decode()
        if path.name.endswith(ending):
            assert old in text
            text = re.sub(r"%TF\.MD5,\w+\*%\n", "", text.replace(old, new))
        (tmp_path / path.name).write_bytes(text.encode())
    found = verify(tmp_path, sample_artwork())
    assert any(words in line for line in found), found


# --- choice of files


def test_any_group_can_be_left_out(tmp_path: Path) -> None:
    """Layers and holes alone make a package that reads back equal; the job file lists what is there."""
    package = write(sample_artwork(), (), tmp_path / "fab", groups=("layers", "holes", "job"))
    whats = {p.name.removeprefix("sample-buffer-") for p in package.files}
    assert {"copper-top.gbr", "holes-plated.drl", "job.gbrjob"} <= whats
    assert not {w for w in whats if w.startswith(("components", "assembly", "drill-drawing", "netlist", "manifest"))}
    for group in GROUPS:
        assert package_texts(sample_artwork(), (), groups=(group,))


def test_a_group_that_does_not_exist_is_answered_with_the_nearest() -> None:
    """One line."""
    with pytest.raises(ModboardError, match='no group of files "drawing"; did you mean drawings'):
        package_texts(sample_artwork(), (), groups=("drawing",))


# --- prices


def test_parts_list_is_costed_when_prices_are_given(tmp_path: Path) -> None:
    """Device and value first, then value, then device: 0.02 + 0.03 + 2 × 0.05 + 1.10 + 0.40, J2 without a price."""
    path = tmp_path / "prices.csv"
    path.write_text(
        "part,price EUR\nresistor 100k,0.02\nresistor,0.03\ncapacitor,0.05\nsample-buffer,1.10\nHEADER,0.40\n"
    )
    prices = read_prices(path)
    total, missing = cost(sample_artwork(), prices)
    assert (total, missing) == (Decimal("1.65"), ["J2"])
    lines = parts_list(sample_artwork(), prices).split("\r\n")
    assert lines[0].endswith(",each EUR,together EUR") and lines[-2].endswith(",1.65") and "without J2" in lines[-2]
    assert "together" not in parts_list(sample_artwork())
    note = package_texts(sample_artwork(), (), prices=prices)["sample-buffer-order.txt"]
    assert "all fitted parts of one board: 1.65 EUR" in note and "for want of a price: J2" in note


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("what,price\n", r"prices\.csv:1: the first line must be"),
        ("part,price\nresistor,cheap\n", r'prices\.csv:2: price "cheap" is not a plain number'),
        ("part,price\nresistor,-1\n", r'prices\.csv:2: price "-1"'),
        ("part,price\nresistor,NaN\n", r'prices\.csv:2: price "NaN"'),
        ("part,price\nresistor\n", r"prices\.csv:2: a line needs"),
        ("part,price\nresistor,1\nResistor,2\n", r'prices\.csv:3: part "Resistor" has a price already'),
    ],
)
def test_wrong_price_lists_are_named_with_file_and_line(tmp_path: Path, text: str, words: str) -> None:
    """One line each."""
    path = tmp_path / "prices.csv"
    path.write_text(text)
    with pytest.raises(ModboardError, match=words):
        read_prices(path)


def test_a_package_whose_own_file_lies_about_its_kind_is_refused(tmp_path: Path) -> None:
    """A layer's ending with bytes that are no text."""
    (tmp_path / "x.gbr").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ReadError, match=r"x\.gbr:1: is not text"):
        verify(tmp_path, sample_artwork())
