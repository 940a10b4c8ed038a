"""Somebody else's board in a room, by its files alone: files written here by hand in inches, places worked out by hand.

Formats: Gerber layer format (Ucamco 2021), 2.4 digits in inches; drill files of the classic kind, decimal points.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard import Cavity
from modboard.cli import main
from modboard.errors import ModboardError
from modboard.fit.foreign import board_in, read_plan
from modboard.fit.margins import margins
from modboard.layout.board import Board

Ring = Sequence[tuple[float, float]]
RECTANGLE: Ring = ((0, 0), (30.48, 0), (30.48, 20.32), (0, 20.32))  # 1.2 × 0.8 inches
HEAD = "G04 somebody's layer*\n%FSLAX24Y24*%\n%MOIN*%\n%ADD10C,0.0080*%\n%ADD11C,0.0600*%\nD10*\nG01*\n"


def at(x: float, y: float, code: str) -> str:
    """Return a step in ten-thousandths of an inch."""
    return f"X{round(x / 25.4 * 1e4)}Y{round(y / 25.4 * 1e4)}{code}*\n"


def loose(rings: Sequence[Ring], shift: float = 0.0) -> str:
    """Return rings as loose strokes, every other one drawn the other way, in no order."""
    steps = []
    for ring in rings:
        for k, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
            one, two = (a, b) if k % 2 else (b, a)
            steps.append(at(one[0] + shift, one[1], "D02") + at(two[0] + shift, two[1], "D01"))
    return HEAD + "".join(sorted(steps)) + "M02*\n"


def drills(holes: Sequence[tuple[float, float, float]], slots: Sequence[tuple[float, float, float, float, float]] = (),
           shift: float = 0.0) -> str:  # fmt: skip
    """Return a drill file in inches: holes (x, y, diameter) and slots (x0, y0, x1, y1, width), all in mm here."""
    sizes = sorted({h[2] for h in holes} | {s[4] for s in slots})
    tools = "".join(f"T{k}C{d / 25.4:.4f}\n" for k, d in enumerate(sizes, 1))
    body = ""
    for k, size in enumerate(sizes, 1):
        body += f"T{k}\n"
        body += "".join(f"X{(x + shift) / 25.4:.5f}Y{y / 25.4:.5f}\n" for x, y, d in holes if d == size)
        body += "".join(
            f"X{(a + shift) / 25.4:.5f}Y{b / 25.4:.5f}G85X{(c + shift) / 25.4:.5f}Y{d / 25.4:.5f}\n"
            for a, b, c, d, w in slots
            if w == size
        )
    return f"M48\nINCH,TZ\n{tools}%\nG90\nG05\n{body}T0\nM30\n"


def package(folder: Path, rings: Sequence[Ring] | None = (RECTANGLE,), holes: Sequence[tuple[float, float, float]] = (),
            slots: Sequence[tuple[float, float, float, float, float]] = (), shift: float = 100.0) -> Path:  # fmt: skip
    """Return a zip of files named as many programs name them, the board `shift` mm off the origin."""
    copper = HEAD + "D11*\n" + at(5 + shift, 5, "D03") + at(10 + shift, 5, "D03") + "M02*\n"
    files = {"NEWBOARD.GTL": copper, "NEWBOARD.GBL": copper}
    if rings is not None:
        files["NEWBOARD.GKO"] = loose(rings, shift)
    if holes or slots:
        files["NEWBOARD.TXT"] = drills(holes, slots, shift)
    made = folder / "newboard.zip"
    with zipfile.ZipFile(made, "w") as zipped:
        for name, content in files.items():
            zipped.writestr(name, content)
    return made


def put(source: Path, room: Cavity, above: float = 0.0, below: float = 0.0) -> tuple[Board, float]:
    return board_in(read_plan(source), room.model(), above, below, "newboard")


def lower_left(board: Board) -> tuple[float, float]:
    return board.outline.bounds[:2]  # type: ignore[no-any-return]


def gap(board: Board, other: str) -> float:
    return next(m.nominal for m in margins(board) if m.between == f"the board and {other}")


def test_inches_and_loose_strokes_off_the_origin_give_the_size(tmp_path: Path) -> None:
    plan = read_plan(package(tmp_path, holes=[(5, 5, 0.9), (25, 15, 3.2), (12, 12, 0.3)]))
    assert plan.outline.bounds == pytest.approx((0, 0, 30.48, 20.32), abs=0.003)
    assert plan.outline.area == pytest.approx(30.48 * 20.32, abs=0.2)
    [(screw, size)] = plan.screws
    assert screw == pytest.approx((25, 15), abs=0.003) and size == pytest.approx(3.2, abs=0.003)
    assert [at for at, _ in plan.leads] == [pytest.approx((5, 5), abs=0.003)]  # 0.3 is a via


def test_it_is_put_in_the_middle_of_the_way_it_has_least_room(tmp_path: Path) -> None:
    """40 - 20.32 leaves 9.84 on both sides one way; turned it would be 40 - 30.48: 4.76."""
    made, turn = put(package(tmp_path), Cavity.rectangle(60, 40, height=20, board_at=5))
    assert turn in (0, 180) and gap(made, "the wall") == pytest.approx(9.84, abs=0.05)


def test_it_is_turned_where_only_that_fits(tmp_path: Path) -> None:
    """A room of 23 × 33: the board stands upright, with (33 - 30.48) / 2 = 1.26 and (23 - 20.32) / 2 = 1.34."""
    made, turn = put(package(tmp_path), Cavity.rectangle(23, 33, height=20, board_at=5))
    assert turn in (90, 270) and gap(made, "the wall") == pytest.approx(1.26, abs=0.02)
    assert lower_left(made)[1] == pytest.approx(1.26, abs=0.02)


@pytest.mark.parametrize("turned", [False, True])
def test_screw_holes_come_over_the_screws(tmp_path: Path, turned: bool) -> None:
    """Holes at (5, 5) and (20, 12): they lie over screws 15 and 7 apart in one way only, from (6, 7) on."""
    room = (
        Cavity.rectangle(50, 40, height=20, board_at=5)
        if not turned
        else Cavity.rectangle(40, 50, height=20, board_at=5)
    )
    for name, (x, y) in (("one", (11.0, 12.0)), ("two", (26.0, 19.0))):
        room.fixing(name, at=(40 - y, x) if turned else (x, y), diameter=3)
    made, turn = put(package(tmp_path, holes=[(5, 5, 3.2), (20, 12, 3.2)]), room)
    assert turn == (90 if turned else 0)
    assert lower_left(made) == pytest.approx((40 - 7 - 20.32, 6) if turned else (6, 7), abs=0.01)


def test_post_through_a_cut_out(tmp_path: Path) -> None:
    """A square of 8 mm in the board, a post of 4 in the middle of the room: 2 mm all round, wherever parts stand."""
    hole = [(11.24, 6.16), (19.24, 6.16), (19.24, 14.16), (11.24, 14.16)]
    room = Cavity.rectangle(42, 32, height=20, board_at=5, measured_to=0.1)
    room.post("post", at=(21, 16), diameter=4)
    made, _ = put(package(tmp_path, (RECTANGLE, hole)), room, above=8)
    assert made.outline.area == pytest.approx(30.48 * 20.32 - 64, abs=0.3)
    assert gap(made, "post") == pytest.approx(2.0, abs=0.05)
    assert min(m.nominal for m in margins(made) if m.between == "the parts above and post") == pytest.approx(
        2, abs=0.05
    )


def test_tight_cut_out_over_a_post_is_found(tmp_path: Path) -> None:
    """A square of 4.6 round a post of 4, both off the middle: 0.3 all round, 1.7 and more to the walls."""
    hole = [(20.0, 4.0), (24.6, 4.0), (24.6, 8.6), (20.0, 8.6)]
    room = Cavity.rectangle(34, 24, height=20, board_at=5, measured_to=0.1)
    room.post("post", at=(24.0, 8.2), diameter=4)
    made, turn = put(package(tmp_path, (RECTANGLE, hole)), room)
    assert turn == 0 and gap(made, "post") == pytest.approx(0.3, abs=0.02)
    assert lower_left(made) == pytest.approx((24.0 - 22.3, 8.2 - 6.3), abs=0.05)


def test_pushed_aside_by_a_post(tmp_path: Path) -> None:
    """A block from x = 0 to 4; 38 - 20.32 leaves 8.84 up and down, but turned 38 - 30.48 would leave 3.76."""
    room = Cavity.rectangle(44, 38, height=20, board_at=5)
    room.obstacle("block", (0, 15, 4, 25))
    made, _ = put(package(tmp_path), room)
    # 44 - 4 - 30.48 = 9.52 shared between block and wall
    assert gap(made, "block") == pytest.approx(4.76, abs=0.05) and gap(made, "the wall") == pytest.approx(
        4.76, abs=0.05
    )


def test_parts_keep_out_from_under_what_hangs_from_the_lid(tmp_path: Path) -> None:
    """A coil over x < 12 from 12 mm up, parts to 5 + 1.6 + 8: they share 60 - 12 - 30.48 = 17.52 with the wall."""
    room = Cavity.rectangle(60, 36, height=20, board_at=5)
    room.obstacle("coil", (0, 0, 12, 36), bottom=12)
    made, _ = put(package(tmp_path), room, above=8)
    over = min(m.nominal for m in margins(made) if m.between == "the parts above and coil")
    assert over >= 7.0 and gap(made, "the wall") == pytest.approx(7.84, abs=0.1)


def test_slots_count_plated_ones_as_leads_and_bare_ones_as_cut_outs(tmp_path: Path) -> None:
    plan = read_plan(package(tmp_path, slots=[(5, 5, 7, 5, 1.0)]))
    assert {(round(x, 1), round(y, 1)) for (x, y), _ in plan.leads} >= {(5.0, 5.0), (7.0, 5.0)}
    source = package(tmp_path, slots=[(5, 5, 7, 5, 1.0)])
    with zipfile.ZipFile(source) as old:
        kept = {n: old.read(n) for n in old.namelist()}
    with zipfile.ZipFile(source, "w") as new:
        for name, content in kept.items():
            new.writestr(name.replace(".TXT", "-NPTH.TXT"), content)
    plan = read_plan(source)
    assert not plan.leads and plan.outline.area == pytest.approx(30.48 * 20.32 - 2 - 0.785, abs=0.1)


@pytest.mark.parametrize(
    ("there", "words"), [(False, "no file says it is the board's outline"), (True, "does not close")]
)
def test_without_an_outline_one_line_says_so(tmp_path: Path, there: bool, words: str) -> None:
    room = tmp_path / "room.py"
    room.write_text("from modboard import Cavity\ntin = Cavity.rectangle(60, 40, height=20)\n")
    source = package(tmp_path, None)
    if there:
        with zipfile.ZipFile(source, "w") as zipped:  # three sides of four
            zipped.writestr("NEWBOARD.GKO", HEAD + at(0, 0, "D02") + at(30, 0, "D01") + at(30, 20, "D01") + "M02*\n")
            zipped.writestr("NEWBOARD.GTL", HEAD + "D11*\n" + at(5, 5, "D03") + "M02*\n")
    told = CliRunner().invoke(main, ["fit", str(source), "--in", str(room)])
    lines = [line for line in told.output.splitlines() if line.strip() and not line.startswith("reading")]
    assert told.exit_code == 2 and len(lines) == 1 and words in lines[0], told.output


def test_command_says_how_it_lies_and_draws_it(tmp_path: Path) -> None:
    room, out = tmp_path / "room.py", tmp_path / "out"
    room.write_text("from modboard import Cavity\ntin = Cavity.rectangle(60, 40, height=20, board_at=5)\n")
    source = package(tmp_path, holes=[(5, 5, 0.9), (25, 15, 3.2)])
    told = CliRunner().invoke(main, ["fit", str(source), "--in", str(room), "--above", "20", "--out", str(out)])
    assert told.exit_code == 1 and re.search(r"\d\.\d mm too tall under the lid", told.output), told.output
    assert "board of 30.48 × 20.32 mm" in told.output and "1 screw hole, 1 hole for leads" in told.output
    assert {p.name for p in out.iterdir()} == {"fit-plan.svg", "fit-sections.svg"}
    with pytest.raises(ModboardError):
        read_plan(tmp_path / "none.zip")
