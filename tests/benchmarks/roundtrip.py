"""Written files against the drawing they were written from, read by us and by two readers that others wrote.

Run it as ``python -m tests.benchmarks.roundtrip [names…]``: a row for each demo and test circuit, seed 1, and a total.

- ours, gerbonara: the largest share by which the dark area of a layer differs from the drawing (chords, 128 in a
  quarter circle, stand for curves in all three), and the largest area (mm²) dark in one and not in the other;
- pygerber: objects of both coppers whose attributes it reads differently from us (it has no exact geometry);
- holes: those that one of drawing, our reader and gerbonara has and another has not, to 1 µm;
- nets: nets that our reader rebuilds from copper and holes and the design has not, or the other way round.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.describe.load import load
from modboard.errors import ModboardError
from modboard.fab.drill import drill_file
from modboard.fab.gerber import gerber_layer
from modboard.fab.package import package_texts
from modboard.fab.readback.connectivity import connectivity
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.package import package_of
from modboard.layout import layout
from tests.fab.third_party import gerbonara_holes, gerbonara_image, pygerber_attributes

ROOT = Path(__file__).resolve().parents[2]
SEGMENTS = 128
HEADER = (
    f"{'board':22} {'layers':>6} {'objects':>7} {'ours':>8} {'mm²':>8} {'gerbonara':>9} {'mm²':>8} {'pygerber':>8} "
    f"{'holes':>5} {'apart':>5} {'nets':>4} {'apart':>5} {'s':>5}"
)


@dataclass(frozen=True)
class Row:
    """What one board came to; see the module."""

    name: str
    layers: int
    objects: int
    ours: tuple[float, float]
    gerbonara: tuple[float, float]
    pygerber: int
    holes: int
    holes_apart: int
    nets: int
    nets_apart: int
    seconds: float

    def __str__(self) -> str:
        return (
            f"{self.name:22} {self.layers:6} {self.objects:7} {self.ours[0]:8.1e} {self.ours[1]:8.1e} "
            f"{self.gerbonara[0]:9.1e} {self.gerbonara[1]:8.1e} {self.pygerber:8} {self.holes:5} {self.holes_apart:5} "
            f"{self.nets:4} {self.nets_apart:5} {self.seconds:5.1f}"
        )


def boards() -> dict[str, Path]:
    """Return every demo and test circuit by name."""
    found = [*sorted((ROOT / "designs").glob("*.py")), *sorted((ROOT / "tests" / "circuits").glob("[a-z]*.py"))]
    return {path.stem: path for path in found}


def compared(name: str, artwork: Artwork) -> Row:
    """Return the row of one board."""
    begun = time.process_time()
    objects = pygerber = 0
    ours = theirs = (0.0, 0.0)
    for layer in artwork.layers:
        text = gerber_layer(layer, artwork)
        drawn = shapely.union_all([f.shape.polygon(SEGMENTS) for f in layer.features])
        read = read_gerber(text, layer.name, SEGMENTS)
        objects += len(read.objects)
        ours = _worst(ours, read.image, drawn)
        theirs = _worst(theirs, gerbonara_image(text, SEGMENTS), drawn)
        if layer.name.startswith("copper"):
            mine = [{key: ",".join(fields) for key, fields in o.attributes.items()} for o in read.objects]
            others = pygerber_attributes(text)[1]
            pygerber += sum(a != b for a, b in zip(mine, others, strict=False)) + abs(len(mine) - len(others))
    holes, apart = _holes(artwork)
    nets, nets_apart = _nets(artwork)
    return Row(
        name, len(artwork.layers), objects, ours, theirs, pygerber, holes, apart, nets, nets_apart,
        time.process_time() - begun,
    )  # fmt: skip


def _worst(so_far: tuple[float, float], image: Any, drawn: Any) -> tuple[float, float]:
    share = abs(image.area - drawn.area) / drawn.area if drawn.area else image.area
    return (max(so_far[0], share), max(so_far[1], image.symmetric_difference(drawn).area))


def _holes(artwork: Artwork) -> tuple[int, int]:
    """Return how many holes were drawn, and how many are not in all three."""
    drawn = Counter(_hole([d.at] + ([d.to] if d.to else []), d.diameter) for d in artwork.drills)
    read: Counter[Any] = Counter()
    others: Counter[Any] = Counter()
    for text in (drill_file(artwork, plated) for plated in (True, False)):
        if text:
            read.update(_hole(h.path, h.diameter) for h in read_drill(text).holes)
            for *places, size in gerbonara_holes(text):
                others[_hole(zip(places[::2], places[1::2], strict=True), size)] += 1
    missing = [(a - b).total() + (b - a).total() for a, b in ((drawn, read), (drawn, others))]
    return drawn.total(), sum(missing)


def _hole(path: Iterable[tuple[float, float]], diameter: float) -> Any:
    return frozenset((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in path), round(diameter, 3)


def _nets(artwork: Artwork) -> tuple[int, int]:
    """Return how many nets the design has, and how many are not the same in the files."""
    texts = package_texts(artwork, (), groups=("layers", "holes"))
    joined = connectivity(package_of({name: text.encode() for name, text in texts.items()}))
    net_of = artwork.board.description.net_of()
    wanted: dict[str, set[tuple[str, str]]] = {}
    for pad in artwork.board.pads:
        pin = (pad.reference, pad.number)
        wanted.setdefault(net_of.get(pin) or f"alone {pin}", set()).add(pin)
    design = {frozenset(pins) for pins in wanted.values()}
    files = {net.pins for net in joined.nets if net.pins}
    return len(design), len(design ^ files)


def main() -> None:
    """Print the table."""
    known = boards()
    parser = argparse.ArgumentParser(description="Compare drawings with their files as three readers see them.")
    parser.add_argument("names", nargs="*", metavar="name", help="boards; all if none is named")
    asked = parser.parse_args().names or list(known)
    rows, open_boards = [], []
    print(HEADER, flush=True)
    for name in asked:
        try:
            board = layout(load(known[name]))
        except ModboardError as error:
            print(f"{name:22} has no layout: {error}")
            continue
        row = compared(name, draw(board))
        rows.append(row)
        if board.unrouted:
            open_boards.append(name)
        print(row, " incomplete layout" if board.unrouted else "", flush=True)
    print(
        f"total: {len(rows)} boards, {sum(r.layers for r in rows)} layers, {sum(r.objects for r in rows)} objects; "
        f"area apart at most {max(r.ours[0] for r in rows):.1e} (ours), {max(r.gerbonara[0] for r in rows):.1e} "
        f"(gerbonara); {sum(r.pygerber for r in rows)} objects apart (pygerber); {sum(r.holes for r in rows)} holes, "
        f"{sum(r.holes_apart for r in rows)} apart; {sum(r.nets for r in rows)} nets, "
        f"{sum(r.nets_apart for r in rows if r.name not in open_boards)} apart on complete layouts"
    )


if __name__ == "__main__":
    main()
