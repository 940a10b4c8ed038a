"""From which side a probe gets at a lead once all parts are on: a body over the soldered side turns the board over."""

from __future__ import annotations

from dataclasses import replace

import shapely

from modboard.bench.continuity import Continuity, Spot
from modboard.bench.copper import pad_name, solder_side
from modboard.layout.board import Board, CopperLayer

ROOM = 0.5  # mm from a lead to a body that the tip of a probe needs (common practice)


def covered(board: Board) -> dict[str, set[CopperLayer]]:
    """Return the sides on which a body leaves no room for a probe at a pad, once all parts are on."""
    bodies = [
        (p.part.reference, p.body_side, shapely.Polygon(body.outline))
        for p in board.parts
        if p.part.fitted
        for body in p.bodies()
    ]
    tree = shapely.STRtree([outline for *_, outline in bodies])
    found: dict[str, set[CopperLayer]] = {}
    for pad in board.pads:
        at = shapely.Point(pad.at)
        near = set()
        for k in tree.query(at, predicate="dwithin", distance=ROOM).tolist():
            reference, side, outline = bodies[k]
            if reference != pad.reference or (len(pad.layers) == 2 and outline.distance(at) < 0.0001):
                near.add(side)
        found[pad_name(pad)] = near
    return found


def turned_over(board: Board) -> dict[str, CopperLayer]:
    """Return the pads hidden on the side they are soldered from but free on the other, and that other side."""
    found: dict[str, CopperLayer] = {}
    near = covered(board)
    for pad in board.pads:
        if len(pad.layers) == 2:
            side = solder_side(board, pad)
            other: CopperLayer = "top" if side == "bottom" else "bottom"
            if side in near[pad_name(pad)] and other not in near[pad_name(pad)]:
                found[pad_name(pad)] = other
    return found


def hidden(board: Board) -> set[str]:
    """Return the pads that no probe reaches from either side, or from the only one, because of other parts."""
    near = covered(board)
    return {pad_name(pad) for pad in board.pads if set(pad.layers) <= near[pad_name(pad)]}


def reached(spot: Spot, turned: dict[str, CopperLayer]) -> Spot:
    """Return the spot, on the side where it can be got at."""
    return replace(spot, side=turned.get(spot.pad.split("#")[0], spot.side))


def reached_all(plan: Continuity, turned: dict[str, CopperLayer]) -> Continuity:
    """Return the plan with every spot where it can be got at."""
    probes = [replace(p, red=reached(p.red, turned), black=reached(p.black, turned)) for p in plan.probes]
    return replace(plan, probes=tuple(probes))
