"""What is marked on the still picture of a leaf: names of parts, probes by their row, wires in their colour."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from modboard.geometry import Position
from modboard.layout.board import PlacedPart

if TYPE_CHECKING:
    from modboard.view.booklet_leaves import Leaf


AROUND = ((1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))  # where a label can go, best first


@dataclass(frozen=True)
class Mark:
    """A ring with a label at `at` (board mm): "red", "black", "wire" in a `colour`, or a "name" without a ring.

    What is touched from the side one does not see is `behind`: its ring is dashed.
    """

    sort: str
    at: Position
    label: str
    colour: str = ""
    behind: bool = False


def marks(leaf: Leaf, parts: Iterable[PlacedPart]) -> list[Mark]:
    """Return the marks of a leaf; a point that serves several rows bears all their numbers."""
    found = [
        Mark("name", (middle(p)[0], middle(p)[1] + reach(p)), p.part.reference)
        for p in parts
        if p.part.reference in leaf.fit
    ]
    found += [Mark("red", at, str(n)) for n, at in enumerate(leaf.places, 1)]
    rows: dict[tuple[str, Position, bool], list[int]] = {}
    for n, probe in enumerate(leaf.probes, 1):
        if probe["t"] == "wire":
            found.append(Mark("wire", tuple(probe["r"]["at"]), str(n), probe["c"]))
            continue
        for sort, end in (("black", "b"), ("red", "r")):
            at, behind = tuple(probe[end]["at"]), probe[end]["s"] != leaf.side
            if probe["t"] == "v":
                found.append(Mark(sort, at, "+" if end == "r" else "-", behind=behind))
            else:
                rows.setdefault((sort, at, behind), []).append(n)
    for (sort, at, behind), numbers in sorted(rows.items()):
        found.append(Mark(sort, at, _listed(numbers), behind=behind))
    return found


def label_places(
    marks: Sequence[Mark], at: Sequence[Position], wide: Sequence[float], radius: float, high: float
) -> list[Position]:
    """Return where the middle of each label goes, so that it hides no ring and no other label where that can be.

    `at` are the marks in the picture (y up), `wide` the widths of their labels, all in one unit.  A wire's number goes
    into its ring, a name stays; the others take the first of eight places round the ring with least in its way.
    """
    found: list[Position] = []
    taken: list[tuple[Position, float]] = []
    for mark, (x, y), width in zip(marks, at, wide, strict=True):
        if mark.sort in ("wire", "name"):
            found.append((x, y))
            continue
        first = -1 if mark.sort == "black" else 1
        best: tuple[int, int, Position] | None = None
        for turn, (across, up) in enumerate(AROUND):
            push = 0.75 if across and up else 1.0
            place = (x + across * (push * radius + width / 2), y + first * up * (push * radius + high / 2))
            hidden = sum(
                _apart(abs(cx - place[0]) - width / 2, abs(cy - place[1]) - high / 2) < radius
                for m, (cx, cy) in zip(marks, at, strict=True)
                if m.sort != "name" and (cx, cy) != (x, y)
            )
            hidden += 2 * sum(
                abs(px - place[0]) < (width + w) / 2 and abs(py - place[1]) < high for (px, py), w in taken
            )
            if best is None or (hidden, turn) < best[:2]:
                best = (hidden, turn, place)
        assert best is not None
        found.append(best[2])
        taken.append((best[2], width))
    return found


def _apart(across: float, up: float) -> float:
    return math.hypot(max(across, 0.0), max(up, 0.0))


def _listed(numbers: list[int]) -> str:
    """Return "2", "2,5" or "2-7"."""
    if len(numbers) > 2 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]}-{numbers[-1]}"
    return ",".join(map(str, numbers))


def middle(placed: PlacedPart) -> tuple[float, float]:
    """Return the middle of a part's bodies in board mm."""
    points = [p for body in placed.bodies() for p in body.outline] or [placed.at]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (round((min(xs) + max(xs)) / 2, 3), round((min(ys) + max(ys)) / 2, 3))


def reach(placed: PlacedPart) -> float:
    """Return how far above its middle (mm) a part's name goes, so as not to hide its bands."""
    ys = [p[1] for body in placed.bodies() for p in body.outline] or [0.0]
    return round((max(ys) - min(ys)) / 2 + 1.1 if max(ys) - min(ys) < 9 else 0.0, 3)
