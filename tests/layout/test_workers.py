"""The processes that lay out: there is one for each core, and none is left behind."""

from __future__ import annotations

import os
import time
from multiprocessing import active_children

import pytest

from modboard.aside import forks
from modboard.layout import workers as module
from modboard.layout.workers import workers

forking = pytest.mark.skipif(not forks(), reason="needs another core, and processes that can be forked")


def test_there_are_none_on_one_core(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "forks", lambda: False)
    with workers() as pool:
        assert pool is None


@forking
def test_there_is_one_for_each_core_and_all_end() -> None:
    before = set(active_children())
    with workers() as pool:
        assert pool is not None
        assert len(set(active_children()) - before) == os.cpu_count()
        assert list(pool.map(abs, [-2, 3])) == [2, 3]
    assert set(active_children()) == before


@forking
def test_they_end_at_once_whatever_they_do() -> None:
    with workers() as pool:
        assert pool is not None
        pool.submit(time.sleep, 60)
        time.sleep(0.1)
        begun = time.monotonic()
    assert time.monotonic() - begun < 30
