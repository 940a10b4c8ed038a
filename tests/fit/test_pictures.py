"""Plan and sections of a board in its room: every tight place labelled, figures true, letters apart."""

from __future__ import annotations

import math
import re

import pytest
import shapely

from modboard.fit.margins import tightest
from modboard.fit.room import Room
from modboard.layout.board import Board
from modboard.view.fit_cuts import cuts
from modboard.view.fit_plan import fit_plan
from modboard.view.fit_section import fit_sections
from tests.check.build import box_part
from tests.fit.build import block, board, cavity, post
from tests.fit.test_room_pictures import overlapping
from tests.view.reading import all_label_boxes, sizes, texts


def crowded() -> Board:
    """Return the plate of 40 × 30 with 24 parts in rows, one of them 0.1 below the lid, posts at two corners."""
    parts = [
        box_part(f"C{6 * row + k + 1}", (9 + 6.4 * k, 9 + 7 * row), (4, 4), height=14.3 if (k, row) == (3, 2) else 6.0,
                 leads=[("1", (-1, 0)), ("2", (1, 0))])
        for row in range(4) for k in range(6)
    ]  # fmt: skip
    stands = [post((3.0, 3.0), 4.0), block(46, 10, 49, 20, top=8.0), block(20, 10, 30, 20, bottom=15.0)]
    named = [o if k == 0 else o.__class__(**{**vars(o), "name": f"block {k}"}) for k, o in enumerate(stands)]
    return board(cavity(obstacles=named), parts)


def lone() -> Board:
    """Return the plate with one low part and a post 0.7 mm off its corner, aslant: 3:4 to the axes."""
    middle = (5.0 - 0.6 * 1.7, 5.0 - 0.8 * 1.7)
    return board(cavity(obstacles=[post(middle, 2.0)]), [box_part("C1", (25, 20), (5, 5), height=5.0)])


@pytest.mark.parametrize("made", [crowded(), lone()], ids=["crowded", "lone"])
def test_letters_keep_apart_and_on_the_sheet(made: Board) -> None:
    for svg in (fit_plan(made), fit_sections(made)):
        assert overlapping(svg) == []
        wide, high = sizes(svg)
        for text, (x0, y0, x1, y1) in all_label_boxes(svg):
            assert x0 > 0 and y0 > 0 and x1 < wide and y1 < high, text


def test_plan_numbers_the_three_tightest_and_tells_their_figures() -> None:
    made = crowded()
    told = texts(fit_plan(made))
    column = " ".join(told)
    for number, margin in enumerate(tightest(made), 1):
        assert str(number) in told
        assert re.search(rf"{number} +{re.escape(margin.between.split(' and ', 1)[0])}\b", column)
    first = tightest(made, 1)[0]
    # 20 - 4 - 1.6 - 14.3 = 0.1 as measured; 0.3 and a tenth of the board's thickness may be out
    assert (round(first.nominal, 2), round(first.worst, 2)) == (0.1, -0.36)
    assert any("C16 and the lid, above: -0.36 (0.10)" in t for t in told)
    assert "C16" in told and all(f"C{k}" in told for k in range(1, 25))


def test_section_runs_along_the_gap_and_letters_it() -> None:
    """From the corner (5, 5) along 3:4, 1.7 mm to the post's centre less its radius of 1."""
    made = lone()
    room = Room(made, made.description.cavity)  # type: ignore[arg-type]
    first = cuts(room)[0]
    assert first.margin.between == "the board and post"
    assert math.dist(*first.ends) == pytest.approx(0.7, abs=1e-3)
    assert first.angle == pytest.approx(math.degrees(math.atan2(4, 3)), abs=0.1)
    told = texts(fit_sections(made))
    assert "0.15 at worst (0.70 as measured)" in told  # 0.3 and 0.25 may be out


def test_section_letters_a_clash_as_too_much() -> None:
    assert "0.36 too much at worst (0.10 to spare as measured)" in texts(fit_sections(crowded()))


def test_sections_are_two_and_drawn_in_the_plan_by_letter() -> None:
    made = crowded()
    plan = texts(fit_plan(made))
    heads = [t for t in texts(fit_sections(made)) if re.match(r"[AB]–[AB], ", t)]
    assert [t[0] for t in heads] == ["A", "B"] and plan.count("A") == 2 and plan.count("B") == 2


def test_section_through_straight_sides_is_drawn_to_scale() -> None:
    """The block's face is at x = 46, the plate's at 45: 1 mm on the sheet at the scale told."""
    made = board(cavity(obstacles=[block(46, 10, 49, 30)]), [box_part("C1", (25, 20), (5, 5), height=5.0)])
    svg = fit_sections(made)
    head = next(t for t in texts(svg) if t.startswith("A–A, along x"))
    scale = float(re.findall(r"scale ([\d.]+):1", head)[0])
    boxes = [
        [tuple(map(float, p)) for p in re.findall(r"(-?[\d.]+) (-?[\d.]+)", d)]
        for d in re.findall(r'd="(M[^"]*Z)"', svg)
    ]
    spans = {(min(p[0] for p in b), max(p[0] for p in b)) for b in boxes if len(b) == 4}
    wide = sorted(round(b - a, 2) for a, b in spans)
    assert round(40 * scale, 2) == pytest.approx(max(w for w in wide if w < 50 * scale - 1), abs=0.2)
    board_end = next(b for a, b in spans if b - a == pytest.approx(40 * scale, abs=0.2))
    faces = [a for a, b in spans if b - a == pytest.approx(3 * scale, abs=0.05)]
    assert any(face - board_end == pytest.approx(1.0 * scale, abs=0.02) for face in faces)


def test_no_section_without_a_place() -> None:
    made = board(cavity(height=None), outline=shapely.box(5, 5, 45, 35))
    assert 1 <= len(cuts(Room(made, made.description.cavity))) <= 2  # type: ignore[arg-type]


def test_second_clash_is_cut_before_a_place_of_another_kind() -> None:
    """Two parts higher than 13.94, which is the lid with every ±, and leads 2.2 over the floor."""
    parts = [
        box_part(f"C{k}", (10 * k, 10 * k), (4, 4), height=14.0 + k / 10, leads=[("1", (0, 0))]) for k in (1, 2, 3)
    ]
    made = board(cavity(), parts)
    found = cuts(Room(made, made.description.cavity))  # type: ignore[arg-type]
    assert [c.margin.between for c in found] == ["C3 and the lid", "C2 and the lid"]
