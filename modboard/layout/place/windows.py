"""Openings in the wall that a part at an edge ought to face, and what standing elsewhere costs."""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.describe.model import AtEdge, CavityModel, Description, Opening, Part, Wall
from modboard.layout.place.wishes import wish_of

OUT_OF_LINE = 8.0  # cost per mm that a part stands beside the window it ought to be in, or within another's
SAME = 1e-6  # mm


def longest(part: Part) -> float:
    """Return the longer side of what a part's bodies cover, mm."""
    points = np.array([point for body in part.footprint.bodies for point in body.outline])
    return float(np.ptp(points, axis=0).max()) if len(points) else 0.0


def shared_out(description: Description, wall: Wall) -> dict[str, Opening]:
    """Return which opening of a wall each part that may stand anywhere along it is to face, if there is one for it.

    An opening whose centre another part was given is taken; the others go to the parts in the order of the design, to
    as many as find room in them beside one another and to one at least.
    """
    cavity = description.cavity
    openings = [o for o in cavity.openings if o.wall == wall] if cavity else []
    wishes = [(part, wish_of(description, part)) for part in description.parts]
    at_wall = [(part, wish) for part, wish in wishes if isinstance(wish, AtEdge) and wish.wall == wall]
    given = [wish.along for _, wish in at_wall if wish.along is not None]
    free = [o for o in openings if not any(abs(along - o.centre) < o.width / 2 for along in given)]
    left = {o.name: o.width for o in free}
    found: dict[str, Opening] = {}
    for part, wish in at_wall:
        if wish.along is not None:
            continue
        span = longest(part)
        fitting = next((o for o in free if left[o.name] >= min(span, o.width)), None)
        if fitting is not None:
            left[fitting.name] -= max(span, 0.01)
            found[part.reference] = fitting
    return found


def beside_windows(description: Description, part: Part, wall: Wall, middles: Any, span: float) -> Any:
    """Return what it costs (n,) to have the middle of a body `span` mm long at each of `middles` along the wall."""
    cost = np.zeros(len(middles))
    cavity = description.cavity
    openings = [o for o in cavity.openings if o.wall == wall] if cavity else []
    if cavity is None or not openings:
        return cost
    own = shared_out(description, wall).get(part.reference)
    for opening in openings:
        off = np.abs(middles - opening.centre)
        if opening == own:
            cost += OUT_OF_LINE * np.maximum(off - room_to_stand(cavity, opening, span), 0.0)
        else:
            cost += OUT_OF_LINE * np.maximum(opening.width / 2 + span / 2 - off, 0.0)
    return cost


def in_own_window(description: Description, part: Part, wall: Wall, middles: Any, span: float, among: Any) -> Any:
    """Return which (n,) of the places `among` (n,) leave the part in the window it is to face, or nearest to that.

    All of them if it has no window, or if there is no place.
    """
    own = shared_out(description, wall).get(part.reference)
    if description.cavity is None or own is None or not among.any():
        return among
    beside = np.maximum(np.abs(middles - own.centre) - room_to_stand(description.cavity, own, span), 0.0)
    return among & (beside <= beside[among].min() + SAME)


def room_to_stand(cavity: CavityModel, opening: Opening, span: float) -> float:
    """Return how far the middle of a body may be off the opening's with all of it in the window, worst case."""
    return max(0.0, opening.width / 2 - cavity.within(opening.side_to) - span / 2)
