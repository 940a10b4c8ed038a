"""The bench command: what it writes, twice the same, and what it says of wrong input."""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner

from modboard.cli import main
from tests.bench.test_watch import DESIGN

FILES = [
    "booklet-a4.pdf", "booklet-letter.pdf", "booklet.html", "build.csv", "power.csv", "probes.csv", "way-back.csv",
    "wires.csv",
]  # fmt: skip


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(words))
    return result.exit_code, result.output


def test_it_writes_the_booklet_and_tables_the_same_each_time(tmp_path: Path) -> None:
    design = tmp_path / "tiny.py"
    design.write_text(DESIGN.format(pin=2))
    for name in ("one", "two"):
        status, said = run("bench", str(design), "--out", str(tmp_path / name), "--quiet")
        assert status == 0, said
    first, second = (tmp_path / name / "bench" for name in ("one", "two"))
    assert sorted(p.name for p in first.iterdir()) == FILES
    assert all((first / n).read_bytes() == (second / n).read_bytes() for n in FILES)


def test_the_booklet_is_one_file_that_asks_for_nothing(tmp_path: Path) -> None:
    design = tmp_path / "tiny.py"
    design.write_text(DESIGN.format(pin=2))
    run("bench", str(design), "--out", str(tmp_path), "--quiet")
    text = (tmp_path / "bench" / "booklet.html").read_text(encoding="utf-8")
    asked = re.findall(r'\b(?:src|href)="([^"]*)"', text)
    assert len(asked) > 10
    assert all(address.startswith(("#", "data:")) for address in asked)
    assert "default-src 'none'" in text
    assert "http://" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in text


def test_wrong_input_is_one_line(tmp_path: Path) -> None:
    design = tmp_path / "tiny.py"
    design.write_text(DESIGN.format(pin=37))
    for command in (["bench", str(design)], ["watch", str(tmp_path / "none.py"), "--no-open"]):
        status, said = run(*command)
        assert status == 2
        assert len([line for line in said.splitlines() if ".py" in line]) == 1
    assert not (tmp_path / "bench").exists()
