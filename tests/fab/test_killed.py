"""A run killed at every step leaves the old result or the new one, whole: real processes, ended on the spot."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from modboard import outputs
from modboard.errors import ModboardError
from modboard.fab import package as package_module
from modboard.fab.package import recover, write
from modboard.outputs import exchange, folder_beside, move_into_place
from tests.sample import sample_artwork

STEPS = ("open", "os.", "shutil.", "ctypes.call_function", "tempfile.")  # events that touch the disk


def killed_at(step: int, work: Callable[[], None]) -> bool:
    """Run `work` in another process that ends at disk event number `step`; tell whether it came that far."""
    child = os.fork()
    if child == 0:
        count = 0

        def watch(event: str, _: Any) -> None:
            nonlocal count
            if event.startswith(STEPS):
                count += 1
                if count > step:
                    os._exit(9)

        try:
            sys.addaudithook(watch)
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


def texts(word: str) -> dict[str, str]:
    """Return a package of four files."""
    return {
        f"sample-buffer-{name}": f"{word} {name}" for name in ("job.gbrjob", "netlist.ipc", "order.txt", "parts.csv")
    }


def contents(folder: Path) -> dict[str, str]:
    """Return the text of each file but the zip."""
    return {p.name: p.read_text() for p in folder.iterdir() if p.suffix != ".zip"}


@pytest.mark.parametrize("in_one_step", [True, False])
@pytest.mark.parametrize("by_command", [True, False])
def test_killed_at_every_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool, by_command: bool
) -> None:
    """The package by itself, and put in place as the commands do it; with and without the system's exchange."""
    word = "old"
    monkeypatch.setattr(package_module, "package_texts", lambda *_, **__: texts(word))
    monkeypatch.setattr(package_module, "verify", lambda *_, **__: [])
    if not in_one_step:
        for module in (outputs, package_module):
            monkeypatch.setattr(module, "exchange", lambda one, other: False)

    def work() -> None:
        if by_command:
            with folder_beside(tmp_path) as scratch:
                write(sample_artwork(), (), scratch / "fab")
                move_into_place(scratch / "fab", tmp_path / "fab")
        else:
            write(sample_artwork(), (), tmp_path / "fab")

    work()
    word, seen, step = "new", {"old": 0, "new": 0}, 0
    while killed_at(step, work):
        if in_one_step:
            assert (tmp_path / "fab").is_dir(), "not for a moment is there no package"
        outputs.clear_up(tmp_path)
        recover(tmp_path / "fab")
        found = contents(tmp_path / "fab")
        assert found in (texts("old"), texts("new")), step
        assert len(list((tmp_path / "fab").glob("*.zip"))) == 1
        assert [p.name for p in tmp_path.iterdir()] == ["fab"]
        seen["old" if found == texts("old") else "new"] += 1
        word = "old"
        work()
        word, step = "new", step + 1
    assert seen["old"] > 10 and seen["new"] > 0


def test_folders_change_places_in_one_step(tmp_path: Path) -> None:
    """As renameat2(2) describes RENAME_EXCHANGE; it says so where it cannot."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "said").write_text(name)
    done = exchange(tmp_path / "one", tmp_path / "other")
    assert (tmp_path / "one" / "said").read_text() == ("other" if done else "one")
    assert not exchange(tmp_path / "one", tmp_path / "nowhere")


def test_a_full_disk_is_one_line_and_the_old_stays(tmp_path: Path) -> None:
    """ENOSPC in the middle of the work."""
    (tmp_path / "fab").mkdir()
    with pytest.raises(ModboardError, match=r"cannot write into .*No space left"), folder_beside(tmp_path):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    assert [p.name for p in tmp_path.iterdir()] == ["fab"]


def test_a_run_beside_is_left_alone(tmp_path: Path) -> None:
    """Another process that still runs keeps its scratch folder (number 1 always runs)."""
    (tmp_path / ".making-1-x").mkdir()
    outputs.clear_up(tmp_path)
    assert (tmp_path / ".making-1-x").exists()
