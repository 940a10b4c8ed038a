"""Work that another core does meanwhile."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import Any, TypeVar

Result = TypeVar("Result")


def forks() -> bool:
    """Tell whether there is another core, and a system that hands a process on whole, with what it has in memory."""
    return (os.cpu_count() or 1) > 1 and sys.platform.startswith("linux")


def leave_interrupts() -> None:
    """Leave Ctrl-C to the process that waits for this one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def aside(work: Callable[..., Result], *arguments: Any) -> Iterator[Callable[[], Result]]:
    """Begin `work` on another core, and give what waits for its result and returns it, or raises what it raised.

    A result nobody asked for is thrown away.  Where processes cannot be forked the work is done when it is asked for,
    and so it is where the other process was killed.
    """
    if not forks():
        yield lambda: work(*arguments)
        return
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_send, args=(theirs, work, arguments))
    child.start()
    theirs.close()

    def result() -> Result:
        try:
            done, failure = ours.recv()
        except EOFError:
            return work(*arguments)
        if failure is not None:
            raise failure
        return done  # type: ignore[no-any-return]

    try:
        yield result
    finally:
        child.kill()
        child.join()
        ours.close()


def _send(pipe: Connection, work: Callable[..., Result], arguments: tuple[Any, ...]) -> None:
    leave_interrupts()
    try:
        done = work(*arguments)
    except Exception as failure:
        pipe.send((None, failure))
    else:
        pipe.send((done, None))
