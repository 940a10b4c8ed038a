"""What is marked on the still picture of a leaf: names of parts, probes by their row, wires in their colour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from modboard.geometry import Position
from modboard.layout.board import PlacedPart

if TYPE_CHECKING:
    from modboard.view.booklet_leaves import Leaf


@dataclass(frozen=True)
class Mark:
    """A ring with a label at `at` (board mm): "red", "black", "wire" in a `colour`, or a "name" without a ring."""

    sort: str
    at: Position
    label: str
    colour: str = ""


def marks(leaf: Leaf, parts: Iterable[PlacedPart]) -> list[Mark]:
    """Return the marks of a leaf; a point that serves several rows bears all their numbers."""
    found = [
        Mark("name", (middle(p)[0], middle(p)[1] + reach(p)), p.part.reference)
        for p in parts
        if p.part.reference in leaf.fit
    ]
    found += [Mark("red", at, str(n)) for n, at in enumerate(leaf.places, 1)]
    rows: dict[tuple[str, Position], list[int]] = {}
    for n, probe in enumerate(leaf.probes, 1):
        if probe["t"] == "wire":
            found.append(Mark("wire", tuple(probe["r"]["at"]), str(n), probe["c"]))
            continue
        for sort, end in (("black", "b"), ("red", "r")):
            if probe["t"] == "v":
                found.append(Mark(sort, tuple(probe[end]["at"]), "+" if end == "r" else "-"))
            else:
                rows.setdefault((sort, tuple(probe[end]["at"])), []).append(n)
    for (sort, at), numbers in sorted(rows.items()):
        found.append(Mark(sort, at, _listed(numbers)))
    return found


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
