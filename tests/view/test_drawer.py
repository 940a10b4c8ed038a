"""Contact sheets at true size: millimetres on paper are millimetres of the part."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from modboard.cli import main
from modboard.errors import LibraryError
from modboard.library import footprint, footprint_names
from modboard.view.drawer import cell, contact_sheets, pages_of


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


def test_an_unknown_name_is_refused():
    with pytest.raises(LibraryError, match='no footprint "dip-15"'):
        contact_sheets(["dip-15"])
