"""Options of `modboard fit` that say nothing about what is asked are answered in one line, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard.cli import main
from tests.fit.test_foreign import package


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (("newboard.zip",), "is a package, not a design; name the file of the room it goes into with --in"),
        (("room.py", "--above", "3"), "--above and --below are for a package"),
        (("room.py", "--below", "3"), "--above and --below are for a package"),
        (("newboard.zip", "--in", "room.py", "--try"), "--try changes a design"),
        (("room.py", "--png"), "--png goes with --out FOLDER"),
        (("newboard.zip", "--in", "room.py", "--above", "-1"), "they can't be negative"),
        (("newboard.zip", "--in", "none.py"), "there is no file none.py"),
        (("newboard.zip", "--in", "room.py", "--template", "a.svg"), "--template is for a file with a cavity only"),
        (("none.zip", "--in", "room.py"), "none.zip"),
        (("broken.zip", "--in", "room.py"), "broken.zip"),
        (("text.zip", "--in", "room.py"), "text.zip"),
    ],
)
def test_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], answer: str) -> None:
    monkeypatch.chdir(tmp_path)
    package(tmp_path)
    (tmp_path / "broken.zip").write_bytes((tmp_path / "newboard.zip").read_bytes()[:300])
    (tmp_path / "text.zip").write_text("not a zip")
    (tmp_path / "room.py").write_text("from modboard import Cavity\ntin = Cavity.rectangle(60, 40, height=20)\n")
    before = sorted(p.name for p in tmp_path.iterdir())
    told = CliRunner().invoke(main, ["fit", *words])
    lines = [line for line in told.output.splitlines() if line.strip() and not line.startswith("reading the package")]
    assert told.exit_code == 2 and len(lines) == 1 and answer in lines[0], told.output
    assert sorted(p.name for p in tmp_path.iterdir()) == before


def test_package_that_is_too_big_says_by_how_much_and_gives_no_advice_for_designs(tmp_path: Path) -> None:
    """30.48 in a room of 28 with 0.5 kept at each wall and 0.2 in doubt: the largest is 28 - 1.4 = 26.6 wide."""
    room = tmp_path / "room.py"
    room.write_text(
        "from modboard import Cavity\ntin = Cavity.rectangle(28, 26, height=20, board_at=5, measured_to=0.2)\n"
    )
    told = CliRunner().invoke(main, ["fit", str(package(tmp_path)), "--in", str(room)])
    assert told.exit_code == 1
    assert "3.88 mm too wide" in told.output and "could help" not in told.output, told.output
