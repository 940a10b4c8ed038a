"""The outer loop: place with several seeds, route each, let the router's verdict choose.

Attempts are numbered and their outcome depends on their number alone, so the result is the same on one core or many.
They run in rounds.  Each round sketches several arrangements; what comes out whole at once competes on length and vias,
else the most promising are routed with patience.  A round that completes nothing hands on where it was crowded, and the
next places with more room there, more room between parts, or on a finer lattice.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import repeat
from multiprocessing import get_context
from typing import Any

import numpy as np

from modboard.describe.model import Description
from modboard.errors import ModboardError
from modboard.layout.board import Board
from modboard.layout.place import Congestion, place
from modboard.layout.route.router import PITCH, Effort, Outcome, Sketch, route, sketch

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Round:
    """One round: how many arrangements are sketched, how many of the most promising are then routed in full, extra room
    between parts (mm), the router's rounds for a sketch, and its full effort.
    """

    sketches: int
    finals: int
    spread: float
    quick: int
    effort: Effort


ROUNDS = (
    Round(6, 2, 0.3, 12, Effort(rounds=60)),
    Round(6, 2, 0.6, 12, Effort(rounds=90)),
    Round(6, 2, 0.0, 12, Effort(rounds=90, pitch=PITCH / 2)),
    Round(8, 4, 1.2, 16, Effort(rounds=150)),
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


def _search(
    description: Description, rounds: tuple[Round, ...], run: Callable[..., Iterable[Any]], say: Progress
) -> Board:
    best: Outcome | None = None
    crowding: Congestion | None = None
    failure: ModboardError | None = None
    for number, round_ in enumerate(rounds):
        say(f"sketching {round_.sketches} arrangements, round {number + 1} of at most {len(rounds)}")
        seeds = [description.seed * 1000 + 100 * number + k for k in range(round_.sketches)]
        tries = list(run(first_look, repeat(description), seeds, repeat(round_), repeat(crowding)))
        failure = failure or next((t for t in tries if isinstance(t, ModboardError)), None)
        whole = [t for t in tries if isinstance(t, Outcome)]
        if whole:
            return min(whole, key=rank).board
        hopeful = sorted((t.clashes, seed) for t, seed in zip(tries, seeds, strict=True) if isinstance(t, Sketch))
        chosen = [seed for _, seed in hopeful[: round_.finals]]
        if not chosen:
            continue
        say(f"routing the {len(chosen)} most promising in full")
        for outcome in run(in_full, repeat(description), chosen, repeat(round_), repeat(crowding)):
            if best is None or rank(outcome) < rank(best):
                best = outcome
        assert best is not None
        if not best.board.unrouted:
            return best.board
        crowding = congestion(best)
        say(f"{len(best.board.unrouted)} connections still open")
    if best is None:
        raise failure or ModboardError("no part could be placed")
    return best.board


def first_look(
    description: Description, seed: int, round_: Round, crowding: Congestion | None
) -> Outcome | Sketch | ModboardError:
    """Place and, if that is easy, route; a placement that is impossible comes back as its error."""
    try:
        parts = place(description, seed, congestion=crowding, spread=round_.spread)
    except ModboardError as error:
        return error
    return sketch(description, parts, seed=seed, effort=replace(round_.effort, rounds=round_.quick))


def in_full(description: Description, seed: int, round_: Round, crowding: Congestion | None) -> Outcome:
    """Place again as `first_look` did and route with all patience."""
    parts = place(description, seed, congestion=crowding, spread=round_.spread)
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
