"""What must hold for any board in any room: turning and mirroring change nothing, a smaller room frees nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from modboard.describe.model import AtEdge, CavityModel, Obstacle, Opening, Wall, Wish
from modboard.fit import fit
from modboard.layout.board import Board, PlacedPart
from tests.check.build import box_part
from tests.fit.build import board, cavity, replaced

TURNED: dict[Wall, Wall] = {"right": "top", "top": "left", "left": "bottom", "bottom": "right"}
MIRRORED: dict[Wall, Wall] = {"right": "left", "left": "right", "top": "top", "bottom": "bottom"}
lengths = st.integers(0, 400).map(lambda n: n / 10)


@st.composite
def fitted_boards(draw: st.DrawFn) -> Board:
    """Return a board with parts somewhere in a room with obstacles and an opening."""
    obstacles = []
    for number in range(draw(st.integers(0, 3))):
        x, y = draw(lengths), draw(lengths)
        low = draw(st.sampled_from((0.0, 7.0, 9.0)))
        top = draw(st.sampled_from((None, 12.0))) if low else draw(st.sampled_from((None, 3.0, 4.0, 12.0)))
        obstacles.append(Obstacle(f"block {number}", shapely.box(x, y, x + 3.0, y + 2.0), low, top))
    wall: Wall = draw(st.sampled_from(("left", "right", "bottom", "top")))
    opening = Opening("socket", wall, draw(st.integers(10, 30)) + 0.0, draw(st.integers(4, 12)) + 0.0, None, 12.0)
    parts, wishes = [], {}
    for number in range(draw(st.integers(0, 4))):
        reference = f"P{number}"
        leads = [("1", (0.5, 0.0))] if draw(st.booleans()) else []
        parts.append(
            box_part(
                reference,
                (draw(lengths) + 3.0, draw(lengths)),
                (draw(st.integers(2, 8)) + 0.0, draw(st.integers(2, 8)) + 0.0),
                height=draw(st.integers(1, 20)) + 0.0,
                side=draw(st.sampled_from(("top", "bottom"))),
                leads=leads,
                turn=draw(st.sampled_from((0.0, 90.0, 180.0, 270.0))),
            )
        )
        if draw(st.booleans()):
            wishes[reference] = AtEdge(draw(st.sampled_from((wall, "left"))))
    return board(cavity(obstacles=obstacles, openings=[opening]), parts, wishes=wishes)


def carried(made: Board, plan: Any, walls: dict[Wall, Wall], centre: Any, place: Any) -> Board:
    """Return board and room carried together: `plan` moves outlines, `centre` an opening's centre, `place` a part."""
    room = made.description.cavity
    assert room is not None
    moved = replace(
        room,
        inside=plan(room.inside),
        obstacles=tuple(replace(o, outline=plan(o.outline)) for o in room.obstacles),
        openings=tuple(replace(o, wall=walls[o.wall], centre=centre(o)) for o in room.openings),
    )
    wishes: dict[str, Wish] = {
        r: replace(w, wall=walls[w.wall]) for r, w in made.description.wishes.items() if isinstance(w, AtEdge)
    }
    described = replace(made.description, cavity=moved, wishes=wishes)
    return replace(made, description=described, outline=plan(made.outline), parts=tuple(place(p) for p in made.parts))


def told(made: Board) -> list[tuple[str, str, str, float | None, float | None]]:
    """Return what the findings say, but for where on the board, to a tenth of a micrometre."""
    return sorted(
        (f.rule, f.severity, f.where, None if f.measured is None else round(f.measured, 4), f.required)
        for f in fit(made)
    )


@settings(max_examples=100, deadline=None)
@given(fitted_boards())
def test_turning_board_and_room_together_changes_nothing(made: Board) -> None:
    def turned(p: PlacedPart) -> PlacedPart:
        return replace(p, at=(-p.at[1], p.at[0]), turn=p.turn + 90.0)

    def centre(o: Opening) -> float:
        return o.centre if o.wall in ("top", "bottom") else -o.centre

    again = carried(made, lambda g: affinity.affine_transform(g, [0, -1, 1, 0, 0, 0]), TURNED, centre, turned)
    assert told(again) == told(made)


@settings(max_examples=100, deadline=None)
@given(fitted_boards())
def test_mirroring_board_and_room_together_changes_nothing(made: Board) -> None:
    def mirrored(p: PlacedPart) -> PlacedPart:
        """The blocks' one lead at (0.5, 0) is mirrored in the footprint, then the turn runs the other way."""
        footprint = p.part.footprint
        lands = tuple(
            replace(
                land,
                at=(-land.at[0], land.at[1]),
                hole=replace(land.hole, at=(-land.hole.at[0], land.hole.at[1])) if land.hole else None,
            )
            for land in footprint.lands
        )
        part = replace(p.part, footprint=replace(footprint, lands=lands))
        return replace(p, part=part, at=(-p.at[0], p.at[1]), turn=-p.turn)

    def centre(o: Opening) -> float:
        return o.centre if o.wall in ("left", "right") else -o.centre

    again = carried(made, lambda g: affinity.scale(g, -1, 1, origin=(0, 0)), MIRRORED, centre, mirrored)
    assert told(again) == told(made)


@settings(max_examples=150, deadline=None)
@given(
    fitted_boards(),
    st.integers(0, 300).map(lambda n: n / 100),
    st.integers(0, 500).map(lambda n: n / 100),
    st.integers(0, 100).map(lambda n: n / 100),
    st.integers(0, 100).map(lambda n: n / 100),
)
def test_smaller_room_never_removes_a_misfit(
    made: Board, narrower: float, lower: float, vaguer: float, thicker: float
) -> None:
    """Walls nearer, lid lower, tolerance larger, obstacles thicker: every error stands, and none measures better."""
    room = made.description.cavity
    assert room is not None and room.height is not None
    small: CavityModel = replace(
        room,
        inside=room.inside.buffer(-narrower, join_style="mitre"),
        height=room.height - lower,
        measured_to=room.measured_to + vaguer,
        obstacles=tuple(replace(o, outline=o.outline.buffer(thicker, join_style="mitre")) for o in room.obstacles),
    )
    before = {(f.rule, f.where): f for f in fit(made) if f.severity == "error"}
    after = {(f.rule, f.where): f for f in fit(replaced(made, small)) if f.severity == "error"}
    assert set(before) <= set(after)
    for key, finding in before.items():
        ahead, behind = finding, after[key]
        if ahead.measured is not None and behind.measured is not None and ahead.required is not None:
            assert behind.required is not None
            assert behind.measured - behind.required <= ahead.measured - ahead.required + 1e-6
