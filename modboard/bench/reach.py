"""From which side a probe gets at a lead once all parts are on: a body over the soldered side turns the board over."""

from __future__ import annotations

from dataclasses import replace

import shapely

from modboard.bench.continuity import Continuity, Spot
from modboard.bench.copper import pad_name, solder_side
from modboard.layout.board import Board, CopperLayer

ROOM = 0.5  # mm from a lead to a body that the tip of a probe needs (common practice)


def turned_over(board: Board) -> dict[str, CopperLayer]:
    """Return the pads hidden on the side they are soldered from but free on the other, and that other side."""
    found: dict[str, CopperLayer] = {}
    for pad in board.pads:
        if len(pad.layers) == 2:
            side = solder_side(board, pad)
            other: CopperLayer = "top" if side == "bottom" else "bottom"
            at = shapely.Point(pad.at)
            near = {
                p.body_side
                for p in board.parts
                if p.part.fitted
                for body in p.bodies()
                if shapely.Polygon(body.outline).distance(at) < (0.0001 if p.part.reference == pad.reference else ROOM)
            }
            if side in near and other not in near:
                found[pad_name(pad)] = other
    return found


def reached(spot: Spot, turned: dict[str, CopperLayer]) -> Spot:
    """Return the spot, on the side where it can be got at."""
    return replace(spot, side=turned.get(spot.pad.split("#")[0], spot.side))


def reached_all(plan: Continuity, turned: dict[str, CopperLayer]) -> Continuity:
    """Return the plan with every spot where it can be got at."""
    probes = [replace(p, red=reached(p.red, turned), black=reached(p.black, turned)) for p in plan.probes]
    return replace(plan, probes=tuple(probes))
