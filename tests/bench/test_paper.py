"""The printed booklet: the same leaves as the page, sizes of paper, and true size measured in the file itself."""

from __future__ import annotations

import base64
import itertools
import math
import re
import zlib
from collections.abc import Iterator
from functools import cache

import pytest
import shapely

from modboard import Design
from modboard.artwork.draw import draw
from modboard.artwork.model import Stroke
from modboard.bench.sheet import BenchSheet, bench_sheet
from modboard.layout.board import Board, PlacedPart
from modboard.view.booklet_blocks import Pairs
from modboard.view.booklet_leaves import leaves
from modboard.view.booklet_marks import Mark, label_places, marks
from modboard.view.booklet_pdf import booklet_pdf
from modboard.view.paper import Paper
from tests.sample import sample_artwork, sample_board

MM = 25.4 / 72  # mm in a point (PDF, ISO 32000-1: the default unit of user space)
Line = tuple[tuple[float, float], tuple[float, float]]


@cache
def sample() -> BenchSheet:
    return bench_sheet(sample_board())


def wired() -> tuple[BenchSheet, bytes]:
    """A board with two wires of known length and one resistor, and its booklet."""
    board = Design("wired", outline=(40, 30))
    board.part("J1", "wire-pads-1x2", pins="A B")
    board.part("R1", "resistor", "1k")
    board.net("A", "J1.A R1.1")
    board.net("B", "J1.B R1.2")
    board.wire("J1.A", host="IC4 pin 8", length=85)
    board.wire("J1.B", host="far away", length=950)
    described = board.described()
    placed = tuple(PlacedPart(p, (8.0, 8.0 + 7 * n), 0.0) for n, p in enumerate(described.parts))
    made = Board(described, described.outline, placed, (), (), ())
    sheet = bench_sheet(made)
    return sheet, booklet_pdf(sheet, draw(made), "a4")


def streams(pdf: bytes) -> list[str]:
    """Return the page contents, unpacked (ISO 32000-1, 7.4: ASCII85Decode, then FlateDecode)."""
    packed = re.findall(rb"/ASCII85Decode /FlateDecode.*?stream\r?\n(.*?)~>\s*endstream", pdf, re.S)
    found = []
    for data in packed:
        text = zlib.decompress(base64.a85decode(data)).decode("latin-1")
        if " Tf" in text or " re" in text or " l " in text:
            found.append(text)
    return found


def lines(content: str) -> Iterator[Line]:
    """Yield every straight drawn line in mm on the page, through all changes of the coordinate system."""
    matrix, kept, numbers, at = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), [], [], (0.0, 0.0)
    for token in content.split():
        if re.fullmatch(r"-?\d*\.?\d+", token):
            numbers.append(float(token))
            continue
        a, b, c, d, e, f = matrix
        if token == "q":
            kept.append(matrix)
        elif token == "Q":
            matrix = kept.pop()
        elif token == "cm":
            p, q, r, s, t, u = numbers[-6:]
            matrix = (p * a + q * c, p * b + q * d, r * a + s * c, r * b + s * d, t * a + u * c + e, t * b + u * d + f)
        elif token in ("m", "l"):
            x, y = numbers[-2:]
            to = ((x * a + y * c + e) * MM, (x * b + y * d + f) * MM)
            if token == "l":
                yield at, to
            at = to
        numbers = []


def lengths(content: str) -> list[float]:
    return [math.dist(a, b) for a, b in lines(content)]


@pytest.mark.parametrize(("size", "width", "height"), [("a4", 210, 297), ("letter", 215.9, 279.4)])
def test_pages_have_the_size_of_the_paper(size: str, width: float, height: float) -> None:
    """A4 by ISO 216, Letter by ANSI/ASME Y14.1; no viewer may scale it on its own (ISO 32000-1, 12.2)."""
    pdf = booklet_pdf(sample(), sample_artwork(), size)
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf)
    assert len(boxes) > 3
    assert {(round(float(w) * MM, 1), round(float(h) * MM, 1)) for w, h in boxes} == {(width, height)}
    assert b"/PrintScaling /None" in pdf
    assert pdf == booklet_pdf(sample(), sample_artwork(), size)  # same bytes


def test_true_size_is_true() -> None:
    """Rulers, bending gauge, wire and outline, measured in the file as it will lie on the paper."""
    sheet, pdf = wired()
    true = [s for s in streams(pdf) if any(abs(x - 100) < 0.01 for x in lengths(s))]
    assert len(true) == 1
    drawn = lengths(true[0])
    for wanted in (100.0, 50.0, 40.0, 30.0, 10.16, 85.0):  # rulers, board 40 x 30, resistor's pitch, wire
        assert min(abs(x - wanted) for x in drawn) < 0.01, wanted
    foot = next(a[1] for a, b in lines(true[0]) if abs(math.dist(a, b) - 100) < 0.01)
    ticks = [a[0] for a, b in lines(true[0]) if abs(a[1] - foot) < 1e-3 and abs(b[0] - a[0]) < 1e-3]
    assert len(ticks) == 101
    assert all(b - a == pytest.approx(1.0, abs=0.01) for a, b in itertools.pairwise(ticks))
    assert max(drawn) < 184.1  # the page between its margins: the long wire is not drawn short
    assert [w.length for w in sheet.wires] == [85, 950]


def test_true_size_bears_the_legend_as_it_is_printed() -> None:
    """Every stroke of the legend on top, between the same points of the board, measured from a corner of it."""
    artwork = sample_artwork()
    true = next(
        s for s in streams(booklet_pdf(sample(), artwork, "a4")) if any(abs(x - 100) < 0.01 for x in lengths(s))
    )
    drawn = list(lines(true))
    strokes = [s for f in artwork.features("legend-top") if isinstance(f, Stroke) for s in itertools.pairwise(f.points)]
    assert len(strokes) > 50
    first, *rest = sorted(strokes, key=lambda s: -math.dist(*s))

    def shifts(stroke: Line) -> set[tuple[float, float]]:
        """Where the board's origin would lie on the paper, were this stroke that line."""
        (ax, ay), (bx, by) = stroke
        return {
            (round(p[0] - ax, 1), round(p[1] - ay, 1))
            for p, q in drawn
            if abs(q[0] - p[0] - bx + ax) < 0.02 and abs(q[1] - p[1] - by + ay) < 0.02
        }

    places = shifts(first)
    for stroke in rest[:200]:
        places = {a for a in places if any(math.dist(a, b) < 0.15 for b in shifts(stroke))}
    assert len(places) == 1


def test_what_is_touched_from_behind_is_said_and_dashed() -> None:
    """A row of the paper names the side that its picture does not show, and the ring there is dashed."""
    seen = {True: 0, False: 0}
    for leaf in leaves(sample()):
        rows = [row for block in leaf.blocks if isinstance(block, Pairs) for row in block.rows]
        rings = {(m.sort, m.at, n): m.behind for m in marks(leaf, sample().board.parts) for n in numbers(m.label)}
        for n, (row, probe) in enumerate(zip(rows, leaf.probes, strict=False), 1):
            for sort, end, said in (("red", "r", row.red), ("black", "b", row.black)):
                behind = probe[end]["s"] != leaf.side
                assert said == probe[end]["p"] + (f" {probe[end]['s']}" if behind else "")
                assert rings[sort, tuple(probe[end]["at"]), n] == behind
                seen[behind] += 1
    assert min(seen.values()) > 3


def numbers(label: str) -> list[int]:
    """Return 2, 3, 4 and 7 for "2-4,7"; nothing for names."""
    if not re.fullmatch(r"[\d,-]+", label) or label == "-":
        return []
    ends = [[int(x) for x in word.split("-")] for word in label.split(",")]
    return [n for pair in ends for n in range(pair[0], pair[-1] + 1)]


def test_paper_says_what_the_page_says(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    plain = Paper.type

    def heard(self: Paper, x: float, y: float, text: str, *rest: object) -> float:
        said.append(text)
        return plain(self, x, y, text, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(Paper, "type", heard)
    booklet_pdf(sample(), sample_artwork(), "a4")
    text = " ".join(said)
    for leaf in leaves(sample()):
        assert leaf.title.split()[0] in text
        assert leaf.chapter in said
    for probe in sample().whole.probes:
        assert probe.red.pad in said or f"{probe.red.pad} {probe.red.side}" in said
        assert probe.black.pad in said
    for step in sample().build:
        for colours in step.bands:
            assert ", ".join(colours) in text


def test_letters_the_type_lacks_are_replaced_and_long_words_broken() -> None:
    paper = Paper("a4", "test")
    assert paper.known("4.7 kΩ µF") == "4.7 kΩ µF"
    assert paper.known("Řekni α, Δ") == "Rekni alpha, Delta"
    assert paper.known("4.7 k\u2126, 10 \u03bcF, złoty") == "4.7 kΩ, 10 µF, złoty"  # ohm sign, Greek mu
    assert paper.known("Щука Ёж") == "Shchuka Ezh"  # ICAO Doc 9303 part 3 table, from memory
    assert paper.known("漢 e\u0301\a") == "[U+6F22] é[U+0007]"
    names = "αβγΩωµжш漢字ł"
    assert len({paper.known(name) for name in names}) == len(names)
    broken = paper.wrapped("W" * 400, 50.0)
    assert "".join(broken) == "W" * 400
    assert all(paper.length(line, "Vera", 9.0) <= 50.0 for line in broken)


def test_many_rows_go_over_the_page() -> None:
    board = Design("many", outline=(120, 90))
    board.part("J1", "wire-pads-1x40")
    board.part("J2", "wire-pads-1x40")
    for n in range(1, 41):
        board.net(f"N{n}", f"J1.{n} J2.{n}")
        board.wire(f"J1.{n}", host="a host point with a rather long name " * 3)
    described = board.described()
    placed = tuple(PlacedPart(p, (8.0, 10.0 + 20 * n), 0.0) for n, p in enumerate(described.parts))
    made = Board(described, described.outline, placed, (), (), ())
    for content in streams(booklet_pdf(bench_sheet(made), draw(made), "letter")):
        places = [float(y) * MM for y in re.findall(r"1 0 0 1 [-\d.]+ ([-\d.]+) Tm", content)]
        assert not places or min(places) > 8.0  # nothing is set off the page


def test_labels_hide_no_ring_and_no_other_label() -> None:
    """A row of pads 2.54 mm apart, standing and lying, each probed: boxes and discs judged by shapely."""
    for across, up in ((0.0, 2.54), (2.54, 0.0)):
        at = [(k * across, k * up) for k in range(5)]
        found = [Mark("red" if k % 2 else "black", p, str(k)) for k, p in enumerate(at)]
        places = label_places(found, at, [0.9] * 5, 1.25, 1.2)
        labels = [shapely.box(x - 0.45, y - 0.6, x + 0.45, y + 0.6) for x, y in places]
        assert not any(a.intersects(b) for a, b in itertools.combinations(labels, 2))
        rings = [shapely.Point(p).buffer(1.2) for p in at]
        assert not any(
            label.intersects(ring) for n, label in enumerate(labels) for k, ring in enumerate(rings) if k != n
        )
    wire = [Mark("wire", (0.0, 0.0), "1", "#fff")]
    assert label_places(wire, [(0.0, 0.0)], [0.9], 1.25, 1.2) == [(0.0, 0.0)]
