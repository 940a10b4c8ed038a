"""Laying a board out with a change done, within a limit that is the same on every machine."""

from __future__ import annotations

from modboard.describe.model import Description
from modboard.errors import ModboardError
from modboard.fit.advice import Laid
from modboard.layout.board import Board
from modboard.layout.place import place
from modboard.layout.route.router import Effort, Outcome
from modboard.layout.search import Round, first_look

TRY = Round(3, 0, 0, 0.3, 40, Effort(rounds=40))  # arrangements, and the router's rounds for each


def laid_out(description: Description) -> Laid:
    """Place and route a description within `TRY`; the board without tracks if none of its arrangements is routed."""
    first = description.seed * 1000
    why: ModboardError | None = None
    bare: Board | None = None
    for seed in range(first, first + TRY.sketches):
        look = first_look(description, seed, TRY, None)
        if isinstance(look, ModboardError):
            why = why or look
        elif isinstance(look, Outcome) and not look.board.unrouted:
            return Laid(look.board, True)
        elif bare is None:
            parts = place(description, seed, spread=TRY.spread)
            bare = Board(description, description.outline, parts, (), (), ())
    if bare is not None:
        return Laid(bare)
    return Laid(None, why=f"can't be placed: {why}")
