"""The test netlist of a whole board: every pad, via, hole, track and edge, in columns, under unique names."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork, Layer
from modboard.errors import ModboardError
from modboard.fab.netlist import netlist_file
from modboard.fab.netlist_columns import TestRecord, chains, cut_names, net_names, six_digits
from modboard.fab.readback.netlist import read_netlist
from modboard.layout.board import Board, Track
from tests.sample import sample_artwork, sample_board

TEXT = netlist_file(sample_artwork())


def test_every_land_via_and_hole_is_listed_once() -> None:
    """317 and 327 records: as many as lands and vias; 367: as many as bare holes (format note, suggested tests)."""
    board, read = sample_board(), read_netlist(TEXT)
    listed = sorted((r.reference, r.pin, r.net) for r in read.records if r.code != "367" and r.reference != "VIA")
    assert listed == sorted((p.reference, p.number, p.net or "N/C") for p in board.pads)
    assert sum(r.reference == "VIA" for r in read.records) == len(board.vias)
    assert [r.at for r in read.records if r.code == "367"] == [pytest.approx(h.at) for h in board.bare_holes]


def test_records_tell_place_hole_size_turn_and_side() -> None:
    """Each record against the board itself, to the format's 1 µm."""
    pads = {(p.reference, p.number): p for p in sample_board().pads}
    for record in read_netlist(TEXT).records:
        pad = pads.get((record.reference, record.pin))
        if pad is None:
            continue
        assert record.at == pytest.approx(pad.at, abs=0.0006)
        assert record.code == ("317" if pad.hole else "327")
        assert record.side == ("00" if pad.hole else {"top": "01", "bottom": "02"}[pad.layers[0]])
        assert record.hole == ((pytest.approx(pad.hole.diameter), True) if pad.hole else None)
        round_land = pad.form.form == "round"
        assert record.sizes == pytest.approx((pad.form.width, 0 if round_land else pad.form.height))
        assert record.turn == (0 if round_land else pad.turn)
        assert record.mask == 0  # all lands of the sample are open in the mask


def test_lines_keep_to_the_columns() -> None:
    """At most 80 columns; in test records 18 to 20 and 72 are blank (format note, suggested tests)."""
    for line in TEXT.splitlines():
        assert len(line) <= 80 and line == line.rstrip() and line.isascii()
        if line[:3] in ("317", "327", "367"):
            assert line[17:20] == "   " and line[71:72] in (" ", "")
            assert line[38] == "A" and line[41] == "X" and line[49] == "Y"
    assert TEXT.splitlines()[-1] == "999"


def test_order_of_the_file() -> None:
    """Parameters, then test records by net, then conductors by net, then the outline."""
    codes = [line[:3] for line in TEXT.splitlines()]
    kinds = ["P" if c.startswith("P") else "test" if c in ("317", "327", "367") else c for c in codes if c[0] != "0"]
    firsts = list(dict.fromkeys(kinds))
    assert firsts == ["P", "test", "378", "389", "999"]
    assert kinds == [k for first in firsts for k in kinds if k == first]
    nets = [line[3:17].strip() for line in TEXT.splitlines() if line[:3] in ("317", "327")]
    assert [n for n in nets if n != "N/C"] == sorted(n for n in nets if n != "N/C")
    assert TEXT.count("P  UNITS ") == 1


def test_conductors_are_the_boards_tracks() -> None:
    """Length of every net's tracks and each width, read back from the 378 records."""
    board, read = sample_board(), read_netlist(TEXT)
    for net in ("GND", "VCC", "SIG", "OUT"):
        listed = sum(shapely.LineString(points).length for c in read.conductors if c.name == net for points in c.chains)
        drawn = sum(t.shape.core.length for t in board.tracks if t.net == net)
        assert listed == pytest.approx(drawn, abs=0.01)
    assert {(c.name, c.layer, round(c.width, 3)) for c in read.conductors} == {
        (t.net, 1 if t.layer == "top" else 2, t.width) for t in board.tracks
    }


def test_outline_is_the_boards_edge() -> None:
    """389: the chain closes, and encloses the board."""
    (edge,) = read_netlist(TEXT).outlines
    (chain,) = edge.chains
    assert chain[0] == chain[-1]
    outline = sample_board().outline
    assert shapely.Polygon(chain).symmetric_difference(outline).area < 0.001 * outline.length


def test_covered_lands_say_so() -> None:
    """Column 74: 1 masked on top, 2 at the bottom, 3 on both; a tented via is 3."""
    artwork = sample_artwork()
    bare = [layer for layer in artwork.layers if not layer.name.startswith("mask")]
    vias_closed = [
        Layer(layer.name, tuple(f for f in layer.features if f.owner.reference or not f.owner.net))
        for layer in artwork.layers
        if layer.name.startswith("mask")
    ]
    text = netlist_file(replace(artwork, layers=(*bare, *vias_closed)))
    assert {r.mask for r in read_netlist(text).records if r.reference == "VIA"} == {3}
    top_open = [layer for layer in artwork.layers if layer.name != "mask-bottom"]
    masks = {
        r.pin: r.mask
        for r in read_netlist(netlist_file(replace(artwork, layers=tuple(top_open)))).records
        if r.reference == "U1"
    }
    assert set(masks.values()) == {2}


def renamed(long_net: str, reference: str) -> Artwork:
    """Return the sample with net VCC and part R1 called otherwise."""
    board = sample_board()
    described = board.description
    nets = tuple(
        replace(
            n,
            name=long_net if n.name == "VCC" else n.name,
            pins=tuple((reference if r == "R1" else r, p) for r, p in n.pins),
        )
        for n in described.nets
    )
    parts = tuple(
        replace(p, part=replace(p.part, reference=reference if p.part.reference == "R1" else p.part.reference))
        for p in board.parts
    )
    tracks = tuple(Track(long_net if t.net == "VCC" else t.net, t.layer, t.points, t.width) for t in board.tracks)
    return draw(Board(replace(described, nets=nets), board.outline, parts, tracks, board.vias, board.pours))


def test_long_names_are_cut_and_explained() -> None:
    """Nets over 14 characters by NNAME; references over 6 by a comment (common practice)."""
    text = netlist_file(renamed("SUPPLY_OF_THE_BUFFER", "RESISTOR1"))
    read = read_netlist(text)
    assert {r.net for r in read.records} == {"GND", "OUT", "SIG", "SUPPLY_OF_THE_BUFFER", "N/C"}
    assert "P  NNAME00001 SUPPLY_OF_THE_BUFFER" in text.splitlines()
    assert "C  reference RESIST = RESISTOR1" in text.splitlines()
    assert all(len(line) <= 80 for line in text.splitlines())


@pytest.mark.parametrize("net", ["+5V ON", "Ω OUT", "N/C", "NNAME00007", "A" * 90])
def test_awkward_net_names_never_break_a_record(net: str) -> None:
    """Blanks, foreign letters and the format's own words go by alias; the line can still be read."""
    read = read_netlist(netlist_file(renamed(net, "R1")))
    names = {r.net for r in read.records} - {"GND", "OUT", "SIG", "N/C"}
    if net == "N/C":
        assert names == set()  # the long name happens to be the word, but it goes by its alias in the records
        assert "317NNAME00001" in netlist_file(renamed(net, "R1"))
    else:
        assert len(names) == 1


def test_cut_names_stay_different() -> None:
    """Two references that agree in their first six characters."""
    short, lines = cut_names(["CONNECTOR1", "CONNECTOR2", "CONNEC", "R1"], 6, "reference")
    assert len(set(short.values())) == 4 and all(len(s) <= 6 for s in short.values())
    assert short["CONNEC"] == "CONNEC" and short["R1"] == "R1" and len(lines) == 2
    long, _ = net_names([f"{'N' * 70}{k}" for k in range(12)])
    assert len(set(long.values())) == 12


def test_big_sizes_are_held_at_four_digits_and_noted() -> None:
    """9.999 mm is the largest that the columns hold."""
    record = TestRecord("317", "A", "P1", "1", False, (12.0, True), "00", (0.0, 0.0), (14.0, 0.0), 0.0, 0)
    assert re.search(r"D9999P.*X9999Y0000", record.line()) and len(record.line()) == 74


def test_places_off_the_format_are_refused() -> None:
    """Six digits of 0.001 mm."""
    assert six_digits(-999.999) == "-999999"
    with pytest.raises(ModboardError, match="does not fit its six columns"):
        six_digits(1000.0)


def test_long_chains_wrap_and_read_back() -> None:
    """Chains over many lines, pens lifted at line ends."""
    drawn = [[(k + 0.1 * n, 0.5 * n) for n in range(k + 2)] for k in range(9)]
    lines = chains(f"378{'GND':<14} L02 ", "X0250", drawn)
    assert len(lines) > 3 and all(len(line) <= 80 for line in lines)
    (read,) = read_netlist("\n".join(["P  UNITS CUST 1", *lines, "999"])).conductors
    assert [list(c) for c in read.chains] == [[pytest.approx(p) for p in c] for c in drawn]
