"""Leads that their pour holds loosely: counted as the check counts them, which looks at the artwork alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.check import check
from modboard.layout.board import Board, Pour
from modboard.layout.held import crossings, loosely_held
from modboard.layout.place import place
from modboard.layout.pour import LEAST_SPOKES, Copper, poured
from modboard.layout.route.router import route
from tests.layout.place_cases import buffer_amplifier, surface_board

RING = shapely.Point(0, 0).buffer(5).exterior


@pytest.mark.parametrize(
    ("copper", "count"),
    [
        ([], 0),
        ([shapely.box(3, -0.5, 8, 0.5)], 1),
        ([shapely.box(3, -0.5, 8, 0.5), shapely.box(-0.5, 3, 0.5, 8)], 2),
        ([shapely.box(3, -0.5, 8, 0.5), shapely.box(3, 0.4, 8, 0.9)], 1),  # two that overlap are one
        ([shapely.box(-8, -0.5, 8, 0.5)], 2),  # through and through
        ([shapely.box(3, -1.0, 8, 1.0)], LEAST_SPOKES),  # as wide as two
        ([shapely.box(-8, -8, 8, 8)], LEAST_SPOKES),  # all round
    ],
)
def test_crossings_of_a_ring(copper: list[object], count: int) -> None:
    assert crossings(RING, copper, 1.9)[0] == count


def laid_out() -> Board:
    """Return a board with a poured ground."""
    description = buffer_amplifier()
    return route(description, place(description, 1)).board


def test_only_leads_that_are_soldered_in_holes_need_holding() -> None:
    description = surface_board()
    nets = tuple(replace(net, pour="top" if net.pour else None) for net in description.nets)
    description = replace(description, nets=nets)
    counts = []
    for seed in range(1, 6):
        board = Board(description, description.outline, place(description, seed), (), (), ())
        board = replace(board, pours=poured(Copper(description, board.parts, board.pads, (), ())))
        thin = [(pour, shapely.get_parts(pour.area.buffer(-0.25).buffer(0.249))) for pour in board.pours]  # no spokes
        bare = tuple(replace(pour, area=part) for pour, parts in thin for part in parts)
        leads = [pad for pad in board.pads if pad.net == "GND" and pad.hole]
        amid = [p for p in leads if any(shapely.Polygon(b.area.exterior).contains(p.shape.core) for b in bare)]
        counts.append(len(amid))
        assert loosely_held(replace(board, pours=bare)) == len(amid), "those at the edge do not stand in the pour"
    assert set(counts) >= {1}


def test_loosely_held_leads_are_those_that_the_check_reports() -> None:
    board = laid_out()
    chance = np.random.default_rng(3)
    grounds = [pad for pad in board.pads if pad.net == "GND"]
    seen = set()
    for _ in range(5):
        cuts = []
        for pad in chance.permutation(np.array(grounds, dtype=object))[:3]:  # leave spokes on one side, or none
            x, y = pad.at
            far = 1.5 * max(pad.shape.bounds()[2] - x, 1.0)
            cuts.append(shapely.box(x - far, y - far, x + far, y + chance.uniform(-0.2, 1.5) * far))
        cut = shapely.union_all(cuts)
        pieces = [(p, part) for p in board.pours for part in shapely.get_parts(p.area.difference(cut))]
        spoilt = replace(
            board,
            pours=tuple(Pour(p.net, p.layer, part) for p, part in pieces),
            tracks=tuple(t for t in board.tracks if t.net != "GND"),
        )
        reported = [f for f in check(spoilt, draw(spoilt)) if f.rule == "thermal-spokes"]
        assert loosely_held(spoilt) == len(reported)
        seen.add(len(reported))
    assert len(seen) > 1, "the cuts must tell boards apart"
