"""Pictures for the builder show a mark of pin 1 where it is printed, not where its pattern would have it."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely
from shapely.geometry import LineString

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork, Stroke
from modboard.bench.sheet import bench_sheet
from modboard.layout.board import Board
from modboard.view.assembly import assembly_view
from modboard.view.booklet_board import definitions
from modboard.view.booklet_pdf import booklet_pdf
from tests.artwork.boards import moved_mark, strewn, turned_mark
from tests.bench.test_paper import lines, streams
from tests.view.reading import SVG, all_label_boxes, matrix, parsed, texts

Points = tuple[tuple[float, float], ...]
both = pytest.mark.parametrize("board", [turned_mark, moved_mark])


def printed(artwork: Artwork) -> Points:
    """Return the one line of J1's legend that is of no text and not of its outline: the mark."""
    (placed,) = artwork.board.parts
    outline = shapely.union_all([LineString(placed.points(line)) for line in placed.part.footprint.legend])
    inks = [f for f in artwork.features("legend-top") if isinstance(f, Stroke) and f.owner.reference == "J1"]
    (mark,) = [
        f.points for f in inks if not (f.text or f.owner.number or outline.buffer(1e-6).covers(LineString(f.points)))
    ]
    return mark


def pattern(artwork: Artwork) -> Points:
    (placed,) = artwork.board.parts
    (line,) = placed.part.footprint.mark
    return tuple(placed.points(line))


def in_assembly(artwork: Artwork) -> list[Points]:
    """Return the lines of the assembly picture that are drawn in board coordinates."""
    group = next(g for g in parsed(assembly_view(artwork)).iter(f"{SVG}g") if g.get("transform"))
    return [points_of(line) for line in group.iter(f"{SVG}polyline")]


def in_booklet(artwork: Artwork) -> list[Points]:
    """Return the lines of the part on the booklet's page."""
    part = ET.fromstring(f"<g>{definitions(artwork, {})['part-0']}</g>")
    return [points_of(line) for line in part.iter("polyline") if line.get("class") == "mark"]


def on_paper(artwork: Artwork) -> list[Points]:
    """Return the straight lines of the printed booklet's stored pictures, which are in board coordinates."""
    pdf = booklet_pdf(bench_sheet(artwork.board), artwork, "a4")
    return [line for content in streams(pdf) for line in lines(content)]


def points_of(line: ET.Element) -> Points:
    pairs = [pair.split(",") for pair in line.attrib["points"].split()]
    return tuple((float(x), float(y)) for x, y in pairs)


def has(drawn: list[Points], line: Points) -> bool:
    """Tell whether every straight stroke of `line` is among those of `drawn`, to 0.01 mm."""
    strokes = [pair for one in drawn for pair in itertools.pairwise(one)]
    return all(
        any(
            max(abs(a - b) for p, q in zip(s, t, strict=True) for a, b in zip(p, q, strict=True)) < 0.01
            for t in strokes
        )
        for s in itertools.pairwise(line)
    )


@both
@pytest.mark.parametrize("picture", [in_assembly, in_booklet, on_paper])
def test_a_mark_is_shown_where_it_is_printed(
    board: Callable[[], Board], picture: Callable[[Artwork], list[Points]]
) -> None:
    artwork = draw(board())
    drawn = picture(artwork)
    assert has(drawn, printed(artwork)) and not has(drawn, pattern(artwork))


@pytest.mark.parametrize("picture", [in_assembly, in_booklet])
def test_where_nothing_is_printed_a_mark_is_shown_where_its_pattern_has_it(
    picture: Callable[[Artwork], list[Points]],
) -> None:
    board = turned_mark()
    rules = replace(board.description.rules, legend=False)
    bare = draw(replace(board, description=replace(board.description, rules=rules)))
    crowded = draw(strewn([("J", 1.8, 1.6, 0.0, "top")], 3.6, 12.0))
    assert crowded.unplaced_marks == ("J1",)
    for artwork in (bare, crowded):
        assert has(picture(artwork), pattern(artwork))


def test_the_assembly_picture_says_whose_mark_is_not_printed() -> None:
    said = [
        " ".join(texts(assembly_view(draw(b))))
        for b in (turned_mark(), strewn([("J", 1.8, 1.6, 0.0, "top")], 3.6, 12.0))
    ]
    assert "mark as printed." in said[0] and "as printed" not in said[1] and "no room to print that of J1." in said[1]


@both
def test_letters_do_not_hide_a_mark(board: Callable[[], Board]) -> None:
    artwork = draw(board())
    svg = assembly_view(artwork)
    a, b, c, d, e, f = matrix(next(g for g in parsed(svg).iter(f"{SVG}g") if g.get("transform")))
    mark = LineString([(a * x + c * y + e, b * x + d * y + f) for x, y in printed(artwork)])
    boxes = [shapely.box(*box) for _, box in all_label_boxes(svg)]
    assert boxes and min(box.distance(mark) for box in boxes) > 0.2
