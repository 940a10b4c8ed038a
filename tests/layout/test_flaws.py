"""Flaws that another arrangement might not have, against what the check finds on the same boards."""

from __future__ import annotations

import itertools
from dataclasses import replace

from modboard.artwork.draw import draw
from modboard.check import check
from modboard.layout.board import Board
from modboard.layout.flaws import flaws, undecoupled
from modboard.layout.place import place
from modboard.layout.place.pulls import decoupling
from tests.layout.place_cases import surface_board


def test_chips_far_from_their_capacitors_are_those_that_the_check_reports() -> None:
    description = surface_board()
    parts = place(description, 1)
    capacitors = sorted({c for c, *_ in decoupling(description)})
    seen = set()
    for moved in itertools.chain.from_iterable(itertools.combinations(capacitors, n) for n in range(3)):
        put = tuple(replace(p, at=(p.at[0] + 30.0, p.at[1])) if i in moved else p for i, p in enumerate(parts))
        board = Board(description, description.outline, put, (), (), ())
        reported = [f for f in check(board, draw(board)) if f.rule == "no-decoupling"]
        assert undecoupled(board) == len(reported)
        assert flaws(board) == undecoupled(board), "nothing is poured here"
        seen.add(len(reported))
    assert len(seen) > 1, "the capacitors must matter"
