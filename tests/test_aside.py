"""Work on another core: its result, its failure, its death, and that it never outlives who asked for it."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from modboard import aside as module
from modboard.aside import aside
from modboard.errors import ModboardError

forking = pytest.mark.skipif(not module.forks(), reason="needs another core, and processes that can be forked")


def doubled(number: int) -> int:
    return 2 * number


def refused(_number: int) -> int:
    raise ModboardError("no room for it")


def killed(parent: int) -> int:
    """End at once where this is not the process that asked."""
    if os.getpid() != parent:
        os.kill(os.getpid(), signal.SIGKILL)
    return 7


def endless(mark: Path) -> None:
    mark.write_text(str(os.getpid()))
    while True:
        time.sleep(0.05)


@pytest.mark.parametrize("fork", [True, False])
def test_it_gives_the_result_or_the_failure(fork: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "forks", lambda: fork and module.sys.platform.startswith("linux"))
    with aside(doubled, 21) as result:
        assert result() == 42
    with aside(refused, 21) as result, pytest.raises(ModboardError, match="no room for it"):
        result()


@forking
def test_it_is_another_process_with_what_this_one_has_in_memory() -> None:
    local = object()
    with aside(lambda: (os.getpid(), id(local))) as result:  # no lambda can be handed over by name
        there, seen = result()
    assert there != os.getpid()
    assert seen == id(local)


@forking
def test_what_a_killed_process_was_to_do_is_done_here() -> None:
    with aside(killed, os.getpid()) as result:
        assert result() == 7


@forking
def test_work_nobody_waits_for_is_ended(tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    with aside(endless, mark):
        for _ in range(200):
            if mark.exists() and mark.read_text():
                break
            time.sleep(0.02)
    with pytest.raises(ProcessLookupError):
        os.kill(int(mark.read_text()), 0)
