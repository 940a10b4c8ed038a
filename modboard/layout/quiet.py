"""Which nets are to keep well apart, and where they cannot: round the pads of parts that both are on.

A quiet net that enters an amplifier beside its noisy output has to come near it; a few millimetres do no harm.  So
the distance is asked for outside the *neighbourhood* of two such nets: discs round their pads on parts they share, and
round pads of one that are themselves nearer to pads of the other than asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import shapely

from modboard.describe.model import Description, Net
from modboard.layout.board import Pad

NEIGHBOURHOOD = 2.5  # mm from the middle of a pad, one step of a DIP row, common practice


def kind(net: Net) -> str:
    """Return "quiet", "noisy" or ""."""
    return "quiet" if net.quiet else "noisy" if net.noisy else ""


def kinds(description: Description) -> dict[str, str]:
    """Return the kind of each net that has one."""
    return {net.name: kind(net) for net in description.nets if kind(net)}


def opposite(one: str, other: str) -> bool:
    """Tell whether one kind is quiet and the other noisy."""
    return {one, other} == {"quiet", "noisy"}


def pairs(description: Description) -> list[tuple[str, str]]:
    """Return (quiet net, noisy net) for all that must keep apart, in order."""
    quiet = [n.name for n in description.nets if n.quiet]
    return [(q, n.name) for q in quiet for n in description.nets if n.noisy]


def neighbourhood(description: Description, pads: Sequence[Pad], quiet: str, noisy: str) -> Any:
    """Return the area (shapely) in which two nets need not keep apart."""
    ones, others = [p for p in pads if p.net == quiet], [p for p in pads if p.net == noisy]
    shared = {p.reference for p in ones} & {p.reference for p in others}
    gap = description.rules.quiet_gap
    near = [p for p in (*ones, *others) if p.reference in shared]
    for one in ones:
        for other in others:
            if set(one.layers) & set(other.layers) and one.shape.distance(other.shape) < gap:
                near += [one, other]
    return shapely.union_all([shapely.Point(p.at).buffer(NEIGHBOURHOOD) for p in near])


def neighbourhoods(description: Description, pads: Sequence[Pad]) -> dict[str, Any]:
    """Return for each quiet or noisy net the area where it need not keep apart from some net of the other kind."""
    found: dict[str, list[Any]] = {}
    for quiet, noisy in pairs(description):
        area = neighbourhood(description, pads, quiet, noisy)
        for name in (quiet, noisy):
            found.setdefault(name, []).append(area)
    return {name: _union(areas) for name, areas in found.items()}


def _union(areas: Iterable[Any]) -> Any:
    return shapely.union_all(list(areas))
