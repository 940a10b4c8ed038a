"""Parts list, placement positions, job file and order note."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

import pytest

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.check.findings import Finding
from modboard.fab.job import job_file
from modboard.fab.order_note import order_note
from modboard.fab.parts_list import harmless, natural, parts_list
from modboard.fab.positions import positions
from modboard.geometry import turn_point
from modboard.layout.board import Board, PlacedPart
from tests.sample import sample_artwork, sample_board


def rows(text: str) -> list[dict[str, str]]:
    """Return CSV text as rows by column name."""
    return list(csv.DictReader(io.StringIO(text)))


def with_parts(**changes: dict[str, Any]) -> Artwork:
    """Return the sample with some parts changed, by reference."""
    board = sample_board()
    parts = tuple(replace(p, **changes.get(p.reference, {})) for p in board.description.parts)
    by_name = {p.reference: p for p in parts}
    placed = tuple(PlacedPart(by_name[p.part.reference], p.at, p.turn, p.side) for p in board.parts)
    described = replace(board.description, parts=parts)
    return draw(Board(described, board.outline, placed, board.tracks, board.vias, board.pours))


def test_parts_alike_share_a_line() -> None:
    """Grouped by device, value, footprint and note."""
    found = {row["references"]: row for row in rows(parts_list(with_parts(R2={"value": "100k"})))}
    assert found["R1, R2"]["count"] == "2" and found["R1, R2"]["value"] == "100k"
    assert sum(int(row["count"]) for row in found.values()) == len(sample_board().parts)


def test_parts_not_fitted_say_so_and_come_last() -> None:
    """A part left out of the build stays on the list, marked, and gets no position."""
    artwork = with_parts(C1={"fitted": False})
    listed = rows(parts_list(artwork))
    assert [(r["references"], r["fitted"]) for r in listed if r["fitted"] != "yes"] == [("C1", "no")]
    assert listed[-1]["references"] == "C1"
    assert "C1" not in {r["reference"] for r in rows(positions(artwork))}


def test_device_stands_for_a_missing_value_and_notes_are_kept() -> None:
    """A 2N3904 is its own value."""
    found = {r["references"]: r for r in rows(parts_list(with_parts(J1={"note": "long pins, fit first"})))}
    assert found["U1"]["value"] == "sample-buffer"
    assert found["J1"]["note"] == "long pins, fit first"


@pytest.mark.parametrize(
    ("cell", "written"),
    [("=1+1", "'=1+1"), ("@x", "'@x"), ("+5V", "'+5V"), ("-5", "-5"), ("+3.3", "+3.3"), ("100k", "100k"), ("", "")],
)
def test_no_cell_is_run_as_a_formula(cell: str, written: str) -> None:
    """A value that a spreadsheet would calculate gets an apostrophe; plain numbers do not."""
    assert harmless(cell) == written


def test_references_sort_as_people_count() -> None:
    """R2 before R10."""
    assert sorted(["R10", "R2", "C1", "R1"], key=natural) == ["C1", "R1", "R2", "R10"]


def test_positions_are_the_middles_of_the_bodies() -> None:
    """U1: body from 0.61 to 7.01 and -8.91 to 1.29 about the origin at (12, 14); C2 on the bottom."""
    found = {r["reference"]: r for r in rows(positions(sample_artwork()))}
    u1 = found["U1"]
    assert (float(u1["x"]), float(u1["y"])) == pytest.approx((12 + (0.61 + 7.01) / 2, 14 + (-8.91 + 1.29) / 2))
    assert (found["C2"]["side"], found["C2"]["turn"]) == ("bottom", "90")
    assert (found["C1"]["side"], found["C1"]["turn"]) == ("top", "0")


@pytest.mark.parametrize("turn", [0.0, 90.0, 33.0, 180.0])
def test_positions_of_turned_and_flipped_parts(turn: float) -> None:
    """Mirrored left to right first, then turned, as the layout says."""
    board = sample_board()
    placed = tuple(replace(p, turn=turn, side="bottom") if p.part.reference == "U1" else p for p in board.parts)
    artwork = draw(replace(board, parts=placed))
    row = next(r for r in rows(positions(artwork)) if r["reference"] == "U1")
    dx, dy = turn_point((-(0.61 + 7.01) / 2, (-8.91 + 1.29) / 2), turn)
    assert (float(row["x"]), float(row["y"])) == pytest.approx((12 + dx, 14 + dy), abs=0.0006)


JOB = json.loads(
    job_file(
        sample_artwork(),
        {"copper-top": "a-copper-top.gbr", "mask-top": "a-mask-top.gbr", "copper-bottom": "a-copper-bottom.gbr"},
    )
)


def test_job_file_says_what_the_board_is() -> None:
    """Key names and types of Ucamco's Gerber Job Format Specification; size is the profile's, to 1 µm."""
    general = JOB["GeneralSpecs"]
    assert general["Size"] == {"X": 30.0, "Y": 25.0}
    assert general["LayerNumber"] == 2 and general["BoardThickness"] == 1.6
    assert set(general["ProjectId"]) == {"Name", "GUID", "Revision"}
    assert set(JOB["Header"]["GenerationSoftware"]) == {"Vendor", "Application", "Version"}
    assert "CreationDate" not in JOB["Header"]


def test_job_file_lists_files_as_they_call_themselves() -> None:
    """FileFunction and FilePolarity identical to the file's own."""
    assert JOB["FilesAttributes"][0] == {
        "Path": "a-copper-top.gbr", "FileFunction": "Copper,L1,Top", "FilePolarity": "Positive",
    }  # fmt: skip


def test_job_files_stack_adds_up_to_the_board() -> None:
    """As many coppers as layers, from top to bottom, thicknesses adding up; nothing invented."""
    stack = JOB["MaterialStackup"]
    assert [s["Type"] for s in stack] == ["SolderMask", "Copper", "Dielectric", "Copper"]
    assert sum(s.get("Thickness", 0) for s in stack) == pytest.approx(1.6)
    assert not {"Finish", "Color", "Material"} & {k for s in [*stack, JOB["GeneralSpecs"]] for k in s}


def test_job_files_rules_are_what_is_really_there() -> None:
    """The smallest gap by kind, in mm, worked out by hand: U1.3 to the OUT track beside it is 0.27 mm."""
    (rules,) = JOB["DesignRules"]
    assert rules["Layers"] == "Outer" and rules["PadToTrack"] == pytest.approx(0.27) and rules["MinLineWidth"] == 0.3
    assert rules["PadToPad"] == pytest.approx(2.54 - 1.7)  # header pads of 1.7 mm on a pitch of 2.54 mm


def test_order_note_answers_an_order_form() -> None:
    """Size, layers, thickness, copper, smallest figures, holes by size."""
    note = order_note(sample_artwork(), ())
    for line in (
        "30.00 × 25.00 mm", "layers     2", "1.6 mm", "35 µm", "0.300 mm (track of SIG",
        "0.270 mm (U1.3 to track of OUT", "0.250 mm (ring of a via", "8 × 0.80 mm plated",
        "1 × 1.20 mm plated, slot 2.20 mm long", "20 plated in all", "1 × 3.20 mm bare", "hot-air level", "green",
    ):  # fmt: skip
        assert line in note
    assert "Cautions" not in note and "Findings\n  none" in note


def test_order_note_repeats_waivers_warnings_and_cautions() -> None:
    """What was waived and why must travel with the order."""
    findings = (
        Finding("copper-to-edge", "error", None, "J2", "0.3 mm to the edge", waived="the tin is insulated there"),
        Finding("legend-missing", "warning", None, "R1", "no room for its name"),
    )
    board = sample_board()
    cautious = replace(board, description=replace(board.description, cautions=("Discharge C2 first.",)))
    note = order_note(replace(sample_artwork(), board=cautious), findings)
    assert "waived: copper-to-edge, J2: 0.3 mm to the edge; reason given: the tin is insulated there" in note
    assert "warning: legend-missing, R1: no room for its name" in note
    assert "Discharge C2 first." in note


def test_finish_follows_the_finest_pitch() -> None:
    """Hot-air level below 0.5 mm pitch is advised against (common practice)."""
    board = sample_board()
    c1 = next(p for p in board.parts if p.part.reference == "C1")
    left, right = c1.part.footprint.lands
    fine = replace(c1.part.footprint, lands=(replace(left, at=(-0.2, 0.0)), replace(right, at=(0.2, 0.0))))
    placed = tuple(replace(p, part=replace(p.part, footprint=fine)) if p is c1 else p for p in board.parts)
    note = order_note(replace(sample_artwork(), board=replace(board, parts=placed)), ())
    assert "ENIG): the finest pitch is 0.40 mm" in note


def test_home_rules_ask_for_no_mask() -> None:
    """A board etched at home has neither mask, nor legend, nor plated holes."""
    board = sample_board()
    rules = replace(board.description.rules, mask=False, legend=False, layers_plated=False)
    home = draw(replace(board, description=replace(board.description, rules=rules)))
    note = order_note(home, ())
    assert "mask    none" in note and "wire links" in note


def test_a_one_sided_board_speaks_of_wire_links_only_if_it_has_some() -> None:
    board = sample_board()
    rules = replace(board.description.rules, one_sided=True, layers_plated=False)
    bare = replace(board, description=replace(board.description, rules=rules))
    assert "plated; no tracks cross." in order_note(draw(bare), ()) and '"modboard etch"' in order_note(draw(bare), ())
    first = board.parts[0]
    wire = replace(first, part=replace(first.part, footprint=replace(first.part.footprint, bridge=True)))
    linked = replace(draw(bare), board=replace(bare, parts=(wire, *board.parts[1:])))
    assert "tracks cross by wire links" in order_note(linked, ())


def test_order_note_carries_the_designs_notes() -> None:
    board = sample_board()
    noted = replace(board, description=replace(board.description, notes=("Unplug it and wait.",)))
    assert "Notes\n  - Unplug it and wait.\n" in order_note(draw(noted), ())
    assert "\nNotes\n" not in order_note(draw(board), ())
