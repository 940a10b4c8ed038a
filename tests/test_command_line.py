"""The real command, as a newcomer would use it: what it writes, what it says, how it ends."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard.cli import main
from modboard.errors import ModboardError
from modboard.starter import STARTER

STATUS_FINE, STATUS_FINDINGS, STATUS_WRONG_INPUT = 0, 1, 2

SMALL = """
from modboard import Cavity, Design

room = Cavity.rectangle(30.0, 22.0, height={height}, board_at=3.0, measured_to=0.2)
board = Design("small", cavity=room)
board.part("J1", "wire-pads-1x3", pins="V5 GND IN")
board.part("R1", "resistor", "1k")
board.part("C1", "capacitor", "100n")
{extra}
board.net("IN", "J1.IN R1.1")
board.net("V5", "J1.V5 {pin} C1.1")
board.net("GND", "J1.GND C1.2", pour="bottom")
board.place("J1", edge="left")
"""


def small(height: float = 16.0, extra: str = "", pin: str = "R1.2") -> str:
    """Return a small design, or a spoiled one."""
    return SMALL.format(height=height, extra=extra, pin=pin)


def modboard(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run the command in `cwd`."""
    command = [sys.executable, "-m", "modboard.cli", *words]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False, timeout=300)


def tree(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file below a folder."""
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the starter design, made once."""
    folder = tmp_path_factory.mktemp("starter")
    assert modboard("new", "first.py", cwd=folder).returncode == STATUS_FINE
    run = modboard("make", "first.py", "--png", cwd=folder)
    assert run.returncode == STATUS_FINE, run.stdout + run.stderr
    (folder / "said.txt").write_text(run.stdout + run.stderr)
    return folder


def test_starter_makes_a_whole_package(made: Path) -> None:
    out = made / "out" / "first"
    summary = json.loads((out / "summary.json").read_text())
    assert summary["errors"] == 0
    assert summary["unrouted"] == []
    assert summary["parts"] == 8
    assert summary["smallest_gap_mm"] >= 0.25 - 1e-6
    assert sorted(summary["files"]) == sorted(n for n in tree(out) if n != "summary.json")
    kinds = {Path(n).suffix for n in summary["files"]}
    assert {".gbr", ".drl", ".ipc", ".csv", ".txt", ".zip", ".svg", ".png"} <= kinds


def test_progress_is_plain_lines_when_piped(made: Path) -> None:
    said = (made / "said.txt").read_text()
    assert "placing and routing" in said
    assert "\r" not in said
    assert "\033" not in said


def test_same_design_twice_gives_the_same_bytes(made: Path) -> None:
    again = modboard("make", "first.py", "--out", "again", "--png", "--quiet", cwd=made)
    assert again.returncode == STATUS_FINE
    assert tree(made / "again") == tree(made / "out" / "first")


def test_new_refuses_to_overwrite(made: Path) -> None:
    run = modboard("new", "first.py", cwd=made)
    assert run.returncode == STATUS_WRONG_INPUT
    assert "exists already" in run.stderr
    assert (made / "first.py").read_text() == STARTER.format(name="first", title="First")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (small(pin="R1.3"), ["design.py:11", "R1", '"3"', "1 and 2"]),
        (small(extra='board.part("Q1", "2N3094")'), ["design.py:9", "2N3094", "2N3904"]),
        (small(extra='board.part("R1", "resistor")'), ["design.py:9", "R1"]),
        (small(extra='board.net("LOST", "R1.1")'), ["design.py", "LOST"]),
        (small(extra="board.part('C2', 'capacitor'"), ["design.py"]),
        (small(extra="nonsense"), ["design.py:9", "nonsense"]),
        ("x = 1\n", ["design.py", "Design"]),
    ],
)
def test_mistakes_are_answered_in_one_line_and_nothing_is_written(tmp_path: Path, text: str, words: list[str]) -> None:
    (tmp_path / "design.py").write_text(text)
    run = modboard("make", "design.py", "--quiet", cwd=tmp_path)
    assert run.returncode == STATUS_WRONG_INPUT
    assert run.stdout == ""
    assert len(run.stderr.strip().splitlines()) == 1, run.stderr
    for word in words:
        assert word in run.stderr
    assert not (tmp_path / "out").exists()


def test_missing_file_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "design.py").write_text(small())
    run = modboard("check", "desing.py", cwd=tmp_path)
    assert run.returncode == STATUS_WRONG_INPUT
    assert "design.py" in run.stderr


def test_cavity_too_small_says_what_lacks(tmp_path: Path) -> None:
    (tmp_path / "design.py").write_text(small().replace("30.0, 22.0", "12.0, 9.0"))
    run = modboard("make", "design.py", "--quiet", cwd=tmp_path)
    assert run.returncode == STATUS_WRONG_INPUT
    assert len(run.stderr.strip().splitlines()) == 1
    assert "mm" in run.stderr


def test_too_low_a_lid_is_a_finding_and_stops_the_package(tmp_path: Path) -> None:
    (tmp_path / "design.py").write_text(small())
    assert modboard("make", "design.py", "--quiet", cwd=tmp_path).returncode == STATUS_FINE
    assert (tmp_path / "out" / "design" / "fab").is_dir()
    low = small(height=11.0)
    (tmp_path / "design.py").write_text(low)
    run = modboard("make", "design.py", "--quiet", cwd=tmp_path)
    assert run.returncode == STATUS_FINDINGS, run.stdout + run.stderr
    assert "C1" in run.stdout
    assert not (tmp_path / "out" / "design" / "fab").exists()  # the older package is gone: it is not this board's
    assert json.loads((tmp_path / "out" / "design" / "summary.json").read_text())["errors"] > 0
    assert [p.name for p in (tmp_path / "out" / "design").iterdir() if p.name.startswith(".")] == []
    assert modboard("fit", "design.py", "--quiet", cwd=tmp_path).returncode == STATUS_FINDINGS


def test_missing_ground_is_found(tmp_path: Path) -> None:
    chip = 'board.part("U1", "7404")\nboard.net("V5", "U1.VCC")\nboard.net("IN", "U1.1A")'
    (tmp_path / "design.py").write_text(small(extra=chip).replace("30.0, 22.0", "60.0, 30.0"))
    run = modboard("check", "design.py", "--json", "--quiet", cwd=tmp_path)
    assert run.returncode == STATUS_FINDINGS
    report = json.loads(run.stdout)
    assert any("GND" in f["where"] + f["message"] and f["severity"] == "error" for f in report["findings"])


def test_preview_and_fab_write_their_own_folder_only(tmp_path: Path) -> None:
    (tmp_path / "design.py").write_text(small())
    assert modboard("preview", "design.py", "--out", "p", "--quiet", cwd=tmp_path).returncode == STATUS_FINE
    assert {p.name for p in (tmp_path / "p").iterdir()} == {"view"}
    assert modboard("fab", "design.py", "--out", "f", "--quiet", cwd=tmp_path).returncode == STATUS_FINE
    assert {p.name for p in (tmp_path / "f").iterdir()} == {"fab"}


def test_make_says_what_to_do_next(made: Path) -> None:
    """The cure of the README's own promise: a person ends with a picture to see, a zip to send and a booklet."""
    said = (made / "said.txt").read_text()
    out = Path("out") / "first"
    for file in (out / "view" / "assembly.svg", out / "fab" / "first-fab.zip", out / "bench" / "booklet.html"):
        assert f"{file}" in said
        assert (made / file).is_file()
    assert "fab/first-order.txt says what to enter" in said


def test_verify_of_a_folder_that_make_wrote_reads_the_package_in_it(made: Path) -> None:
    run = modboard("verify", "out/first", cwd=made)
    assert run.returncode == STATUS_FINE, run.stdout
    assert run.stdout.startswith("fab:")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("check", "first.py", "--picture", "a.jpg"), "a.jpg can't be drawn; name a picture that ends in .svg or .png"),
        (("adapter", "6116", "62256", "--picture", "a.png"), "name a picture that ends in .svg"),
        (("parts", "resistor", "--sheet", "a.jpg"), "name a picture that ends in .svg or .pdf"),
        (("fit", "first.py", "--template", "a.jpg"), "name a picture that ends in .svg or .pdf"),
        (("fit", "first.py", "--in", "room.py"), "first.py is a design, and is tried in its own cavity"),
        (("make", "first.py", "--seed", "-3"), "-3 is not in the range x>=0"),
        (("make", "first.py", "--prices", "no.csv"), "no.csv: cannot be read as a price list, No such file"),
        (("fab", "first.py", "--since", "old.zip"), "old.zip: there is no such folder or zip"),
    ],
)
def test_wrong_words_are_answered_before_the_work(made: Path, words: tuple[str, ...], said: str) -> None:
    before = tree(made)
    run = modboard(*words, cwd=made)
    assert run.returncode == STATUS_WRONG_INPUT
    assert said in run.stderr
    assert run.stdout == ""
    assert tree(made) == before


def test_help_shows_every_command_in_one_whole_line() -> None:
    """80 columns, as a terminal is by custom; a line cut short would end in dots."""
    said = CliRunner().invoke(main, ["--help"], terminal_width=80).output
    listed = said[said.index("Commands:") :]
    assert "..." not in listed
    assert all(f"  {name} " in listed for name in main.commands)
    assert listed.split()[1] == "new"


@pytest.mark.parametrize("name", ["make", "fit", "check", "preview", "fab", "bench", "etch", "panel"])
def test_every_command_that_lays_out_takes_the_layout_options(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    (tmp_path / "design.py").write_text(small())
    monkeypatch.chdir(tmp_path)

    def told(path: Path, _steps: object, **options: object) -> None:
        raise ModboardError(f"{path} {sorted(options.items())}")

    monkeypatch.setattr("modboard.make.lay_out", told)
    said = CliRunner().invoke(main, [name, "design.py", "--seed", "2", "--one-sided", "--quiet"]).output
    assert said == "design.py [('seed', 2), ('single', True)]\n"
    plain = CliRunner().invoke(main, [name, "design.py", "--quiet"]).output
    assert plain == "design.py [('seed', None), ('single', False)]\n"


def test_fit_refuses_layout_options_where_nothing_is_laid_out(tmp_path: Path) -> None:
    (tmp_path / "room.py").write_text("from modboard import Cavity\nroom = Cavity.rectangle(30, 20, height=9)\n")
    run = CliRunner().invoke(main, ["fit", str(tmp_path / "room.py"), "--seed", "2"])
    assert run.exit_code == STATUS_WRONG_INPUT
    assert run.output == "there is nothing to lay out here; leave --seed 2 out\n"


def test_help_loads_no_geometry(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom click.testing import CliRunner\nfrom modboard.cli import main\n"
        "r = CliRunner().invoke(main, ['--help'])\nassert r.exit_code == 0 and 'make' in r.output\n"
        "print([m for m in ('numpy', 'shapely', 'numba', 'svgwrite', 'gerber_writer') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
