"""What the strict readers refuse: each fault by file and line, and any soup of bytes by a value or a ReadError."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.netlist import read_netlist
from modboard.fab.readback.trouble import ReadError

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1*%\n%ADD11R,1X1*%\n"
GERBER_FAULTS = [
    ("D10*\nX0Y0D03*\n", 7, "ends without M02"),
    ("D10*\nX0Y0D03*\nM02*\nX1Y1D03*\n", 8, "follows the end"),
    ("X0Y0D03*\nM02*\n", 5, "before any aperture is selected"),
    ("D12*\nM02*\n", 5, "D12 is used but not defined"),
    ("%ADD10C,2*%\nM02*\n", 5, "D10 is defined twice"),
    ("%ADD12C,1e-07*%\nM02*\n", 5, "not a plain decimal number"),
    ("%ADD12Q,1*%\nM02*\n", 5, "template Q is not defined"),
    ("%ADD12R,1*%\nM02*\n", 5, "takes 2 to 3 sizes"),
    ("%ADD12R,0X1*%\nM02*\n", 5, "above zero"),
    ("G01*\nD10*\nX5Y5D01*\nM02*\n", 7, "starts from a place that the file has not said"),
    ("%AMQ*21,1,1,1,0,0,0*%\n%ADD12Q*%\nG01*\nD12*\nX0Y0D02*\nX5Y5D01*\nM02*\n", 10, "not a plain circle"),
    ("G02*\nD10*\nX0Y0D02*\nX2000000Y0I1000000J0D01*\nM02*\n", 8, "could be two different arcs"),
    ("G75*\nG02*\nD10*\nX0Y0D02*\nX5000000Y0I1000000J0D01*\nM02*\n", 9, "from its centre"),
    ("G01*\nG36*\nX0Y0D02*\nX90000Y0D01*\nX90000Y90000D01*\nG37*\nM02*\n", 10, "not closed"),
    ("G01*\nG36*\nX0Y0D01*\nG37*\nM02*\n", 7, "a draw starts from a place"),
    ("G36*\nG36*\n", 6, "a region starts inside a region"),
    ("G37*\nM02*\n", 5, "G37 without G36"),
    ("G36*\nM02*\n", 6, "ends inside a region"),
    ("G36*\n%LPC*%\n", 6, "an extended command inside a region"),
    ("%SRX0Y2I5J5*%\nM02*\n", 5, "count of zero"),
    ("%SRX2Y2*%\nM02*\n", 5, "step and repeat 'SRX2Y2' does not say how far"),
    ("%ABD10*%\nM02*\n", 5, "block aperture D10 is defined twice"),
    ("%ABD12*%\nM02*\n", 6, "ends inside a block"),
    ("%AB*%\nM02*\n", 5, "closes nothing"),
    ("%ABD12*%\n%AB*%\nG01*\nD12*\nX0Y0D02*\nX5Y5D01*\nM02*\n", 10, "a draw with a block aperture"),
    ("%LR4e5*%\nM02*\n", 5, "not a plain decimal number"),
    ("%LS0*%\nM02*\n", 5, "not above zero"),
    ("%LMZ*%\nM02*\n", 5, "mirroring"),
    ("%OFA1.5B0*%\nM02*\n", 5, "is not read"),
    ("%SFA2B1*%\nM02*\n", 5, "is not read"),
    ("%IR90*%\nM02*\n", 5, "is not read"),
    ("%MIA1B0*%\nM02*\n", 5, "is not read"),
    ("D10*\nX1Y1*\nM02*\n", 6, "does not say what to do"),
    ("%KOD*%\nM02*\n", 5, "is not read"),
    ("G54D12*\nM02*\n", 5, "D12 is used but not defined"),
    ("%LPX*%\nM02*\n", 5, "polarity"),
    ("%MOIN*%\nM02*\n", 5, "unit 'MOIN' is wrong or given twice"),
    ("D10*\nX99999999999Y0D03*\nM02*\n", 6, "more digits than the format"),
    ("%AMQ*7,0,0,1,2,0.1,0*%\n%ADD12Q*%\nM02*\n", 6, "the outer diameter must be above the inner one"),
    ("%AMQ*6,0,0,5,0.5,0.5,2,0.1,6*%\n%ADD12Q*%\nM02*\n", 6, "moiré takes"),
    ("%AMQ*8,1,1*%\n%ADD12Q*%\nM02*\n", 6, "primitive 8 does not exist"),
    ("%AMQ*4,1,3,0,0,1,0,1,1,0,1,0*%\n%ADD12Q*%\nM02*\n", 6, "not closed"),
    ("%AMQ*1,1,$1/0,0,0*%\n%ADD12Q,1*%\nM02*\n", 6, "divides by zero"),
    ("%AMQ*1,1,((1,0,0*%\n%ADD12Q,1*%\nM02*\n", 6, "bracket"),
    ("%TF.Part,Single*%\n%TF.Part,Single*%\nM02*\n", 6, "given twice"),
    ("D10", 5, "does not end with"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "line", "words"), GERBER_FAULTS, ids=[f"{w}-{k}" for k, (_, _, w) in enumerate(GERBER_FAULTS)]
)
def test_gerber_faults_are_named_with_file_and_line(body: str, line: int, words: str) -> None:
    """What breaks the format or is not read is said, never guessed."""
    with pytest.raises(ReadError, match=re.escape(words)) as caught:
        read_gerber(HEAD + body, "top.gbr")
    assert str(caught.value).startswith(f"top.gbr:{line}: ")


DRILL = "M48\nMETRIC\nT01C0.800\n%\nT01\nX1.0Y1.0\nM30\n"
DRILL_FAULTS: list[tuple[str, str, int, str]] = [
    ("M48\n", "", 1, "does not start with M48"),
    ("METRIC\n", "", 2, "before METRIC or INCH"),
    ("T01C0.800\n", "", 4, "T1 is used but not defined"),
    ("T01C0.800\n", "T01C0.800\nT01C0.900\n", 4, "defined twice"),
    ("C0.800", "C0.000", 3, "has no size"),
    ("M30\n", "", 6, "ends without M30"),
    ("M30\n", "M30\nX1.0Y1.0\n", 8, "follows the end"),
    ("\nT01\n", "\n", 5, "before any tool is selected"),
    ("X1.0Y1.0", "X1.0", 6, "must give both"),
    ("X1.0Y1.0", "X1.0.0Y1.0", 6, "is not a number"),
    ("X1.0Y1.0", "R5X1.0", 6, "a repeat without a hit before it"),
    ("X1.0Y1.0", "G41", 6, "is not read"),
    ("METRIC\n", "METRIC\nFMAT,1\n", 3, "is not read"),
    ("X1.0Y1.0", "G01X1.0Y1.0", 6, "M15 is missing"),
    ("X1.0Y1.0", "G00X1.0Y1.0\nM15\nG01X2.0Y1.0\nG05", 9, "M16 is missing"),
    ("X1.0Y1.0", "G00X1.0Y1.0\nX2.0Y1.0", 7, "G05 is missing"),
    ("X1.0Y1.0", "G02X1.0Y1.0A1.0", 6, "M15 is missing"),
    ("X1.0Y1.0", "G00X1.0Y1.0\nM15\nG02X9.0Y1.0A1.0", 8, "cannot join ends 8 mm apart"),
    ("X1.0Y1.0", "G00X1.0Y1.0\nM15\nG02X9.0Y1.0I1.0J0.0", 8, "not equally far"),
]


@pytest.mark.parametrize(("old", "new", "line", "words"), DRILL_FAULTS, ids=[w for *_, w in DRILL_FAULTS])
def test_drill_faults_are_named_with_file_and_line(old: str, new: str, line: int, words: str) -> None:
    """As for Gerber."""
    with pytest.raises(ReadError, match=re.escape(words)) as caught:
        read_drill(DRILL.replace(old, new, 1), "holes.drl")
    assert str(caught.value).startswith(f"holes.drl:{line}: ")


NETLIST = (
    "P  UNITS CUST 1\n"
    "317GND              U1    -14   D0800PA00X+012700Y+025400X1600Y0000R000 S0\n"
    "378GND            L01 X0250 X+012700Y+025400 X+020000\n"
    "999\n"
)
NETLIST_FAULTS = [
    ("P  UNITS CUST 1\n", "", 1, "before the unit"),
    ("CUST 1", "CUST 7", 1, "is not read"),
    ("P  UNITS CUST 1\n", "P  UNITS CUST 1\nP  UNITS SI\n", 2, "given twice"),
    ("317GND   ", "317GND  ", 2, "columns"),
    ("317GND ", "317G D ", 2, "has a blank"),
    ("317GND ", "327GND ", 2, "a surface record with one"),
    ("317GND ", "355GND ", 2, "is not read"),
    ("317GND      ", "317NNAME0000", 2, "is not explained"),
    ("+012700Y", "+01 700Y", 2, None),
    ("L01 X0250", "L01 Y0250", 3, "width first"),
    ("X+020000", "Q+020000", 3, "not understood"),
    ("999\n", "", 3, "ends without 999"),
    ("999\n", "999\n999\n", 5, "follows the end"),
    ("R000 S0", "R000 S0" + " " * 10 + "x", 2, "allowed"),
]


@pytest.mark.parametrize(("old", "new", "line", "words"), NETLIST_FAULTS, ids=[str(w) for *_, w in NETLIST_FAULTS])
def test_netlist_faults_are_named_with_file_and_line(old: str, new: str, line: int, words: str | None) -> None:
    """As for Gerber; a blank inside a number reads as a digit left out, as the format allows, and moves the pad."""
    assert old in NETLIST
    text = NETLIST.replace(old, new, 1)
    if words is None:
        assert read_netlist(text).records != read_netlist(NETLIST).records
        return
    with pytest.raises(ReadError, match=re.escape(words)) as caught:
        read_netlist(text, "board.ipc")
    assert str(caught.value).startswith(f"board.ipc:{line}: ")


SOUP = st.lists(
    st.sampled_from(
        ["%", "*", "G36*", "G37*", "D10*", "X1Y1D03*", "X9Y9D01*", "X5Y0D02*", "%LPC*%", "%ADD12C,1*%", "%AM", "4,1,3,",
         "$1", "%TO.N,A*%", "\\u", "M02*", "G01*", "\n", "%ADD13P,1X3*%", "1,1,1,0,0*", "(", "T1C1.0", "M48",
         "X1.0", "é"]
    ),
    max_size=40,
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(SOUP)
def test_any_soup_gives_a_layer_or_a_read_error(soup: list[str]) -> None:
    """Property: readers never fail in any other way, and always name the file."""
    for reader, head in ((read_gerber, HEAD), (read_drill, "M48\nMETRIC\n"), (read_netlist, "P  UNITS CUST 1\n")):
        try:
            reader(head + "".join(soup), "soup")  # type: ignore[operator]
        except ReadError as error:
            assert str(error).startswith("soup:")


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_damaged_files_give_a_layer_or_a_read_error(data: st.DataObject) -> None:
    """Property: bytes changed, taken out or put in anywhere in a good file."""
    text = data.draw(
        st.sampled_from([HEAD + "G01*\nG36*\nX0Y0D02*\nX9Y0D01*\nX9Y9D01*\nX0Y0D01*\nG37*\nM02*\n", DRILL, NETLIST])
    )
    at = data.draw(st.integers(0, len(text) - 1))
    put = data.draw(st.text(max_size=3))
    damaged = text[:at] + put + text[at + data.draw(st.integers(0, 3)) :]
    for reader in (read_gerber, read_drill, read_netlist):
        try:
            reader(damaged, "damaged")  # type: ignore[operator]
        except ReadError as error:
            assert str(error).startswith("damaged:")
