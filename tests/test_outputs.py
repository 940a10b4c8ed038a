"""Single files appear whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from modboard.errors import ModboardError
from modboard.outputs import move_into_place, write_file


def test_a_file_takes_the_place_of_the_old_one_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    file = tmp_path / "probes.csv"
    for content in (b"old", b"new"):
        write_file(file, content)
        assert file.read_bytes() == content
    assert [path.name for path in tmp_path.iterdir()] == ["probes.csv"]


def test_a_write_that_breaks_off_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "probes.csv"
    write_file(file, b"old")

    def full(self: Path, content: bytes) -> int:
        with self.open("wb") as half:
            half.write(content[:1])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(ModboardError, match=r"can't write the table .*probes\.csv: No space left on device; make room"):
        write_file(file, b"new", "the table", "make room")
    assert [path.name for path in tmp_path.iterdir()] == ["probes.csv"] and file.read_bytes() == b"old"


def test_a_folder_that_is_not_there_is_one_line_with_a_cure(tmp_path: Path) -> None:
    with pytest.raises(ModboardError) as refused:
        write_file(tmp_path / "none" / "probes.csv", b"new")
    assert str(refused.value).endswith("No such file or directory; choose another place")


def test_file_never_takes_the_place_of_a_folder(tmp_path: Path) -> None:
    mine = tmp_path / "plan.svg"
    mine.mkdir()
    (mine / "kept.txt").write_text("kept")
    made = tmp_path / "made"
    made.write_text("new")
    with pytest.raises(ModboardError, match="it is a folder"):
        move_into_place(made, mine)
    assert (mine / "kept.txt").read_text() == "kept"
