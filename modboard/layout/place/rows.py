"""Like parts with running numbers at one window (lamps of a bar, a row of sockets) come in a row, in their order."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from modboard.describe.model import AtEdge, CavityModel, Description, Opening, Part
from modboard.layout.place.edges import span_along, upright
from modboard.layout.place.room import Room
from modboard.layout.place.sites import BACK_FROM_WALL, NOTCH, Lattice, edge_sites
from modboard.layout.place.standing import Standing
from modboard.layout.place.windows import room_to_stand, shared_out
from modboard.layout.place.wishes import turns_of, wish_of

FEWEST = 3  # parts that make a row
STEP = 0.635  # mm; rows have pitches on this lattice
WIDEST = 2.0  # times the least pitch: a row is spread over a wide window up to this, common practice
NUMBERED = re.compile(r"(.*\D)(\d+)")


def in_rows(description: Description) -> Description:
    """Return the description with the places of such rows given: evenly about the window's middle, all turned alike.

    Along a wall on the left or right the numbers run downwards, else to the right.  A row for which there is no room
    is left to the search.
    """
    cavity = description.cavity
    if cavity is None:
        return description
    for row, opening in rows(description):
        wishes, room = set_out(description, cavity, row, opening), Room(description, ())
        if wishes and all(_stands(room, part, wish) for part, wish in zip(row, wishes, strict=True)):
            given = {part.reference: wish for part, wish in zip(row, wishes, strict=True)}
            description = replace(description, wishes={**description.wishes, **given})
    return description


def rows(description: Description) -> Iterator[tuple[list[Part], Opening]]:
    """Yield the parts of each row in the order of their numbers, and the opening they face."""
    assert description.cavity is not None
    for wall in dict.fromkeys(opening.wall for opening in description.cavity.openings):
        facing = shared_out(description, wall)
        alike: dict[tuple[str, str, str, AtEdge], list[tuple[int, Part]]] = {}
        for part in description.parts:
            named, wish = NUMBERED.fullmatch(part.reference), wish_of(description, part)
            if named and part.reference in facing and isinstance(wish, AtEdge):
                key = (named[1], facing[part.reference].name, part.footprint.name, wish)
                alike.setdefault(key, []).append((int(named[2]), part))
        for numbered in alike.values():
            numbered.sort(key=lambda n: n[0])
            running = all(b[0] == a[0] + 1 for a, b in pairwise(numbered))
            if len(numbered) >= FEWEST and running:
                row = [part for _, part in numbered]
                yield row, facing[row[0].reference]


def set_out(description: Description, cavity: CavityModel, row: Sequence[Part], opening: Opening) -> list[AtEdge]:
    """Return the wishes that set a row out in its window; none if it is too long."""
    wish = wish_of(description, row[0])
    assert isinstance(wish, AtEdge)
    turn = turns_of(description, row[0])[0]
    standing = Standing(row[0], turn, wish.side)
    low, high = span_along(standing.box, wish.wall)
    start, end = span_along(standing.body_box or standing.box, wish.wall)
    least = high - low + description.rules.part_gap
    gaps = len(row) - 1
    pitch = STEP * int(min(2 * room_to_stand(cavity, opening, end - start) / gaps, WIDEST * least) / STEP + 1e-9)
    if pitch < least:
        return []
    way = -1.0 if upright(wish.wall) else 1.0
    places = [round(opening.centre + way * pitch * (k - gaps / 2), 6) for k in range(len(row))]
    return [replace(wish, along=along, turn=turn) for along in places]


def _stands(room: Room, part: Part, wish: AtEdge) -> bool:
    assert wish.turn is not None
    sites = edge_sites(room, Standing(part, wish.turn, wish.side), wish, Lattice((0.0, 0.0), STEP))
    return len(sites) > 0 and float(sites.cost[0]) <= BACK_FROM_WALL * NOTCH
