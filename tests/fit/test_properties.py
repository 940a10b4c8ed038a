"""What must hold for any board in any room: turning and mirroring change nothing, a smaller room frees nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from modboard.describe.faces import obstacle_to
from modboard.describe.model import AtEdge, CavityModel, Fixing, MountingHole, Obstacle, Opening, Wall, Wish
from modboard.errors import DesignError
from modboard.fit import fit, heights, metal, openings, plan, supports
from modboard.fit.blank import blank_of
from modboard.fit.room import Room
from modboard.layout.board import Board, PlacedPart
from tests.check.build import SITE, box_part
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


AT_MOST = ("opening-line", "opening-reach", "plug-clear", "board-carried")  # rules whose figure must not be more
tolerances = st.sampled_from((None, 0.05, 0.4))


@st.composite
def furnished_boards(draw: st.DrawFn) -> Board:
    """Return the same with everything a room may have besides: each figure with or without a ± of its own.

    Screws, pegs, tabs, steps of floor and lid, legs that carry the board, round posts, slots, plugs, metal, lean walls.
    """
    made = draw(fitted_boards())
    room = made.description.cavity
    assert room is not None
    obstacles = list(room.obstacles)
    for number in range(draw(st.integers(0, 4))):
        x, y = draw(lengths), draw(lengths)
        kind = draw(st.sampled_from(("post", "floor step", "lid step", "leg", "tab", "shield")))
        bottom = {"lid step": 12.0, "shield": 7.0}.get(kind, 0.0)
        top = {"post": draw(st.sampled_from((None, 3.0, 12.0))), "floor step": draw(st.sampled_from((1.0, 3.0))),
               "leg": draw(st.sampled_from((4.0, 3.0))), "tab": 9.0}.get(kind)  # fmt: skip
        at, size = (x + 2.0, y + 1.0), draw(st.integers(1, 4)) + 0.0
        outline = shapely.box(at[0] - size, at[1] - 1.0, at[0] + size, at[1] + 1.0)
        round_ = None
        if kind == "post":
            outline, round_ = shapely.Point(at).buffer(size / 2 / 0.9999247, quad_segs=64), (at, size)
        own = draw(tolerances)
        obstacles.append(
            Obstacle(
                f"{kind} {number}", outline, bottom, top, 0.5, round_, kind,
                metal=draw(st.booleans()), carries=kind == "leg", through=kind == "tab",
                sides_to=() if own is None else (own,) * (len(outline.exterior.coords) - 1),
                bottom_to=draw(tolerances) if bottom else 0.0, top_to=draw(tolerances),
            )
        )  # fmt: skip
    (opening,) = room.openings
    opening = replace(
        opening, plug=draw(st.sampled_from((None, (6.0, 4.0)))), thick=draw(st.sampled_from((0.0, 2.0))),
        side_to=draw(tolerances), top_to=draw(tolerances), depth=draw(st.sampled_from((None, 2.0))),
    )  # fmt: skip
    holes = [MountingHole((10.0, 10.0), 3.2, 6.0)] if draw(st.booleans()) else []
    fixings = [Fixing("M2", (draw(st.sampled_from((10.0, 10.3, 20.0))), 10.0), 2.2, draw(tolerances))]
    full: CavityModel = replace(
        room,
        obstacles=tuple(obstacles),
        openings=(opening,),
        fixings=tuple(fixings if draw(st.booleans()) else ()),
        metal=draw(st.booleans()),
        lean=draw(st.sampled_from((0.0, 0.02))),
        height_to=draw(tolerances),
        board_at_to=draw(st.sampled_from((0.0, 0.2))),
        clear_above=draw(st.sampled_from((None, 7.0))),
        clear_above_to=draw(tolerances),
    )
    return replace(made, description=replace(made.description, cavity=full, holes=tuple(holes)))


def misfits(made: Board) -> dict[tuple[str, str], float]:
    """Return every finding but of the way in, with how far it is from what is asked (0: not said)."""
    room = made.description.cavity
    assert room is not None
    found = {}
    for family in (plan, heights, openings, supports, metal):
        for f in family.inspect(Room(made, room)):
            spare = 0.0 if f.measured is None or f.required is None else f.measured - f.required
            found[(f.rule, f.where)] = -spare if f.rule in AT_MOST else spare
    return found


def carried(made: Board, plan_: Any, walls: dict[Wall, Wall], centre: Any, place: Any) -> Board:
    """Return board and room carried together: `plan_` moves outlines, `centre` an opening's centre, `place` a part."""
    room = made.description.cavity
    assert room is not None

    def point(at: Any) -> tuple[float, float]:
        moved_ = plan_(shapely.Point(at))
        return (round(moved_.x, 9), round(moved_.y, 9))

    moved = replace(
        room,
        inside=plan_(room.inside),
        obstacles=tuple(replace(o, outline=plan_(o.outline)) for o in room.obstacles),
        openings=tuple(replace(o, wall=walls[o.wall], centre=centre(o)) for o in room.openings),
        fixings=tuple(replace(f, at=point(f.at)) for f in room.fixings),
    )
    moved = replace(
        moved,
        obstacles=tuple(
            replace(o, round=None if o.round is None else (point(o.round[0]), o.round[1])) for o in moved.obstacles
        ),
    )
    holes = tuple(replace(h, at=point(h.at)) for h in made.description.holes)
    wishes: dict[str, Wish] = {
        r: replace(w, wall=walls[w.wall]) for r, w in made.description.wishes.items() if isinstance(w, AtEdge)
    }
    described = replace(made.description, cavity=moved, wishes=wishes, holes=holes)
    return replace(made, description=described, outline=plan_(made.outline), parts=tuple(place(p) for p in made.parts))


def told(made: Board) -> list[tuple[str, str, str, float | None, float | None]]:
    """Return what the findings say, but for where on the board, to a tenth of a micrometre."""
    return sorted(
        (f.rule, f.severity, f.where, None if f.measured is None else round(f.measured, 3), f.required)
        for f in fit(made)
    )


@settings(max_examples=40, deadline=None)
@given(st.one_of(fitted_boards(), furnished_boards()))
def test_turning_board_and_room_together_changes_nothing(made: Board) -> None:
    def turned(p: PlacedPart) -> PlacedPart:
        return replace(p, at=(-p.at[1], p.at[0]), turn=p.turn + 90.0)

    def centre(o: Opening) -> float:
        return o.centre if o.wall in ("top", "bottom") else -o.centre

    again = carried(made, lambda g: affinity.affine_transform(g, [0, -1, 1, 0, 0, 0]), TURNED, centre, turned)
    assert told(again) == told(made)


@settings(max_examples=40, deadline=None)
@given(st.one_of(fitted_boards(), furnished_boards()))
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


@settings(max_examples=100, deadline=None)
@given(
    furnished_boards(),
    st.integers(0, 300).map(lambda n: n / 100),
    st.integers(0, 500).map(lambda n: n / 100),
    st.integers(0, 100).map(lambda n: n / 100),
    st.integers(0, 100).map(lambda n: n / 100),
)
def test_smaller_room_never_removes_a_misfit(
    made: Board, narrower: float, lower: float, vaguer: float, thicker: float
) -> None:
    """Walls nearer, lid lower, tolerance larger, obstacles thicker: every misfit stands, and none measures better.

    A part beside a step that grows comes to be under or over it, where heights are measured and no more how far off.
    """
    room = made.description.cavity
    assert room is not None and room.height is not None
    small: CavityModel = replace(
        room,
        inside=room.inside.buffer(-narrower, join_style="mitre"),
        height=room.height - lower,
        measured_to=room.measured_to + vaguer,
        obstacles=tuple(replace(o, outline=o.outline.buffer(thicker, join_style="mitre")) for o in room.obstacles),
    )
    nearer_is_better = ("opening-reach", "plug-clear", "board-carried")  # what must reach a wall or a leg
    before = {key: by for key, by in misfits(made).items() if key[0] not in nearer_is_better}
    after = misfits(replaced(made, small))
    for key, by in before.items():
        upright = {("under-lid", key[1].replace(" and ", " under ")), ("over-floor", key[1].replace(" and ", " over "))}
        if key[0] == "part-to-obstacle" and thicker and upright & set(after):
            continue
        assert key in after and after[key] <= by + 1e-6, key


@settings(max_examples=120, deadline=None)
@given(
    furnished_boards(), st.sampled_from(("measured_to", "height_to", "board_at_to", "sides", "tops", "opening", "at"))
)
def test_tolerance_only_tightens(made: Board, which: str) -> None:
    """Whatever is less sure than before: nothing that was found is found no more, and nothing measures better."""
    room = made.description.cavity
    assert room is not None
    loose: dict[str, Any] = {
        "measured_to": {"measured_to": room.measured_to + 0.2},
        "height_to": {"height_to": room.within(room.height_to) + 0.2},
        "board_at_to": {"board_at_to": max(room.board_at_to, room.measured_to) + 0.2},
        "sides": {
            "obstacles": tuple(
                replace(o, sides_to=tuple(t + 0.2 for t in obstacle_to(o, room))) for o in room.obstacles
            )
        },
        "tops": {"obstacles": tuple(replace(o, top_to=room.within(o.top_to) + 0.2) for o in room.obstacles)},
        "opening": {
            "openings": tuple(
                replace(o, side_to=room.within(o.side_to) + 0.2, top_to=room.within(o.top_to) + 0.2)
                for o in room.openings
            )
        },
        "at": {"fixings": tuple(replace(f, at_to=room.within(f.at_to) + 0.2) for f in room.fixings)},
    }
    before, after = misfits(made), misfits(replaced(made, replace(room, **loose[which])))
    if which in ("measured_to", "tops"):  # legs that are less sure to be short are not said to be
        before = {key: by for key, by in before.items() if key[0] != "board-carried"}
    assert set(before) <= set(after)
    for key, by in before.items():
        assert after[key] <= by + 1e-6, key


@settings(max_examples=30, deadline=None)
@given(furnished_boards())
def test_largest_board_fits_and_none_a_tenth_larger_does(made: Board) -> None:
    """The outline that is offered passes the check in plan; grown by 0.1 mm all round it does not."""
    room = made.description.cavity
    assert room is not None
    bare = replace(room, fixings=(), lean=0.0, obstacles=tuple(o for o in room.obstacles if not o.through))
    try:
        offered = blank_of(bare, made.description.rules, SITE).outline
    except DesignError:  # no useful board is left: it says so
        return

    def in_plan(outline: Any) -> list[str]:
        sized = board(bare, outline=outline)
        return [f.rule for f in plan.inspect(Room(sized, bare)) if f.rule in ("board-to-wall", "board-to-obstacle")]

    assert in_plan(offered) == []
    assert in_plan(offered.buffer(0.1, join_style="mitre")) != []
