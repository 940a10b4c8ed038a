"""Files made to hurt: each is refused with one clear line, in little time and memory."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from modboard.fab.readback import archive as archive_module
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.inspect import inspect_read
from modboard.fab.readback.macros import MacroError, value_of
from modboard.fab.readback.package import package_of, read_package
from modboard.fab.readback.trouble import ReadError

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.01*%\nG01*\nD10*\n"


@pytest.fixture(autouse=True)
def quickly() -> Iterator[None]:
    """No reader may take long over any of this; seconds of processor time."""
    begun = time.process_time()
    yield
    assert time.process_time() - begun < 5.0


def laughing_blocks() -> str:
    """Return eight blocks, each with twelve of the one before: 12⁸ objects in 1 kB."""
    text = HEAD + "%ABD20*%\nX0Y0D03*\n%AB*%\n"
    for n in range(21, 28):
        text += f"%ABD{n}*%\nD{n - 1}*\n" + "".join(f"X{k}Y0D03*\n" for k in range(12)) + "%AB*%\n"
    return text + "D27*\nX0Y0D03*\nM02*\n"


def deep_blocks() -> str:
    """Return a hundred blocks opened inside one another."""
    return HEAD + "".join(f"%ABD{n}*%\n" for n in range(20, 120)) + "M02*\n"


def combs() -> str:
    """Return 1,800 lines across 1,800 others: three million crossings."""
    across = "".join(f"X0Y{k}0000D02*\nX30000000D01*\n" for k in range(1800))
    upright = "".join(f"X{k}0000Y0D02*\nY30000000D01*\n" for k in range(1800))
    return HEAD + across + upright + "M02*\n"


HOSTILE = [
    (f"{HEAD}%SRX1000000000Y1I1J1*%\nX0Y0D03*\n%SR*%\nM02*\n", "g:6: step and repeat"),
    (f"{HEAD}%SRX99999Y99999I1J1*%\nX0Y0D03*\n%SR*%\nM02*\n", "g:8: the layer has more than"),
    (laughing_blocks(), "the layer has more than"),
    (deep_blocks(), "too deep inside others"),
    (f"{HEAD}X{'9' * 5000}Y0D03*\nM02*\n", "g:6: coordinate 9999"),
    ("%FSLAX71Y71*%\n%MOIN*%\n%ADD10C,1*%\nD10*\nX99999999Y0D03*\nM02*\n", "coordinate 99999999 is more than 10 m"),
    (f"{HEAD}%ADD11C,{'9' * 12}*%\nM02*\n", "g:6: aperture D11 is larger than 10 m"),
    (f"{HEAD}%ADD11C,{'9' * 500}*%\nM02*\n", "g:6: aperture D11 has a size that is not"),
    (f"{HEAD}%ADD{'1' * 5000}C,1*%\nM02*\n", "g:6: aperture 'ADD111"),
    (f"{HEAD}D{'1' * 5000}*\nM02*\n", "g:6: command 'D111"),
    (f"{HEAD}%AMQ*{'1,1,1,0,0*' * 600}%\n%ADD11Q*%\nM02*\n", "g:7: aperture D11: a macro has more than 500"),
    (f"{HEAD}%AMQ*{'1,1,1,0,0*' * 500}%\n{''.join(f'%ADD{n}Q*%' for n in range(11, 99))}M02*\n", "too many macro"),
    (f"{HEAD}%AMQ*1,1,{'(' * 900}1{')' * 900},0,0*%\n%ADD11Q*%\nM02*\n", "too many brackets"),
    (f"{HEAD}%AMQ*1,1,{'1+' * 5000}1,0,0*%\n%ADD11Q*%\nM02*\n", "longer than 2000"),
    (f"{HEAD}%AMQ*$1=999999999x999999999*$2=$1x$1*$3=$2x$2*1,1,$3,0,0*%\n%ADD11Q*%\nM02*\n", "larger than 100000"),
    (f"{HEAD}%AMQ*5,1,1000000000,0,0,1,0*%\n%ADD11Q*%\nM02*\n", "larger than 100000"),
    (f"{HEAD}%ADD11P,1X999999999*%\nM02*\n", "3 to 12 corners"),
    (f"{HEAD}G75*\nG03*\nX0Y0D02*\n" + "".join("X0Y0I1J0D01*\n" for _ in range(40_000)) + "M02*\n", "corners"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), HOSTILE, ids=[w[:40] for _, w in HOSTILE])
def test_hostile_layers_are_refused(text: str, words: str) -> None:
    """Copies without end, numbers without end, macros without end."""
    with pytest.raises(ReadError) as caught:
        read_gerber(text, "g")
    assert words in str(caught.value) and str(caught.value).startswith("g:") and len(str(caught.value)) < 300


def test_a_layer_of_nothing_but_crossings_is_refused_before_it_is_joined() -> None:
    """The joining would take minutes and gigabytes; the sample says so at once."""
    with pytest.raises(ReadError, match="more lines across one another"):
        _ = read_gerber(combs(), "g").image
    path = "".join(f"X{k % 2 * 30000000}Y{k}0000D01*\n" for k in range(1, 4000))
    back = "".join(f"X{k}0000Y{k % 2 * 30000000}D01*\n" for k in range(1, 4000))
    with pytest.raises(ReadError, match=r"more lines across one another|crosses itself"):
        read_gerber(f"{HEAD}G36*\nX0Y0D02*\n{path}{back}X0Y0D01*\nG37*\nM02*\n", "g")


@pytest.mark.parametrize("text", ["1/0", "1/(1-1)"])
def test_division_by_zero_in_a_macro(text: str) -> None:
    """Said, not raised as something else."""
    with pytest.raises(MacroError, match="divides by zero"):
        value_of(text, {})


DRILLS = [
    ("X1.0Y1.0\nR999999X0.001", "more than 100000 holes"),
    ("X" + "9" * 5000 + "Y1.0", "more than 6 digits"),
    ("X99999999.0Y1.0", "more than 10 m away"),
    ("X1.0Y1.0\n" * 100_001, "more than 100000 holes"),
]


@pytest.mark.parametrize(("body", "words"), DRILLS, ids=[w for _, w in DRILLS])
def test_hostile_drill_files_are_refused(body: str, words: str) -> None:
    """Repeats and places without end."""
    with pytest.raises(ReadError, match=words) as caught:
        read_drill(f"M48\nMETRIC\nT1C1.0\n%\nT1\n{body}\nM30\n", "d")
    assert str(caught.value).startswith("d:")


def test_a_job_file_that_is_only_brackets() -> None:
    """Nesting that no parser's stack holds."""
    with pytest.raises(ReadError, match=r"x\.gbrjob:1: is not JSON"):
        package_of({"x.gbrjob": b"[" * 100_000})


def test_zip_bombs_are_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A gigabyte of zeros in a megabyte; too many files; the same name twice."""
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        for n in range(5):
            archive.writestr(f"{n}.gbr", b"0" * 30_000_000)
    with pytest.raises(ReadError, match=r"bomb\.zip: holds more than a package"):
        read_package(bomb)
    many = tmp_path / "many.zip"
    with zipfile.ZipFile(many, "w") as archive:
        for n in range(300):
            archive.writestr(f"{n}.gbr", "")
    with pytest.raises(ReadError, match="holds more than a package"):
        read_package(many)
    twice = tmp_path / "twice.zip"
    with zipfile.ZipFile(twice, "w") as archive:
        archive.writestr("a/x.gbr", "")
        archive.writestr("b/x.gbr", "")
    with pytest.raises(ReadError, match=r"holds two files called x\.gbr"):
        read_package(twice)
    monkeypatch.setattr(archive_module, "LARGEST_FILE", 1000)
    large = tmp_path / "large.zip"
    with zipfile.ZipFile(large, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("x.gbr", b"0" * 1001)
    with pytest.raises(ReadError, match=r"x\.gbr: is larger than"):
        read_package(large)


def test_a_zip_that_lies_about_its_sizes_is_refused(tmp_path: Path) -> None:
    """The directory says 10 bytes; the data is more: the checksum does not hold over the part that is read."""
    path = tmp_path / "liar.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("x.gbr", b"0" * 100_000)
    content = bytearray(path.read_bytes())
    directory = content.rindex(b"PK\x01\x02")
    content[directory + 24 : directory + 28] = (10).to_bytes(4, "little")
    path.write_bytes(bytes(content))
    with pytest.raises(ReadError, match=r"liar\.zip: is not a whole zip"):
        read_package(path)


def test_an_edge_of_nothing_but_crossings_is_refused() -> None:
    """The board's area is looked for among lines that may all cross: counted first, in little memory."""
    edge = "%TF.FileFunction,Profile,NP*%\n" + combs()
    with pytest.raises(ReadError, match=r"e\.gbr:1: is said to be the board's edge, but has more lines"):
        inspect_read(package_of({"e.gbr": edge.encode()}))
    nested = "".join(
        f"X{k}000Y{k}000D02*\nX{9000 - k}000D01*\nY{9000 - k}000D01*\nX{k}000D01*\nY{k}000D01*\n" for k in range(2500)
    )
    with pytest.raises(ReadError, match=r"e\.gbr:1: has more than 2000 closed edges"):
        inspect_read(package_of({"e.gbr": f"%TF.FileFunction,Profile,NP*%\n{HEAD}{nested}M02*\n".encode()}))


def test_more_dots_than_any_board_has_are_not_joined() -> None:
    """Discs that touch are the slowest to join: 50,000 of them are refused at once."""
    dots = "".join(f"X{k % 300}0000Y{k // 300}0000D03*\n" for k in range(50_000))
    with pytest.raises(ReadError, match=r"g:1: has more than 40000 objects to be joined"):
        _ = read_gerber(f"{HEAD}{dots}M02*\n", "g").image
