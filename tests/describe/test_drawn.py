"""Copper drawn by hand and areas kept free: what is taken over, and how mistakes are answered."""

from __future__ import annotations

import pytest

from modboard import Design, Rules
from modboard.errors import DesignError


def board(rules: str = "pool") -> Design:
    design = Design("drawn", outline=(40, 30), rules=rules)
    design.part("R1", "resistor", "1k")
    design.part("R2", "resistor", "1k")
    design.net("A", "R1.1 R2.1")
    design.net("B", "R1.2 R2.2", width=0.8)
    return design


def test_what_is_drawn_is_described() -> None:
    design = board()
    design.track("B", [(5, 5), (15, 5)], side="bottom")
    design.via("A", at=(20, 20))
    design.keep_out((25, 5, 30, 10), "tracks parts", side="top", name="coil")
    design.keep_out(at=(10, 20), diameter=4)
    described = design.described()
    assert described.drawn_tracks[0].width == 0.8  # the net's own
    assert (described.drawn_tracks[0].side, described.drawn_vias[0].at) == ("bottom", (20, 20))
    assert [(k.bars, k.sides) for k in described.keep_outs] == [
        (("tracks", "parts"), ("top",)),
        (("tracks", "vias", "pours", "lands", "parts"), ("top", "bottom")),
    ]


MISTAKES = {
    "net": (lambda b: b.track("AA", [(5, 5), (9, 5)]), 'there is no net "AA"; did you mean A?'),
    "one point": (lambda b: b.track("A", [(5, 5)]), "needs two points or more"),
    "no length": (lambda b: b.track("A", [(5, 5), (5, 5), (9, 9)]), "a piece of no length at (5, 5)"),
    "off the board": (lambda b: b.track("A", [(5, 5), (45, 5)]), "is not on the board"),
    "near the edge": (lambda b: b.track("A", [(5, 0.3), (9, 0.3)]), "keeps 0.5 mm from its edge"),
    "thin": (lambda b: b.track("A", [(5, 5), (9, 5)], width=0.2), "thinner than the 0.25 mm that rules pool allow"),
    "side": (lambda b: b.track("A", [(5, 5), (9, 5)], side="left"), "side"),
    "bars": (lambda b: b.keep_out((1, 1, 5, 5), "wires"), "is not known"),
    "area": (lambda b: b.keep_out((5, 1, 1, 5)), "this one has no area"),
    "no area": (lambda b: b.keep_out(), "give either an area"),
    "diameter": (lambda b: b.keep_out(at=(5, 5)), "at= needs diameter="),
    "both": (lambda b: b.net("A", quiet=True, noisy=True), "both quiet and noisy"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_answered_at_its_line(name: str) -> None:
    call, words = MISTAKES[name]
    design = board()
    with pytest.raises(DesignError) as caught:
        call(design)
        design.described()
    assert words in str(caught.value)
    assert str(caught.value).startswith("test_drawn.py:")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("apart", "accepted"), [(0.499, False), (0.501, True)])
def test_tracks_of_two_nets_keep_their_gap(apart: float, accepted: bool) -> None:
    design = board()
    design.track("A", [(5, 5), (15, 5)], width=0.25)
    design.track("B", [(5, 5 + apart), (15, 5 + apart)], width=0.25)  # 0.25 of copper, so a gap of 0.25 less 1 µm
    if accepted:
        assert len(design.described().drawn_tracks) == 2
    else:
        with pytest.raises(DesignError, match=r"keep 0\.25 mm apart"):
            design.described()


def test_a_track_does_not_enter_a_keep_out() -> None:
    design = board()
    design.keep_out((8, 3, 12, 7), "tracks", side="top", name="coil")
    design.track("A", [(5, 5), (15, 5)])
    with pytest.raises(DesignError, match='enters the keep-out "coil"'):
        design.described()


def test_one_sided_boards_refuse_what_they_cannot_have() -> None:
    for spoil, words in (
        (lambda d: d.via("A", at=(20, 20)), "has none"),
        (lambda d: d.track("A", [(5, 5), (9, 5)]), 'say side="bottom"'),
        (lambda d: d.place("R1", at=(5, 5), side="bottom"), "stand on top"),
    ):
        design = Design("single", outline=(60, 50), rules=Rules.named("home", one_sided=True))
        for reference in ("R1", "R2"):
            design.part(reference, "resistor", "1k")
        design.net("A", "R1.1 R2.1")
        spoil(design)
        with pytest.raises(DesignError, match=words):
            design.described()
