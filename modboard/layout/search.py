"""The outer loop: place with several seeds, route each, let the router's verdict choose.

Attempts are numbered and their outcome depends on their number alone, so the result is the same on one core or many.
They run in rounds; after each round the best complete board wins.  A round that completes nothing hands on where it was
crowded, and the next places with more room there, more room between parts and more patience in the router.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from multiprocessing import get_context
from typing import Any

import numpy as np

from modboard.describe.model import Description
from modboard.errors import ModboardError
from modboard.layout.board import Board
from modboard.layout.place import Congestion, place
from modboard.layout.route.router import Effort, Outcome, route

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Round:
    """One round of attempts: how many, extra room between parts (mm), and the router's effort."""

    attempts: int
    spread: float
    effort: Effort


ROUNDS = (
    Round(6, 0.3, Effort(rounds=40, passes=2)),
    Round(6, 0.6, Effort(rounds=80, passes=2)),
    Round(6, 0.0, Effort(rounds=80, passes=2, pitch=0.0635)),
    Round(6, 1.2, Effort(rounds=160, passes=2)),
)


def search(
    description: Description,
    *,
    rounds: tuple[Round, ...] = ROUNDS,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Board:
    """Return the best board found; what could not be routed is listed in its `unrouted`.

    `executor` may be any `concurrent.futures.Executor`; by default one process per core where processes can be forked,
    and the calling thread elsewhere.
    Raises ModboardError if the parts cannot be placed at all.
    """
    say = progress or (lambda _text: None)
    if executor is not None:
        return _search(description, rounds, executor.map, say)
    cores = os.cpu_count() or 1
    if cores < 2 or not sys.platform.startswith("linux"):
        return _search(description, rounds, map, say)
    with ProcessPoolExecutor(cores, mp_context=get_context("fork")) as processes:
        return _search(description, rounds, processes.map, say)


def _search(description: Description, rounds: tuple[Round, ...], run: Callable[..., Any], say: Progress) -> Board:
    best: Outcome | None = None
    crowding: Congestion | None = None
    failure: ModboardError | None = None
    for number, round_ in enumerate(rounds):
        say(f"placing and routing, round {number + 1} of at most {len(rounds)}: {round_.attempts} arrangements")
        seeds = [description.seed * 1000 + 100 * number + k for k in range(round_.attempts)]
        tries = list(run(attempt, repeat(description), seeds, repeat(round_), repeat(crowding)))
        outcomes = [t for t in tries if isinstance(t, Outcome)]
        failure = failure or next((t for t in tries if isinstance(t, ModboardError)), None)
        for outcome in outcomes:
            if best is None or rank(outcome) < rank(best):
                best = outcome
        if best is not None and not best.board.unrouted:
            return best.board
        if best is not None:
            crowding = congestion(best)
            say(f"{len(best.board.unrouted)} connections still open, trying with more room")
    if best is None:
        raise failure or ModboardError("no part could be placed")
    return best.board


def attempt(description: Description, seed: int, round_: Round, crowding: Congestion | None) -> Outcome | ModboardError:
    """Place and route once; a placement that is impossible comes back as its error."""
    try:
        parts = place(description, seed, congestion=crowding, spread=round_.spread)
    except ModboardError as error:
        return error
    return route(description, parts, seed=seed, effort=round_.effort)


def rank(outcome: Outcome) -> tuple[int, float]:
    """Return the order of merit: fewest open connections, then least length and vias."""
    return (len(outcome.board.unrouted), outcome.score)


def congestion(outcome: Outcome, cell: float = 1.27) -> Congestion:
    """Return where the router was short of room, gathered into cells for the placer."""
    lattice = outcome.lattice
    step = max(1, round(cell / lattice.pitch))
    rows, columns = -(-lattice.height // step), -(-lattice.width // step)
    padded = np.zeros((rows * step, columns * step), np.float64)
    padded[: lattice.height, : lattice.width] = outcome.crowded
    gathered = padded.reshape(rows, step, columns, step).sum(axis=(1, 3))
    return Congestion(lattice.origin, step * lattice.pitch, gathered / max(float(gathered.max()), 1e-9))
