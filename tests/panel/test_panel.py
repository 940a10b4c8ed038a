"""Panels: arrangement, tabs, scores and rails by the published figures; every output proven by the read-back."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.check.findings import Finding
from modboard.fab.netlist import netlist_file
from modboard.fab.order_note import order_note
from modboard.fab.package import Package, write
from modboard.fab.panel import PanelPlan, area, panel, panel_findings
from modboard.fab.panel.tabs import PanelError
from modboard.fab.readback.connectivity import nets_from_files
from modboard.fab.readback.inspect import inspect_package
from modboard.fab.readback.package import read_package
from modboard.layout.board import Board
from tests.fab.third_party import gerbonara_image
from tests.sample import NETS, sample_artwork, sample_board


def plate(width: float = 20.0, height: float = 15.0, inset: float = 1.5, **rules: Any) -> Artwork:
    """Return a rectangular board with one resistor's worth of copper in its middle, `inset` mm from the edges."""
    board = sample_board()
    described = board.description
    outline = shapely.box(5.0, 5.0, 5.0 + width, 5.0 + height)
    r1 = next(p for p in board.parts if p.part.reference == "R1")
    placed = (replace(r1, at=(5.0 + inset + 0.9, 5.0 + height / 2)),)
    nets = tuple(replace(n, pins=tuple(p for p in n.pins if p[0] == "R1")) for n in described.nets)
    described = replace(
        described, name="plate", parts=(r1.part,), nets=tuple(n for n in nets if n.pins), outline=outline, holes=(),
        unconnected=(), cavity=None, rules=replace(described.rules, **rules),
    )  # fmt: skip
    return draw(Board(described, outline, placed, (), (), ()))


TABBED = panel([sample_artwork()], PanelPlan(2, 2))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Package:
    """Give the written package of four samples; writing it is itself a proof, for it is read back and compared."""
    return write(TABBED, (), tmp_path_factory.mktemp("panel") / "fab")


def test_size_is_boards_and_slots_and_rails() -> None:
    """2 × 30 + 3 × 2 (slots of a 2 mm bit) + 2 × 10 = 86; 2 × 25 + 3 × 2 + 2 × 10 = 76."""
    assert TABBED.board.outline.bounds == pytest.approx((0, 0, 86, 76))
    assert TABBED.board.outline.is_valid and TABBED.board.outline.geom_type == "Polygon"


def test_boards_are_unchanged_by_the_panel() -> None:
    """Each copy's copper is the board's, shifted: equal area on each side, four times (and three marks of 1 mm)."""
    for side in ("copper-top", "copper-bottom", "legend-top", "paste-bottom"):
        one, four = sample_artwork().layer(side).area(), TABBED.layer(side).area()  # type: ignore[arg-type]
        marks = 3 * math.pi * 0.25 if side.startswith("copper") else 0.0
        assert four.area == pytest.approx(4 * one.area + marks, rel=1e-4), side
    assert len([d for d in TABBED.drills if d.plated]) == 4 * len([d for d in sample_artwork().drills if d.plated])


def test_every_slot_takes_a_2_mm_bit_and_every_board_is_held_by_three_tabs_or_more() -> None:
    """Router bits of 2.0 to 2.4 mm, at least three tabs (guideline texts of board houses, common practice)."""
    outline = TABBED.board.outline
    slots = [shapely.Polygon(ring) for ring in outline.interiors]
    for slot in slots:
        opened = slot.buffer(-0.995).buffer(0.995)
        assert slot.difference(opened.buffer(0.02)).area < 1e-3  # nothing is narrower than the bit
    x0, y0, *_ = sample_artwork().board.outline.bounds
    board = shapely.affinity.translate(sample_artwork().board.outline, 12 - x0, 12 - y0)
    material = outline.intersection(board.buffer(1.0).difference(board.buffer(0.9)))
    assert len([p for p in shapely.get_parts(material) if p.area > 0.3]) >= 3


def test_breaking_holes_keep_to_their_figures() -> None:
    """0.5 to 0.8 mm holes, webs of at least 0.25 mm, 0.5 mm to copper, five in a row, none plated."""
    bites = [d for d in TABBED.drills if d.diameter == pytest.approx(0.6) and not d.plated]
    assert len(bites) % 5 == 0 and len(bites) >= 4 * 3 * 5
    places = sorted(d.at for d in bites)
    gaps = [math.dist(a, b) for n, a in enumerate(places) for b in places[n + 1 :]]
    assert min(gaps) - 0.6 >= 0.25
    copper = shapely.union_all([TABBED.layer("copper-top").area(), TABBED.layer("copper-bottom").area()])
    assert min(copper.distance(shapely.Point(p)) for p in places) - 0.3 >= 0.5 - 1e-3


def test_rails_carry_tooling_holes_and_fiducials() -> None:
    """Four holes of 3.0 to 3.2, bare; three marks of 1.0 on both sides, 2.0 clear about them, 4.75 to edge."""
    assert sum(1 for d in TABBED.drills if d.diameter == pytest.approx(3.0) and not d.plated) == 4
    for side in ("top", "bottom"):
        marks = [f for f in TABBED.layer(f"copper-{side}").features if f.function == "fiducial"]  # type: ignore[arg-type]
        assert len(marks) == 3
        for mark in marks:
            x, y = mark.at  # type: ignore[union-attr]
            assert min(x, y, 86 - x, 76 - y) - 1.0 >= 4.75 and mark.shape.area() == pytest.approx(math.pi / 4)
            clear = shapely.Point(x, y).buffer(1.0)
            assert not any(
                f is not mark and f.shape.polygon().intersects(clear) for f in TABBED.features(f"copper-{side}")
            )  # type: ignore[arg-type]
        turned = {(86 - m.at[0], 76 - m.at[1]) for m in marks}  # type: ignore[union-attr]
        assert turned != {m.at for m in marks}  # type: ignore[union-attr]


def test_package_of_the_panel_is_whole(made: Package) -> None:
    """Netlist, positions and job file cover all four boards; the files agree with themselves."""
    verdict = inspect_package(made.archive)
    assert verdict.findings == () and verdict.package.warnings == ()
    wanted = [{tuple(word.split(".")) for word in pins.split()} for _, pins in NETS]
    expected = {frozenset((f"{r}-{k}", p) for r, p in net) for net in wanted for k in (1, 2, 3, 4)}
    assert {net for net in nets_from_files(made.folder) if len(net) > 1} == expected
    files = {p.name.removeprefix("sample-buffer-panel-"): p.read_text() for p in made.files}
    job = json.loads(files["job.gbrjob"])
    assert job["GeneralSpecs"]["Size"] == {"X": 86.0, "Y": 76.0}
    rows = list(csv.DictReader(io.StringIO(files["positions.csv"])))
    assert len(rows) == 4 * len(sample_board().parts)
    u1 = sorted((float(r["x"]), float(r["y"])) for r in rows if r["reference"].startswith("U1-"))
    assert u1[1][1] - u1[0][1] == pytest.approx(27.0) and u1[2][0] - u1[0][0] == pytest.approx(32.0)
    assert "4 boards, routed, 2 mm slots" in files["order.txt"]


def test_panel_files_say_that_they_are_an_array(made: Package) -> None:
    """GLFS 5.6.1, .Part; and .AperFunction FiducialPad with its specifier (5.6.10)."""
    read = read_package(made.folder)
    assert {layer.attributes[".Part"] for layer in read.layers.values()} == {("Array",)}
    top = read.layer("Copper,L1,Top")
    assert top and sum(o.attributes.get(".AperFunction") == ("FiducialPad", "Panel") for o in top.objects) == 3


def test_another_reader_sees_the_same_panel(made: Package) -> None:
    """gerbonara on copper and profile: areas equal to 1e-4."""
    for name in ("copper-top", "profile"):
        text = next(p for p in made.files if p.name.endswith(f"-{name}.gbr")).read_text()
        drawn = TABBED.layer(name).area()  # type: ignore[arg-type]
        assert gerbonara_image(text).area == pytest.approx(drawn.area, rel=1e-4)


# --- scores


def test_scored_panel_has_lines_from_edge_to_edge(tmp_path: Path) -> None:
    """3 columns × 2 rows of 20 × 15 with rails of 10 above and below: lines at x = 20, 40 and y = 10, 25, 40."""
    scored = panel([plate()], PanelPlan(2, 3, parting="score"))
    assert scored.board.outline.bounds == (0, 0, 60, 50)
    lines = {f.points for f in scored.layer("score").features}  # type: ignore[union-attr]
    assert lines == {((x, 0.0), (x, 50.0)) for x in (20.0, 40.0)} | {((0.0, y), (60.0, y)) for y in (10.0, 25.0, 40.0)}
    package = write(scored, (), tmp_path / "fab")
    assert read_package(package.folder).layer("Vcut") is not None


def test_scores_without_rails() -> None:
    bare = panel([plate()], PanelPlan(1, 2, parting="score", rail=0.0))
    assert bare.board.outline.bounds == (0, 0, 40, 15) and len(bare.layer("score").features) == 1
    assert not [f for f in bare.features("copper-top") if f.function == "fiducial"]


def test_fill_takes_as_many_as_fit() -> None:
    """100 × 100 scored: five columns of 20; (100 - 20) / 15 = 5 rows."""
    full = panel([plate()], PanelPlan(fill=(100.0, 100.0), parting="score"))
    assert full.board.outline.bounds == (0, 0, 100, 95) and len(full.board.parts) == 25
    tabbed = panel([plate()], PanelPlan(fill=(100.0, 100.0)))
    x1, y1 = tabbed.board.outline.bounds[2:]
    assert x1 <= 100 and y1 <= 100 and len(tabbed.board.parts) == 3 * 4  # 3 × 20 + 4 × 2 + 20, 4 × 15 + 5 × 2 + 20


def test_several_designs_share_a_panel() -> None:
    """Each design in a row of its own; names stay apart."""
    mixed = panel([sample_artwork(), plate(30.0, 15.0)], PanelPlan(1, 2))
    assert {p.part.reference for p in mixed.board.parts} >= {"U1-1", "U1-2", "R1-1", "R1-3", "R1-4"}
    assert mixed.board.description.name == "sample-buffer-plate-panel"


REFUSED = [
    ([plate(inset=0.0)], PanelPlan(2, 3, parting="score"), "copper of plate comes within .* of a score, 0.8 is needed"),
    ([sample_artwork()], PanelPlan(parting="score"), "is not a rectangle, so scores cannot part it"),
    ([plate(thickness=0.6)], PanelPlan(parting="score"), "under 0.8 mm thick cannot be scored"),
    ([plate(), plate(30.0)], PanelPlan(parting="score"), "all boards must be of one size"),
    ([plate()], PanelPlan(rail=0.0), "routed boards need rails"),
    ([plate()], PanelPlan(rail=3.0), "a rail of 3 mm"),
    ([plate()], PanelPlan(0, 3), "0 × 3 boards"),
    ([plate()], PanelPlan(20, 30), "more than a fabrication panel"),
    ([plate()], PanelPlan(fill=(20.0, 20.0)), r"not one board fits 20 × 20 mm; one with its rails needs 44\.0 × 39\.0"),
    ([plate(), plate(thickness=0.8)], PanelPlan(), "the designs differ in thickness"),
    ([plate(6.0, 6.0)], PanelPlan(2, 2), "has room for 0 tabs, it needs 3"),
    ([plate(12.5, 15.0)], PanelPlan(1, 1, parting="score"), "too narrow for tooling holes"),
    ([], PanelPlan(), "name at least one design"),
]  # fmt: skip


@pytest.mark.parametrize(("artworks", "plan", "words"), REFUSED, ids=[w[:30] for *_, w in REFUSED])
def test_what_cannot_be_made_is_refused_with_its_cure(artworks: list[Artwork], plan: PanelPlan, words: str) -> None:
    """Limits of the guideline texts: 0.8 mm from copper to a score, 0.8 mm of thickness, tabs clear of copper."""
    with pytest.raises(PanelError, match=words):
        panel(artworks, plan)


@pytest.mark.parametrize("text", ["100", "a,b", "100,100,100", "-5,10", ""])
def test_wrong_areas_are_answered(text: str) -> None:
    with pytest.raises(PanelError, match="is no area; give width and height"):
        area(text)
    assert area("100,80.5") == (100.0, 80.5) == area("100 x 80.5")


def test_waived_findings_speak_of_the_nets_of_the_panel() -> None:
    """So that an open waived in the design passes the panel's read-back, and is told in its order note."""
    waived = Finding("open", "error", None, "net SIG, at R1.1", "net SIG is in 2 pieces", waived="wired by hand")
    (told,) = panel_findings([(waived,)], [sample_artwork()], TABBED)
    assert "SIG-1, SIG-2, SIG-3, SIG-4" in told.message and "GND-1" not in told.message


def test_same_panel_gives_the_same_drawing() -> None:
    again = panel([sample_artwork()], PanelPlan(2, 2))
    assert shapely.to_wkb(again.board.outline) == shapely.to_wkb(TABBED.board.outline)
    assert again.drills == TABBED.drills


def test_netlist_of_a_panel_names_its_edge_slots_and_scores(tmp_path: Path) -> None:
    """IPC-D-356A, record 389: PANEL_EDGE once, SCORE_LINE and OTHER_FAB; BOARD_EDGE is for single boards."""
    lines = netlist_file(TABBED).splitlines()
    kinds = [line[3:17].strip() for line in lines if line.startswith("389")]
    assert kinds == ["PANEL_EDGE", "OTHER_FAB"]
    scored = netlist_file(panel([plate()], PanelPlan(1, 2, parting="score"))).splitlines()
    assert [line[3:17].strip() for line in scored if line.startswith("389")] == ["PANEL_EDGE", "SCORE_LINE"]


def test_what_parting_may_break_is_told() -> None:
    """Guideline: ceramic capacitors 6.4 mm from breaking holes; a jack over the edge would stand in the next board."""
    board = sample_board()
    c1 = next(p for p in board.parts if p.part.reference == "C1")
    alone = replace(c1, at=(15.0, 4.0))
    edge = draw(replace(board, parts=(alone,), tracks=(), vias=(), pours=()))
    whole = panel([edge], PanelPlan(2, 2))
    bites = shapely.MultiPoint([d.at for d in whole.drills if d.diameter == 0.6 and not d.plated])
    distances = [shapely.Polygon(b.outline).distance(bites) for p in whole.board.parts for b in p.bodies()]
    near = [f for f in panel_findings([()], [edge], whole) if f.rule == "panel-ceramic"]
    assert [f.where for f in near] == ["part C1"] and min(distances) < 6.4
    assert near[0].measured in [pytest.approx(d) for d in distances]
    assert panel_findings([()], [sample_artwork()], TABBED) == ()  # all its capacitors are 8 mm away and more
    u1 = next(p for p in board.parts if p.part.reference == "U1")
    pushed = draw(replace(board, parts=(replace(u1, at=(u1.at[0] + 15.0, u1.at[1])),), tracks=(), vias=(), pours=()))
    (over,) = [f for f in panel_findings([()], [pushed], TABBED) if f.rule == "panel-overhang"]
    right = max(x for b in pushed.board.parts[0].bodies() for x, _ in b.outline)
    assert over.measured == pytest.approx(right - pushed.board.outline.bounds[2], abs=1e-6) and "U1" in over.where


def test_a_small_board_is_offered_a_frame() -> None:
    """20 × 15: alone in its frame 44 × 39; 100 × 100 leaves 78 mm for boards of 22 × 17 with their slots: 3 × 4."""
    note = order_note(plate(), ())
    assert "modboard panel --rows 1 --columns 1: 44.0 × 39.0 mm; --fill 100,100: 3 × 4 boards" in note
    assert panel([plate()], PanelPlan(1, 1)).board.outline.bounds == pytest.approx((0, 0, 44, 39))
    assert len(panel([plate()], PanelPlan(fill=(100.0, 100.0))).board.parts) == 12
