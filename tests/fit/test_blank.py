"""The largest board for a room, by hand, and its template at full size."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from modboard import Cavity
from modboard.cli import main
from modboard.fit.blank import blank
from modboard.view.template import template


def room() -> Cavity:
    """Return a room 57 x 31.5 x 20 with a coil from 12 mm up and a rib 1 mm high, measured to 0.3."""
    made = Cavity.rectangle(57.0, 31.5, height=20.0, board_at=3.0, measured_to=0.3, wall_gap=0.5)
    made.obstacle("coil", (30, 10, 40, 22), bottom=12)
    made.obstacle("rib", (10, 0, 12, 31.5), top=1.0)
    return made


def test_size_area_and_clear_heights() -> None:
    """0.5 + 0.3 off each side: 55.4 x 29.9.  Above: 20 - 3 - 1.6 less 0.5 of air, 0.3 and a tenth of the thickness;
    below: 3 less 0.5 and 0.3.

    At the coil 12 - 3 - 1.6 less 0.5, 0.3 and 0.16; at the rib 3 - 1 less 0.5 and 0.3; where they cross, both.
    """
    found = blank(room())
    assert found.outline.bounds == pytest.approx((0.8, 0.8, 56.2, 30.7))
    assert found.area == pytest.approx(55.4 * 29.9)
    heights = {z.name: (z.above.usable, z.below.usable) for z in found.zones if z.above and z.below}
    assert heights["everywhere else"] == pytest.approx((14.44, 2.2))
    assert heights["at coil"] == pytest.approx((6.44, 2.2))
    assert heights["at rib"] == pytest.approx((14.44, 1.2))
    assert found.zones[0].above is not None and found.zones[0].above.nominal == pytest.approx(15.4)
    assert sum(zone.ground.area for zone in found.zones) == pytest.approx(found.area)


def test_template_is_drawn_at_full_size_with_a_true_ruler() -> None:
    svg = template(blank(room()), "tin")
    root = ElementTree.fromstring(svg)
    width, height = (float(root.attrib[k].removesuffix("mm")) for k in ("width", "height"))
    assert [float(v) for v in root.attrib["viewBox"].split()[2:]] == [width, height]
    ticks = [e.attrib["points"] for e in root.iter() if e.tag.endswith("polyline")]
    spans = [[tuple(map(float, p.split(","))) for p in points.split()] for points in ticks]
    level = [abs(line[0][0] - line[-1][0]) for line in spans if len(line) == 2 and line[0][1] == line[-1][1]]
    assert max(level) == 100.0
    cut = next(e.attrib["d"] for e in root.iter() if (e.tag.endswith("path") and 'stroke-width="0.2"' in str(e.attrib))
               or e.attrib.get("stroke-width") == "0.2")  # fmt: skip
    xs = [float(x) for x, _ in re.findall(r"([\d.]+)[ ,]([\d.]+)", cut)]
    assert max(xs) - min(xs) == pytest.approx(55.4, abs=2e-3)


def test_command_answers_a_file_with_a_room_only(tmp_path: Path) -> None:
    file = tmp_path / "tin.py"
    file.write_text("from modboard import Cavity\ntin = Cavity.rectangle(40, 30, height=15, measured_to=0.2)\n")
    done = CliRunner().invoke(main, ["fit", str(file), "--template", str(tmp_path / "tin.svg")])
    assert done.exit_code == 0, done.output
    assert "largest board: 38.60 × 28.60 mm, 1104 mm²" in done.output
    assert (tmp_path / "tin.svg").read_text().startswith("<svg")
    file.write_text("from modboard import Cavity\na = Cavity.rectangle(40, 30)\nb = Cavity.rectangle(20, 10)\n")
    done = CliRunner().invoke(main, ["fit", str(file)])
    assert done.exit_code == 2 and "tin.py:1: several rooms in this file" in done.output


@pytest.mark.parametrize(
    ("room", "words"),
    [
        ("Cavity.rectangle(40, 30, height=4)", "is 0.60 mm over the lid at 4 mm"),  # 3.0 + 1.6 over the floor
        ("Cavity.rectangle(2, 30, height=20)", "the cavity leaves no room for a board"),
        ("Cavity.rectangle(3.3, 30, height=20)", "the cavity leaves no room for a board"),  # a sliver of 1.9 mm
    ],
)
def test_room_without_a_board_is_answered_in_one_line(tmp_path: Path, room: str, words: str) -> None:
    file = tmp_path / "tin.py"
    file.write_text(f"from modboard import Cavity\ntin = {room}\n")
    done = CliRunner().invoke(main, ["fit", str(file), "--template", str(tmp_path / "tin.svg")])
    assert done.exit_code == 2 and done.output.count("\n") == 1 and words in done.output, done.output
    assert not (tmp_path / "tin.svg").exists()
