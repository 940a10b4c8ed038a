"""Moves of several parts at once, against the cost worked out anew and the positions themselves."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from modboard.describe.model import Description
from modboard.layout.place.anneal import deal, new_state, threshold_table
from modboard.layout.place.kernels import Problem, State
from modboard.layout.place.moves import accept, refresh, totals, trade, turn, weigh_move
from modboard.layout.place.placer import COARSE, pose
from modboard.layout.place.pulls import net_pulls
from modboard.layout.place.room import Room
from modboard.layout.place.teams import SITE, VARIANT, WHO, draw_exchange, draw_step, make
from tests.layout.place_cases import channels

CHANNEL = 3  # parts of each channel of `channels`


def arranged(description: Description) -> tuple[Problem, State]:
    """Return a board with its parts spread over their sites in turn."""
    pulls = net_pulls(description)
    _, problem = pose(description, Room(description, ()), [None] * len(description.parts), pulls, COARSE, None, 0.0)
    places = problem.places
    first = [int(places.variant_first[i]) for i in range(len(description.parts))]
    sites = []
    for i, v in enumerate(first):
        m = places.variant_map[v]
        sites.append(int(places.site_first[m]) + 97 * i % int(places.site_first[m + 1] - places.site_first[m]))
    return problem, new_state(problem, np.array(first), np.array(sites), 3)


def middles(problem: Problem, state: State) -> Any:
    """Return the middle of every courtyard (mm)."""
    rect = problem.yards.rect[state.variant]
    return problem.places.site[state.at] + (rect[:, :2] + rect[:, 2:]) / 2


@pytest.mark.parametrize("exchange", [False, True])
def test_moves_of_teams_cost_what_the_board_then_costs_more_and_can_be_taken_back(exchange: bool) -> None:
    problem, state = arranged(channels(6))
    made = 0
    for _ in range(400):
        count = draw_exchange(problem, state) if exchange else draw_step(problem, state, 8.0)
        if count == 0:
            continue
        before = totals(problem, state)
        variant, at = state.variant.copy(), state.at.copy()
        grown = make(problem, state, count)
        refresh(problem, state)
        assert totals(problem, state) == pytest.approx(np.add(before, grown), abs=1e-6)
        if made % 2:
            back = make(problem, state, count)
            assert np.add(grown, back) == pytest.approx((0.0, 0.0), abs=1e-6)
            assert (state.variant == variant).all()
            assert (state.at == at).all()
        made += 1
    assert made > 50


def test_a_team_steps_aside_as_one() -> None:
    problem, state = arranged(channels(6))
    places = problem.places
    for k, v in enumerate(state.variant):  # all where no step leads to the board's edge
        m = places.variant_map[v]
        sites = places.site[places.site_first[m] : places.site_first[m + 1]]
        state.at[k] = places.site_first[m] + np.argmin(np.hypot(*(sites - (30.0, 20.0)).T))
    refresh(problem, state)
    sizes = set()
    for _ in range(200):
        count = draw_step(problem, state, 6.0)
        if count == 0:
            continue
        who = state.team[WHO, :count].tolist()
        assert len(set(who)) == count
        before = middles(problem, state)
        make(problem, state, count)
        steps = middles(problem, state) - before
        assert steps[who] == pytest.approx(np.tile(steps[who[0]], (count, 1)), abs=1e-9)
        assert not np.delete(steps, who, axis=0).any()
        make(problem, state, count)
        sizes.add(count)
    assert max(sizes) > CHANNEL


def test_like_circuits_change_places_whole_and_turned_alike() -> None:
    description = channels(6)
    problem, state = arranged(description)
    names = [p.reference for p in description.parts]
    places = problem.places
    for k, part in enumerate(names):  # every other channel is turned, so that turns must change places as well
        if part != "U1":
            state.variant[k] = places.variant_first[k] + int(part[1:]) % 2
            m = places.variant_map[state.variant[k]]
            state.at[k] = places.site_first[m] + 61 * k % (places.site_first[m + 1] - places.site_first[m])
    refresh(problem, state)
    seen = 0
    for _ in range(300):
        count = draw_exchange(problem, state)
        if count == 0:
            continue
        pairs = state.team[WHO, :count].reshape(-1, 2).copy()
        one, two = ({names[k] for k in side} for side in pairs.T)
        numbers = [{name[1:] for name in side} for side in (one, two)]
        assert all(len(n) == 1 for n in numbers), "each side is of one channel"
        assert len(one) == CHANNEL
        assert {n[0] for n in one} == {n[0] for n in two}
        before, turned = middles(problem, state), state.variant - places.variant_first[:-1]
        assert state.team[VARIANT, 0] >= 0 and state.team[SITE, 0] >= 0
        make(problem, state, count)
        after, now = middles(problem, state), state.variant - places.variant_first[:-1]
        for a, b in pairs:
            assert now[a] == turned[b] and now[b] == turned[a]
            assert after[a] == pytest.approx(before[b], abs=COARSE)
            assert after[b] == pytest.approx(before[a], abs=COARSE)
        seen += 1
    assert seen > 20


def test_like_parts_trade_places_at_no_overlap_and_never_for_a_longer_board() -> None:
    """Each place that a footprint holds is held by one of that footprint afterwards, and the board is better for it."""
    description = channels(6)
    problem, state = arranged(description)
    names = [part.footprint.name for part in description.parts]

    def held() -> list[tuple[str, tuple[float, ...]]]:
        spots = np.round(middles(problem, state), 6).tolist()
        return sorted((name, tuple(spot)) for name, spot in zip(names, spots, strict=True))

    places, made = problem.places, 0
    for part in range(len(names)):  # so that like parts stand this way and that
        if turn(places, problem.yards.rect, state.random, state.variant, state.at, part, state.move):
            weigh_move(problem, state)
            accept(problem, state)
    for a, b in itertools.permutations(range(len(names)), 2):
        if trade(places, state.variant, state.at, a, b, state.move):
            assert names[a] == names[b]
            where, before = held(), totals(problem, state)
            grown = weigh_move(problem, state)
            accept(problem, state)
            assert held() == where
            refresh(problem, state)
            assert totals(problem, state) == pytest.approx(np.add(before, grown), abs=1e-6)
            assert grown[0] == pytest.approx(0.0, abs=1e-6)
            made += 1
        else:
            assert names[a] != names[b]
    assert made > len(names)

    overlap, cost = totals(problem, state)
    deal(problem, state, threshold_table(), 20.0, 0.3, 0.005, 1e4)
    assert totals(problem, state)[0] <= overlap + 1e-6
    assert totals(problem, state)[1] < 0.95 * cost
