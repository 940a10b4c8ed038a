"""The outer loop: place with several seeds, route each, let the router's verdict choose.

Attempts are numbered and their outcome depends on their number alone, so the result is the same on one core or many.
They run in rounds.  Each round sketches several arrangements; what comes out whole at once competes on length and vias,
else a few more are sketched with room where the best was crowded, and the most promising are routed with patience.  A
round that completes nothing hands on where it was crowded, and the next places with more room there and between parts,
or on a finer lattice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import repeat
from typing import Any

import numpy as np

from modboard.describe.model import Description
from modboard.errors import ModboardError, NoRoomError
from modboard.layout.board import Board
from modboard.layout.place import Congestion, place
from modboard.layout.route.router import PITCH, Effort, Outcome, Sketch, route, sketch, walled_in
from modboard.layout.route.walled import Walled
from modboard.layout.route.walled import in_words as walls_in_words
from modboard.layout.ways_out import WIDER, WayOut, ways_out
from modboard.layout.workers import workers

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Round:
    """One round: how many arrangements are sketched; if none comes out whole how many more with room where the best was
    crowded, and how many of the most promising are then routed in full; extra room between parts (mm), the
    router's rounds for a sketch, and its full effort; whether to place with all patience.
    """

    sketches: int
    more: int
    finals: int
    spread: float
    quick: int
    effort: Effort
    patient: bool = False


ROUNDS = (
    Round(4, 0, 2, 0.3, 24, Effort(rounds=60)),
    Round(4, 4, 2, 0.6, 24, Effort(rounds=90)),
    Round(8, 4, 4, 1.2, 24, Effort(rounds=150)),
    Round(4, 2, 2, 0.0, 24, Effort(rounds=90, pitch=PITCH / 2)),
)
PATIENCE = 2  # times as many arrangements where none of those of a round was legal
MORE_FOR_FLAWED = 2  # rounds more where a whole board has flaws
WAY_OUT = Round(2, 0, 0, 0.3, 40, Effort(rounds=40))  # for the changes to a design that are tried when all else failed
LAST_WAY = replace(WAY_OUT, effort=Effort(rounds=90))  # where none of them came whole at first sight,
LAST_WAYS = 2  # for so many of the nearest


@dataclass
class Found:
    """The best board so far and how the looking ended; says so whenever it gets better."""

    say: Progress
    best: Outcome | None = None
    failure: ModboardError | None = None
    stopped: bool = False

    @property
    def whole(self) -> bool:
        """Tell whether there is a board with nothing open."""
        return self.best is not None and not self.best.board.unrouted

    @property
    def sound(self) -> bool:
        """Tell whether there is a board with nothing open and without flaws."""
        return self.whole and self.best is not None and not self.best.flaws

    def take(self, outcome: Outcome) -> None:
        """Keep the outcome if it is better than what there is."""
        if self.best is None or rank(outcome) < rank(self.best):
            self.best = outcome
            self.say(f"best so far: {in_words(outcome.board)}")


def search(
    description: Description,
    *,
    rounds: tuple[Round, ...] = ROUNDS,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Board:
    """Return the best board found; what could not be routed is listed in its `unrouted`.

    `executor` may be any `concurrent.futures.Executor`; by default one process per core where processes can be forked,
    and the calling thread elsewhere.  An interrupt (Ctrl-C) ends the search with the best board so far, which says so
    in its `remarks`.
    Raises ModboardError if the parts cannot be placed at all, KeyboardInterrupt if there is no board yet.
    """
    found = Found(progress or (lambda _text: None))
    if executor is not None:
        return _search(description, rounds, executor.map, found)
    with workers() as own:
        return _search(description, rounds, own.map if own else map, found)


def _search(
    description: Description, rounds: tuple[Round, ...], run: Callable[..., Iterable[Any]], found: Found
) -> Board:
    try:
        _all_rounds(description, rounds, run, found)
    except KeyboardInterrupt:
        found.stopped = True
    best = found.best
    if best is None:
        if found.stopped:
            raise KeyboardInterrupt
        failure = found.failure or ModboardError(f"{description.name}: no part could be placed")
        tried = _tried(description, parts_named(str(failure), description), run, found)
        raise failure.with_cure(tried)
    board = best.board
    if found.stopped:
        remark = f"stopped by hand; this is the best board so far: {in_words(board)}"
        return replace(board, remarks=(remark,), crowded=congestion(best))
    if not board.unrouted:
        return board
    lacking = frozenset(reference for u in board.unrouted for reference, _ in (u.start, u.end))
    walls = walls_in_words(walls_of(description, board))
    tried = _tried(description, lacking, run, found)
    said = "; ".join(text for text in (in_words(board), walls, tried) if text)
    return replace(board, remarks=(said,), crowded=congestion(best))


def _all_rounds(
    description: Description, rounds: tuple[Round, ...], run: Callable[..., Iterable[Any]], found: Found
) -> None:
    crowding: Congestion | None = None
    too_coarse = patient = False
    flawed = 0  # rounds since there was a whole board
    for number, planned in enumerate(rounds):
        if too_coarse and planned.effort.pitch >= PITCH:
            continue
        round_ = patiently(planned) if patient else planned
        if found.whole:  # but not sound: perhaps another arrangement is
            flawed += 1
        found.say(f"sketching up to {round_.sketches} arrangements, round {number + 1} of at most {len(rounds)}")
        first = description.seed * 1000 + 100 * number
        sketches = _sketches(description, range(first, first + round_.sketches), round_, crowding, run, found)
        if round_.more and sketches and not found.whole:
            found.say(f"sketching {round_.more} more with room where the best of them was crowded")
            crowding = congestion(sketches[_promising(sketches)[0]])
            more = range(first + round_.sketches, first + round_.sketches + round_.more)
            sketches |= _sketches(description, more, round_, crowding, run, found)
        if not patient and not sketches and not found.whole and isinstance(found.failure, NoRoomError):
            found.say("the parts hardly fit: placing them with more patience, from now on")
            patient, round_ = True, patiently(planned)
            sketches = _sketches(description, range(first, first + round_.sketches), round_, crowding, run, found)
        if found.sound or flawed == MORE_FOR_FLAWED:
            return
        if found.whole:
            continue
        chosen = _promising(sketches)[: round_.finals]
        if not chosen:
            return  # many arrangements and none legal: the parts do not fit
        found.say(f"routing the {len(chosen)} most promising in full")
        for outcome in run(in_full, repeat(description), chosen, repeat(round_), [sketches[seed] for seed in chosen]):
            found.take(outcome)
        assert found.best is not None
        if found.sound:
            return
        if not found.whole and _hopeless(description, found, list(sketches.values())):
            return
        too_coarse = all(look.walled for look in sketches.values())
        crowding = congestion(found.best)


def patiently(round_: Round) -> Round:
    """Return a round that places with all patience, and more often."""
    return replace(round_, sketches=PATIENCE * round_.sketches, patient=True)


def _sketches(
    description: Description,
    seeds: range,
    round_: Round,
    crowding: Congestion | None,
    run: Callable[..., Iterable[Any]],
    found: Found,
) -> dict[int, Sketch]:
    """Look at the arrangements of some seeds; return what has to be gone on with, and take what is whole."""
    sketches: dict[int, Sketch] = {}
    looks = run(first_look, repeat(description), seeds, repeat(round_), repeat(crowding))
    for seed, look in zip(seeds, looks, strict=True):
        if isinstance(look, Outcome):
            found.take(look)
        elif isinstance(look, Sketch):
            sketches[seed] = look
        else:
            found.failure = found.failure or look
    return sketches


def _promising(sketches: dict[int, Sketch]) -> list[int]:
    """Return the seeds of sketches, the most promising first."""
    return sorted(sketches, key=lambda seed: (len(sketches[seed].walled), sketches[seed].clashes, seed))


def _hopeless(description: Description, found: Found, sketches: list[Sketch]) -> bool:
    """Tell whether every arrangement of a round is much too crowded, or walls some net in, the best on a finer lattice
    as well.

    It is then the same few pins over and over: those of a header at an edge, for example.
    """
    if all(sketch.hopeless for sketch in sketches):
        found.say("every arrangement is much too crowded at these rules")
        return True
    if found.best is None or not all(sketch.walled for sketch in sketches):
        return False
    pins = walls_of(description, found.best.board)
    if pins:
        found.say(f"every arrangement walls something in: {walls_in_words(pins)}")
    return bool(pins)


def walls_of(description: Description, board: Board) -> tuple[Walled, ...]:
    """Return the pins that the parts as the board has them wall in on the finest lattice, its wire links left out."""
    own = {part.reference for part in description.parts}
    parts = tuple(p for p in board.parts if p.part.reference in own)
    return walled_in(description, parts, description.seed, PITCH / 2)


def _tried(description: Description, lacking: frozenset[str], run: Callable[..., Iterable[Any]], found: Found) -> str:
    """Return in words which ways out were tried and help."""

    failed: list[tuple[WayOut, int, Sketch]] = []  # a variant, and what came of a seed

    def works(way: WayOut) -> bool:
        seeds = [description.seed * 1000 + 900 + k for k in range(WAY_OUT.sketches)]
        looks = list(run(first_look, repeat(way.description), seeds, repeat(WAY_OUT), repeat(None)))
        sketches = [(way, s, look) for look, s in zip(looks, seeds, strict=True) if isinstance(look, Sketch)]
        failed.extend(f for f in sketches if not (f[2].walled or f[2].hopeless))
        return any(isinstance(look, Outcome) for look in looks)

    def after_all() -> tuple[str, ...]:
        """Go on in full with the most promising of what did not come whole at first sight."""
        last = sorted(failed, key=lambda f: f[2].clashes)[:LAST_WAYS]
        ways, seeds, looks = zip(*last, strict=True) if last else ((), (), ())
        for way in ways:
            found.say(f"going on with a way out that came near: {way.words}")
        outcomes = run(in_full, [way.description for way in ways], seeds, repeat(LAST_WAY), looks)
        whole = [way.words for way, outcome in zip(ways, outcomes, strict=True) if not outcome.board.unrouted]
        return tuple(dict.fromkeys(whole))

    try:
        ways = ways_out(description, lacking, works, found.say) or after_all()
    except KeyboardInterrupt:
        found.stopped = True
        return "looking for ways out was stopped by hand"
    if not ways:
        more = f"up to {WIDER[-1]:g} mm more each way"
        return f"finer rules, both sides, {more} and other wishes were tried and none was enough"
    return f"tried and found to help, each alone: {'; '.join(ways)}"


def parts_named(text: str, description: Description) -> frozenset[str]:
    """Return the parts that a message speaks of."""
    words = set(re.findall(r"[A-Za-z]\w*", text))
    return frozenset(p.reference for p in description.parts if p.reference in words)


def in_words(board: Board) -> str:
    """Return what a board comes to, in a few words."""
    length = sum(t.shape.core.length for t in board.tracks)
    count = len(board.unrouted)
    state = f"{count} connection{'s' * (count != 1)} open" if count else "complete"
    vias = len(board.vias)
    return f"{state}, {length:.0f} mm of track, {vias} via{'s' * (vias != 1)}"


def first_look(
    description: Description, seed: int, round_: Round, crowding: Congestion | None
) -> Outcome | Sketch | ModboardError:
    """Place and, if that is easy, route; a placement that is impossible comes back as its error."""
    try:
        parts = place(description, seed, congestion=crowding, spread=round_.spread, patient=round_.patient)
    except ModboardError as error:
        return error
    return sketch(description, parts, seed=seed, effort=replace(round_.effort, rounds=round_.quick, again=round_.quick))


def in_full(description: Description, seed: int, round_: Round, look: Sketch) -> Outcome:
    """Go on with what `first_look` broke off, with all patience."""
    return route(description, look.parts, seed=seed, effort=round_.effort, begun=look.begun)


def rank(outcome: Outcome) -> tuple[int, int, float]:
    """Return the order of merit: fewest open connections, then flaws, then least length and vias."""
    return (len(outcome.board.unrouted), outcome.flaws, outcome.score)


def congestion(outcome: Outcome | Sketch, cell: float = 1.27) -> Congestion:
    """Return where the router was short of room, gathered into cells for the placer."""
    lattice = outcome.lattice
    step = max(1, round(cell / lattice.pitch))
    rows, columns = -(-lattice.height // step), -(-lattice.width // step)
    padded = np.zeros((rows * step, columns * step), np.float64)
    padded[: lattice.height, : lattice.width] = outcome.crowded
    gathered = padded.reshape(rows, step, columns, step).sum(axis=(1, 3))
    return Congestion(lattice.origin, step * lattice.pitch, gathered / max(float(gathered.max()), 1e-9))
