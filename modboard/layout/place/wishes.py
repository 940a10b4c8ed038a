"""What was wished for each part, turned into turns it may take and places it may stand."""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.describe.model import AtEdge, Description, Fixed, Free, Near, Part, Side, Wish
from modboard.errors import DesignError
from modboard.geometry import turn_point
from modboard.layout.board import PlacedPart
from modboard.layout.place.edges import DIRECTION, Stance, profile, upright
from modboard.layout.place.standing import Standing, body_centre

QUARTERS = (0.0, 90.0, 180.0, 270.0)


def wish_of(description: Description, part: Part) -> Wish:
    """Return the wish for a part; a part without one is free on the top."""
    return description.wishes.get(part.reference, Free())


def sides_of(description: Description, part: Part) -> tuple[Side, ...]:
    """Return the sides a part may go on, the preferred first."""
    wish = wish_of(description, part)
    other: Side = "top" if wish.side == "bottom" else "bottom"
    return (wish.side, other) if isinstance(wish, Free | Near) and wish.either else (wish.side,)


def turns_of(description: Description, part: Part) -> tuple[float, ...]:
    """Return the turns (degrees) a part may take, the preferred first."""
    wish = wish_of(description, part)
    if isinstance(wish, Fixed):
        return (wish.turn % 360.0,)
    if wish.turn is not None:
        return (wish.turn % 360.0,)
    if isinstance(wish, AtEdge):
        return edge_turns(part, wish)
    return QUARTERS


def edge_turns(part: Part, wish: AtEdge) -> tuple[float, ...]:
    """Return the turns for a part at an edge: its front outwards, else its long side along the edge."""
    front = part.footprint.front
    if front is not None:
        facing = 180.0 - front if wish.side == "bottom" else front
        return ((DIRECTION[wish.wall] - facing) % 360.0,)
    x0, y0, x1, y1 = Standing(part, 0.0, wish.side).box
    if abs((x1 - x0) - (y1 - y0)) < 1e-6:
        return QUARTERS
    lies_along_x = x1 - x0 > y1 - y0
    return (0.0, 180.0) if lies_along_x != upright(wish.wall) else (90.0, 270.0)


def fixed_part(description: Description, part: Part) -> PlacedPart | None:
    """Return the part put down if its wish leaves no choice, else None."""
    wish = wish_of(description, part)
    if isinstance(wish, Fixed):
        return put_fixed(part, wish)
    if isinstance(wish, AtEdge) and wish.along is not None:
        turns = turns_of(description, part)
        if len(turns) == 1:
            standing = Standing(part, turns[0], wish.side)
            return standing.put(origin_at_edge(description, standing, wish, profile(description.outline, wish.wall)))
    return None


def put_fixed(part: Part, wish: Fixed) -> PlacedPart:
    """Return a part put down so that its anchor is where it was wished."""
    if wish.anchor == "origin":
        anchor = (0.0, 0.0)
    elif wish.anchor == "centre":
        anchor = body_centre(part.footprint)
    else:
        found = [land.at for land in part.footprint.lands if land.number == wish.anchor]
        if not found:
            pads = ", ".join(part.footprint.numbers())
            raise DesignError(
                f'{part.reference} has no pad "{wish.anchor}" to place it by; its pads are {pads}', part.site
            )
        anchor = found[0]
    mirrored = (-anchor[0], anchor[1]) if wish.side == "bottom" else anchor
    dx, dy = turn_point(mirrored, wish.turn)
    return PlacedPart(part, (wish.at[0] - dx, wish.at[1] - dy), wish.turn % 360.0, wish.side)


def origin_at_edge(description: Description, standing: Standing, wish: AtEdge, edges: Any) -> Any:
    """Return the origin of a part at an edge whose place along it is given; DesignError if there is no board there."""
    assert wish.along is not None
    at = Stance(wish.wall, wish.inset, description.rules.copper_to_edge).origins(standing, edges, wish.along)[0]
    if not np.isfinite(at).all():
        x0, y0, x1, y1 = description.outline.bounds
        low, high = (y0, y1) if upright(wish.wall) else (x0, x1)
        raise DesignError(
            f"{standing.part.reference} at the {wish.wall} edge, along {wish.along:g}: "
            f"the board reaches only from {low:g} to {high:g} there",
            standing.part.site,
        )
    return at


def partner_of(description: Description, part: Part) -> str | None:
    """Return the reference of the part that this one wants to be near."""
    wish = wish_of(description, part)
    return wish.reference if isinstance(wish, Near) else None
