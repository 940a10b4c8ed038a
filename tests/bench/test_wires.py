"""Wires into the host and the way back: what a person says, and what the sheet makes of it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard import Design
from modboard.bench.sheet import bench_sheet
from modboard.bench.tables import tables
from modboard.bench.wiring import area, gauge_for, way_back, wiring
from modboard.cli import main
from modboard.errors import DesignError
from modboard.layout.board import Board, PlacedPart
from modboard.view.booklet_blocks import Table, Ticks, Words
from modboard.view.booklet_leaves import leaves
from modboard.view.booklet_words import FLAT, LEADED, PINNED, wire_to_buy
from tests.bench.test_watch import DESIGN


def design() -> Design:
    board = Design("wires", outline=(60, 40))
    board.part("J1", "wire-pads-1x5", pins="V5 GND A B C")
    for n, net in enumerate("ABC", 1):
        board.part(f"R{n}", "resistor", "1k")
        board.net(net, f"J1.{net} R{n}.1")
    board.net("GND", "J1.GND R1.2 R2.2")
    board.net("V5", "J1.V5 R3.2", volts=5, amps=0.5)
    return board


def put(board: Design) -> Board:
    described = board.described()
    placed = tuple(PlacedPart(p, (8.0, 8.0 + 7 * n), 0.0) for n, p in enumerate(described.parts))
    return Board(described, described.outline, placed, (), (), ())


def test_gauges_by_the_standard() -> None:
    """ASTM B258: 24 AWG 0.2047 mm², 30 AWG 0.0509, 20 AWG 0.5176."""
    assert [round(area(g), 4) for g in (24, 30, 20)] == [0.2047, 0.0509, 0.5176]
    for amps in (0.1, 0.5, 1.0, 2.0, 3.0):
        assert area(gauge_for(amps)) * 4.0 >= amps  # 4 A/mm², common practice


def test_wire_to_buy_is_on_the_first_page_and_the_iron_is_explained_once_each() -> None:
    """Two lengths known, 90 and 60 mm, three to be measured; leads, pins and flat parts are soldered differently."""
    board = design()
    board.part("C1", "capacitor", "100n", footprint="chip-1206-c")
    board.part("U1", "62256", footprint="dip-28-wide-socket")
    board.net("V5", "C1.1 U1.VCC")
    board.net("GND", "C1.2 U1.GND")
    board.wire("J1.A", host="IC4 pin 8", length=90)
    board.wire("J1.B", host="IC4 pin 9", length=60)
    sheet = bench_sheet(put(board))
    assert {w.awg for w in sheet.wires} == {24}  # 0.5 A / 4 A/mm² needs 0.125 mm², the least sold for hand work is more
    assert wire_to_buy(sheet.wires) == [
        ("5 ×", "Wires, 24 AWG: 150 mm and 3 to be measured", ", ".join(w.colour for w in sheet.wires))
    ]
    pages = leaves(sheet)
    text = [" ".join(b.text for b in leaf.blocks if isinstance(b, Words)) for leaf in pages]
    first = {words: next(n for n, t in enumerate(text) if words in t) for words in (LEADED, FLAT, PINNED)}
    assert [sum(t.count(words) for t in text) for words in first] == [1, 1, 1]
    assert "C1" in pages[first[FLAT]].title
    assert "R1" in pages[first[LEADED]].title
    assert "U1" in pages[first[PINNED]].title  # whose pins must not be clipped
    rows = [[cell.text for cell in row] for b in pages[0].blocks if isinstance(b, Table) for row in b.rows]
    assert ["1 ×", "62256, kept in foam or foil", "into U1"] in rows
    assert "J1 can only be touched on the lands" in next(t for leaf, t in zip(pages, text, strict=True)
                                                         if leaf.chapter == "Joints")  # fmt: skip
    assert not any("can only be touched" in t for leaf, t in zip(pages, text, strict=True) if leaf.chapter != "Joints")


def test_neighbours_never_share_a_colour_and_supply_comes_last() -> None:
    wires = wiring(put(design()))
    assert [w.net for w in wires] == ["GND", "A", "B", "C", "V5"]
    assert wires[0].colour == "black"
    assert wires[-1].colour == "red"
    assert len({w.colour for w in wires}) == 5
    assert all(w.strip_board >= 1.6 for w in wires)  # through the board


def test_many_pads_keep_colours_apart_on_neighbours() -> None:
    board = Design("many", outline=(120, 40))
    board.part("J1", "wire-pads-1x20")
    board.part("J2", "wire-pads-1x20")
    for n in range(1, 21):
        board.net(f"N{n}", f"J1.{n} J2.{n}")
    described = board.described()
    placed = tuple(PlacedPart(p, (8.0, 10.0 + 20 * n), 0.0) for n, p in enumerate(described.parts))
    made = Board(described, described.outline, placed, (), (), ())
    colours = {w.pad: w.colour for w in wiring(made)}
    for n in range(1, 20):
        assert colours[f"J1.{n}"] != colours[f"J1.{n + 1}"]


def test_host_points_lengths_and_losses() -> None:
    board = design()
    board.wire("J1.V5", host="IC4 pin 8", at=(48.0, 38.0), colour="orange", undo="pull the clip off")
    board.wire("J1.GND", host="ground lug", length=90)
    wires = {w.net: w for w in wiring(put(board))}
    assert wires["V5"].host == "IC4 pin 8"
    assert wires["V5"].colour == "orange"
    assert wires["V5"].length == 80  # 50 mm straight (3-4-5: 40 and 30), times 1.25, and 15: 77.5, up to the next 5
    # 0.5 A through 80 mm of 24 AWG: 84.22 mΩ/m (ASTM B258, copper 1/58) gives 3.37 mV
    assert wires["V5"].drop == pytest.approx(0.5 * 0.08 * 0.08422, rel=0.01)
    assert wires["GND"].length == 90
    back = way_back(put(board))
    assert ("IC4 pin 8", "pull the clip off") in [(b.what, b.undo) for b in back]
    assert not any(b.cut for b in back)


def test_too_much_current_for_the_hole_is_said() -> None:
    board = design()
    board.net("V5", amps=0.5)
    board.net("GND", amps=3.0)
    ground = next(w for w in wiring(put(board)) if w.net == "GND")
    assert "18 AWG" in ground.warning


def test_a_declared_cut_is_warned_of() -> None:
    board = design()
    board.cut("track from IC4 pin 8 to R12", undo="bridge it with 5 mm of wire")
    made = put(board)
    assert any("track from IC4 pin 8" in c for c in made.description.cautions)
    assert next(b for b in way_back(made) if b.cut).undo == "bridge it with 5 mm of wire"


def test_every_declared_cut_warns_on_the_command_line(tmp_path: Path) -> None:
    path = tmp_path / "cutting.py"
    cuts = "".join(f'board.cut("track {n}", undo="5 mm of wire")\n' for n in "AB")
    path.write_text(DESIGN.format(pin=2) + cuts)
    for command in (["check", str(path), "--quiet"], ["bench", str(path), "--quiet", "--out", str(tmp_path / "out")]):
        said = CliRunner().invoke(main, command).output
        assert [said.count(f"warning host-cut: host: track {n}") for n in "AB"] == [1, 1]
        assert "touch-voltage" not in said  # nothing here can be felt
        assert "To undo it: 5 mm of wire" in said


def test_what_comes_out_of_the_host_goes_back_last() -> None:
    board = design()
    board.wire("J1.A", host="IC4 pin 8")
    board.removes("the modulator's insides", undo="solder its four pins")
    rows = way_back(put(board))
    assert (rows[-1].what, rows[-1].undo, rows[-1].cut) == ("the modulator's insides", "solder its four pins", False)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda b: b.wire("J1.V9", host="x"), 'part J1 has no pin "V9"'),
        (lambda b: b.wire("J7.1", host="x"), 'there is no part "J7"'),
        (lambda b: b.wire("J1.A", host=" "), "host is empty"),
        (lambda b: b.wire("J1.A", host="x", colour="beige"), '"beige" is not known'),
        (lambda b: b.wire("J1.A", host="x", length=-1), "must be more than 0 mm"),
        (lambda b: (b.wire("J1.A", host="x"), b.wire("J1.3", host="y")), "given already"),
        (lambda b: b.cut("a track", undo=""), "undo is empty"),
        (lambda b: b.removes("", undo="back in"), "what is empty"),
    ],
)
def test_mistakes_are_answered_at_their_line(call: object, said: str) -> None:
    board = design()
    with pytest.raises(DesignError, match=r"test_wires\.py:") as error:
        call(board)  # type: ignore[operator]
        board.described()
    assert said in str(error.value)


def test_tables_are_csv_that_runs_nothing() -> None:
    board = design()
    board.wire("J1.A", host="=HYPERLINK(1)")
    made = tables(bench_sheet(put(board)))
    assert sorted(made) == ["build.csv", "power.csv", "probes.csv", "way-back.csv", "wires.csv"]
    for text in made.values():
        rows = list(csv.reader(io.StringIO(text)))
        assert {len(r) for r in rows} == {len(rows[0])}
    hosts = [r[4] for r in csv.reader(io.StringIO(made["wires.csv"]))]
    assert "'=HYPERLINK(1)" in hosts


def test_the_host_is_made_ready_before_wires_go_in() -> None:
    """What comes out and what is cut is told before the wiring, with a photograph first; nothing of it, no page."""
    board = design()
    assert not [leaf for leaf in leaves(bench_sheet(put(board))) if leaf.title == "Make room in the host"]
    board.removes("the modulator's insides", undo="put them back")
    board.cut("track at IC4 pin 8", undo="5 mm of wire")
    told = leaves(bench_sheet(put(board)))
    titles = [leaf.title for leaf in told]
    assert titles.index("Make room in the host") == titles.index("Wire it in") - 1
    ticks = next(b for b in told[titles.index("Make room in the host")].blocks if isinstance(b, Ticks)).items
    assert [text for _, text in ticks] == [
        "The place is photographed as it was found, wires and all",
        "Out, into a labelled bag: the modulator's insides",
        "Cut, and nothing beside it: track at IC4 pin 8",
    ]


def test_a_host_plug_is_told_to_go_in_after_the_chip_came_out() -> None:
    board = Design("plug", outline=(60, 40))
    board.part("P1", "host-plug-24")
    board.part("R1", "resistor", "1k")
    board.net("A", "P1.1 R1.1")
    board.net("GND", "P1.12 R1.2")
    told = next(leaf for leaf in leaves(bench_sheet(put(board))) if leaf.title == "Make room in the host")
    rows = [text for _, text in next(b for b in told.blocks if isinstance(b, Ticks)).items]
    assert [row.split(":")[0] for row in rows[1:]] == [
        "The host's socket for P1 is empty",
        "P1 is pressed home in the host's socket, pin 1 where the chip's was, no pin bent",
    ]
