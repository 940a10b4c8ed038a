"""Drill files: what is in them, and what gerbonara and our own reader get out of them."""

from __future__ import annotations

import re

import pytest

from modboard.artwork.model import Artwork, Drill, Owner
from modboard.errors import ModboardError
from modboard.fab.drill import drill_file, length
from modboard.fab.readback.drill import read_drill
from tests.fab.boards import artwork_of
from tests.fab.third_party import gerbonara_holes
from tests.sample import sample_artwork


def drilled(*drills: Drill) -> Artwork:
    """Return an artwork with these holes only."""
    return artwork_of(drills=drills)


def hole(x: float, y: float, size: float, function: str = "component-drill", plated: bool = True) -> Drill:
    """Return a round hole."""
    return Drill((x, y), size, plated, function)  # type: ignore[arg-type]


def expected_holes(artwork: Artwork, plated: bool) -> list[tuple[float, ...]]:
    """Return the artwork's holes in the form of `gerbonara_holes`."""
    return sorted(
        tuple(round(v, 3) for v in (*d.at, *(d.to or ()), d.diameter)) for d in artwork.drills if d.plated is plated
    )


@pytest.mark.parametrize("plated", [True, False])
def test_gerbonara_finds_every_hole_and_slot(plated: bool) -> None:
    """Places and sizes to 1 µm, slots as routed lines, by gerbonara 1.5.0."""
    text = drill_file(sample_artwork(), plated)
    assert text is not None
    assert gerbonara_holes(text) == expected_holes(sample_artwork(), plated)
    ours = sorted(
        tuple(round(v, 3) for v in (*(c for p in h.path for c in p), h.diameter)) for h in read_drill(text).holes
    )
    assert ours == expected_holes(sample_artwork(), plated)


def test_plated_and_bare_holes_are_in_two_files() -> None:
    """GLFS 6.6: never rely on tool numbers to tell them apart."""
    plated, bare = (drill_file(sample_artwork(), which) for which in (True, False))
    assert plated and "; #@! TF.FileFunction,Plated,1,2,PTH" in plated and read_drill(plated).plated is True
    assert bare and "; #@! TF.FileFunction,NonPlated,1,2,NPTH" in bare and read_drill(bare).plated is False


def test_no_file_for_no_holes() -> None:
    """An empty file is a fault that board houses ask about (common practice)."""
    assert drill_file(drilled(hole(0, 0, 1.0)), plated=False) is None


def test_tools_rise_and_are_split_by_function() -> None:
    """GLFS 5.6.10: one function for each tool, so equal sizes of different function need two; order common practice."""
    holes = (hole(0, 0, 1.0), hole(5, 0, 0.6), hole(9, 0, 0.6, "via-drill"), hole(0, 5, 0.8))
    text = drill_file(drilled(*holes), True)
    assert text
    header = text.split("%\n")[0]
    sizes = [("01", "0.600"), ("02", "0.600"), ("03", "0.800"), ("04", "1.000")]
    assert re.findall(r"T(\d\d)C([\d.]+)", header) == sizes
    functions = {h.path[0]: h.function for h in read_drill(text).holes}
    assert functions == {(9.0, 0.0): "ViaDrill"} | dict.fromkeys([(5.0, 0.0), (0.0, 5.0), (0.0, 0.0)], "ComponentDrill")


def test_a_hole_given_twice_is_drilled_once() -> None:
    """A second hit breaks bits (common practice)."""
    text = drill_file(drilled(hole(1, 1, 0.8), hole(1, 1, 0.8), hole(1.0000001, 1, 0.8)), True)
    assert text and len(read_drill(text).holes) == 1


def test_slots_are_routed_and_a_slot_without_length_is_a_hit() -> None:
    """Slots as G00, M15, G01, M16: the only form that gerbonara reads; XNC allows it."""
    slot = Drill((1.0, 2.0), 1.2, True, "component-drill", Owner(), (3.5, 2.0))
    dot = Drill((9.0, 9.0), 1.2, True, "component-drill", Owner(), (9.0, 9.0))
    text = drill_file(drilled(slot, dot), True)
    assert text and "G00X1.000Y2.000\nM15\nG01X3.500Y2.000\nM16\nG05" in text
    assert "\nX9.000Y9.000\n" in text and "G85" not in text
    assert gerbonara_holes(text) == [(1.0, 2.0, 3.5, 2.0, 1.2), (9.0, 9.0, 1.2)]


def test_skeleton_of_the_file() -> None:
    """XNC: M48, unit once and bare, tools, %, body, M30; no command outside the subset."""
    text = drill_file(sample_artwork(), True)
    assert text
    lines = [line for line in text.split("\n") if line and not line.startswith(";")]
    assert lines[0] == "M48" and lines[1] == "METRIC" and lines[-1] == "M30" and lines.count("%") == 1
    allowed = r"M48|METRIC|T\d\dC\d+\.\d{3,6}|%|G05|T\d\d|(G00|G01)?X-?\d+\.\d{3,6}Y-?\d+\.\d{3,6}|M15|M16|M30"
    assert [line for line in lines if not re.fullmatch(allowed, line)] == []


@pytest.mark.parametrize(
    ("value", "text"), [(0, "0.000"), (-0.0, "0.000"), (-1e-9, "0.000"), (12.7, "12.700"), (-3.50001, "-3.50001")]
)
def test_lengths_always_have_a_decimal_point(value: float, text: str) -> None:
    """With a point no zero can be taken for left out."""
    assert length(value) == text


def test_too_many_sizes_are_refused() -> None:
    """Two digits for the tool: 99."""
    with pytest.raises(ModboardError, match="100 different tools"):
        drill_file(drilled(*(hole(n, 0, 0.5 + n / 100) for n in range(100))), True)
