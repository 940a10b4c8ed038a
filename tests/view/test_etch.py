"""Home-etching sheets: page scale, mirroring, widening, marks and dots, judged by reading the files back."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
import shapely
from click.testing import CliRunner
from shapely import affinity

from modboard.artwork.model import Artwork
from modboard.cli import main
from modboard.errors import ModboardError
from modboard.layout.board import CopperLayer
from modboard.view import etch
from tests.sample import sample_artwork

POINT = 25.4 / 72  # mm; a PDF point is 1/72 inch (ISO 32000, 8.3.2)
SVG = "{http://www.w3.org/2000/svg}"


def pdf_paths(content: bytes) -> list[tuple[list[list[tuple[float, float]]], str]]:
    """Return the paths of an uncompressed page in mm, each with the operator that paints it."""
    stream = re.search(rb"stream\r?\n(.*?)endstream", content, re.DOTALL)
    assert stream
    found: list[tuple[list[list[tuple[float, float]]], str]] = []
    rings: list[list[tuple[float, float]]] = []
    numbers: list[float] = []
    for word in stream[1].decode("latin-1").split():
        if re.fullmatch(r"-?[\d.]+", word):
            numbers.append(float(word))
            continue
        if word == "m":
            rings.append([(numbers[-2] * POINT, numbers[-1] * POINT)])
        elif word == "l":
            rings[-1].append((numbers[-2] * POINT, numbers[-1] * POINT))
        elif word in ("f*", "f", "S", "n"):
            found.append((rings, word))
            rings = []
        numbers = []
    return found


def even_odd(rings: list[list[tuple[float, float]]]) -> shapely.Geometry:
    """Return the area that even-odd filling paints."""
    area: shapely.Geometry = shapely.Polygon()
    for ring in sorted((shapely.Polygon(r) for r in rings if len(r) > 2), key=lambda p: -p.area):
        area = area.symmetric_difference(ring)
    return area


def pdf_black(content: bytes) -> shapely.Geometry:
    """Return the black area of a page, mm."""
    ((rings, _),) = [(rings, paint) for rings, paint in pdf_paths(content) if paint == "f*"]
    return even_odd(rings)


def svg_black(content: bytes) -> shapely.Geometry:
    """Return the black area of a page, mm, y up."""
    root = ElementTree.fromstring(content)
    (path,) = [p for p in root.iter(f"{SVG}path") if p.get("fill") == "#000000"]
    rings = [
        [(float(x), 297 - float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", ring)]
        for ring in (path.get("d") or "").split("Z")
        if ring
    ]
    return even_odd(rings)


FILES = etch.etch_files(sample_artwork())


def copper(artwork: Artwork, side: CopperLayer) -> shapely.Geometry:
    """Return the drawn copper of one side in board coordinates."""
    name = "copper-top" if side == "top" else "copper-bottom"
    return shapely.union_all([f.shape.polygon() for f in artwork.features(name)])  # type: ignore[arg-type]


def test_every_side_and_the_template_come_as_svg_and_pdf() -> None:
    assert sorted(FILES) == sorted(
        f"{name}.{kind}" for name in ("etch-top", "etch-bottom", "drill-template") for kind in ("svg", "pdf")
    )


def test_pages_are_a4_and_must_not_be_scaled() -> None:
    """ISO 216: 210 × 297 mm; ISO 32000 12.2: PrintScaling None."""
    for name, content in FILES.items():
        if name.endswith(".pdf"):
            box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", content)
            assert box and [float(v) * POINT for v in box.groups()] == pytest.approx([210, 297], abs=1e-3)
            assert b"/PrintScaling /None" in content
        else:
            root = ElementTree.fromstring(content)
            assert (root.get("width"), root.get("height")) == ("210.0mm", "297.0mm")
            assert root.get("viewBox") == "0 0 210.0 297.0"


def test_rulers_measure_100_mm_on_paper() -> None:
    """Along both directions, in PDF points and in SVG millimetres."""
    strokes = [ring for rings, paint in pdf_paths(FILES["etch-top.pdf"]) if paint == "S" for ring in rings]
    longest = sorted(strokes, key=lambda r: -math.dist(r[0], r[1]) if len(r) == 2 else 0)[:2]
    assert [math.dist(*r) for r in longest] == pytest.approx([100.0, 100.0], abs=1e-3)
    assert {abs(r[0][0] - r[1][0]) > 50 for r in longest} == {True, False}
    lines = ElementTree.fromstring(FILES["etch-top.svg"]).iter(f"{SVG}polyline")
    points = [[tuple(map(float, p.split(","))) for p in (e.get("points") or "").split()] for e in lines]
    assert sum(len(p) == 2 and math.dist(*p) == pytest.approx(100.0) for p in points) == 2


@pytest.mark.parametrize("side", ["top", "bottom"])
@pytest.mark.parametrize("kind", ["svg", "pdf"])
@pytest.mark.parametrize(("process", "mirrored"), [("toner", "top"), ("film", "top"), ("direct", "bottom")])
def test_black_is_the_copper_at_scale_1_mirrored_by_process(
    side: CopperLayer, kind: str, process: str, mirrored: str
) -> None:
    """A print with its ink on the copper is mirrored for the top; straight on, the bottom is."""
    artwork = sample_artwork()
    content = etch.etch_files(artwork, process, undercut=0.0)[f"etch-{side}.{kind}"]
    black = svg_black(content) if kind == "svg" else pdf_black(content)
    wanted = copper(artwork, side)
    if side == mirrored:
        wanted = affinity.scale(wanted, -1, 1, origin=(0, 0))
    wanted = affinity.translate(wanted, black.bounds[0] - wanted.bounds[0], black.bounds[1] - wanted.bounds[1])
    dots = wanted.difference(black.buffer(0.002))
    holes = [shapely.Point(d.at) for d in artwork.drills]
    assert black.difference(wanted.buffer(0.003)).area < 1e-3
    assert 0 < dots.area < len(holes) * 2 * math.pi * 0.25**2  # nothing is missing but the centre dots


def test_centre_dots_are_bare_and_round() -> None:
    """0.5 mm in the middle of each of the 20 plated holes of the top, two in the slot; not in the bare screw hole."""
    black = pdf_black(etch.etch_files(sample_artwork(), undercut=0.0)["etch-top.pdf"])
    open_spots = [shapely.Polygon(r) for part in shapely.get_parts(black) for r in part.interiors]
    dots = [p for p in open_spots if p.area == pytest.approx(math.pi * 0.25**2, rel=0.01)]
    drills = [d for d in sample_artwork().drills if d.plated]
    wide = [d for d in drills if d.diameter > 0.6]  # the vias' lands of 1.1 mm are too small for a dot
    assert len(dots) == len(wide) + sum(1 for d in wide if d.to)


def test_copper_is_widened_for_the_etchant() -> None:
    """0.75 × 35 µm on each edge by default: a track of 0.3 mm becomes 0.3525 mm wide; as asked for if asked."""
    artwork = sample_artwork()
    for undercut, by in ((None, 0.02625), (0.05, 0.05)):
        black = pdf_black(etch.etch_files(artwork, undercut=undercut)["etch-bottom.pdf"])
        wanted = copper(artwork, "bottom").buffer(by)
        dots = 22 * math.pi * 0.25**2
        assert wanted.area - dots - 0.1 < black.area < wanted.area
        assert black.bounds[2] - black.bounds[0] == pytest.approx(wanted.bounds[2] - wanted.bounds[0], abs=2e-3)


def test_dry_film_is_a_negative() -> None:
    """Black where copper goes: the board and 2 mm round it less the copper."""
    artwork = sample_artwork()
    black = pdf_black(etch.etch_files(artwork, "dry-film", undercut=0.0)["etch-top.pdf"])
    positive = pdf_black(etch.etch_files(artwork, "film", undercut=0.0)["etch-top.pdf"])
    assert black.intersection(positive).area < 1e-3
    assert black.area + positive.area == pytest.approx(artwork.board.outline.buffer(2.0).area, abs=0.01)


def test_registration_marks_lie_over_one_another_and_over_the_holes() -> None:
    """The marks keep their place to the board on both sides and on the template: 6 mm beyond each corner."""
    artwork = sample_artwork()
    x0, y0, x1, y1 = artwork.board.outline.bounds
    assert set(etch.mark_places(artwork)) == {(x, y) for x in (x0 - 6, x1 + 6) for y in (y0 - 6, y1 + 6)}
    pages = {}
    for name in ("etch-top", "etch-bottom", "drill-template"):
        paths = [ring for rings, paint in pdf_paths(FILES[f"{name}.pdf"]) if paint == "S" for ring in rings]
        arms = [r for r in paths if len(r) == 2 and math.dist(*r) == pytest.approx(6.0, abs=1e-3)]
        pages[name] = sorted({(round((a[0] + b[0]) / 2, 2), round((a[1] + b[1]) / 2, 2)) for a, b in arms})
        assert len(pages[name]) == 4
    assert pages["etch-top"] == pages["etch-bottom"] == pages["drill-template"]


def test_same_board_gives_the_same_bytes() -> None:
    assert etch.etch_files(sample_artwork()) == FILES
    assert not any(re.search(rb"20[2-9]\d-\d\d-\d\d", content) for content in FILES.values())


@pytest.mark.parametrize(
    ("process", "undercut", "words"),
    [
        ("tonner", None, 'no etching process "tonner"; did you mean toner'),
        ("toner", 0.3, "give 0 to 0.2 mm"),
        ("toner", 0.1, r"would shrink from 0\.270 to 0\.070 mm"),
        ("toner", -0.1, "is not etching"),
    ],
)
def test_what_cannot_be_etched_is_said(process: str, undercut: float | None, words: str) -> None:
    with pytest.raises(ModboardError, match=words):
        etch.etch_files(sample_artwork(), process, undercut)


def test_a_board_too_large_for_the_page_is_refused() -> None:
    artwork = sample_artwork()
    large = replace(artwork, board=replace(artwork.board, outline=shapely.box(0, 0, 200, 50)))
    with pytest.raises(ModboardError, match="200 × 50 mm does not fit an A4 page"):
        etch.etch_files(large)


def test_the_command_offers_the_processes() -> None:
    text = CliRunner().invoke(main, ["etch", "--help"]).output
    assert "--process" in text and "--undercut" in text and "dry-film" in text
