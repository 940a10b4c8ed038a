"""Reading back: what a changed package cannot hide, and which archives are refused."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from modboard.fab.package import Package, write
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.package import read_package
from modboard.fab.readback.trouble import ReadError
from modboard.fab.readback.verify import verify
from tests.sample import sample_artwork

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1*%\n%ADD11R,1X1*%\n"


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
    with pytest.raises(ReadError, match=r"broken\.zip: is not a whole zip"):
        read_package(broken)
    with pytest.raises(ReadError, match="no such folder or zip"):
        read_package(tmp_path / "nowhere")


def test_two_files_of_one_layer_are_refused(made: Package, tmp_path: Path) -> None:
    """Which of the two should be made?"""
    text = unsigned((made.folder / "sample-buffer-profile.gbr").read_text())
    for name, content in (("a.gbr", text), ("b.gbr", mirrored(text))):
        (tmp_path / name).write_text(content)
    with pytest.raises(ReadError, match=r"b\.gbr:1: is the same layer as a\.gbr"):
        read_package(tmp_path)
