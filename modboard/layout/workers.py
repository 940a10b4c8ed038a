"""The processes that lay out, one for each core."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import active_children, get_context

import numpy as np

from modboard.aside import forks, leave_interrupts
from modboard.layout.place.kernels import draw


@contextmanager
def workers() -> Iterator[Executor | None]:
    """Give processes that get ready at once, or None where they cannot be forked or there is one core only.

    At the end they are stopped, whatever they do.
    """
    if not forks():
        yield None
        return
    before = set(active_children())
    pool = ProcessPoolExecutor(os.cpu_count(), mp_context=get_context("fork"), initializer=_get_ready)
    pool.submit(int)  # begins them all
    try:
        yield pool
    finally:
        for child in set(active_children()) - before:
            child.terminate()
        pool.shutdown(wait=True, cancel_futures=True)


def _get_ready() -> None:
    """Run the first compiled loop, which numba takes long to prepare for: half of that for BLAS in scipy, if there is
    one, which no loop of ours has a use for."""
    leave_interrupts()
    sys.modules.setdefault("scipy.linalg", None)  # type: ignore[arg-type]
    draw(np.ones(1, np.uint64), 1)
