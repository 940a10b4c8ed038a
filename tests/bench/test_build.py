"""The order of building, what to look for on each part, and the ladder to first power."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from modboard import Design
from modboard.bench.build import build_order
from modboard.bench.power import current_limit, ladder
from modboard.bench.rails import rails
from modboard.bench.readings import Network
from modboard.layout import layout
from modboard.layout.board import Board, PlacedPart, Via

ROOT = Path(__file__).parents[2]


def put(*parts: str, places: dict[str, tuple[float, float, float, str]] | None = None) -> Board:
    """Return an unrouted board with parts "R1 resistor 10k footprint" in a row, or where `places` says."""
    board = Design("bench", outline=(400, 60))
    for line in parts:
        reference, kind, value, *rest = line.split()
        board.part(reference, kind, value.strip("-"), footprint=rest[0] if rest else None)
    described = board.described()
    placed = []
    for n, part in enumerate(described.parts):
        x, y, turn, side = (places or {}).get(part.reference, (10.0 + 30 * n, 30.0, 0.0, "top"))
        placed.append(PlacedPart(part, (x, y), turn, side))  # type: ignore[arg-type]
    return Board(described, described.outline, tuple(placed), (), (), ())


EVERYTHING = (
    "C9 electrolytic 470u electrolytic-10x16-5.0", "U1 62256 - dip-28-wide-socket", "Q1 2N3904 -", "D1 1N4148 -",
    "J1 wire-pads-1x3 -", "R1 resistor 10k", "R2 resistor 4k7", "C1 capacitor 100n", "R9 resistor 1k chip-0805-r",
    "U2 7805 -", "R3 resistor 10k",
)  # fmt: skip


def test_flat_before_tall_and_robust_before_tender() -> None:
    """Common practice: surface-mount, resistors, diodes, sockets, then taller; wires and socketed chips last."""
    order = [ref for s in build_order(put(*EVERYTHING)) if s.stage == "board" for ref in s.references]
    wanted = ["R9", "R1", "R2", "D1", "U1", "C1", "Q1", "C9", "U2"]
    assert [r for r in order if r in wanted] == wanted
    assert [s.stage for s in build_order(put(*EVERYTHING))][-2:] == ["wires", "chips"]


def test_every_part_is_fitted_once_and_counted() -> None:
    steps = [s for s in build_order(put(*EVERYTHING)) if s.stage == "board"]
    assert sorted(r for s in steps for r in s.references) == sorted({line.split()[0] for line in EVERYTHING} - {"J1"})
    assert [s.done_before for s in steps] == [sum(x.count for x in steps[:n]) for n in range(len(steps))]
    assert {s.total for s in steps} == {10}
    assert next(s for s in steps if "R1" in s.references).references == ("R1", "R3")  # alike, in one go


def test_what_would_cover_a_joint_waits() -> None:
    """A plug soldered from the top under a socket: the socket is lower, yet must wait."""
    places = {"U1": (100.0, 30.0, 0.0, "top"), "P1": (101.0, 30.0, 0.0, "top")}
    parts = ("U1 62256 - dip-28-wide-socket", "P1 6116 - host-plug-24-wide")
    order = [s.references[0] for s in build_order(put(*parts, places=places)) if s.stage == "board"]
    assert order == ["P1", "U1"]


@pytest.mark.parametrize(
    ("turn", "side", "band"),
    [
        (0, "top", "left"),
        (90, "top", "lower edge"),
        (180, "top", "right"),
        (0, "bottom", "left"),
        (90, "bottom", "upper edge"),
    ],
)
def test_the_cathode_is_where_the_words_say(turn: float, side: str, band: str) -> None:
    """Pad 1 is the cathode and lies left in the footprint; from below, it is as drawn, and a left turn is a right."""
    board = put("D1 1N4148 -", places={"D1": (50.0, 30.0, turn, side)})
    ((_, words),) = build_order(board)[0].polarity
    assert words == f"band (cathode) to the {band}"


@pytest.mark.parametrize("turn", range(0, 360, 45))
def test_no_word_for_a_way_is_that_of_a_side(turn: float) -> None:
    """The top of a board is not where a picture is up: "bottom hole" would send somebody to the wrong side."""
    board = put(*EVERYTHING, places={"C9": (50.0, 30.0, float(turn), "top"), "D1": (80.0, 30.0, float(turn), "bottom")})
    words = " ".join(text for step in build_order(board) for _, text in step.polarity)
    assert len(words) > 100
    assert not re.search(r"\b(top|bottom)\b", words)


def test_marks_bands_and_leads() -> None:
    steps = {s.references[0]: s for s in build_order(put(*EVERYTHING))}
    assert steps["C1"].marking == "104"  # IEC 60062
    assert steps["R9"].marking == "102 or 1001"  # IEC 60062, three and four figures
    assert steps["R2"].bands[0] == ("yellow", "violet", "red", "gold")
    assert "10.16 mm" in steps["R2"].bend
    assert steps["C9"].marking == "470 µF"
    assert "stripe (-)" in steps["C9"].polarity[0][1]


def test_flat_parts_have_no_leads_to_bend() -> None:
    parts = ("D1 1N4148W - sod323", "Q1 2N7002 -", "D2 1N4148 -", "Q2 2N3904 - to92")
    remarks = {s.references[0]: " ".join(s.remarks) for s in build_order(put(*parts))}
    assert {r for r, words in remarks.items() if re.search(r"\bleads?\b", words)} == {"D2", "Q2"}
    assert all("Three seconds of iron" in words for words in remarks.values())


@pytest.mark.parametrize("turn", range(0, 360, 45))
def test_the_lone_lead_of_three_says_how_a_flat_transistor_lies(turn: int) -> None:
    """TO-236 (SOT-23): pins 1 and 2 on one side; 3, the drain, alone on the other."""
    board = put("Q1 2N7002 -", places={"Q1": (50.0, 30.0, float(turn), "top")})
    ((_, words),) = build_order(board)[0].polarity
    pads = {p.number: p.at for p in board.pads}
    x, y = (pads["3"][k] - (pads["1"][k] + pads["2"][k]) / 2 for k in (0, 1))
    ways = ("right", "upper right", "upper edge", "upper left", "left", "lower left", "lower edge", "lower right")
    assert words == f"the lone lead (D) to the {ways[round(math.degrees(math.atan2(y, x)) / 45) % 8]}"
    assert "strip" in build_order(board)[0].marking  # the code on it differs from maker to maker


def test_what_is_switched_or_comes_in_is_no_rail() -> None:
    """A low-side switch (textbook circuit) and an input of 30 V: no page asks for a supply at either."""
    board = Design("switch", outline=(60, 40))
    board.part("J1", "header-1x5", pins="VL GND LOAD GATE I0")
    board.part("Q1", "2N7002")
    board.part("D1", "1N4148")
    board.part("R1", "resistor", "10k")
    board.part("R2", "resistor", "4k7")
    board.part("C1", "capacitor", "100n")
    board.net("GND", "J1.GND Q1.S R1.2 C1.2")
    board.net("GATE", "J1.GATE Q1.G R1.1")
    board.net("LOAD", "J1.LOAD Q1.D D1.A", volts=12, amps=0.1)
    board.net("RAIL", "J1.VL D1.K C1.1", volts=12, amps=0.3)
    board.net("I0", "J1.I0 R2.1", volts=30)
    board.net("I1", "R2.2", volts=30)
    board.part("R3", "resistor", "1k")
    board.net("I1", "R3.1")
    board.net("GND", "R3.2")
    described = board.described()
    placed = tuple(PlacedPart(p, (8.0, 5.0 + 4 * n), 0.0) for n, p in enumerate(described.parts))
    made = Board(described, described.outline, placed, (), (), ())
    assert [rail.net.name for rail in rails(made)] == ["RAIL"]
    asked = " ".join(f"{s.title} {s.action}" for s in ladder(made, Network(described)))
    assert "12 V on RAIL" in asked
    assert not any(word in asked for word in ("LOAD", "I0", "30 V"))


def powered() -> Board:
    board = Design("ladder", outline=(60, 40))
    board.part("J1", "wire-pads-1x3", pins="V5 GND OUT")
    board.part("U1", "62256", footprint="dip-28-wide-socket")
    board.part("R1", "resistor", "1k")
    board.part("R2", "resistor", "3k")
    board.net("V5", "J1.V5 U1.VCC R1.1", volts=5, amps=0.12)
    board.net("GND", "J1.GND U1.GND R2.2")
    board.net("OUT", "R1.2 R2.1 J1.OUT")
    return layout(board)


def test_the_ladder_takes_one_risk_at_a_time() -> None:
    board = powered()
    rungs = ladder(board, Network(board.description))
    order = ["caution", "ohms", "first power", "volts", "chips", "volts", "function"]
    seen = [s.rung for n, s in enumerate(rungs) if n == 0 or rungs[n - 1].rung != s.rung]
    assert seen == order
    cold = next(s for s in rungs if s.rung == "ohms")
    assert "4 kΩ" in cold.expect  # 1 kΩ and 3 kΩ in series
    first = next(s for s in rungs if s.rung == "first power")
    assert "limit 120 mA" in first.action
    assert "47 Ω" in first.action  # 5 V / 0.12 A is 41.7 Ω; the next of E12 (IEC 60063)
    assert "U1" in first.action  # chips still out
    points = [(s.red.pad, s.black.pad) for s in rungs if s.rung == "volts" and s.red and s.black]
    assert ("J1.1", "J1.2") in points
    assert ("U1.28", "U1.14") in points  # JEDEC byte-wide: VCC 28, GND 14


@pytest.mark.parametrize(("amps", "limit"), [(None, 0.05), (0.001, 0.02), (0.12, 0.12), (0.121, 0.13), (1.2, 0.2)])
def test_current_limit(amps: float | None, limit: float) -> None:
    assert current_limit(amps) == pytest.approx(limit)


def test_what_a_pattern_says_of_bending_is_told() -> None:
    """A rectifier with the thickest lead wants 10.36 between holes of 10.16 (its family file, IPC-A-610 bends)."""
    board = put("D1 1N4001 -", "C1 electrolytic 1u electrolytic-4x7-2.5", "Q1 2N3904 -", "R1 resistor 10k")
    said = {step.references[0]: step.bend for step in build_order(board)}
    assert said["D1"].startswith(
        "bend both leads down 10.16 mm apart; the longest body with the thickest lead wants 10"
    )
    assert said["C1"] == "leads 2.50 mm apart; leads come 1.5 apart: spread them"
    assert said["Q1"].startswith("leads come 1.27 apart: spread the outer two to 2.54")
    assert said["R1"] == "bend both leads down 10.16 mm apart"


def test_wire_links_come_first() -> None:
    """On a board without plated holes: links through it, then straight links, then all that may cover them."""
    made = put("R1 resistor 10k", "U1 62256 - dip-28-wide-socket", "W1 link - wire-link-10.16")
    rules = replace(made.description.rules, layers_plated=False)
    vias = (Via("A", (20.0, 40.0), 2.0, 0.8), Via("A", (10.0, 40.0), 2.0, 0.8))
    home = replace(made, description=replace(made.description, rules=rules), vias=vias)
    steps = build_order(home)
    assert [s.references for s in steps if s.stage == "board"] == [(), ("W1",), ("R1",), ("U1",)]
    assert steps[0].places == ((10.0, 40.0), (20.0, 40.0))
    assert steps[0].solder == "both sides"
    assert [s.done_before for s in steps][:4] == [0, 0, 1, 2]  # links through the board are in no parts list
    assert "10.16 mm" in steps[1].bend
    assert not build_order(replace(home, description=made.description))[0].places  # plated: nothing to do


@pytest.mark.parametrize(
    ("turn", "side", "way"),
    [(0, "top", "lower edge"), (90, "top", "right"), (180, "top", "upper edge"), (0, "bottom", "lower edge")],
)
def test_the_flat_of_a_transistor_is_where_the_words_say(turn: float, side: str, way: str) -> None:
    """TO-92 is drawn with its flat face towards the reader (TO-226AA outline)."""
    board = put("Q1 2N3904 - to92", places={"Q1": (50.0, 30.0, turn, side)})
    ((_, words),) = build_order(board)[0].polarity
    assert words.startswith(f"flat face to the {way};")
