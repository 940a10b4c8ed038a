"""The pictures of a room alone: figures where they belong, nothing off the sheet, true scale in SVG and PDF."""

from __future__ import annotations

import io
import re
import zlib
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from click.testing import CliRunner
from PIL import Image

from modboard import Cavity
from modboard.cli import main
from modboard.fit.blank import blank
from modboard.view.clear_heights import clear_heights
from modboard.view.template import template, template_pdf
from tests.view.reading import all_label_boxes, sizes, texts

POINT = 25.4 / 72  # mm, the unit of PDF pages: ISO 32000-1, 8.3.2.3 (from memory)


def crowded(steps: int = 4) -> Cavity:
    """Return a room of 80 × 46 with floor steps of different heights in a row, a post, a peg and a low lid."""
    made = Cavity.rectangle(80.0, 46.0, height=24.0, board_at=6.0, measured_to=0.3)
    made.post("post", at=(8, 8), diameter=6)
    made.fixing("peg", at=(70, 36), diameter=3)
    made.lid_step("keel", (60, 2, 78, 20), height=18)
    for k in range(steps):
        made.floor_step(f"step {k}", (16 + 4 * k, 24, 19 + 4 * k, 40), height=0.5 + 0.25 * k)
    return made


def overlapping(svg: str) -> list[tuple[str, str]]:
    """Return the labels of a sheet that meet."""
    boxes = all_label_boxes(svg)
    return [
        (one, other)
        for k, (one, a) in enumerate(boxes)
        for other, b in boxes[k + 1 :]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


@pytest.mark.parametrize("steps", [0, 4, 9])
def test_clear_heights_letters_do_not_meet_and_stay_on_the_sheet(steps: int) -> None:
    made = blank(crowded(steps))
    svg = clear_heights(made, "tin")
    assert overlapping(svg) == []
    wide, high = sizes(svg)
    assert all(x0 > 0 and y0 > 0 and x1 < wide and y1 < high for _, (x0, y0, x1, y1) in all_label_boxes(svg))


def test_every_height_is_in_the_key_and_every_line_in_the_list() -> None:
    """Above: 24 - 6 - 1.6 less 0.5, 0.3 and 0.16, and 18 - 7.6 less the same; step 2 takes 1 mm of 6 less 0.8."""
    made = blank(crowded())
    told = texts(clear_heights(made, "tin"))
    assert {"15.4 (16.4) mm", "9.4 (10.4) mm", "4.2 (5.0) mm"} <= set(told)
    assert set(made.words) <= set(told)


def test_list_says_how_many_lines_it_leaves_out() -> None:
    room = Cavity.rectangle(60.0, 200.0, height=24.0, board_at=12.0, measured_to=0.2)
    for k in range(45):
        room.floor_step(f"step {k}", (10, 4 + 4 * k, 20, 6 + 4 * k), height=0.5 + 0.2 * k)
    made = blank(room)
    svg = clear_heights(made, "tin")
    listed = set(made.words) & set(texts(svg))
    note = next(t for t in texts(svg) if "more lines" in t)
    assert int(re.findall(r"and (\d+) more", note)[0]) == len(made.words) - len(listed)
    assert all(y1 < sizes(svg)[1] for _, (_, _, _, y1) in all_label_boxes(svg))


def test_template_letters_do_not_meet() -> None:
    svg = template(blank(crowded()), "tin")
    assert overlapping(svg) == []
    assert any("peg" in t and "mm at (70, 36)" in t for t in texts(svg))


def test_drawn_template_measures_true_in_pixels() -> None:
    """Rendered by another program at 10 pixels to the millimetre (254 dpi) the ruler's 100 mm are 1000 pixels."""
    svg = template(blank(crowded()), "tin")
    wide, high = sizes(svg)
    drawn = bytes(resvg_py.svg_to_bytes(svg_string=svg, dpi=254, skip_system_fonts=True, background="#FFFFFF"))
    picture = Image.open(io.BytesIO(drawn)).convert("L")
    assert picture.size == (round(wide * 10), round(high * 10))
    grey = np.asarray(picture)[-420:]
    longest = max(_run(np.flatnonzero(row < 140)) for row in grey if (row < 140).any())
    assert longest == pytest.approx(1000, abs=4)  # round line ends and the pen are 0.2 mm


def _run(columns: np.ndarray) -> int:
    """Return the length of the longest unbroken run."""
    return max(len(run) for run in np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1))


def test_pdf_template_is_true_and_not_to_be_scaled() -> None:
    """The page is A4 in points, the ruler a line of 100 mm, and the board 0.5 + 0.3 within 80 mm on either side."""
    pdf = template_pdf(blank(crowded()), "tin")
    box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf)
    assert box is not None
    assert [float(v) * POINT for v in box.groups()] == pytest.approx([210.0, 297.0], abs=0.01)
    assert b"/PrintScaling /None" in pdf
    flat = _level_lines(pdf)
    assert any(long == pytest.approx(100.0, abs=0.01) for long in flat)
    assert any(long == pytest.approx(78.4, abs=0.01) for long in flat)


def _level_lines(pdf: bytes) -> list[float]:
    """Return the lengths in mm of all level straight lines of a PDF page that is drawn without transforms."""
    content = b"".join(re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.S))
    if b" l" not in content:
        content = zlib.decompress(content)
    number = rb"(-?[\d.]+) (-?[\d.]+) "
    points = re.findall(number + rb"([ml])", content)
    assert b" cm" not in content.replace(b"1 0 0 1 0 0 cm", b"")
    found = []
    for (x0, y0, _), (x1, y1, step) in pairwise(points):
        if step == b"l" and y0 == y1:
            found.append(abs(float(x1) - float(x0)) * POINT)
    return found


def test_pictures_are_all_written_or_none(tmp_path: Path) -> None:
    file, out = tmp_path / "tin.py", tmp_path / "out"
    file.write_text("from modboard import Cavity\ntin = Cavity.rectangle(40, 30, height=15, measured_to=0.2)\n")
    told = CliRunner().invoke(main, ["fit", str(file), "--out", str(out), "--png"])
    assert told.exit_code == 0, told.output
    names = {"clear-heights.svg", "clear-heights.png", "template.svg", "template.png", "template.pdf"}
    assert {p.name for p in out.iterdir()} == names
    (out / "template.svg").unlink()
    (out / "template.svg").mkdir()
    (out / "template.svg" / "mine.txt").write_text("kept")
    (out / "clear-heights.svg").write_text("old")
    told = CliRunner().invoke(main, ["fit", str(file), "--out", str(out)])
    assert told.exit_code == 2 and told.output.count("\n") <= 7, told.output
    assert (out / "template.svg" / "mine.txt").read_text() == "kept"
    assert (out / "clear-heights.svg").read_text() == "old"
    assert {p.name for p in out.iterdir()} == names
