"""Whole packages from elsewhere, in many dialects and under many names, give one verdict; what is wrong shows."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from modboard.fab.readback.inspect import Verdict, inspect_package, inspect_read
from modboard.fab.readback.package import package_of
from modboard.fab.readback.trouble import ReadError
from tests.fab.foreign import NC_BARE, NC_PLATED, NETLIST, Dialect, layers, zipped

INCH = {"inch": True, "unit_word": "%MOIN*%"}
OLD = "G04 plotted in the year dot*\n%ICAS*%\n%IPPOS*%\n%LNboard*%\n"
DIALECTS: dict[str, Dialect] = {
    "plain": Dialect(),
    "inch 2.4, leading zeros out": Dialect(inch=True, digits=(2, 4), unit_word="%MOIN*%"),
    "inch 2.5, trailing zeros out": Dialect(inch=True, digits=(2, 5), zeros="T", unit_word="%MOIN*%"),
    "mm 3.3, trailing zeros out": Dialect(digits=(3, 3), zeros="T"),
    "mm 4.3, no zeros out": Dialect(digits=(4, 3), zeros="D"),
    "incremental": Dialect(incremental=True),
    "unit by G70": Dialect(inch=True, digits=(2, 5), unit_word="G70*"),
    "unit by G71, said twice": Dialect(unit_word="G71*\nG71*"),
    "old heading, no G01, G54": Dialect(heading=OLD, mode="", select="G54D{}*"),
    "mode and place in one word": Dialect(joined_mode=True, mode=""),
    "codes of one digit": Dialect(one_digit=True, mode="G1*\n"),
    "carriage returns and ctrl-z": Dialect(newline="\r\n", tail="M02*\n\x1a"),
    "no line ends at all": Dialect(newline=""),
    "several codes in a word": Dialect(mode="G75G01*\n"),
    "macros": Dialect(pads="macro"),
    "block apertures": Dialect(pads="block"),
    "step and repeat": Dialect(pads="step"),
    "negative image": Dialect(negative=True),
    "arcs, multi quadrant": Dialect(round_pour=True),
    "arcs, single quadrant": Dialect(round_pour=True, quadrants="G74*\n"),
    "arcs, inch, single quadrant, trailing zeros out": Dialect(
        inch=True, digits=(2, 5), zeros="T", unit_word="%MOIN*%", round_pour=True, quadrants="G74*\n"
    ),
    "ended by M00": Dialect(tail="M00*\n"),
    "numbered lines": Dialect(select="N10D{}*"),
}
NAMES = {
    "words": ("amp-copper-top.gbr", "amp-copper-bottom.gbr", "amp-mask-top.gbr", "amp-mask-bottom.gbr", "amp-edge.gbr"),
    "endings": ("AMP.GTL", "AMP.GBL", "AMP.GTS", "AMP.GBS", "AMP.GKO"),
    "older endings": ("amp.cmp", "amp.sol", "amp.stc", "amp.sts", "outline.pho"),
    "run together": ("TopLayer.g", "BottomLayer.g", "TopSolderMask.g", "BottomSolderMask.g", "BoardOutline.g"),
    "sides": ("component_side.art", "solder_side.art", "stop_top.art", "stop_bot.art", "contour.art"),
    "folders": ("amp/top.gbr", "amp/x/bottom.gbr", "a\\topmask.gbr", "a\\bottommask.gbr", "amp/profile.gbr"),
}  # fmt: skip


def package(
    dialect: Dialect | None = None,
    names: tuple[str, ...] = NAMES["words"],
    plated: str = NC_PLATED,
    change: Callable[[str, str], str] = lambda name, text: text,
) -> dict[str, bytes]:
    """Return the files of the board by hand; `change` may alter one by its kind."""
    texts = {kind: text() for kind, text in layers(dialect or Dialect()).items()}
    files = {name: change(kind, text).encode() for name, (kind, text) in zip(names, texts.items(), strict=True)}
    return files | {
        "amp pth.drl": change("plated", plated).encode(),
        "amp npth.drl": change("bare", NC_BARE).encode(),
        "amp.ipc": change("netlist", NETLIST).encode(),
    }


def verdict(files: dict[str, bytes]) -> Verdict:
    """Return the verdict on files given by name and bytes."""
    return inspect_read(package_of(files))


def figures(found: Verdict) -> dict[str, str]:
    """Return the figures by name."""
    return dict(found.figures)


@pytest.mark.parametrize("name", DIALECTS)
def test_one_board_in_every_dialect(name: str) -> None:
    """The figures are those worked out by hand in `foreign`; the netlist, by hand too, must agree with the copper."""
    found = verdict(package(DIALECTS[name]))
    assert found.sound, found.lines()
    said = figures(found)
    assert said["board"] == "20.00 × 15.00 mm" and said["holes"] == "5 plated, 1 bare"
    assert float(said["smallest ring"].split()[0]) == pytest.approx(0.3, abs=0.003)  # 0.0001 inch is 2.5 µm
    assert float(said["narrowest line"].split()[0]) == pytest.approx(0.4, abs=1e-3)
    assert float(said["smallest gap"].split()[0]) == pytest.approx(
        2.223 if DIALECTS[name].round_pour else 2.2, abs=0.006
    )
    area = package_of(package(DIALECTS[name])).layers["Copper,L2,Bot"].image.area
    pour = math.pi * 2.5**2 if DIALECTS[name].round_pour else 25.0
    track = 7 * 0.4 - 2 * (0.4 * math.sqrt(0.8**2 - 0.2**2) / 2 + 0.8**2 * math.asin(0.25))  # what no land covers
    assert area == pytest.approx(pour + 4 * math.pi * 0.8**2 + track, rel=2e-3)


@pytest.mark.parametrize("names", NAMES.values(), ids=NAMES.keys())
def test_one_board_under_every_kind_of_name(tmp_path: Path, names: tuple[str, ...]) -> None:
    """In a zip, with the leavings of a computer among the files; each name that was believed is said."""
    files = package(names=names) | {"__MACOSX/._top.gbr": b"\0\5\x16\7", "amp/readme.txt": b"Thank you"}
    (tmp_path / "amp.zip").write_bytes(zipped(files))
    found = inspect_package(tmp_path / "amp.zip")
    assert found.sound, found.lines()
    assert sum("by its name" in w for w in found.package.warnings) == 5
    assert figures(found)["left aside"] == "readme.txt"


HEADER = "M48\n{}\nT1C{}\nT2C{}\n%\n"
PLACES = {(16.0, 10.0): 1, (3.0, 3.0): 2, (10.0, 3.0): 2, (3.0, 10.0): 2, (10.0, 10.0): 2}


def drilled(unit: str, write: Callable[[float], str], inch: bool = False, heading: str = "") -> str:
    """Return the plated holes with coordinates as `write` writes them."""
    scale = 25.4 if inch else 1.0
    text, tool = heading + HEADER.format(unit, f"{0.4 / scale:.5f}", f"{0.8 / scale:.5f}"), 0
    for (x, y), number in PLACES.items():
        text += f"T{number}\n" if number != tool else ""
        tool = number
        text += f"X{write(x / scale)}Y{write(y / scale)}\n"
    return text + "T0\nM30\n"


def digits(whole: int, decimals: int, zeros: str) -> Callable[[float], str]:
    """Return a writer of numbers without a point; `zeros` are those that are kept."""

    def write(value: float) -> str:
        text = f"{round(value * 10**decimals):0{whole + decimals}d}"
        return {"LZ": text.rstrip("0") or "0", "TZ": text.lstrip("0") or "0", "": text}[zeros]

    return write


DRILLS = {
    "inch, point": drilled("INCH", "{:.4f}".format, True),
    "inch, leading kept": drilled("INCH,LZ", digits(2, 4, "LZ"), True),
    "inch, trailing kept": drilled("INCH,TZ", digits(2, 4, "TZ"), True),
    "metric, leading kept": drilled("METRIC,LZ", digits(3, 3, "LZ")),
    "metric, trailing kept, 4.2": drilled("METRIC,TZ,0000.00", digits(4, 2, "TZ")),
    "digits in a remark": drilled("INCH,TZ", digits(2, 5, "TZ"), True, ";FILE_FORMAT=2:5\n"),
    "unit by M72, all digits": drilled("M72", digits(2, 4, ""), True),
    "nothing said, trailing kept": drilled("METRIC", digits(3, 3, "TZ")),
    "nothing said, leading kept": drilled("METRIC", digits(3, 3, "LZ")),
    "nothing said, other digits": drilled("METRIC", digits(4, 2, "TZ")),
    "percent first and last": f"%\n{NC_PLATED}%\n\x1a",
    "incremental": NC_PLATED.replace("METRIC", "METRIC\nICI,ON").replace("X3.0Y3.0\n", "X-13.0Y-7.0\n").replace(
        "X10.0Y3.0\nX3.0Y10.0\nX10.0Y10.0", "X7.0\nX-7.0Y7.0\nX7.0"),
    "a repeated pattern": NC_PLATED.replace("X3.0Y3.0\nX10.0Y3.0\nX3.0Y10.0\nX10.0Y10.0",
        "M25\nX3.0Y3.0\nX10.0Y3.0\nM01\nM02X0.0Y7.0\nM08"),
    "remarks": NC_PLATED.replace("T1\nX", "(via)\nT1 ; small\nM47,CHANGE TOOL\nX"),
}  # fmt: skip


@pytest.mark.parametrize("name", DRILLS)
def test_one_board_with_every_kind_of_drill_file(name: str) -> None:
    """Reference of the format: LZ and TZ name the zeros that are kept; 2.4 and 3.3 are what a header leaves unsaid."""
    found = verdict(package(plated=DRILLS[name]))
    assert found.sound, found.lines()
    holes = {h.path[0]: h.diameter for d in found.package.drills if d.plated for h in d.holes}
    assert {tuple(round(v, 2) for v in p) for p in holes} == set(PLACES)
    assert sorted(holes.values()) == pytest.approx([0.4, 0.8, 0.8, 0.8, 0.8], abs=2e-3)
    assert any("puts the holes into copper" in w for w in found.package.warnings) is name.startswith("nothing said")


def test_a_drill_file_that_fits_no_way_is_refused() -> None:
    """Never a guess: without copper to judge by, digits without a point and without a header's word are no places."""
    with pytest.raises(ReadError, match=r"amp pth\.drl:7: .*which zeros are left out; no way of reading puts"):
        package_of({"amp pth.drl": DRILLS["nothing said, trailing kept"].encode()})


def test_both_platings_in_one_file() -> None:
    """By attributes of the tools, and by remarks before them; GLFS 6.6 asks for two files."""
    tools = (
        "M48\nMETRIC\n{}T1C0.4\nT2C0.8\n{}T3C3.0\n%\nT1\nX16.0Y10.0\nT2\nX3.0Y3.0\nX10.0Y3.0\nX3.0Y10.0\nX10.0Y10.0\n"
    )
    tools += "T3\nX13.5Y3.0\nM30\n"
    ways = (
        ("; #@! TF.FileFunction,MixedPlating,1,2\n; #@! TA.AperFunction,Plated,PTH,ComponentDrill\n",
         "; #@! TD\n; #@! TA.AperFunction,NonPlated,NPTH,MechanicalDrill\n"),
        (";TYPE=PLATED\n", ";TYPE=NON_PLATED\n"),
    )  # fmt: skip
    for marks in ways:
        files = {k: v for k, v in package().items() if not k.endswith(".drl")}
        found = verdict(files | {"amp.drl": tools.format(*marks).encode()})
        assert found.sound and figures(found)["holes"] == "5 plated, 1 bare", found.lines()


def test_holes_in_a_gerber_file() -> None:
    """GLFS 6.6: flashes of circles are holes, draws are slots."""
    text = (
        "%TF.FileFunction,Plated,1,2,PTH,Drill*%%FSLAX46Y46*%%MOMM*%%TA.AperFunction,ComponentDrill*%%ADD10C,0.8*%"
        "%TA.AperFunction,ViaDrill*%%ADD11C,0.4*%G01*D10*X3000000Y3000000D03*X10000000Y3000000D03*X3000000Y10000000D03*"
        "X10000000Y9800000D02*Y10200000D01*D11*X16000000Y10000000D03*M02*"
    )
    files = {k: v for k, v in package().items() if k != "amp pth.drl"} | {"amp-pth.gbr": text.encode()}
    found = verdict(files)
    assert figures(found)["holes"] == "5 plated, 1 bare"
    (drills,) = [d for d in found.package.drills if d.plated]
    assert [len(h.path) for h in drills.holes] == [1, 1, 1, 2, 1] and drills.holes[4].function == "ViaDrill"
    with pytest.raises(ReadError, match=r"amp-pth\.gbr:1: a drill layer holds flashes"):
        package_of({"amp-pth.gbr": text.replace("C,0.8", "R,1X1").encode()})


def mirrored(text: str) -> str:
    """Mirror a layer of plain millimetres about x = 10."""
    return re.sub(r"X(-?\d+)(?=Y-?\d+D0)", lambda m: f"X{20_000_000 - int(m[1])}", text)


BREAKS: list[tuple[str, Callable[[str], str], str]] = [
    ("top", mirrored, "mirrored"),
    ("bottom", mirrored, "mirrored"),
    ("mask top", mirrored, "mirrored"),
    ("mask bottom", mirrored, "mirrored"),
    ("plated", lambda t: t.replace("METRIC", "INCH"), "holes lie off the board"),
    ("plated", lambda t: t.replace("X10.0Y10.0", "X10.7Y10.0"), "breaks out of its pad"),
    ("bottom", lambda t: t.replace("%MOMM*%", "%MOIN*%"), "lie off the board"),
    ("netlist", lambda t: t.replace("317B  ", "317A  ", 1), "joined"),
    ("netlist", lambda t: t.replace("317A                R1", "317D                R1"), "are joined"),
    ("netlist", lambda t: t.replace("A01X+016000Y+006000", "A02X+016000Y+006000"), "lies on no copper"),
    ("netlist", lambda t: t.replace("D0800P", "D0900P", 1), "no plated hole of 0.900 mm"),
]


@pytest.mark.parametrize(("kind", "change", "words"), BREAKS)
def test_what_is_wrong_in_a_package_without_attributes_shows(
    kind: str, change: Callable[[str], str], words: str
) -> None:
    """The same faults as in our own packages, found by geometry alone."""
    found = verdict(package(change=lambda k, text: change(text) if k == kind else text))
    assert not found.sound and any(words in line for line in found.lines()), found.lines()


def test_negative_polarity_of_copper_is_not_passed_over() -> None:
    """GLFS 5.6.4: a negative file shows the absence of copper; without an edge it has no bound and is refused."""
    text = "%TF.FileFunction,Copper,L1,Top*%%TF.FilePolarity,Negative*%%FSLAX46Y46*%%MOMM*%"
    text += "%ADD10R,2X1*%D10*X5000000Y5000000D03*M02*"
    edge = package()["amp-edge.gbr"]
    read = package_of({"a.gbr": text.encode(), "edge.gbr": edge})
    assert read.layers["Copper,L1,Top"].image.area == pytest.approx(20 * 15 - 2)
    assert any("a.gbr:1: is a negative" in w for w in read.warnings)
    with pytest.raises(ReadError, match=r"a\.gbr:1: is a negative image, and no file shows the board's edge"):
        package_of({"a.gbr": text.encode()})


def test_text_in_the_letters_of_old_machines() -> None:
    """A remark in Latin-1 and a byte-order mark: read, and the first is said."""
    files = package()
    files["amp-copper-top.gbr"] = b"G04 Gr\xfc\xdfe*\n" + files["amp-copper-top.gbr"]
    files["amp-copper-bottom.gbr"] = b"\xef\xbb\xbf" + files["amp-copper-bottom.gbr"]
    found = verdict(files)
    assert found.sound
    assert [w for w in found.package.warnings if "UTF-8" in w] == [
        "amp-copper-top.gbr:1: is not UTF-8 text; read as Latin-1 (ISO 8859-1)"
    ]


def test_one_layer_twice() -> None:
    """Alike: one is passed over, and it is said.  Unlike: which of the two should be made?"""
    files = package()
    twice = package_of(files | {"amp.gko": files["amp-edge.gbr"]})
    assert any("amp.gko:1: is the same layer as amp-edge.gbr and shows the same" in w for w in twice.warnings)
    with pytest.raises(ReadError, match=r"amp\.gko:1: is the same layer as amp-edge\.gbr"):
        package_of(files | {"amp.gko": files["amp-edge.gbr"].replace(b"X20000000", b"X21000000")})


def test_netlist_in_inches_with_pads_and_holes_apart() -> None:
    """IPC-D-356A: CUST 0 counts 0.0001 inch; a pad stack is 317, 017 for the other pad and 017 for its hole."""
    text = (
        "P  JOB   OLD\nP  UNITS CUST 0\nP  NNAME1     A_NAME_LONGER_THAN_THE_COLUMNS\n"
        "317NNAME1           J1    -1          A01X+001181Y+001181X0630Y0000R000 S0\n"
        "017                                   A02X+001181Y+001181X0630Y0000R000 S0\n"
        "017                             D0315PA00X+001181Y+001181\n"
        "099                                       X 001181Y 001181\n"
        "379NNAME1        B\n999     \n"
    )
    read = package_of({"a.ipc": text.encode()})
    assert read.netlist is not None
    stack = read.netlist.records
    assert [(r.net, r.reference, r.pin, r.side) for r in stack] == [
        ("A_NAME_LONGER_THAN_THE_COLUMNS", "J1", "1", side) for side in ("01", "02", "00")
    ]
    assert stack[0].at == pytest.approx((3.0, 3.0), abs=1e-3) and stack[2].hole == (pytest.approx(0.8, abs=1e-3), True)
    assert len(read.warnings) == 2 and "a.ipc:7: record 099" in read.warnings[0]
