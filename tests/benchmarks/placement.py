"""How full, how fast, how short: placement alone, ``python -m tests.benchmarks.placement [design …]``.

Without arguments all circuits and demos are placed from three seeds each, then random parts on ever fuller boards.
Seconds are processor time, warm.  *net* is the length of spanning trees over all nets but poured ones, *off* the
greatest distance of a decoupling capacitor's pad from the supply pin it serves.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import shapely
from shapely.geometry import Polygon

from modboard.describe.load import load
from modboard.describe.model import Description
from modboard.errors import ModboardError
from modboard.layout.board import PlacedPart
from modboard.layout.place import place
from modboard.layout.place.pulls import SUPPLY_WEIGHT, decoupling_pulls
from tests.layout.place_cases import board, random_board, with_post

ROOT = Path(__file__).resolve().parents[2]
CHIPS = ("chip-0805-r", "chip-0805-c", "soic-8", "sot23", "chip-1206-r")
LEADED = ("resistor-axial-7.62", "capacitor-disc-5.08", "to92", "dip-8", "led-3mm", "diode-do35-7.62")


def net_length(description: Description, placed: tuple[PlacedPart, ...]) -> float:
    """Return the sum of octile spanning trees over the pads of every net that is not poured, mm."""
    pads: dict[str, list[tuple[float, float]]] = {}
    poured = {n.name for n in description.nets if n.pour}
    for part in placed:
        for pad in part.pads(description.net_of()):
            if pad.net is not None and pad.net not in poured:
                pads.setdefault(pad.net, []).append(pad.at)
    total = 0.0
    for at in pads.values():
        joined, rest = at[:1], at[1:]
        while rest:
            length, nearest = min((octile(a, b), b) for a in joined for b in rest)
            total += length
            joined.append(nearest)
            rest.remove(nearest)
    return total


def octile(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return the length of the shortest 45° track between two points."""
    long, short = sorted((abs(a[0] - b[0]), abs(a[1] - b[1])), reverse=True)
    return long + (math.sqrt(2) - 1) * short


def farthest_capacitor(description: Description, placed: tuple[PlacedPart, ...]) -> float:
    """Return the greatest distance (mm) of a decoupling capacitor from the pin it serves, 0 without any."""
    found = [0.0]
    for pull in decoupling_pulls(description):
        if pull.weight == SUPPLY_WEIGHT:
            (a, land_a), (b, land_b) = pull.pins
            one = placed[a].to_board(placed[a].part.footprint.lands[land_a].at)
            two = placed[b].to_board(placed[b].part.footprint.lands[land_b].at)
            found.append(math.dist(one, two))
    return max(found)


def fullness(description: Description) -> float:
    """Return the area of all courtyards on the fuller side over that of the board."""
    sides = {"top": 0.0, "bottom": 0.0}
    for part in description.parts:
        wish = description.wishes.get(part.reference)
        sides[wish.side if wish else "top"] += Polygon(part.footprint.courtyard).area
    return float(max(sides.values()) / shapely.area(description.outline))


def measure(name: str, description: Description, seeds: tuple[int, ...]) -> None:
    """Place one design from each seed and print a row."""
    seconds, rows, failed = [], [], ""
    for seed in seeds:
        begun = time.process_time()
        try:
            placed = place(description, seed)
        except ModboardError as error:
            failed = str(error)
        else:
            rows.append((net_length(description, placed), farthest_capacitor(description, placed)))
        seconds.append(time.process_time() - begun)
    nets = " ".join(f"{r[0]:7.0f}" for r in rows)
    off = max((r[1] for r in rows), default=0.0)
    figures = f"{len(description.parts):3} parts  {fullness(description):4.0%} full  placed {len(rows)}/{len(seeds)}"
    print(f"{name:24} {figures}  {max(seconds):6.2f} s  net {nets}  off {off:4.1f}  {failed}", flush=True)


def fuller_and_fuller() -> Iterator[tuple[str, Description]]:
    """Yield random circuits on boards whose free area their courtyards fill by 50 to 80 %, a post in one corner."""
    for name, kinds, count in (("chips", CHIPS, 25), ("leaded", LEADED, 16), ("mixed", CHIPS + LEADED, 30)):
        area = sum(Polygon(p.footprint.courtyard).area for p in random_board(count, 1, board(9, 9), kinds).parts)
        for full in (0.5, 0.6, 0.7, 0.75, 0.8):
            width = math.sqrt(area / full * 1.3)
            outline = with_post(board(width + 2, area / full / width + 2), 3.3, 3.3, 2.0)
            yield f"{name} {full:.0%} of free area", random_board(count, 1, outline, kinds)


def main() -> None:
    """Measure the named designs, or everything."""
    files = [Path(a) for a in sys.argv[1:]]
    if not files:
        files = [*sorted((ROOT / "tests" / "circuits").glob("[!_]*.py")), *sorted((ROOT / "designs").glob("*.py"))]
    place(random_board(3, 1, board(30, 20), CHIPS), 1)  # compile
    for path in files:
        measure(path.stem, load(path).described(), (1, 2, 3))
    if len(sys.argv) == 1:
        for name, description in fuller_and_fuller():
            measure(name, description, (1, 2, 3))


if __name__ == "__main__":
    main()
