"""The main job as a sequence of steps: load, lay out, draw, check, look, fabricate.

The command line and a notebook use the same functions.  `summary` is the machine-readable account of a run; its
keys are stable and documented in the README.
"""

from __future__ import annotations

import json
import signal
import threading
import time
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modboard.aside import aside
from modboard.describe.load import load
from modboard.describe.one_sided import one_sided
from modboard.layout.search import search
from modboard.layout.workers import workers
from modboard.outputs import folder_beside, move_into_place

if TYPE_CHECKING:
    from modboard.artwork.model import Artwork
    from modboard.check.findings import Findings
    from modboard.layout.board import Board

Say = Callable[[str], None]

LATER = ("artwork.draw", "bench.sheet", "check", "fab.package", "view.booklet")  # modules to read meanwhile
NAMED = 8  # references that a remark names one by one


def silent(_text: str) -> None:
    """Say nothing."""


@dataclass
class Steps:
    """Runs steps by name, says which one is running and remembers how long each took (seconds).

    `stopped` tells that somebody asked to stop while a finished board was being written; see `finishing`.
    """

    say: Say = silent
    seconds: dict[str, float] = field(default_factory=dict)
    stopped: bool = False

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        """Time the block under `name`."""
        self.say(name)
        begun = time.perf_counter()
        yield
        self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - begun


@contextmanager
def finishing(steps: Steps) -> Iterator[None]:
    """Let what is laid out be drawn, checked and written in spite of one Ctrl-C, which `steps` says and remembers.

    A second one stops at once, as ever.  Nothing changes where interrupts are ignored, or in another thread than the
    main one, which never gets them.
    """
    usual = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or usual in (signal.SIG_IGN, None):
        yield
        return

    def noted(_number: int, _frame: object) -> None:
        signal.signal(signal.SIGINT, usual)
        steps.stopped = True
        steps.say("the board is laid out and is finished off now; Ctrl-C once more stops without it")

    signal.signal(signal.SIGINT, noted)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)


@dataclass(frozen=True)
class Made:
    """What a run came to: the board, its drawing, its findings, and the files written (relative to the folder)."""

    board: Board
    artwork: Artwork
    findings: Findings
    files: tuple[str, ...] = ()

    @property
    def standing(self) -> Findings:
        """Return the errors nobody has waived."""
        return tuple(f for f in self.findings if f.stands)


def lay_out(path: Path, steps: Steps, *, seed: int | None = None, single: bool = False) -> Board:
    """Load a design file and return its board; `single`: with copper on one side, whatever its rules say."""
    with workers() as ready:
        with steps.step("reading the design"):
            description = load(path).described()
            if seed is not None:
                description = replace(description, seed=seed)
            if single and not description.rules.one_sided:
                description = one_sided(description)
            for name in LATER:  # while the workers get ready
                import_module(f"modboard.{name}")
        with steps.step("placing and routing"):
            return search(description, executor=ready, progress=steps.say)


def drawn(board: Board, steps: Steps) -> Artwork:
    """Draw a board."""
    from modboard.artwork.draw import draw

    with steps.step("drawing"):
        return draw(board)


def checked(board: Board, artwork: Artwork, steps: Steps) -> Made:
    """Check a board that is drawn."""
    from modboard.check import check

    with steps.step("checking"):
        return Made(board, artwork, check(board, artwork))


def prove(board: Board, steps: Steps) -> Made:
    """Draw a board and check it."""
    return checked(board, drawn(board, steps), steps)


def make(
    path: Path,
    out: Path,
    steps: Steps,
    *,
    png: bool = False,
    seed: int | None = None,
    single: bool = False,
    groups: Collection[str] = (),
    prices: Path | None = None,
) -> Made:
    """Do the whole job; write `view/`, `fab/` and `bench/` (unless an error stands) and `summary.json` into `out`.

    A package of an earlier run is taken away when an error stands now, so that no stale files get ordered.
    `groups` and `prices` are as in `fabricate`.
    """
    board = lay_out(path, steps, seed=seed, single=single)
    with finishing(steps):
        return write_out(board, out, steps, png=png, groups=groups, prices=prices)


def write_out(
    board: Board,
    out: Path,
    steps: Steps,
    *,
    png: bool = False,
    groups: Collection[str] = (),
    prices: Path | None = None,
) -> Made:
    """Draw and check a board and write all of it into `out`, as `make` does."""
    artwork = drawn(board, steps)
    with aside(bench_files, board, artwork) as planned:
        made = checked(board, artwork, steps)
        with folder_beside(out) as scratch:
            names = draw_pictures(made, scratch / "view", steps, png=png)
            if not made.standing:
                names += fabricate(made, scratch / "fab", steps, groups=groups, prices=prices)
                names += bench(planned, scratch / "bench", steps)
            made = replace(made, files=tuple(names))
            (scratch / "summary.json").write_text(json.dumps(summary(made), indent=1) + "\n", encoding="utf-8")
            for name in ("view", "fab", "bench", "summary.json"):
                if (scratch / name).exists():
                    move_into_place(scratch / name, out / name)
                elif (out / name).exists():
                    (out / name).rename(scratch / f"{name}.stale")
    return made


def draw_pictures(made: Made, folder: Path, steps: Steps, *, png: bool) -> list[str]:
    """Write the pictures into `folder`; return their names as seen from its parent."""
    from modboard.view import pictures

    with steps.step("drawing pictures"):
        folder.mkdir()
        names = []
        for name, data in pictures(made.artwork, made.findings, png=png).items():
            (folder / name).write_bytes(data)
            names.append(f"{folder.name}/{name}")
        return names


def fabricate(
    made: Made, folder: Path, steps: Steps, *, groups: Collection[str] = (), prices: Path | None = None
) -> list[str]:
    """Write the fabrication package into `folder`; return its names as seen from the parent.

    `groups` are the groups of files wanted, by default all; `prices` a CSV file that costs the parts list.
    """
    from modboard.fab.package import write
    from modboard.fab.prices import read_prices

    with steps.step("writing the fabrication package"):
        money = read_prices(prices) if prices else None
        package = write(made.artwork, made.findings, folder, groups=groups, prices=money)
        return [f"{folder.name}/{name}" for name in package.names]


def bench_files(board: Board, artwork: Artwork) -> dict[str, bytes]:
    """Return the bench booklet and its tables, by file name."""
    from modboard.bench.sheet import bench_sheet
    from modboard.bench.tables import tables
    from modboard.view.booklet import booklet
    from modboard.view.booklet_pdf import booklet_pdfs

    sheet = bench_sheet(board)
    texts = {"booklet.html": booklet(sheet, artwork), **tables(sheet)}
    return {name: text.encode("utf-8") for name, text in texts.items()} | booklet_pdfs(sheet, artwork)


def bench(planned: Callable[[], dict[str, bytes]], folder: Path, steps: Steps) -> list[str]:
    """Write `bench_files`, which `planned` returns, into `folder`; return their names as seen from the parent."""
    with steps.step("planning the bench"):
        files = planned()
        folder.mkdir()
        for name, content in files.items():
            (folder / name).write_bytes(content)
        return [f"{folder.name}/{name}" for name in files]


def unnamed(artwork: Artwork) -> list[str]:
    """Return in words, if at all, which references the legend has no room for: no fault, but good to know."""
    from modboard.check.words import listed

    names = artwork.unplaced_references
    if not names:
        return []
    return [f"the legend has no room for {listed(names, NAMED)}: go by the assembly picture or the booklet"]


def summary(made: Made) -> dict[str, Any]:
    """Return the account of a run as plain values; lengths in mm."""
    from modboard.artwork.measure import smallest_gap, smallest_hole, smallest_ring, smallest_track, track_length
    from modboard.check.report import as_data, counts

    board, artwork, findings = made.board, made.artwork, made.findings
    description = board.description
    x0, y0, x1, y1 = board.outline.bounds

    def size(extreme: Any) -> float | None:
        return None if extreme is None else round(float(extreme.value), 4)

    return {
        "format": 1,
        "design": description.name,
        "revision": description.revision,
        "rules": description.rules.name,
        "width_mm": round(x1 - x0, 4),
        "depth_mm": round(y1 - y0, 4),
        "thickness_mm": description.rules.thickness,
        "parts": len(board.parts),
        "pads": len(board.pads),
        "nets": len(description.nets),
        "tracks": len(board.tracks),
        "vias": len(board.vias),
        "pours": len(board.pours),
        "track_length_mm": round(track_length(board), 3),
        "remarks": [*board.remarks, *unnamed(artwork)],
        "unrouted": [f"{u.net}: {u.start[0]}.{u.start[1]} to {u.end[0]}.{u.end[1]}" for u in board.unrouted],
        "smallest_gap_mm": size(smallest_gap(artwork)),
        "smallest_track_mm": size(smallest_track(artwork)),
        "smallest_ring_mm": size(smallest_ring(artwork)),
        "smallest_hole_mm": size(smallest_hole(artwork)),
        "holes": len(artwork.drills),
        **counts(findings),
        "findings": as_data(description.name, findings)["findings"],
        "files": sorted(made.files),
    }
