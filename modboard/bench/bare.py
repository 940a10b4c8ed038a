"""The copper of a board before anything is soldered, where that is not the copper of the finished one.

Wire links are not in yet.  Without plating each side is a circuit of its own, its pieces joined later by leads and by
wires through the board, so each piece is proved by itself, from its own side, at lands of pads and of wire links.
"""

from __future__ import annotations

from modboard.bench.build import links_through
from modboard.bench.pieces import NetCopper
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer


def bare_conductors(board: Board, fitted: dict[str, NetCopper]) -> dict[str, NetCopper]:
    """Return what is one conductor on the bare board; `fitted` itself if nothing soldered joins any.

    The keys are of no meaning; `name` is the net, and `side` the side to probe from (None: as once fitted).
    """
    plated = board.description.rules.layers_plated
    if plated and not any(pad.bridge for pad in board.pads):
        return fitted
    links = {at: f"link {n}" for n, at in enumerate(links_through(board), 1)}
    found: dict[str, NetCopper] = {}
    for name, net in fitted.items():
        for side in (None,) if plated else COPPER_LAYERS:
            for number, part in enumerate(_parts(net, side)):
                made = _part(net, part, side)
                for k, piece in enumerate(made.pieces):
                    if piece.what == "via land" and side and piece.at in links:
                        made.leads.setdefault(links[piece.at], k)
                if made.leads:
                    found[f"{name}, {side or 'both'} {number}"] = made
    return found


def _joined(net: NetCopper, k: int) -> set[int]:
    """Return what piece `k` touches while no wire link is in: a lead touches no other lead."""
    return {j for j in net.beside[k] if not net.pieces[k].what == net.pieces[j].what == "lead"}


def _parts(net: NetCopper, side: CopperLayer | None) -> list[list[int]]:
    """Return the numbers of the pieces of each conductor; with `side`, of copper on that side alone."""
    taken = {k for k, p in enumerate(net.pieces) if side is None or (p.layer == side and p.what != "joint")}
    parts = []
    for first in sorted(taken):
        if first not in taken:
            continue
        part, stack = [], [first]
        taken.discard(first)
        while stack:
            part.append(k := stack.pop())
            new = _joined(net, k) & taken
            taken -= new
            stack += new
        parts.append(sorted(part))
    return parts


def _part(net: NetCopper, part: list[int], side: CopperLayer | None) -> NetCopper:
    made = NetCopper(net.name, side=side)
    number = {k: made.add(net.pieces[k]) for k in part}
    for k in part:
        for j in _joined(net, k) & number.keys():
            made.join(number[k], number[j])
    for name, lead in net.leads.items():
        touched = [lead] if side is None else [k for k in part if net.pieces[k].owner == name]
        for k in touched:
            if k in number:
                made.leads[name] = number[k]
                made.pads[name] = net.pads[name]
    return made
