"""Contact sheets at true size: millimetres on paper are millimetres of the part."""

from __future__ import annotations

import base64
import re
import zlib
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from modboard.cli import main
from modboard.errors import LibraryError
from modboard.library import footprint, footprint_names
from modboard.view.drawer import cell, contact_sheets, pages_of, sheet_files


def boxes(page: str) -> list[tuple[float, float, float, float]]:
    """The box round every filled path of a page."""
    root = ElementTree.fromstring(page)
    found = []
    for path in root.iter():
        if path.tag.endswith("path") and path.get("fill") not in ("none", None):
            figures = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", path.get("d") or "")]
            found.append((min(figures[::2]), min(figures[1::2]), max(figures[::2]), max(figures[1::2])))
    return found


def test_a_millimetre_is_a_millimetre():
    (page,) = contact_sheets(["dip-14"])
    root = ElementTree.fromstring(page)
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210.0mm", "297.0mm", "0 0 210.0 297.0")
    # MS-001: body at most 19.69 x 7.11, pins 2.54 apart in rows 7.62 apart
    body, *rest = boxes(page)
    assert (body[2] - body[0], body[3] - body[1]) == pytest.approx((7.11, 19.69), abs=0.002)
    lands = rest[::2]  # land, hole, land, hole
    middles = [((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in lands]
    assert middles[1][1] - middles[0][1] == pytest.approx(2.54, abs=0.002)  # y down: pin 2 is below pin 1
    assert middles[13][0] - middles[0][0] == pytest.approx(7.62, abs=0.002)


def test_every_footprint_is_on_a_page_and_none_on_another():
    cells = [cell(footprint(name)) for name in footprint_names()]
    drawn = []
    for page in pages_of(cells):
        placed = [(x, y, x + c.width, y + c.height) for (x, y), c in page]
        drawn += [c.part.name for _, c in page]
        for i, a in enumerate(placed):
            assert all(a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1] for b in placed[i + 1 :])
            assert a[3] <= 297 - 12
    assert sorted(drawn) == sorted(footprint_names())


def test_the_command_writes_pages(tmp_path):
    run = CliRunner()
    done = run.invoke(main, ["parts", "dip", "--sheet", str(tmp_path / "dips.svg")])
    assert done.exit_code == 0
    assert (tmp_path / "dips.svg").is_file() and (tmp_path / "dips-2.svg").is_file()
    assert "dip-28-wide-socket" in "".join(p.read_text() for p in tmp_path.glob("*.svg"))
    assert run.invoke(main, ["parts", "dip", "--sheet", str(tmp_path / "no" / "x.svg")]).exit_code == 2


def test_distances_stand_below_each():
    # MS-001: pins 2.54 apart, rows 7.62; TO-220 leads 2.54, so 5.08 from first to last
    assert cell(footprint("dip-14")).words[2] == "1-2 2.54, 1-14 7.62, hole 0.90"
    assert cell(footprint("to220")).words[2].startswith("1-2 2.54, 1-3 5.08")
    assert cell(footprint("resistor-axial-10.16")).words[2].startswith("1-2 10.16, hole")


def pdf_boxes(target: Path) -> tuple[tuple[float, float], list[tuple[float, float, float, float]]]:
    """The page's size in mm, and the box (y up) round every closed path of the page, from the PDF's own operators."""
    data = target.read_bytes()
    size = re.search(rb"/MediaBox \[ *0 0 ([\d.]+) ([\d.]+)", data)
    stream = re.search(rb"stream\r?\n(.*?)endstream", data, re.DOTALL)
    assert size and stream
    text = zlib.decompress(base64.a85decode(stream[1].strip().removesuffix(b"~>"))).decode()
    scale, *_ = (float(v) for v in re.search(r"([\d.]+) 0 0 (-[\d.]+) 0 ([\d.]+) cm", text).groups())  # type: ignore[union-attr]
    found = []
    for path in re.findall(r"((?:[-\d.]+ [-\d.]+ [ml]\s+)+)h", text):
        at = [float(v) * scale * 25.4 / 72 for v in re.findall(r"-?[\d.]+", path)]
        found.append((min(at[::2]), min(at[1::2]), max(at[::2]), max(at[1::2])))
    return (float(size[1]) * 25.4 / 72, float(size[2]) * 25.4 / 72), found


def test_the_pdf_is_true_to_size_as_well(tmp_path):
    target = tmp_path / "dip.pdf"
    run = CliRunner()
    assert run.invoke(main, ["parts", "dip-14", "--sheet", str(target)]).exit_code == 0
    (wide, tall), found = pdf_boxes(target)
    assert (wide, tall) == pytest.approx((210, 297), abs=0.01)
    # MS-001: body at most 19.69 x 7.11
    assert any((b[2] - b[0], b[3] - b[1]) == pytest.approx((7.11, 19.69), abs=0.01) for b in found)
    assert b"/PrintScaling /None" in target.read_bytes()


def test_the_pdf_has_a_page_for_each_sheet_and_the_same_bytes_each_time(tmp_path):
    names = footprint_names()
    pages = contact_sheets(names)
    one, other = (next(iter(sheet_files(Path("all.pdf"), names).values())) for _ in range(2))
    assert one == other
    assert len(re.findall(rb"/Type /Page\b", one)) == len(pages) > 3


def test_an_unknown_name_is_refused():
    with pytest.raises(LibraryError, match='no footprint "dip-15"'):
        contact_sheets(["dip-15"])
