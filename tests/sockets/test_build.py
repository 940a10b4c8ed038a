"""An adapter in a design: parts, nets and places, tables and pictures."""

from __future__ import annotations

import csv
import io
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from modboard import Design, adapter
from modboard.cli import main
from modboard.errors import DesignError
from modboard.layout.board import PlacedPart
from modboard.library import device
from modboard.sockets import listing
from modboard.sockets.match import compare
from modboard.sockets.picture import picture


def built(host: str, chip: str, **said: object) -> Design:
    board = Design("fits", outline=(120, 100))
    adapter(board, host, chip, **said)  # type: ignore[arg-type]
    return board


def test_nets_join_what_the_table_says():
    described = built("6116", "62256").described()
    nets = described.net_of()
    table = compare(device("6116"), device("62256"))
    for row in table.of("straight") + table.of("moved"):
        assert nets["U1", row.chip] == nets["P1", row.host]
    pads = {nets["J1", str(k + 1)] for k in range(4)}
    assert pads == {"A11", "A12", "A13", "A14"}
    for net in pads:  # one resistor from each new address line to ground
        (reference,) = {r for r, _ in next(n for n in described.nets if n.name == net).pins if r.startswith("R")}
        assert nets[reference, "2"] == "GND" and described.part(reference).value == "10k"
    assert {nets["C1", "1"], nets["C1", "2"]} == {"VCC", "GND"}
    # every pin is on a net or marked, so that nothing is left to be forgotten
    known = set(nets) | set(described.unconnected)
    assert all((p.reference, n) in known for p in described.parts for n in p.footprint.numbers())


def test_tied_and_left_pins():
    described = built("2364", "27128", hold=None, capacitor="").described()
    nets = described.net_of()
    assert nets["U1", "1"] == nets["U1", "27"] == nets["U1", "28"] == "VCC"
    assert nets["U1", "22"] == "GND"
    assert not [p for p in described.parts if p.reference.startswith(("R", "C"))]
    assert ("P1", "1") not in described.unconnected
    apart = built("6116", "6116", apart="/CS")
    apart.net("SELECT", "P1./CS U1./CS")
    assert apart.described().net_of()["U1", "18"] == "SELECT"


def test_refusal_names_the_pins_and_the_line():
    with pytest.raises(
        DesignError, match=r"test_build\.py:\d+: adapter 4164 to 4116: pin 1 \(VBB\) of 4116: .* no VBB"
    ):
        built("4164", "4116")
    with pytest.raises(DesignError, match=r"pin 28 \(VCC\) of 62256 on contact 12 \(GND\)"):
        built("6116", "62256", moves={"VCC": "GND"})
    with pytest.raises(DesignError, match='no device "6161"; nearest: 6116'):
        built("6161", "62256")
    with pytest.raises(DesignError, match="not in a DIP socket"):
        built("2N3904", "62256")


PAIRS = [
    ("6116", "62256"),
    ("62256", "6116"),
    ("628128", "62256"),
    ("2364", "27512"),
    ("4116", "4164"),
    ("2114", "6116"),
]


@pytest.mark.parametrize(("host", "chip"), PAIRS)
def test_host_pins_and_chip_pins_keep_clear(host, chip):
    board = built(host, chip, at=(20, 60))
    described = board.described()
    placed = {}
    for reference in ("P1", "U1"):
        wish = described.wishes[reference]
        placed[reference] = PlacedPart(described.part(reference), wish.at, wish.turn)  # type: ignore[union-attr]
    plug, socket = placed["P1"], placed["U1"]
    nets = described.net_of()
    gaps = [a.shape.distance(b.shape) for a in plug.pads(nets) for b in socket.pads(nets)]
    assert min(gaps) > 2.0
    assert min(x for x, _ in socket.courtyard()) >= max(x for x, _ in plug.courtyard()) + 1.0 - 1e-6
    assert (socket.at[0] - plug.at[0]) / 2.54 == pytest.approx(round((socket.at[0] - plug.at[0]) / 2.54))


def test_an_owners_device_can_be_adapted(tmp_path):
    (tmp_path / "odd.toml").write_text(
        'pins = "VCC GND A Y"\nfootprint = "dip-4"\n'
        'types = { VCC = "power-in", GND = "power-in", A = "input", Y = "output" }\n'
    )
    design = tmp_path / "odd_board.py"
    design.write_text(
        "from modboard import Design, adapter\n"
        'board = Design("odd", outline=(60, 40))\n'
        'adapter(board, host="odd.toml", chip="odd.toml")\n'
    )
    from modboard.describe.load import load

    nets = load(design).described().net_of()
    assert nets["P1", "4"] == nets["U1", "4"] == "Y"


def test_csv_and_text_hold_every_row():
    table = compare(device("4116"), device("4164"))
    rows = list(csv.DictReader(io.StringIO(listing.as_csv(table))))
    assert [(r["kind"], r["chip_pin"], r["host_pin"]) for r in rows] == [(r.kind, r.chip, r.host) for r in table.rows]
    text = listing.text(table)
    assert "1 moved" in text and "plugged in without an adapter it would do harm:" in text
    assert all(row.chip_name in text for row in table.rows)


def test_picture_draws_a_line_for_every_join():
    table = compare(device("6116"), device("62256"))
    root = ElementTree.fromstring(picture(table))
    lines = [e for e in root.iter() if e.tag.endswith("polyline")]
    colours = [e.get("stroke") for e in lines]
    assert colours.count("#6B6B6B") == 22 and colours.count("#56B4E9") == 2  # straight; moved
    assert colours.count("#E69F00") == 4  # new
    crossed = ElementTree.fromstring(picture(compare(device("27256"), device("62256"))))  # A14 is on the other side
    bent = [e for e in crossed.iter() if e.tag.endswith("polyline") and len((e.get("points") or "").split()) == 6]
    assert [e.get("stroke") for e in bent] == ["#56B4E9"]
    said = {e.get("aria-label") for e in root.iter() if e.get("aria-label")}
    assert {"1 A14", "VCC 28", "wire"} <= said
    assert picture(table) == picture(table)


def test_the_command_prints_draws_and_judges(tmp_path):
    run = CliRunner()
    drawn = tmp_path / "a.svg"
    done = run.invoke(main, ["adapter", "6116", "62256", "--csv", "--picture", str(drawn)])
    assert done.exit_code == 0 and done.output.startswith("kind,chip_pin") and drawn.read_text().startswith("<svg")
    bad = run.invoke(main, ["adapter", "4164", "4116"])
    assert bad.exit_code == 1 and "the host's socket has no VBB" in bad.output
    assert run.invoke(main, ["adapter", "4164", "nothing"]).exit_code == 2
