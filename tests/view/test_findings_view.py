"""The picture of findings: every place ringed with its number, every finding listed."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from modboard.check import check
from modboard.errors import ModboardError
from modboard.view.findings import findings_view, write_findings
from tests.check.build import net, scene, track

MADE = scene(
    top=[track(n, (10, y), (20, y)) for n, y in (("A", 10.0), ("B", 10.4), ("C", 20.0))], nets=[net(n) for n in "ABC"]
)
FOUND = check(*MADE)


def test_every_finding_with_a_place_is_ringed_with_its_number() -> None:
    root = ElementTree.fromstring(findings_view(MADE[1], FOUND))
    ringed = {int(e.attrib["data-finding"]) for e in root.iter() if "data-finding" in e.attrib}
    assert ringed == {n for n, f in enumerate(FOUND, 1) if f.at is not None} != set()


def test_picture_is_written_as_its_name_says(tmp_path: Path) -> None:
    for name, start in (("found.svg", b"<svg"), ("found.png", b"\x89PNG")):
        write_findings(MADE[1], FOUND, tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(start)
    with pytest.raises(ModboardError, match="can't write the picture"):
        write_findings(MADE[1], FOUND, tmp_path / "nowhere" / "found.svg")


def test_board_without_findings_says_so() -> None:
    assert ElementTree.fromstring(findings_view(MADE[1], ())) is not None
    assert findings_view(MADE[1], ()) != findings_view(MADE[1], FOUND)
