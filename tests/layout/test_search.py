"""The outer loop: honest about what stays open, the same with any executor, the best so far when interrupted."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from typing import Any

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.describe.design import Design
from modboard.describe.model import AtEdge, Description, Fixed, Free, MountingHole, Wish
from modboard.describe.rules import Rules
from modboard.errors import ModboardError, NoRoomError
from modboard.layout import search as searching
from modboard.layout.board import Unrouted
from modboard.layout.route.router import Effort, Outcome, Sketch
from modboard.layout.search import Round, search
from modboard.layout.ways_out import (
    INSETS,
    WIDER,
    WayOut,
    copper_on_both_sides,
    either_side,
    finer_rules,
    insets,
    off_the_edge,
    stretched,
    ways_out,
    without_wishes,
)  # fmt: skip
from modboard.view.crowding import crowding_view
from tests.layout.boards import apart
from tests.layout.place_cases import board, buffer_amplifier, random_board, simple_cavity, with_post

ONE = (Round(2, 1, 1, 0.3, 12, Effort(rounds=60)),)
HASTY = (Round(1, 0, 1, 0.0, 1, Effort(rounds=1, passes=0)),)
CHIPS = ("soic-14", "soic-8", "sot23", "chip-0603-r")


def crowded() -> Description:
    """Return a board that one round of bargaining cannot route."""
    return random_board(9, 5, board(28, 22), CHIPS)


def test_what_stays_open_is_named_pictured_and_answered_with_ways_out_that_were_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(searching, "WAY_OUT", Round(1, 0, 0, 0.3, 6, Effort(rounds=6)))
    said: list[str] = []
    found = search(crowded(), rounds=HASTY, progress=said.append)
    assert found.unrouted, "the case must be hopeless in one round"
    open_nets = {u.net for u in found.unrouted}
    assert open_nets == apart(found)  # by a union of the copper, not by the router's own count
    (remark,) = found.remarks
    assert f"{len(found.unrouted)} connection" in remark and "tried" in remark
    assert any(text.startswith("trying a way out") for text in said)
    assert found.crowded is not None and float(found.crowded.penalty.max()) > 0
    picture = crowding_view(draw(found))
    assert all(f"{net}:" in picture for net in sorted(open_nets)[:2])


class Interrupted(Executor):
    """Hands out results in order and is interrupted, like by Ctrl-C, before the one numbered `at`."""

    def __init__(self, at: int) -> None:
        self.left = at

    def map(self, fn: Any, *jobs: Any, **_more: Any) -> Iterator[Any]:
        for job in zip(*jobs, strict=False):
            if self.left == 0:
                raise KeyboardInterrupt
            self.left -= 1
            yield fn(*job)


def test_an_interrupt_keeps_the_best_board_so_far_and_says_so() -> None:
    description = buffer_amplifier()
    found = search(description, rounds=ONE, executor=Interrupted(1))
    assert not found.unrouted and not apart(found)
    assert found.remarks and found.remarks[0].startswith("stopped by hand")
    with pytest.raises(KeyboardInterrupt):
        search(description, rounds=ONE, executor=Interrupted(0))


def test_any_executor_gives_the_same_board() -> None:
    description = buffer_amplifier()
    alone = search(description, rounds=ONE)
    with ThreadPoolExecutor(1) as thread, ProcessPoolExecutor(2, mp_context=get_context("fork")) as processes:
        for executor in (thread, processes):
            again = search(description, rounds=ONE, executor=executor)
            assert (again.parts, again.tracks, again.vias, again.pours) == (
                alone.parts, alone.tracks, alone.vias, alone.pours,
            )  # fmt: skip


def test_parts_that_fit_nowhere_are_refused_with_what_was_found_to_help(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "WAY_OUT", Round(1, 0, 0, 0.3, 12, Effort(rounds=12)))
    with pytest.raises(ModboardError) as refused:
        search(random_board(5, 3, board(9, 8), ("soic-8", "sot23")), rounds=ONE)
    text = str(refused.value)
    assert "\n" not in text and "found to help" in text and "wider and deeper" in text


def test_a_stretched_board_moves_what_lies_beyond_its_middle_and_keeps_every_size() -> None:
    outline = with_post(board(30, 20), 25.0, 15.0, 3.0)
    wishes: dict[str, Wish] = {
        "X0": Fixed((5.0, 5.0)), "X1": Fixed((25.0, 5.0)), "X2": AtEdge("left", along=15.0),
    }  # fmt: skip
    hole = MountingHole((27.0, 4.0), 2.2, 4.5)
    before = random_board(4, 1, outline, CHIPS, wishes=wishes, holes=[hole], cavity=simple_cavity(outline))
    after = stretched(before, 2.0)
    x0, y0, x1, y1 = before.outline.bounds
    assert after.outline.bounds == (x0, y0, x1 + 2.0, y1 + 2.0)
    assert after.wishes["X0"] == wishes["X0"]
    assert after.wishes["X1"] == replace(wishes["X1"], at=(27.0, 5.0))  # type: ignore[arg-type]
    assert after.wishes["X2"] == replace(wishes["X2"], along=17.0)  # type: ignore[arg-type]
    assert after.holes[0].at == (29.0, 4.0) and after.holes[0].diameter == 2.2
    gap = shapely.box(*before.outline.bounds).area - before.outline.area
    assert shapely.box(*after.outline.bounds).area - after.outline.area == pytest.approx(gap, rel=1e-6)
    assert before.cavity is not None and after.cavity is not None
    assert after.cavity.inside.area > before.cavity.inside.area


def test_ways_out_change_what_they_say_and_nothing_else() -> None:
    wishes: dict[str, Wish] = {"X0": AtEdge("left"), "X1": Fixed((12.0, 10.0))}
    before = random_board(4, 1, board(30, 20), CHIPS, wishes=wishes)
    first, second = list(without_wishes(before, frozenset({"X1"})))
    assert first.words.startswith("X1 placed without at=") and first.description.wishes["X1"] == Free()
    assert second.words.startswith("X0 placed without edge=") and second.description.wishes["X1"] == wishes["X1"]
    (both,) = either_side(before)
    assert {w.either for w in both.description.wishes.values() if isinstance(w, Free)} == {True}
    for way in finer_rules(before):
        rules = way.description.rules
        assert rules.track + rules.gap < before.rules.track + before.rules.gap
        assert [n.pins for n in way.description.nets] == [n.pins for n in before.nets]
        assert all(net.track_width >= rules.track and net.gap >= rules.gap for net in way.description.nets)


def etched_at_home(single: bool) -> Description:
    """Return a design for etching at home with a DIP-8 and a header at an edge."""
    design = Design("home", outline=(40, 30), rules=Rules.named("home", one_sided=single))
    design.part("U1", "dip-8", pins="A B C D E F G H")
    design.part("J1", "header-2x2", pins="A B C D")
    for name in "ABCD":
        design.net(name, f"U1.{name} J1.{name}")
    design.place("J1", edge="left")
    return design.described()


@pytest.mark.parametrize("single", [False, True])
def test_boards_etched_at_home_have_ways_out_of_their_own(single: bool) -> None:
    """A way out must be sayable: with the rules or the place that it names, the design describes what was tried."""
    before = etched_at_home(single)
    (finer,) = finer_rules(before)
    rules = finer.description.rules
    assert rules.one_sided is single and not rules.layers_plated and (rules.track, rules.gap) == (0.3, 0.3)
    lands = [land for part in finer.description.parts for land in part.footprint.lands]
    assert min(land.form.width for land in lands if land.hole) < 2.0 <= before.rules.pad_land_min
    assert all(land.opposite for land in lands)
    inset = [way.description.wishes["J1"].inset for way in off_the_edge(before, frozenset({"J1"}))]  # type: ignore[union-attr]
    assert inset == sorted(inset) and min(inset) > 1.2  # a track and two gaps of the rules
    assert not list(off_the_edge(before, frozenset({"U1"})))
    both = list(copper_on_both_sides(before))
    assert len(both) == single == (not list(either_side(before)))
    for way in both:
        assert [p.footprint for p in way.description.parts] == [p.footprint for p in etched_at_home(False).parts]
        assert not way.description.rules.one_sided


@pytest.mark.parametrize("enough", [0.5, 1.0, 2.5, 3.0, 12.0, 13.0])
def test_a_board_is_made_no_wider_than_must_be_and_in_few_trials(enough: float) -> None:
    before = random_board(4, 1, board(30, 20), CHIPS)
    said: list[str] = []
    found = ways_out(
        before, frozenset(), lambda way: way.description.outline.bounds[2] - 30.8 >= enough - 1e-9, said.append
    )
    needed = next((more for more in WIDER if more >= enough), None)
    assert [f for f in found if "wider" in f] == ([f"a board {needed:g} mm wider and deeper"] if needed else [])
    assert sum("wider" in text for text in said) <= (4 if needed else 1)


def test_two_changes_are_tried_together_where_neither_helps_alone() -> None:
    """A board on which only a header further in on 3 mm more room can be had, to the trials' own words."""
    before = etched_at_home(False)
    said: list[str] = []

    def works(way: WayOut) -> bool:
        wish = way.description.wishes["J1"]
        return isinstance(wish, AtEdge) and wish.inset > 3 and way.description.outline.area >= 43 * 33 - 1e-6

    found = ways_out(before, frozenset({"J1"}), works, said.append)
    assert found == ("J1 3.81 mm in from the edge (place(…, inset=3.81)) and a board 3 mm wider and deeper",)


def test_a_header_is_moved_in_as_far_as_the_tracks_of_its_outer_row_need() -> None:
    """By hand: of 2 x 16 pins 16 are in the outer row, 8 tracks each way: 8 x 0.8 + 0.4 = 6.8, in steps of 1.27."""
    design = Design("home", outline=(60, 40), rules="home")
    design.part("J1", "header-2x16", pins=" ".join(f"P{k}" for k in range(32)))
    design.net("A", "J1.P0 J1.P1")
    assert insets(design.described(), ["J1"]) == (*INSETS, 7.62)
    assert insets(etched_at_home(False), ["J1"]) == INSETS


def test_a_way_out_that_came_near_is_gone_on_with(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing comes whole at first sight, the variants with fewest clashes are routed in full."""
    whole = routed_whole()
    seen: list[int] = []

    def look(description: Description, _seed: int, _round: Round, _crowding: Any) -> Sketch:
        clashes = 7 if description.rules.track == 0.3 else 30 + len(seen)
        seen.append(clashes)
        return Sketch(whole.board.parts, clashes, whole.crowded, whole.lattice)

    gone_on: list[float] = []

    def in_full(description: Description, _seed: int, round_: Round, look: Sketch) -> Outcome:
        gone_on.append(look.clashes)
        done = not description.rules.layers_plated and description.rules.track == 0.3 and round_.effort.rounds > 40
        return whole if done else replace(whole, board=replace(whole.board, unrouted=open_ends))

    open_ends = (Unrouted("A", ("U1", "1"), ("J1", "1"), "no room"),)
    monkeypatch.setattr(searching, "first_look", look)
    monkeypatch.setattr(searching, "in_full", in_full)
    found = search(etched_at_home(False), rounds=ONE, executor=InTurn())
    assert "tried and found to help, each alone: finer etching" in found.remarks[0]
    assert gone_on[-2:] == [7, 7]


class InTurn(Executor):
    """Does each job in the calling thread, when its turn comes."""

    def map(self, fn: Any, *jobs: Any, **_more: Any) -> Iterator[Any]:
        return map(fn, *jobs)


def routed_whole() -> Outcome:
    """Return the outcome of a board that comes whole at once."""
    description = buffer_amplifier()
    found = searching.first_look(description, 1, ONE[0], None)
    assert isinstance(found, Outcome)
    return found


@pytest.mark.parametrize(("sound", "rounds", "best"), [(4, 2, 4), (5, 3, 5), (9, 3, 1)])
def test_a_whole_board_with_a_flaw_competes_with_two_more_rounds(
    monkeypatch: pytest.MonkeyPatch, sound: int, rounds: int, best: int
) -> None:
    """The `sound`-th arrangement looked at is longer than those before it, but every lead of it is held."""
    whole = routed_whole()
    asked: list[int] = []

    def look(_description: Description, seed: int, *_more: Any) -> Outcome:
        asked.append(seed)
        number = len(asked)
        board = replace(whole.board, remarks=(f"number {number}",))
        return replace(whole, board=board, flaws=1 if number < sound else 0, score=float(number))

    monkeypatch.setattr(searching, "first_look", look)
    found = search(buffer_amplifier(), rounds=(ONE[0],) * 4, executor=InTurn())
    assert len(asked) == rounds * ONE[0].sketches
    assert found.remarks == (f"number {best}",)


def test_parts_that_hardly_fit_are_placed_with_more_patience(monkeypatch: pytest.MonkeyPatch) -> None:
    whole, asked = routed_whole(), []

    def look(_description: Description, _seed: int, round_: Round, _crowding: Any) -> Outcome | ModboardError:
        asked.append(round_.patient)
        return whole if len(asked) == 5 else NoRoomError("no legal placement found")

    monkeypatch.setattr(searching, "first_look", look)
    assert search(buffer_amplifier(), rounds=ONE, executor=InTurn()) == whole.board
    assert asked == 2 * [False] + 4 * [True]


def test_patience_lasts_for_all_further_rounds(monkeypatch: pytest.MonkeyPatch) -> None:
    whole, asked = routed_whole(), []
    lacking = replace(whole.board, unrouted=(Unrouted("VIN", ("J1", "3"), ("C1", "1"), "no way"),))

    def look(_description: Description, _seed: int, round_: Round, _crowding: Any) -> Sketch | ModboardError:
        asked.append(round_.patient)
        if not round_.patient:
            return NoRoomError("no legal placement found")
        return Sketch(whole.board.parts, 40, whole.crowded, whole.lattice)

    monkeypatch.setattr(searching, "first_look", look)
    monkeypatch.setattr(searching, "in_full", lambda *_asked: replace(whole, board=lacking))
    monkeypatch.setattr(searching, "_tried", lambda *_asked: "")
    search(buffer_amplifier(), rounds=(ONE[0],) * 2, executor=InTurn())
    assert asked == 2 * [False] + (4 + 4 + 1) * [True]


def test_arrangements_that_are_all_hopeless_are_the_last(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = routed_whole()
    lacking = replace(whole.board, unrouted=(Unrouted("VIN", ("J1", "3"), ("C1", "1"), "no way"),))
    hopeless = [True]

    def look(*_asked: Any) -> Sketch:
        return Sketch(whole.board.parts, 400, whole.crowded, whole.lattice, hopeless=hopeless[0])

    monkeypatch.setattr(searching, "first_look", look)
    monkeypatch.setattr(searching, "in_full", lambda *_asked: replace(whole, board=lacking))
    for hopeless[0], count in ((True, 1), (False, 3)):
        said: list[str] = []
        search(buffer_amplifier(), rounds=(ONE[0],) * 3, executor=InTurn(), progress=said.append)
        assert sum("round" in text and "arrangements" in text for text in said) == count
        assert any("too crowded" in text for text in said) == hopeless[0]
