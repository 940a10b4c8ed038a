"""Boards that can be routed without a single via are."""

from __future__ import annotations

import pytest
import shapely

from modboard.describe.model import Description, Net, Part
from modboard.layout.board import PlacedPart
from modboard.layout.route.router import route
from modboard.library.model import Footprint
from tests import sample
from tests.layout.boards import apart, too_near

Placed = tuple[PlacedPart, ...]


def put(name: str, footprint: Footprint, x: float, y: float, turn: float = 0.0) -> PlacedPart:
    """Return a part put down."""
    return PlacedPart(Part(name, "test", None, "", footprint, sample.SITE), (x, y), turn)


def ring_of_surface_parts() -> tuple[list[str], Placed]:
    """Return twelve chip parts in a ring, each joined to the next: planar, and its pads are on one side only."""
    parts = [put(f"C{k}", sample.chip(), 5.0 + 6.0 * k, 6.0) for k in range(6)]
    parts += [put(f"C{k}", sample.chip(), 5.0 + 6.0 * (11 - k), 20.0, 180.0) for k in range(6, 12)]
    return [f"C{k}.2 C{(k + 1) % 12}.1" for k in range(12)], tuple(parts)


def crossing_buses() -> tuple[list[str], Placed]:
    """Return two buses of four lines that cross: through holes reach both sides, so one bus takes each side."""
    parts = (
        put("W", sample.header(4), 4.0, 12.0), put("E", sample.header(4), 38.0, 12.0),
        put("S", sample.header(4), 16.0, 4.0, 270.0), put("N", sample.header(4), 16.0, 28.0, 270.0),
    )  # fmt: skip
    return [f"{a}.{k} {b}.{k}" for a, b in (("W", "E"), ("S", "N")) for k in range(1, 5)], parts


def chips_back_to_front() -> tuple[list[str], Placed]:
    """Return two DIP-8 whose pins are joined in reverse order: crossings enough, but two sides suffice."""
    parts = (put("U1", sample.dip8(), 5.0, 18.0), put("U2", sample.dip8(), 25.0, 18.0))
    return [f"U1.{k} U2.{9 - k}" for k in range(1, 9)], parts


@pytest.mark.parametrize("board_of", [ring_of_surface_parts, crossing_buses, chips_back_to_front])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_via_where_none_is_needed(board_of: object, seed: int) -> None:
    # Judged by shapely's distances and networkx's components, not by the router.
    wires, parts = board_of()  # type: ignore[operator]
    nets = tuple(
        Net(f"N{k}", tuple((end.split(".")[0], end.split(".")[1]) for end in wire.split()), sample.SITE, 0.25, 0.25)
        for k, wire in enumerate(wires)
    )
    outline = shapely.box(0, 0, 42, 32)
    description = Description(
        "plain", "", "A", tuple(p.part for p in parts), nets, (), {}, (), None, outline, (), sample.sample_rules()
    )  # fmt: skip
    board = route(description, parts, seed=seed).board
    assert board.unrouted == ()
    assert apart(board) == set()
    assert too_near(board) == []
    assert board.vias == ()
