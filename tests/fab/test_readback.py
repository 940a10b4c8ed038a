"""The strict readers: what they refuse, what they see in files of others, and what a changed file cannot hide."""

from __future__ import annotations

import random
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.fab.package import Package, write
from modboard.fab.readback.compare import layer_difference
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.netlist import read_netlist
from modboard.fab.readback.package import read_package
from modboard.fab.readback.trouble import ReadError
from modboard.fab.readback.verify import FUNCTIONS, hole_differences, verify
from tests.sample import sample_artwork

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
    ("D10*\nX0Y0D02*\nX1D01*\nM02*\n", 7, "a draw before G01"),
    ("G01*\nD10*\nX5Y5D01*\nM02*\n", 7, "starts from a place that the file has not said"),
    ("%AMQ*21,1,1,1,0,0,0*%\n%ADD12Q*%\nG01*\nD12*\nX0Y0D02*\nX5Y5D01*\nM02*\n", 10, "not a plain circle"),
    ("G02*\nD10*\nX0Y0D02*\nX5Y5I1J1D01*\nM02*\n", 8, "without G75"),
    ("G75*\nG02*\nD10*\nX0Y0D02*\nX5Y5I1D01*\nM02*\n", 9, "both I and J"),
    ("G75*\nG02*\nD10*\nX0Y0D02*\nX5000000Y0I1000000J0D01*\nM02*\n", 9, "from its centre"),
    ("G01*\nG36*\nX0Y0D02*\nX9Y0D01*\nX9Y9D01*\nG37*\nM02*\n", 10, "not closed"),
    ("G01*\nG36*\nX0Y0D01*\nG37*\nM02*\n", 7, "a draw starts from a place"),
    ("G36*\nG36*\n", 6, "a region starts inside a region"),
    ("G37*\nM02*\n", 5, "G37 without G36"),
    ("G36*\nM02*\n", 6, "ends inside a region"),
    ("G36*\n%LPC*%\n", 6, "an extended command inside a region"),
    ("%SRX0Y2I5J5*%\nM02*\n", 5, "count of zero"),
    ("%SRX2Y2*%\nM02*\n", 5, "step and repeat 'SRX2Y2' is wrong"),
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
    ("%IPNEG*%\nM02*\n", 5, "is not read"),
    ("G54D12*\nM02*\n", 5, "D12 is used but not defined"),
    ("%LPX*%\nM02*\n", 5, "polarity"),
    ("%MOIN*%\nM02*\n", 5, "unit 'MOIN' is wrong or given twice"),
    ("D10*\nX99999999999Y0D03*\nM02*\n", 6, "more digits than the format"),
    ("%AMQ*7,0,0,1,2,0.1,0*%\n%ADD12Q*%\nM02*\n", 6, "the outer diameter must be above the inner one"),
    ("%AMQ*6,0,0,5,0.5,0.5,2,0.1,6,0*%\n%ADD12Q*%\nM02*\n", 6, "primitive 6 is not read"),
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
    ("METRIC\n", "METRIC\nICI,ON\n", 3, "is not read"),
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
    ("D0800P", "      ", 2, "without a hole"),
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


def test_attributes_in_comments_count_too() -> None:
    """GLFS 5.1.1: G04 #@! carries an attribute for readers of the older kind."""
    text = (
        "G04 #@! TF.FileFunction,Copper,L1,Top*\n"
        + HEAD.replace("%ADD10", "G04 #@! TA.AperFunction,ViaPad*\n%ADD10", 1)
        + "G04 #@! TD*\nG04 #@! TO.N,GND*\nD10*\nX0Y0D03*\nM02*\n"
    )  # fmt: skip
    read = read_gerber(text)
    assert read.function == "Copper,L1,Top"
    assert read.objects[0].attributes == {".AperFunction": ("ViaPad",), ".N": ("GND",)}


def test_clear_objects_erase_in_order() -> None:
    """GLFS 4.9.2: a clear object erases what came before and nothing after."""
    text = (
        HEAD
        + "D11*\nX0Y0D03*\n%LPC*%\nD10*\nX0Y0D03*\n%LPD*%\nX5000000Y0D03*\nX0Y0D03*\n%LPC*%\nX5000000Y0D03*\nM02*\n"
    )
    assert read_gerber(text).image.area == pytest.approx(1.0)


def test_readers_share_no_code_with_the_writers() -> None:
    """What a writer gets wrong, a reader built from the same code would get wrong as well."""
    folder = Path(__file__).parents[2] / "modboard" / "fab" / "readback"
    imports = [line for path in folder.glob("*.py") for line in path.read_text().splitlines() if "modboard.fab" in line]
    assert imports and all("modboard.fab.readback" in line for line in imports)
    assert not any("gerber_writer" in path.read_text() for path in folder.glob("*.py"))


# --- packages


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Package:
    """Give one written package of the sample, not to be changed."""
    return write(sample_artwork(), (), tmp_path_factory.mktemp("made") / "fab")


def differences(made: Package, folder: Path, changes: dict[str, Callable[[str], str] | None]) -> list[str]:
    """Return what verify says of the package with some files changed (None: left out)."""
    for path in made.files:
        change = changes.get(path.name.removeprefix("sample-buffer-"), str)
        if change is not None:
            (folder / path.name).write_text(change(path.read_text()))
    try:
        return verify(folder, sample_artwork())
    except ReadError as error:
        return [str(error)]


def unsigned(text: str) -> str:
    """Take the checksum away, so that a change must be found by what it does."""
    return re.sub(r"%TF\.MD5,\w+\*%\n", "", text)


def mirrored(text: str) -> str:
    """Mirror a layer left to right about x = 15.8 mm, the middle of the sample."""
    return re.sub(r"X(-?\d+)(?=Y-?\d+D0)", lambda m: f"X{31_600_000 - int(m[1])}", unsigned(text))


def shifted(text: str) -> str:
    """Shift a drill file by 0.1 mm in x."""
    return re.sub(r"X(-?[\d.]+)(?=Y)", lambda m: f"X{float(m[1]) + 0.1:.3f}", text)


CHANGES: list[tuple[str, dict[str, Callable[[str], str] | None], str]] = [
    ("layer missing", {"mask-top.gbr": None}, "mask-top: no file says that it is Soldermask,Top"),
    ("netlist missing", {"netlist.ipc": None}, "no test netlist"),
    ("job file missing", {"job.gbrjob": None}, "no job file"),
    ("drill missing", {"holes-plated.drl": None}, "no hole of"),
    ("copper mirrored", {"copper-top.gbr": mirrored}, "the image differs"),
    ("legend mirrored", {"legend-top.gbr": mirrored}, "the image differs"),
    ("drill shifted", {"holes-plated.drl": shifted}, "a hole that was not drawn"),
    ("unit changed", {"copper-top.gbr": lambda t: unsigned(t).replace("%MOMM*%", "%MOIN*%")}, "the image differs"),
    ("drill unit changed", {"holes-bare.drl": lambda t: t.replace("METRIC", "INCH")}, "no hole of"),
    ("plating changed", {"holes-bare.drl": lambda t: t.replace("NonPlated", "Plated")}, "plated"),
    ("byte changed", {"copper-top.gbr": lambda t: t.replace("modboard,0.1", "modboard,0.2")}, "checksum"),
    ("pin renamed", {"copper-top.gbr": lambda t: unsigned(t).replace("U1,3", "U1,30")}, "U1.30"),
    ("net renamed", {"copper-top.gbr": lambda t: unsigned(t).replace("%TO.N,OUT*%", "%TO.N,SIG*%")}, "is marked"),
    ("net renamed in netlist", {"netlist.ipc": lambda t: t.replace("317SIG", "317OUT", 1)}, "joined"),
    ("record lost", {"netlist.ipc": lambda t: re.sub(r"317SIG.*\n", "", t, count=1)}, "test points for"),
    ("record moved", {"netlist.ipc": lambda t: t.replace("X+012000Y+008920", "X+014000Y+008920")}, "lies on no copper"),
    ("job names another", {"job.gbrjob": lambda t: t.replace("copper-top.gbr", "copper-tip.gbr")}, "job file"),
    ("job function", {"job.gbrjob": lambda t: t.replace("Legend,Top", "Legend,Bot")}, "job file"),
    ("truncated", {"copper-bottom.gbr": lambda t: t[: len(t) // 2]}, "copper-bottom.gbr:"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "words"), [c[1:] for c in CHANGES], ids=[c[0] for c in CHANGES])
def test_a_changed_package_is_found_out(
    made: Package, tmp_path: Path, changes: dict[str, Callable[[str], str] | None], words: str
) -> None:
    """Layers lost, mirrored, shifted, in other units, renamed; nothing passes."""
    found = differences(made, tmp_path, changes)
    assert any(words in f for f in found), found


def test_swapped_layers_are_found_out(made: Package, tmp_path: Path) -> None:
    """Top and bottom copper change places by what they say they are."""
    top, bottom = (
        lambda t, a=a, b=b: unsigned(t).replace(f"FileFunction,Copper,{a}", f"FileFunction,Copper,{b}")
        for a, b in (("L1,Top", "L2,Bot"), ("L2,Bot", "L1,Top"))
    )
    found = differences(made, tmp_path, {"copper-top.gbr": top, "copper-bottom.gbr": bottom})
    assert any("copper-top.gbr" in f for f in found) and any("copper-bottom.gbr" in f for f in found)


def test_random_mutations_that_change_the_board_are_found_out(made: Package) -> None:
    """80 mutations of layers and drill files, unsigned; those that leave the image as it was do not count."""
    rng = random.Random(356)
    layers = {FUNCTIONS[layer.name]: layer for layer in sample_artwork().layers}
    drilled = [p.read_text() for p in made.files if p.suffix == ".drl"]
    originals = [unsigned(p.read_text()) for p in made.files if p.suffix == ".gbr"]
    images = {text: read.image for text in originals if (read := read_gerber(text)).function in layers}
    counted, missed = 0, []
    for _ in range(80):
        original = rng.choice(drilled + list(images))
        changed = mutated(original, rng)
        if original in drilled:
            files = [changed if text == original else text for text in drilled]
            seen = bool(hole_differences([read_drill(text) for text in files], sample_artwork()))
        else:
            try:
                after = read_gerber(changed)
            except ReadError:  # a contour that crosses itself, for one
                counted += 1
                continue
            if images[original].symmetric_difference(after.image).area < 1e-4:
                continue
            seen = bool(layer_difference(after, layers[after.function]))
        counted += 1
        if not seen:
            missed.append(changed)
    assert missed == [] and counted > 50


def mutated(text: str, rng: random.Random) -> str:
    """Return a layer or drill file with one coordinate moved, one flash or hit taken out, or one aperture resized."""
    lines = text.split("\n")
    places = [k for k, line in enumerate(lines) if re.match(r"(G0\d)?X", line)]
    flashes = [k for k in places if lines[k].endswith("D03*")]
    sizes = [k for k, line in enumerate(lines) if re.match(r"%ADD\d+C|T\d\dC", line)]
    kind = rng.choice(["move", "move", "drop", "resize"])
    if kind == "drop" and flashes:
        del lines[rng.choice(flashes)]
    elif kind == "resize" and sizes:
        at = rng.choice(sizes)
        lines[at] = re.sub(r"(C,?)([\d.]+)", lambda m: f"{m[1]}{float(m[2]) + 0.002:.6f}", lines[at])
    else:
        at = rng.choice(places)
        step = rng.choice([-1, 1]) * rng.choice([0.005, 0.01, 0.1, 1.0])
        axis = rng.choice("XY")
        if "." in lines[at]:
            lines[at] = re.sub(rf"{axis}(-?[\d.]+)", lambda m: f"{axis}{float(m[1]) + step:.6f}", lines[at])
        else:
            lines[at] = re.sub(rf"{axis}(-?\d+)", lambda m: f"{axis}{int(m[1]) + round(step * 1e6)}", lines[at])
    return "\n".join(lines)


def test_a_zip_that_points_outside_is_refused(tmp_path: Path) -> None:
    """No name in an archive may leave its folder."""
    for number, name in enumerate(("../evil.gbr", "/etc/evil.gbr", "a/../../evil.gbr")):
        path = tmp_path / f"{number}.zip"
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(name, "M02*")
        with pytest.raises(ReadError, match="points outside"):
            read_package(path)


def test_a_damaged_zip_and_a_missing_folder_are_refused(made: Package, tmp_path: Path) -> None:
    """One line each, naming the file."""
    broken = tmp_path / "broken.zip"
    broken.write_bytes(made.archive.read_bytes()[:2000])
    with pytest.raises(ReadError, match=r"broken\.zip:0: is not a whole zip"):
        read_package(broken)
    with pytest.raises(ReadError, match="no such folder or zip"):
        read_package(tmp_path / "nowhere")


def test_two_files_of_one_layer_are_refused(made: Package, tmp_path: Path) -> None:
    """Which of the two should be made?"""
    for name in ("a.gbr", "b.gbr"):
        (tmp_path / name).write_bytes((made.folder / "sample-buffer-profile.gbr").read_bytes())
    with pytest.raises(ReadError, match=r"b\.gbr:1: is the same layer as a\.gbr"):
        read_package(tmp_path)


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
