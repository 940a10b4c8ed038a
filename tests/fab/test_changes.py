"""What changed between two packages, told from their files."""

from __future__ import annotations

from dataclasses import replace

import pytest

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.fab.package import package_texts
from modboard.fab.readback.changes import package_changes
from modboard.fab.readback.package import ReadPackage, package_of
from modboard.layout.board import Board
from modboard.view.changes import changes_view
from tests.sample import sample_artwork, sample_board


def read(artwork: Artwork, netlist: bool = True) -> ReadPackage:
    """Return the package of an artwork, read."""
    texts = package_texts(artwork, ())
    return package_of({n: t.encode() for n, t in texts.items() if netlist or not n.endswith(".ipc")})


def changed() -> Artwork:
    """Return the sample with C1 moved by (0.3, 0.4) mm, R1 another value, J2.2 off GND, one via and one track gone."""
    board = sample_board()
    parts = tuple(replace(p, value="120k") if p.reference == "R1" else p for p in board.description.parts)
    by_name = {p.reference: p for p in parts}
    nets = tuple(replace(n, pins=tuple(p for p in n.pins if p != ("J2", "2"))) for n in board.description.nets)
    placed = tuple(
        replace(
            p, part=by_name[p.part.reference], at=(p.at[0] + 0.3, p.at[1] + 0.4) if p.part.reference == "C1" else p.at
        )
        for p in board.parts
    )
    described = replace(board.description, parts=parts, nets=nets)
    return draw(Board(described, board.outline, placed, board.tracks[1:], board.vias[1:], board.pours))


@pytest.mark.parametrize("netlist", [True, False])
def test_every_kind_of_change_is_told(netlist: bool) -> None:
    """The move of 0.3 and 0.4 mm is 0.5 mm long; the via's hole is 0.6 mm."""
    changes = package_changes(read(sample_artwork(), netlist), read(changed(), netlist))
    assert "part C1: moved by 0.50 mm" in changes.lines
    assert "part R1: 100k became 120k" in changes.lines
    assert "net GND: now without J2.2" in changes.lines
    assert "holes: 1 × 0.60 mm plated taken out or moved" in changes.lines
    (top,) = [line for line in changes.lines if line.startswith("copper top")]
    assert float(top.split()[2]) > 2.0
    picture = changes_view(changes, "sample, since before")
    assert "part C1: moved by 0.50 mm" in picture and "#D55E00" in picture


def test_equal_packages_have_no_changes() -> None:
    changes = package_changes(read(sample_artwork()), read(sample_artwork()))
    assert changes.lines == () and changes.added[0].is_empty and changes.removed[1].is_empty


def test_another_outline_is_told() -> None:
    board = sample_board()
    small = draw(replace(board, outline=board.outline.buffer(-0.2, join_style="mitre")))
    changes = package_changes(read(sample_artwork()), read(small))
    assert any(line.startswith("outline: 30.00 × 25.00 mm before, 29.60 × 24.60 mm now") for line in changes.lines)
