"""How long a layer of 10,000 objects takes to read: ours to copper, gerbonara to shapely copper, pygerber's parser.

Run it as ``python -m tests.benchmarks.reading [--objects 10000]``.  One process, one file, processor seconds, the
median of three; the file is written by our own writer and has flashes of four forms, tracks and a few areas.  pygerber
is measured up to its objects only, for it has no exact geometry.
"""

from __future__ import annotations

import argparse
import random
import statistics
import time
import warnings
from collections.abc import Callable
from typing import Any

from pygerber.gerberx3.parser2.parser2 import Parser2
from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer

from modboard.fab.gerber_adapter import LayerWriter
from modboard.fab.readback.gerber import read_gerber
from modboard.library.model import PadForm
from tests.fab.third_party import gerbonara_image

FORMS = (
    PadForm("round", 0.8, 0.8),
    PadForm("rectangle", 1.0, 0.6),
    PadForm("oval", 1.2, 0.6),
    PadForm("rounded", 1.0, 0.7, 0.15),
)
RUNS = 3


def layer(objects: int, seed: int = 1) -> str:
    """Return a layer with that many objects on a square of even density: 3 flashes in 10, 69 lines in 100, areas."""
    rng = random.Random(seed)
    side = (objects * 2.0) ** 0.5
    writer = LayerWriter(())
    for _ in range(objects):
        x, y = rng.uniform(0, side), rng.uniform(0, side)
        net = ((".N", (f"N{rng.randrange(objects // 30)}",)),)
        kind = rng.random()
        if kind < 0.3:
            writer.flash(rng.choice(FORMS), (x, y), rng.choice((0.0, 90.0)), "SMDPad,CuDef", net)
        elif kind < 0.99:
            points = [(x, y), (x + rng.uniform(-3, 3), y + rng.uniform(-3, 3))]
            writer.draw(points, rng.choice((0.2, 0.25, 0.4)), "Conductor", net)
        else:
            w, h = rng.uniform(0.5, 3), rng.uniform(0.5, 3)
            writer.region([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], "Conductor", net)
    return writer.text()


def pygerber_objects(text: str) -> int:
    """Return the number of objects that pygerber's parser makes of a layer."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return len(list(Parser2().parse(Tokenizer().tokenize(text))))


def median(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return the median processor seconds of some runs, and what the last one gave."""
    taken, value = [], None
    for _ in range(RUNS):
        begun = time.process_time()
        value = work()
        taken.append(time.process_time() - begun)
    return statistics.median(taken), value


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Time three readers on one layer.")
    parser.add_argument("--objects", type=int, default=10_000)
    text = layer(parser.parse_args().objects)
    objects = len(read_gerber(text).objects)
    print(f"{objects} objects, {len(text) / 1e6:.2f} MB")
    print(f"{'reader':36} {'seconds':>8}")
    rows: tuple[tuple[str, Callable[[], Any]], ...] = (
        ("modboard, objects and nets", lambda: len(read_gerber(text).objects)),
        ("modboard, to copper", lambda: read_gerber(text).image.area),
        ("gerbonara, to copper (shapely)", lambda: gerbonara_image(text).area),
        ("pygerber, objects only", lambda: pygerber_objects(text)),
    )
    for name, work in rows:
        seconds, value = median(work)
        print(f"{name:36} {seconds:8.2f}   {value:.4f}", flush=True)


if __name__ == "__main__":
    main()
