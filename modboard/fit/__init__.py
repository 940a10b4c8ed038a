"""Fit: the board and every part on it against the measured room, in three dimensions."""

from __future__ import annotations

from modboard.check.findings import Finding, Findings
from modboard.fit import heights, metal, openings, plan, supports, way_in
from modboard.fit.room import Room
from modboard.layout.board import Board

FAMILIES = (plan, heights, openings, supports, metal, way_in)
RULES = tuple(rule for family in FAMILIES for rule in family.RULES)


def fit(board: Board) -> Findings:
    """Return what does not fit into the design's cavity; nothing if no cavity was described.

    Worst case over the ± of every dimension and the board house's tolerances; figures that were not measured are not
    checked.  Waivers are not applied here: `check` does that.
    """
    if board.description.cavity is None:
        return ()
    room = Room(board, board.description.cavity)
    found: list[Finding] = [finding for family in FAMILIES for finding in family.inspect(room)]
    return tuple(sorted(found, key=lambda f: (f.severity != "error", f.rule, f.where, f.at or (-1e9, -1e9), f.message)))


__all__ = ["RULES", "Room", "fit"]
