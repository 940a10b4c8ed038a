"""Time per step of the whole job: ``python -m tests.benchmarks.steps [design …]``, by default of the demos.

Each design is made in a process of its own, the first of them twice, so that all have warm caches: with starting Python
and reading modules, it is what somebody waits for.  The median and the worst of all come last.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from modboard.make import Steps, make

DESIGNS = Path(__file__).resolve().parents[2] / "designs"


def one(path: Path) -> None:
    """Make one design and print a row."""
    steps = Steps()
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        make(path, Path(folder) / "out", steps)
    total = time.perf_counter() - begun
    row = "  ".join(f"{name} {seconds:.2f}" for name, seconds in steps.seconds.items())
    print(f"{path.stem:16} {total:5.2f} s   {row}", flush=True)


def main() -> None:
    """Measure the named designs, or all demos."""
    if len(sys.argv) == 3 and sys.argv[1] == "--one":
        one(Path(sys.argv[2]))
        return
    waits = []
    for path in [Path(p) for p in sys.argv[1:]] or sorted(DESIGNS.glob("*.py")):
        command = [sys.executable, "-m", "tests.benchmarks.steps", "--one", str(path)]
        if not waits:
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        begun = time.perf_counter()
        subprocess.run(command, check=True)
        waits.append(time.perf_counter() - begun)
        print(f"{'':16} {waits[-1]:5.2f} s   with starting Python and loading", flush=True)
    print(f"{len(waits)} designs, all of it: median {median(waits):.2f} s, worst {max(waits):.2f} s")


if __name__ == "__main__":
    main()
