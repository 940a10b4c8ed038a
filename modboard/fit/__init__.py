"""Fit: the board and every part on it against the measured room, in three dimensions."""

from __future__ import annotations

from modboard.check.findings import Finding, Findings
from modboard.fit import heights, openings, plan
from modboard.fit.room import Room
from modboard.layout.board import Board

RULES = (*plan.RULES, *heights.RULES, *openings.RULES)


def fit(board: Board) -> Findings:
    """Return what does not fit into the design's cavity; nothing if no cavity was described.

    Worst case over the cavity's measuring tolerance and the board house's outline tolerance; figures that were not
    measured are not checked.  Waivers are not applied here: `check` does that.
    """
    if board.description.cavity is None:
        return ()
    room = Room(board, board.description.cavity)
    found: list[Finding] = [*plan.inspect(room), *heights.inspect(room), *openings.inspect(room)]
    return tuple(sorted(found, key=lambda f: (f.severity != "error", f.rule, f.where, f.at or (-1e9, -1e9), f.message)))


__all__ = ["RULES", "Room", "fit"]
