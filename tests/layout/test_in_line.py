"""Parts that stand a little out of line are shifted into it, and never into each other's way.

Common practice, from memory: like parts stand in rows, and pads that a track joins face each other squarely.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from modboard.describe.model import Description
from modboard.layout.place.anneal import new_state
from modboard.layout.place.in_line import in_line
from modboard.layout.place.placer import FINE, pose
from modboard.layout.place.pulls import net_pulls
from modboard.layout.place.room import Room
from tests.layout.place_cases import board, described

RESISTOR = "resistor-axial-10.16"


def put(description: Description, places: list[tuple[float, float]]) -> tuple[Any, Any]:
    """Return the origins of the parts (unturned, on the finest lattice near `places`) before and after."""
    room = Room(description, ())
    fixed = [None] * len(description.parts)
    options, problem = pose(description, room, fixed, net_pulls(description), FINE, None, 0.0)
    variant = np.array([int(problem.places.variant_first[i]) for i in range(len(places))])
    at = []
    for v, place in zip(variant, places, strict=True):
        m = problem.places.variant_map[v]
        first, last = problem.places.site_first[m], problem.places.site_first[m + 1]
        away = np.hypot(*(problem.places.site[first:last] - place).T)
        at.append(int(first + np.argmin(away)))
    state = new_state(problem, variant, np.array(at), 1)
    before = problem.places.site[state.at]
    return before, in_line(description, options, problem, state, before)


def courtyards(description: Description, at: Any) -> list[Any]:
    """Return the courtyards of unturned parts."""
    return [
        shapely.transform(shapely.Polygon(p.footprint.courtyard), lambda xy, o=origin: xy + o)
        for p, origin in zip(description.parts, at, strict=True)
    ]


@pytest.mark.parametrize("aside", [0.25, 0.6, 1.9])
def test_like_parts_come_in_line_and_one_far_off_stays(aside: float) -> None:
    parts = [(f"R{k}", "resistor", RESISTOR) for k in range(3)]
    nets = {"A": "R0.2 R1.1", "B": "R1.2 R2.1"}
    description = described(parts, nets, board(60, 30))
    before, after = put(description, [(4.0, 10.0), (19.0, 10.0 + aside), (34.0, 16.0)])
    assert before[0, 1] != pytest.approx(before[1, 1], abs=0.05)
    assert after[0, 1] == pytest.approx(after[1, 1], abs=1e-6)
    assert abs(after[2, 1] - 16.0) < 0.1


def test_pads_that_a_track_joins_come_to_face_each_other() -> None:
    parts = [("R1", "resistor", RESISTOR), ("C1", "capacitor", "capacitor-disc-5.08")]
    description = described(parts, {"A": "R1.2 C1.1"}, board(60, 30))
    before, after = put(description, [(10.0, 10.0), (27.0, 10.5)])
    lands = [p.footprint.lands[k].at[1] for p, k in zip(description.parts, (1, 0), strict=True)]
    assert abs(before[0, 1] + lands[0] - before[1, 1] - lands[1]) > 0.3
    assert after[0, 1] + lands[0] == pytest.approx(after[1, 1] + lands[1], abs=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_nothing_is_shifted_into_the_way_of_another_or_off_the_board(seed: int) -> None:
    random = np.random.default_rng(seed)
    parts = [(f"R{k}", "resistor", RESISTOR) for k in range(9)]
    nets = {f"N{k}": f"R{k}.2 R{k + 1}.1" for k in range(8)}
    description = described(parts, nets, board(46, 13))
    rows = [(2.5 + 14.5 * (k % 3), 3.0 + 3.6 * (k // 3)) for k in range(9)]
    jitter = random.uniform(-0.45, 0.45, (9, 2))
    before, after = put(description, [(x + dx, y + dy) for (x, y), (dx, dy) in zip(rows, jitter, strict=True)])
    gap = description.rules.part_gap
    for at in (before, after):
        yards = courtyards(description, at)
        near = [yards[i].distance(yards[j]) for i in range(9) for j in range(i)]
        assert min(near) >= min(gap, 0.0) - 1e-6
        assert all(description.outline.covers(yard) for yard in yards)
    assert len(set(after[:, 1].round(5))) < len(set(before[:, 1].round(5)))
