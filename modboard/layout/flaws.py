"""What a whole board may still lack that another arrangement might have: leads held well, chips decoupled."""

from __future__ import annotations

import math

from modboard.layout.board import Board
from modboard.layout.held import loosely_held
from modboard.layout.place.pulls import between_rails, capacitor_lands, supply_pins

DECOUPLING_REACH = 10.0  # mm from supply pin to capacitor pad, centre to centre, common practice


def flaws(board: Board) -> int:
    """Return how many leads are held loosely and chips have no capacitor near that there is for them."""
    return loosely_held(board) + undecoupled(board)


def undecoupled(board: Board) -> int:
    """Return for how many chips a capacitor stands beyond `DECOUPLING_REACH`.

    It is the nearest of those between two of its supplies, or where there are none, the nearest at the worst supply of
    those that lead from each of them to a net between.
    """
    nets = board.description.net_of()
    pads = [placed.pads(nets) for placed in board.parts]
    capacitors = capacitor_lands(board.description, nets)

    def nearest(ends: list[tuple[int, str]], supplies: dict[str, list[int]], chip: int) -> float:
        """Return how near any of the ends (capacitor, net) comes to a supply pin of the chip on its net."""
        return min(
            (
                math.dist(pads[c][capacitors[c][net]].at, pads[chip][land].at)
                for c, net in ends
                for land in supplies[net]
            ),
            default=math.inf,
        )

    found = 0
    for chip, placed in enumerate(board.parts):
        supplies = {} if placed.part.footprint.underside else supply_pins(placed.part, nets, ("power-in",))
        if len(supplies) < 2:
            continue
        across = [(c, net) for c, own in capacitors.items() if set(own) <= set(supplies) for net in own]
        middle = between_rails(set(supplies), capacitors.values())
        away = nearest(across, supplies, chip)
        if not across and middle:
            each = [[(c, net) for c, own in capacitors.items() if net in own and middle & set(own)] for net in supplies]
            away = max(nearest(ends, supplies, chip) for ends in each)
        found += DECOUPLING_REACH < away < math.inf
    return found
