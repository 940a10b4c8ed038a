"""What a whole board may still lack that another arrangement might have: leads held well, chips decoupled."""

from __future__ import annotations

import math

from modboard.layout.board import Board
from modboard.layout.held import loosely_held
from modboard.layout.place.pulls import decoupling, supply_pins

DECOUPLING_REACH = 10.0  # mm from supply pin to capacitor pad, centre to centre, common practice


def flaws(board: Board) -> int:
    """Return how many leads are held loosely and chips have no capacitor near that there is for them."""
    return loosely_held(board) + undecoupled(board)


def undecoupled(board: Board) -> int:
    """Return for how many chips all capacitors that may serve them stand beyond `DECOUPLING_REACH`."""
    description = board.description
    nets = description.net_of()
    pads = [placed.pads(nets) for placed in board.parts]
    dealt = decoupling(description)
    lands = {capacitor: own for capacitor, _, own, _ in dealt}
    found = 0
    for served in sorted({chip for _, chip, _, _ in dealt}):
        supplies = supply_pins(description.parts[served], nets)
        serving = [c for c, own in lands.items() if set(own) <= set(supplies)]  # whoever they were dealt out to
        serving = serving or [c for c, chip, _, _ in dealt if chip == served]
        away = [
            math.dist(pads[c][own].at, pads[served][land].at)
            for c in serving
            for net, own in lands[c].items()
            for land in supplies.get(net, ())
        ]
        found += min(away) > DECOUPLING_REACH
    return found
