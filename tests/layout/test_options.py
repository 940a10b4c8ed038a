"""Hand-drawn copper, keep-outs, quiet nets and one-sided boards, laid out and judged by geometry alone."""

from __future__ import annotations

import csv
import json
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
import shapely
from click.testing import CliRunner

from modboard import Design, Rules
from modboard.artwork.draw import draw
from modboard.bench.build import build_order
from modboard.bench.continuity import continuity
from modboard.bench.copper import conductors
from modboard.check import check
from modboard.cli import main
from modboard.errors import DesignError
from modboard.fab.package import write
from modboard.layout import layout
from modboard.layout.board import Board
from modboard.layout.route.router import route
from tests.layout.boards import apart, too_near


def errors(board: Board) -> list[str]:
    return [f"{f.rule} {f.where}" for f in check(board, draw(board)) if f.severity == "error"]


def timer(name: str, rules: str | Rules = "pool", size: tuple[float, float] = (45, 35)) -> Design:
    design = Design(name, outline=size, rules=rules)
    design.part("J1", "wire-pads-1x4", pins="A B C D")
    design.part("J2", "wire-pads-1x4", pins="A B C D")
    for number in range(1, 5):
        design.part(f"R{number}", "resistor", "1k")
    design.part("U1", "NE555")
    design.net("A", "J1.A R1.1 U1.2 J2.A")
    design.net("B", "R1.2 R2.1 J2.B J1.B U1.3")
    design.net("C", "J1.C J2.C R3.1 U1.1", pour="bottom")
    design.net("D", "J1.D J2.D R3.2 R4.1 R2.2 U1.8")
    design.net("E", "R4.2 U1.7 U1.6")
    design.no_connect("U1.4 U1.5")
    design.place("J1", edge="left")
    design.place("J2", edge="right")
    return design


def drawn(seed: int) -> Design:
    """Return the timer with random tracks and a random keep-out, of those that are not refused."""
    chance = random.Random(seed)
    design = timer(f"drawn-{seed}")
    for net in "ABDE":
        x, y = chance.uniform(8, 30), chance.uniform(3, 30)
        ux, uy = chance.choice([(1, 0), (0, 1), (1, 1), (1, -1)])
        far = chance.uniform(2, 7)
        trial = timer("trial")
        trial._drawn += design._drawn
        trial.track(net, [(x, y), (x + ux * far, y + uy * far)], side=chance.choice(["top", "bottom"]))
        try:
            trial.described()
        except DesignError:
            continue
        design._drawn = trial._drawn
    x, y = chance.uniform(8, 35), chance.uniform(3, 25)
    area = (x, y, x + chance.uniform(2, 5), y + chance.uniform(2, 5))
    trial = timer("trial")
    trial._drawn += design._drawn
    trial.keep_out(area, "copper parts")
    try:
        trial.described()
    except DesignError:
        return design
    design.keep_out(area, "copper parts")
    return design


@pytest.mark.parametrize("seed", range(2))
def test_drawn_copper_stays_and_keep_outs_stay_free(seed: int) -> None:
    design = drawn(seed)
    said = design.described()
    board = layout(said)
    assert board.unrouted == ()
    assert errors(board) == []
    assert too_near(board) == []
    assert not apart(board)
    kept = {(t.net, t.layer, t.points, t.width) for t in board.tracks}
    assert {(t.net, t.side, t.points, t.width) for t in said.drawn_tracks} <= kept
    assert said.drawn_tracks
    for area in said.keep_outs:
        free = area.shape.polygon().buffer(-1e-6)
        copper = [t.shape.polygon() for t in board.tracks] + [p.area for p in board.pours]
        copper += [v.shape.polygon() for v in board.vias] + [p.shape.polygon() for p in board.pads]
        yards = [shapely.Polygon(p.courtyard()) for p in board.parts]
        assert not any(free.intersects(shape) for shape in (*copper, *yards))


def test_a_drawn_track_is_used_and_not_drawn_twice() -> None:
    design = Design("used", outline=(40, 20))
    for reference, x in (("R1", 6), ("R2", 24)):
        design.part(reference, "resistor", "1k")
        design.place(reference, at=(x, 10))
    design.net("A", "R1.2 R2.1")
    design.track("A", [(16.16, 10), (24, 10)], width=1.0)  # from land to land
    assert len(layout(design).tracks) == 1


def quiet_design(gap: float) -> Design:
    design = Design("quiet", outline=(60, 30), rules=Rules.named("pool", quiet_gap=gap))
    for row, (left, right) in enumerate((("R1", "R2"), ("R3", "R4"))):
        for reference, x in ((left, 5.0), (right, 42.0)):
            design.part(reference, "resistor", "1k")
            design.place(reference, at=(x, 10.0 + 4.0 * row))
    design.net("Q", "R1.2 R2.1", quiet=True)
    design.net("N", "R3.2 R4.1", noisy=True)
    design.no_connect("R1.1 R2.2 R3.1 R4.2")
    design.keep_out((25, 0, 30, 9), "tracks vias")
    design.keep_out((25, 15, 30, 30), "tracks vias")
    return design


@pytest.mark.parametrize("gap", [0.75, 2.5])
def test_quiet_nets_keep_well_away_from_noisy_ones(gap: float) -> None:
    board = layout(quiet_design(gap))
    assert board.unrouted == () and errors(board) == []
    quiet = [t for t in board.tracks if t.net == "Q"]
    noisy = [t for t in board.tracks if t.net == "N"]
    least = min(a.shape.distance(b.shape) for a in quiet for b in noisy if a.layer == b.layer) if quiet else 0
    assert least >= gap - 1e-6


def test_too_near_runs_are_reported_when_there_is_no_other_way() -> None:
    board = layout(quiet_design(6.0))  # wider than the passage
    assert board.unrouted == ()
    found = [f for f in check(board, draw(board)) if f.rule == "quiet-near-noisy"]
    layers = {t.net: {u.layer for u in board.tracks if u.net == t.net} for t in board.tracks}
    assert bool(found) == bool(layers["Q"] & layers["N"])


def test_a_quiet_net_that_had_to_be_led_too_near_is_a_flaw() -> None:
    """Another arrangement may have room for both, so the search goes on."""
    for gap, flaws in ((0.75, 0), (6.0, 1)):
        description = quiet_design(gap).described()
        outcome = route(description, layout(description).parts)
        assert (outcome.board.unrouted, outcome.flaws) == ((), flaws)


def crossing() -> Design:
    """Return a board whose two nets must cross: their pads alternate along the edge, too near to it to go behind.

    Two chords of a disc whose ends alternate cross (Jordan 1887), so one link is the fewest.
    """
    design = Design("crossing", outline=(32, 32), rules=Rules.named("home", one_sided=True))
    for name, at in (("J1", (2.6, 16)), ("J2", (16, 29.4)), ("J3", (29.4, 16)), ("J4", (16, 2.6))):
        design.part(name, "wire-pad-24awg")
        design.place(name, at=at)
    design.net("A", "J1.1 J3.1")
    design.net("B", "J2.1 J4.1")
    return design


@cache
def crossed() -> Board:
    """Return that board laid out, once for all tests."""
    return layout(crossing())


def test_two_nets_that_must_cross_take_one_link() -> None:
    board = crossed()
    assert board.unrouted == ()
    links = [p.part for p in board.parts if p.part.footprint.bridge]
    assert [(p.reference, p.kind) for p in links] == [("W1", "link")]
    assert build_order(board)[0].references == ("W1",)
    assert {("W1", "1"), ("W1", "2")} <= {pin for net in board.description.nets for pin in net.pins}
    probed = {spot.pad for probe in continuity(board, conductors(board)).probes for spot in (probe.red, probe.black)}
    assert {"W1.1", "W1.2"} <= probed


@pytest.mark.parametrize(
    "laid", [crossed, lambda: layout(timer("single", Rules.named("home", one_sided=True), (60, 50)))]
)
def test_a_one_sided_board_has_links_and_nothing_else_on_top(laid: Callable[[], Board], tmp_path: Path) -> None:
    board = laid()
    assert board.unrouted == () and errors(board) == []
    assert board.vias == ()
    assert {t.layer for t in board.tracks} <= {"bottom"} and {p.layer for p in board.pours} <= {"bottom"}
    assert all(pad.layers == ("bottom",) for pad in board.pads)
    links = [p for p in board.parts if p.part.footprint.bridge]
    bodies = [(p, shapely.Polygon(b.outline)) for p in board.parts for b in p.bodies()]
    for link in links:
        (x0, y0), (x1, y1) = (pad.at for pad in link.pads({}))
        length = abs(x1 - x0) + abs(y1 - y0)
        assert min(abs(x1 - x0), abs(y1 - y0)) < 1e-6
        assert length >= 5.08 - 1e-6 and abs(length / 2.54 - round(length / 2.54)) < 1e-6
        wire = shapely.LineString([(x0, y0), (x1, y1)]).buffer(0.3 + 0.24)  # 0.25 of air, less what chords take
        assert not any(p is not link and wire.intersects(body) for p, body in bodies)
    artwork = draw(board)
    assert not any(d.plated for d in artwork.drills)
    write(artwork, check(board, artwork), tmp_path / "fab")  # reads itself back, or raises
    parts = next((tmp_path / "fab").glob("*-parts.csv")).read_text(encoding="utf-8")
    assert all(link.part.reference in parts and link.part.value in parts for link in links)


def test_the_same_one_sided_board_comes_out_twice() -> None:
    assert layout(crossing()) == crossed()


def test_the_command_line_makes_a_two_sided_design_one_sided_with_its_link_in_every_list(tmp_path: Path) -> None:
    """The package says one copper side (Gerber Job Format: as many coppers as layers); the link is listed as a part."""
    file = tmp_path / "cross.py"
    file.write_text(
        "from modboard import Design, Rules\n"
        "board = Design('cross', outline=(32, 32), rules=Rules.named('pool', track=0.8, gap=0.8))\n"
        "for name, at in (('J1', (2.6, 16)), ('J2', (16, 29.4)), ('J3', (29.4, 16)), ('J4', (16, 2.6))):\n"
        "    board.part(name, 'wire-pad-24awg')\n"
        "    board.place(name, at=at)\n"
        "board.net('A', 'J1.1 J3.1')\n"
        "board.net('B', 'J2.1 J4.1')\n",
        encoding="utf-8",
    )
    out = tmp_path / "out"
    told = CliRunner().invoke(main, ["make", str(file), "--one-sided", "--quiet", "--out", str(out)])
    assert told.exit_code == 0, told.output
    note = (out / "fab" / "cross-order.txt").read_text(encoding="utf-8")
    assert "1, at the bottom" in note and "0 plated in all" in note
    assert "cross-copper-top.gbr" not in {p.name for p in (out / "fab").iterdir()}
    job = json.loads((out / "fab" / "cross-job.gbrjob").read_text(encoding="utf-8"))
    stack = [entry["Type"] for entry in job["MaterialStackup"]]
    assert job["GeneralSpecs"]["LayerNumber"] == stack.count("Copper") == 1
    assert sum(entry.get("Thickness", 0) for entry in job["MaterialStackup"]) == pytest.approx(1.6)
    with (out / "fab" / "cross-parts.csv").open(encoding="utf-8") as listed:
        (link,) = (row for row in csv.DictReader(listed) if row["device"] == "link")
    length = link["value"].removesuffix(" mm")
    assert link["references"] == "W1" and float(length) / 2.54 == pytest.approx(round(float(length) / 2.54))
    with (out / "bench" / "build.csv").open(encoding="utf-8") as listed:
        first = next(csv.DictReader(listed))
    assert (first["references"], first["lay on"], first["solder on"]) == ("W1", "top", "bottom")
    assert f"{float(length):.2f} mm apart" in first["leads"]
    assert "%TO.C,W1*%" in (out / "fab" / "cross-legend-top.gbr").read_text(encoding="utf-8")
