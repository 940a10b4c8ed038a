"""Ctrl-C after the layout: what is finished is written, and only a second one stops without it."""

from __future__ import annotations

import os
import signal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import modboard.check
from modboard import make as job
from modboard.cli import main
from modboard.make import Steps, finishing
from modboard.watch import Watch
from tests.sample import sample_board


def ctrl_c() -> None:
    """Send this process what a terminal sends at Ctrl-C (POSIX: SIGINT)."""
    os.kill(os.getpid(), signal.SIGINT)


def test_the_first_is_noted_and_the_second_stops() -> None:
    said: list[str] = []
    steps, usual = Steps(said.append), signal.getsignal(signal.SIGINT)
    with finishing(steps):
        ctrl_c()
        assert steps.stopped and "Ctrl-C once more" in said[0]
        with pytest.raises(KeyboardInterrupt):
            ctrl_c()
    assert signal.getsignal(signal.SIGINT) is usual
    with pytest.raises(KeyboardInterrupt):
        ctrl_c()


def test_ignored_interrupts_stay_ignored() -> None:
    usual = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with finishing(Steps()):
            ctrl_c()
            assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, usual)


@pytest.fixture
def interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    """A job whose layout is there at once and whose check is interrupted."""
    true_check = modboard.check.check

    def check(*scene: Any) -> Any:
        ctrl_c()
        return true_check(*scene)

    monkeypatch.setattr(job, "lay_out", lambda *_words, **_more: sample_board())
    monkeypatch.setattr(modboard.check, "check", check)


@pytest.mark.usefixtures("interrupted")
def test_make_and_preview_write_what_is_laid_out(tmp_path: Path) -> None:
    for command, file in (("preview", "view/top.svg"), ("make", "summary.json")):
        run = CliRunner().invoke(main, [command, "design.py", "--out", str(tmp_path / command)])
        assert run.exit_code == 0, run.output
        assert (tmp_path / command / file).is_file()
    assert "stopped by hand once the board was laid out" in run.output
    assert (tmp_path / "make" / "view" / "top.svg").is_file()


@pytest.mark.usefixtures("interrupted")
def test_watch_ends_once_the_board_is_written(tmp_path: Path) -> None:
    design = tmp_path / "design.py"
    design.write_text("")
    watched = Watch(design, tmp_path / "out")
    watched.loop(lambda _text: None)  # would go on for ever
    assert (tmp_path / "out" / "summary.json").is_file()
