"""The commands that make and judge packages, driven as a user drives them, on a design that lays out at once."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from modboard.cli import main
from modboard.fab.names import GROUPS

DESIGN = """from modboard import Design

board = Design("tiny", outline=(24, 15), rules="{rules}")
board.part("R1", "resistor", "{value}")
board.part("J1", "wire-pads-1x2", pins="A B")
board.net("A", "R1.1 J1.A")
board.net("B", "R1.2 J1.B")
"""


def run(*words: str | Path) -> Result:
    """Run a command without noise."""
    quiet = [] if words[0] == "verify" else ["--quiet"]
    return CliRunner().invoke(main, [*map(str, words), *quiet])


def design(folder: Path, value: str = "4k7", rules: str = "pool") -> Path:
    """Write the design."""
    path = folder / "tiny.py"
    path.write_text(DESIGN.format(value=value, rules=rules))
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with the design and what `make` made of it, with prices."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "prices.csv").write_text("part,price EUR\nresistor 4k7,0.05\n")
    done = run("make", design(folder), "--out", folder / "out", "--prices", folder / "prices.csv")
    assert done.exit_code == 0, done.output
    return folder


def test_make_costs_the_parts(made: Path) -> None:
    """One resistor at 0.05; wire pads are bought by nobody."""
    assert "0.05" in (made / "out" / "fab" / "tiny-parts.csv").read_text()
    assert "all fitted parts of one board: 0.05 EUR" in (made / "out" / "fab" / "tiny-order.txt").read_text()


def test_a_package_verifies_as_folder_and_as_zip(made: Path) -> None:
    """Status 0, and 1 when a hole is moved by 1 mm (FIPS 180-4 sums and holes in lands both tell)."""
    fab = made / "out" / "fab"
    for source in (fab, fab / "tiny-fab.zip"):
        done = run("verify", source)
        assert done.exit_code == 0 and "the package agrees with itself" in done.output


def test_a_tampered_zip_is_status_1_and_a_broken_one_2(made: Path, tmp_path: Path) -> None:
    """What the manual says of the exit status."""
    with zipfile.ZipFile(made / "out" / "fab" / "tiny-fab.zip") as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    holes = files["tiny-holes-plated.drl"].decode().splitlines()
    hit = next(k for k, line in enumerate(holes) if line.startswith("X"))
    x, _, y = holes[hit][1:].partition("Y")
    holes[hit] = f"X{float(x) + 1:.3f}Y{y}"
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
        for name, content in files.items():
            archive.writestr(name, "\n".join(holes) + "\n" if name.endswith("plated.drl") else content)
    done = run("verify", tmp_path / "bad.zip")
    assert done.exit_code == 1 and "error: manifest" in done.output and "error: netlist" in done.output
    (tmp_path / "cut.zip").write_bytes((tmp_path / "bad.zip").read_bytes()[:500])
    done = run("verify", tmp_path / "cut.zip")
    assert done.exit_code == 2 and len(done.output.strip().splitlines()) == 1


def test_only_the_chosen_files(made: Path, tmp_path: Path) -> None:
    """The manifest lists just them, with sums that hold."""
    done = run("make", made / "tiny.py", "--out", tmp_path / "out", "--files", "layers, holes manifest")
    assert done.exit_code == 0, done.output
    names = sorted(p.name for p in (tmp_path / "out" / "fab").iterdir())
    assert not [n for n in names if n.endswith((".ipc", ".csv", ".gbrjob", "order.txt"))] and "tiny-fab.zip" in names
    lines = (tmp_path / "out" / "fab" / "tiny-manifest.txt").read_text().splitlines()
    listed = {line[66:]: line[:64] for line in lines}
    assert sorted(listed) == [n for n in names if not n.endswith(("fab.zip", "manifest.txt"))]
    for name, digest in listed.items():
        assert hashlib.sha256((tmp_path / "out" / "fab" / name).read_bytes()).hexdigest() == digest


def test_wrong_wishes_are_answered_before_the_work(made: Path, tmp_path: Path) -> None:
    """One line with the nearest right thing, status 2, and nothing written."""
    (tmp_path / "prices.csv").write_text("part,price\nresistor,cheap\n")
    for words, said in (
        (("--files", "layer"), "layers"),
        (("--prices", str(tmp_path / "prices.csv")), "prices.csv:2"),
        (("--since", str(tmp_path / "nowhere.zip")), "no such folder or zip"),
    ):
        done = run("fab", made / "tiny.py", "--out", tmp_path / "out", *words)
        assert done.exit_code == 2 and said in done.output and not (tmp_path / "out").exists()


def test_since_says_and_draws_what_changed(made: Path, tmp_path: Path) -> None:
    """Another value, and nothing else; then nothing at all."""
    old = made / "out" / "fab" / "tiny-fab.zip"
    done = run("fab", design(tmp_path, "10k"), "--out", tmp_path / "out", "--since", old)
    assert done.exit_code == 0 and "part R1: 4k7 became 10k" in done.output, done.output
    assert "<svg" in (tmp_path / "out" / "changes.svg").read_text()
    again = run("fab", tmp_path / "tiny.py", "--out", tmp_path / "out", "--since", tmp_path / "out/fab/tiny-fab.zip")
    assert again.exit_code == 0 and "nothing changed" in again.output


def test_panel_command(made: Path, tmp_path: Path) -> None:
    """2 × 3 of 24 × 15 with 2 mm slots and 10 mm rails: 3 × 24 + 4 × 2 + 20 = 100, 2 × 15 + 3 × 2 + 20 = 56."""
    done = run("panel", made / "tiny.py", "--rows", "2", "--columns", "3", "--out", tmp_path)
    assert done.exit_code == 0 and "panel of 100.0 × 56.0 mm: 6 boards" in done.output, done.output
    checked = run("verify", tmp_path / "panel" / "tiny-panel-fab.zip")
    assert checked.exit_code == 0, checked.output
    assert len((tmp_path / "panel" / "tiny-panel-positions.csv").read_text().splitlines()) == 7


def test_panel_command_refuses_what_cannot_be_made(made: Path, tmp_path: Path) -> None:
    """Status 2 and one line."""
    for words in (("--rail", "2"), ("--fill", "ten")):
        done = run("panel", made / "tiny.py", *words, "--out", tmp_path / "out")
        assert done.exit_code == 2 and done.output.startswith("panel: ") and not (tmp_path / "out").exists()


def test_etch_command(tmp_path: Path) -> None:
    """Home rules: sheets of each side with copper and a template, as SVG and PDF."""
    done = run("etch", design(tmp_path, rules="home"), "--out", tmp_path / "out", "--process", "film")
    assert done.exit_code == 0, done.output
    names = {p.name for p in (tmp_path / "out" / "etch").iterdir()}
    assert {"drill-template.svg", "drill-template.pdf", "etch-bottom.svg", "etch-bottom.pdf"} <= names
    wrong = run("etch", tmp_path / "tiny.py", "--out", tmp_path / "other", "--undercut", "3")
    assert wrong.exit_code == 2 and "is not etching" in wrong.output


def test_every_group_is_in_the_help() -> None:
    """So that it can be chosen."""
    said = CliRunner().invoke(main, ["fab", "--help"]).output
    assert all(group in said for group in GROUPS)
