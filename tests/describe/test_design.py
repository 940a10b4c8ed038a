"""What a design comes to once described: pins found, widths and gaps resolved, wishes named, nothing changeable."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import FrozenInstanceError
from pathlib import Path
from typing import Any

import pytest
import shapely

from modboard import Cavity, Design, Rules
from modboard.describe.load import load
from modboard.describe.model import AtEdge, Fixed, Free, Near
from modboard.errors import DesignError


def trial(**words: Any) -> Design:
    design = Design("trial", outline=(60, 40), **words)
    design.part("R1", "resistor", "75R")
    design.part("R2", "resistor", "1k")
    design.part("Q1", "2N3904")
    design.part("J1", "header-1x4", pins="vcc gnd out gnd")
    return design


def test_names_and_numbers_reach_the_same_pads() -> None:
    # 2N3904 in TO-92, flat side to you: emitter 1, base 2, collector 3 (JEDEC TO-226AA, every maker's sheet).
    design = trial()
    design.net("OUT", "Q1.E, R1.1")
    design.net("OUT", "J1.out Q1.1")  # the same pin again does no harm
    design.net("IN", ["Q1.B", "R2.1"])
    nets = {net.name: net.pins for net in design.described().nets}
    assert nets["OUT"] == (("Q1", "1"), ("R1", "1"), ("J1", "3"))
    assert nets["IN"] == (("Q1", "2"), ("R2", "1"))


def test_a_name_on_several_pads_joins_them_all() -> None:
    design = trial()
    design.net("GND", "J1.gnd R1.2")
    assert design.described().nets[0].pins == (("J1", "2"), ("J1", "4"), ("R1", "2"))


def test_a_pin_given_another_name_keeps_what_its_data_sheet_lets_it_be() -> None:
    design = trial()
    design.part("U1", "4051", pins={"7": "MINUS"})
    device = design.described().part("U1").device
    assert device and [p.names[0] for p in device.pins if p.may_be_ground] == ["MINUS"]


def test_buses_join_wire_by_wire() -> None:
    design = Design("bus", outline=(80, 60))
    design.part("U1", "62256")
    design.part("J1", "header-1x8", pins="D[7..0]")
    design.bus("D[0..7]", "U1.D[0..7] J1.D[0..7]", volts=5)
    design.net("A[0..1]", "U1.A[0..1] U1.A[8..9]")
    found = {net.name: net for net in design.described().nets}
    # JEDEC byte-wide 28-pin: D0 to D2 on 11 to 13, D3 to D7 on 15 to 19; A0 10, A1 9, A8 25, A9 24.
    assert [found[f"D{i}"].pins[0] for i in range(8)] == [("U1", str(n)) for n in (11, 12, 13, 15, 16, 17, 18, 19)]
    assert [found[f"D{i}"].pins[1] for i in range(8)] == [("J1", str(8 - i)) for i in range(8)]
    assert found["A0"].pins == (("U1", "10"), ("U1", "25"))
    assert found["A1"].pins == (("U1", "9"), ("U1", "24"))
    assert found["D3"].volts == 5


@pytest.mark.parametrize(
    ("facts", "width", "reason"),
    [  # IPC-2221: 1 A at 10 K on 35 µm needs 0.3004 mm, 2 A 0.7814 mm; rounded up to 0.01
        ({}, 0.25, "rule pool"),
        ({"amps": 0.5}, 0.25, "rule pool"),
        ({"amps": 1.0}, 0.31, "1 A, IPC-2221"),
        ({"amps": 2.0}, 0.79, "2 A, IPC-2221"),
        ({"amps": 2.0, "width": 1.5}, 1.5, "asked for"),
        ({"amps": 2.0, "width": 0.5}, 0.5, "asked for"),
    ],
)
def test_width_follows_amps(facts: dict[str, float], width: float, reason: str) -> None:
    design = trial()
    design.net("A", "R1.1 R2.1", **facts)  # type: ignore[arg-type]
    described = design.described()
    net = described.nets[0]
    assert (net.track_width, net.width_reason) == (pytest.approx(width), reason)
    short = any("less than the 0.79 mm it needs" in note for note in described.notes)
    assert short is (facts.get("width") == 0.5)


@pytest.mark.parametrize(
    ("rules", "volts", "gap", "reason"),
    [  # IPC-2221 table 6-1: B4 under mask 0.13 at 51-100 V, 0.4 at 101-150; B2 bare 0.6 at 31-50 V
        ("pool", 12, 0.25, "rule pool"),
        ("pool", 100, 0.25, "rule pool"),
        ("pool", 110, 0.40, "110 V, IPC-2221 table 6-1 B4"),
        ("home", 12, 0.40, "rule home"),
        ("home", 40, 0.60, "40 V, IPC-2221 table 6-1 B2"),
    ],
)
def test_gap_follows_volts(rules: str, volts: float, gap: float, reason: str) -> None:
    design = trial(rules=rules)
    design.net("A", "R1.1 R2.1", volts=volts)
    net = design.described().nets[0]
    assert (net.gap, net.gap_reason) == (pytest.approx(gap), reason)


def test_the_gap_counts_the_volts_between_nets_of_both_signs() -> None:
    design = trial()
    design.net("P", "R1.1 R2.1", volts=60)
    design.net("N", "R1.2 R2.2", volts=-60)
    assert [net.gap_reason for net in design.described().nets] == ["120 V, IPC-2221 table 6-1 B4"] * 2


@pytest.mark.parametrize(
    ("volts", "begins"),
    # Touch limits: 42.4 V peak and 60 V DC (IEC 62368-1 ES1), 120 V DC (IEC 61140).
    [(42.4, None), (42.5, "CAUTION: net A has 42.5 V"), (61, "CAUTION"), (120, "CAUTION"), (121, "DANGER: net A")],
)
def test_cautions(volts: float, begins: str | None) -> None:
    design = trial(acknowledge_high_voltage=True)
    design.net("A", "R1.1 R2.1", volts=volts)
    found = design.described().cautions
    if begins is None:
        assert found == ()
    else:
        assert found[0].startswith(begins)
        assert "qualified person" in found[0]
        assert "local electrical codes come first" in found[0].replace("Local", "local")


def test_wishes() -> None:
    cavity = Cavity.rectangle(60, 40)
    cavity.opening("socket hole", wall="right", centre=12.7, width=9.0)
    design = Design("wishes", cavity=cavity)
    for reference in ("R1", "R2", "R3", "R4"):
        design.part(reference, "resistor")
    design.part("Q1", "2N3904")
    design.part("Q2", "2N3904")
    design.part("J1", "header-1x2")
    design.place("J1", opening="socket hole", overhang=1.5)
    design.place("Q1", x=20, y=15, turn=-90, side="bottom", anchor="B")
    design.place("R1 R2", near="Q1.C", turn=450)
    design.place("R3", edge="front", along=30, inset=2)
    design.place("Q2", side="bottom")
    design.group("R1 R2 Q1")
    described = design.described()
    assert described.wishes == {
        "J1": AtEdge("right", 12.7, -1.5, None, "top"),
        "Q1": Fixed((20.0, 15.0), 270.0, "bottom", "2"),
        "R1": Near("Q1", "3", "top", 90.0),
        "R2": Near("Q1", "3", "top", 90.0),
        "R3": AtEdge("bottom", 30.0, 2.0, None, "top"),
        "Q2": Free("bottom", None),
        "R4": Free(),
    }
    assert described.groups == (("R1", "R2", "Q1"),)


def test_each_of_several_parts_can_be_near_its_own() -> None:
    design = Design("each", outline=(60, 40))
    design.part("Q1", "2N3904")
    design.part("Q2", "2N3904")
    for n in (1, 2, 3):
        design.part(f"C{n}", "capacitor", "100n")
    design.place("C[1..2]", near="Q[1..2].C")
    design.place("C3", near="Q[2]")
    wishes = design.described().wishes
    assert [wishes[f"C{n}"] for n in (1, 2, 3)] == [
        Near("Q1", "3", "top", None), Near("Q2", "3", "top", None), Near("Q2", None, "top", None)
    ]  # fmt: skip


def test_mounting_hole_of_a_screw() -> None:
    design = trial()
    design.hole(at=(5, 5), screw="M3")
    design.hole(at=(50, 5), diameter=3.0)
    first, second = design.described().holes
    assert (first.diameter, first.keep_out) == (3.4, 8.0)  # ISO 273 medium; ISO 7089 washer 7.0 and 0.5 all round
    assert (second.diameter, second.keep_out) == (3.0, 7.0)  # an M2.5 passes: washer 6.0


def test_unconnected_pins_are_remarked_on_unless_marked() -> None:
    design = trial()
    design.net("A", "R1.1 R2.1 J1.1 J1.2 J1.3 J1.4")
    design.no_connect("R1.2 R2.2")
    notes = design.described().notes
    assert notes == ("Q1: no pin of it is on any net",)
    design.net("B", "Q1.C Q1.B")
    assert design.described().notes == ("Q1: nothing is joined to pin 1 (E); if so meant, mark it with no_connect",)


def test_given_outline_is_centred_in_the_cavity_or_starts_at_nought() -> None:
    assert Design("a", outline=(30, 20)).described().outline.bounds == (0, 0, 30, 20)
    centred = Design("b", cavity=Cavity.rectangle(40, 30), outline=(30, 20)).described().outline
    assert centred.bounds == (5, 5, 35, 25)
    corners = [(1, 1), (31, 1), (31, 21), (16, 25), (1, 21)]
    assert Design("c", outline=corners).described().outline.equals(shapely.Polygon(corners))


def test_your_own_type_by_its_footprint_and_measured_height() -> None:
    design = trial()
    design.part("U1", "my-amplifier", footprint="dip-8", pins="out inv non vee nc1 nc2 vcc nc3", height=7.5)
    design.net("A", "U1.vcc R1.1")
    described = design.described()
    assert described.nets[0].pins[0] == ("U1", "7")
    assert described.part("U1").tall == 7.5
    assert described.part("R1").tall == described.part("R1").footprint.height


def test_described_is_frozen_cached_and_not_changed_by_later_calls() -> None:
    design = trial()
    design.net("A", "R1.1 R2.1")
    before = design.described()
    assert design.described() is before
    with pytest.raises(FrozenInstanceError):
        before.seed = 2  # type: ignore[misc]
    design.net("A", "Q1.B")
    assert len(before.nets[0].pins) == 2
    assert len(design.described().nets[0].pins) == 3


def test_a_later_post_is_seen() -> None:
    cavity = Cavity.rectangle(60, 40)
    design = Design("x", cavity=cavity)
    assert not design.described().outline.interiors
    cavity.post("p", at=(30, 20), diameter=5)
    assert len(design.described().outline.interiors) == 1


def test_a_failed_call_leaves_no_part_behind() -> None:
    design = trial()
    with pytest.raises(DesignError, match="height of part R3"):
        design.part("R3", "resistor", height=-1)
    design.part("R3", "resistor")
    assert [p.reference for p in design.described().parts] == ["R1", "R2", "Q1", "J1", "R3"]


CALLS: list[Callable[[Design], None]] = [
    lambda d: d.part("R1", "resistor", "75R"),
    lambda d: d.part("R2", "resistor", "1k"),
    lambda d: d.net("A", "R1.1 R2.1", volts=9),
    lambda d: d.net("A", amps=1.5),
    lambda d: d.net("B", "R1.2 R2.2"),
    lambda d: d.place("R1", near="R2"),
]


def test_the_order_of_calls_does_not_matter() -> None:
    def said(order: tuple[Callable[[Design], None], ...]) -> Any:
        design = Design("order", outline=(40, 30))
        for call in order:
            call(design)
        d = design.described()
        nets = {n.name: (set(n.pins), n.volts, n.amps, n.track_width, n.gap) for n in d.nets}
        return nets, d.wishes, {p.reference: (p.kind, p.value) for p in d.parts}, set(d.notes)

    expected = said(tuple(CALLS))
    for order in itertools.islice(itertools.permutations(CALLS), 0, 720, 7):
        assert said(order) == expected


def test_thickness_and_overridden_rules_are_kept_with_their_source() -> None:
    design = trial(rules=Rules.named("fine", gap=0.3), thickness=1.0)
    rules = design.described().rules
    assert (rules.name, rules.gap, rules.thickness) == ("fine", 0.3, 1.0)
    assert rules.source("gap").startswith("set in the design, test_design.py:")


FILE = "from modboard import Design\n"


def test_load_takes_the_one_design_or_the_one_called_board(tmp_path: Path) -> None:
    def loaded(text: str) -> str:
        (tmp_path / "d.py").write_text(FILE + text)
        return load(tmp_path / "d.py").described().name

    assert loaded("mine = Design('one', outline=(9, 9))\nalias = mine\n") == "one"
    assert loaded("a = Design('one', outline=(9, 9))\nboard = Design('two', outline=(9, 9))\n") == "two"
    with pytest.raises(DesignError, match=r"d\.py:1: no design in this file"):
        loaded("x = 1\n")
    with pytest.raises(DesignError, match=r"several designs in this file \(a, b\); call the one to be made board"):
        loaded("a = Design('one', outline=(9, 9))\nb = Design('two', outline=(9, 9))\n")


def test_two_folders_may_have_neighbours_of_the_same_name(tmp_path: Path) -> None:
    names = []
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "shared_bits.py").write_text(f"NAME = '{folder}'\n")
        file = tmp_path / folder / "d.py"
        file.write_text("import shared_bits\n" + FILE + "board = Design(shared_bits.NAME, outline=(9, 9))\n")
        names.append(load(file).described().name)
    assert names == ["one", "two"]
