"""How the tool does on the circuits of `tests/circuits`: one row per circuit and seed, and a total.

Run it as ``python -m tests.benchmarks.circuits [--seeds 3] [--rules home] [--one-sided] [--pictures FOLDER] [names…]``.
Each run is the whole of ``modboard make`` but for starting Python, timed step by step: loading, laying out, drawing,
checking, and writing pictures, package and bench booklet (into a folder that is thrown away).  Kernels are compiled
before the first row.  What a command takes in a process of its own is measured by ``tests.benchmarks.steps``.
"""

from __future__ import annotations

import argparse
import math
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import shapely

import modboard
from modboard.describe.design import Design
from modboard.describe.load import load
from modboard.describe.model import Description
from modboard.describe.one_sided import one_sided
from modboard.errors import ModboardError
from modboard.layout import layout
from modboard.make import Made, Steps, write_out
from modboard.view import pictures

FOLDER = Path(__file__).resolve().parents[1] / "circuits"
HEADER = (
    f"{'circuit':22} {'seed':>4} {'parts':>5} {'pads':>4} {'ratio':>5} {'open':>4} {'vias':>4} {'length':>7} "
    f"{'load':>5} {'lay':>6} {'draw':>5} {'check':>5} {'write':>5}  errors / warnings by rule"
)
STEPS = ("load", "lay", "draw", "check", "write")


@dataclass(frozen=True)
class Row:
    """What came of one circuit with one seed; lengths in mm, times in seconds."""

    name: str
    seed: int
    parts: int
    pads: int
    ratio: float
    unrouted: int
    vias: int
    length: float
    seconds: dict[str, float]
    errors: Counter[str]
    warnings: Counter[str]
    failure: str = ""

    def __str__(self) -> str:
        lead = f"{self.name:22} {self.seed:4} {self.parts:5} {self.pads:4} {self.ratio:5.2f}"
        if self.failure:
            return f"{lead} FAILED: {self.failure}"
        times = " ".join(f"{self.seconds[step]:{5 + (step == 'lay')}.1f}" for step in STEPS)
        said = "; ".join(f"{kind} {_counted(c)}" for kind, c in (("E", self.errors), ("W", self.warnings)) if c)
        return f"{lead} {self.unrouted:4} {self.vias:4} {self.length:7.0f} {times}  {said or 'clean'}"


def names() -> list[str]:
    """Return every circuit there is, by file name."""
    return sorted(path.stem for path in FOLDER.glob("*.py") if path.stem != "__init__")


def area_ratio(description: Description) -> float:
    """Return the cavity's area, less what stands in it at the board, over the area of all courtyards."""
    cavity = description.cavity
    assert cavity is not None, "every circuit here has a room"
    board = (cavity.board_at, cavity.board_at + description.rules.thickness)
    standing = [o.outline for o in cavity.obstacles if o.bottom < board[1] and (o.top is None or o.top > board[0])]
    free = shapely.difference(cavity.inside, shapely.union_all(standing)) if standing else cavity.inside
    courts = sum(shapely.Polygon(part.footprint.courtyard).area for part in description.parts)
    return float(free.area / courts)


@contextmanager
def at_rules(rules: str | None) -> Iterator[None]:
    """Let design files that name no rules be made at `rules`."""

    class AtRules(Design):
        def __init__(self, name: str, **said: Any) -> None:
            super().__init__(name, **({"rules": rules} | said))

    if rules:
        vars(modboard)["Design"] = AtRules
    try:
        yield
    finally:
        vars(modboard).pop("Design", None)


def run(name: str, seed: int, rules: str | None = None, single: bool = False) -> tuple[Row, Made | None]:
    """Make one circuit; a ModboardError comes back in the row."""
    steps = Steps()
    begun = time.perf_counter()
    with at_rules(rules):
        design = load(FOLDER / f"{name}.py")
    description = replace(design.described(), seed=seed)
    if single:
        description = one_sided(description)
    loaded = time.perf_counter()
    pads = sum(len(part.footprint.lands) for part in description.parts)
    facts = (name, seed, len(description.parts), pads, area_ratio(description))
    try:
        board = layout(description)
        laid = time.perf_counter()
        with tempfile.TemporaryDirectory() as folder:
            made = write_out(board, Path(folder), steps)
    except ModboardError as error:
        return Row(*facts, 0, 0, 0.0, {}, Counter(), Counter(), str(error)), None
    length = sum(math.dist(a, b) for t in board.tracks for a, b in zip(t.points, t.points[1:], strict=False))
    seconds = {
        "load": loaded - begun,
        "lay": laid - loaded,
        "draw": steps.seconds["drawing"],
        "check": steps.seconds["checking"],
    }
    seconds["write"] = time.perf_counter() - begun - sum(seconds.values())
    standing = Counter(f.rule for f in made.findings if f.stands)
    warnings = Counter(f.rule for f in made.findings if f.severity == "warning" and not f.waived)
    return Row(*facts, len(board.unrouted), len(board.vias), length, seconds, standing, warnings), made


def options(about: str) -> argparse.ArgumentParser:
    """Return a parser of the options that say which circuits are run, and how."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("names", nargs="*", metavar="name", help="circuits to run; all if none is named")
    parser.add_argument("--seeds", type=int, default=1, help="run seeds 1 to this")
    parser.add_argument("--rules", choices=("pool", "fine", "home"), help="rules to make them at")
    parser.add_argument("--one-sided", action="store_true", help="with all copper at the bottom, and wire links")
    return parser


def asked_for(parser: argparse.ArgumentParser) -> argparse.Namespace:
    """Return what the command line asks for, every circuit if it names none; exits if it names an unknown one."""
    known, asked = names(), parser.parse_args()
    unknown = sorted(set(asked.names) - set(known))
    if unknown:
        parser.error(f"no circuit {', '.join(unknown)}; there are {', '.join(known)}")
    asked.names = asked.names or known
    return asked


def runs(asked: argparse.Namespace) -> Iterator[tuple[Row, Made | None]]:
    """Yield the row of each circuit and seed asked for and what was made; kernels are compiled before the first."""
    run("regulator_78l05", 1)
    for name in asked.names:
        for seed in range(1, asked.seeds + 1):
            yield run(name, seed, asked.rules, asked.one_sided)


def main() -> None:
    """Print the table."""
    parser = options("Run the tool over the circuits of tests/circuits.")
    parser.add_argument("--pictures", type=Path, help="write PNG pictures and findings of seed 1 into this folder")
    asked = asked_for(parser)
    print(HEADER, flush=True)
    rows = []
    for row, made in runs(asked):
        rows.append(row)
        print(row, flush=True)
        if asked.pictures and made and row.seed == 1:
            _save(made, asked.pictures / row.name)
    print(_total(rows))


def _save(made: Made, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in pictures(made.artwork, made.findings, png=True).items():
        (folder / name).write_bytes(data)
    said = [f"{f.severity} {f.rule} {f.where}: {f.message} [{f.cure}]" for f in made.findings]
    said += [f"unrouted {u.net}: {u.start} to {u.end}: {u.reason}" for u in made.board.unrouted]
    (folder / "findings.txt").write_text("\n".join(said) + "\n", encoding="utf-8")


def _counted(rules: Counter[str]) -> str:
    return ", ".join(f"{rule} {count}" for rule, count in sorted(rules.items()))


def _total(rows: list[Row]) -> str:
    made = [row for row in rows if not row.failure]
    whole = [row for row in made if not row.unrouted and not row.errors]
    clean = [row for row in whole if not row.warnings]
    times = sorted(sum(row.seconds.values()) for row in made) or [0.0]
    vias, length = sum(row.vias for row in made), sum(row.length for row in made)
    return (
        f"total: {len(rows)} runs, {len(whole)} complete without errors, {len(clean)} without any finding, "
        f"{len(rows) - len(made)} failed; {sum(row.unrouted for row in made)} open, {vias} vias, {length:.0f} mm; "
        f"median {times[len(times) // 2]:.1f} s, worst {times[-1]:.1f} s"
    )


if __name__ == "__main__":
    main()
