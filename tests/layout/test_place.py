"""Placements checked by distances taken here with shapely, not by the placer's own tests."""

from __future__ import annotations

import random
import re
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Point, Polygon

from modboard.describe.model import AtEdge, Description, Fixed, Free, MountingHole, Near, Obstacle, Wish
from modboard.errors import CallSite, ModboardError, NoRoomError
from modboard.layout.board import PlacedPart
from modboard.layout.place import Congestion, place
from tests.layout.place_cases import (
    board,
    buffer_amplifier,
    chip,
    counter_board,
    described,
    random_board,
    simple_cavity,
    surface_board,
    with_post,
)

CHIPS = ("chip-0805-r", "chip-0805-c", "soic-8", "sot23", "chip-1206-r")
LEADED = ("resistor-axial-7.62", "capacitor-disc-5.08", "to92", "dip-8", "led-3mm", "diode-do35-7.62")


def broken_limits(description: Description, placed: tuple[PlacedPart, ...]) -> list[str]:
    """Return every hard limit that a placement breaks (1 µm is taken as rounding)."""
    rules, found = description.rules, []
    yards = {p.part.reference: Polygon(p.courtyard()) for p in placed}
    for i, a in enumerate(placed):
        name = a.part.reference
        for b in placed[i + 1 :]:
            other = b.part.reference
            if a.side == b.side and (
                yards[name].distance(yards[other]) < rules.part_gap - 1e-6
                or yards[name].intersection(yards[other]).area > 1e-6
            ):
                found.append(f"{name} on {other}")
            for one, two in ((a, b), (b, a)):
                if one.side != two.side:
                    yard = yards[two.part.reference]
                    found += [
                        f"lead of {one.part.reference} under {two.part.reference}"
                        for pad in one.pads({})
                        if pad.hole and pad.shape.polygon().intersection(yard).area > 1e-6
                    ]
        wish = description.wishes.get(name)
        if not isinstance(wish, Fixed | AtEdge):
            if not description.outline.buffer(1e-6).covers(yards[name]):
                found.append(f"{name} off the board")
            elif yards[name].distance(description.outline.boundary) < rules.part_to_edge - 1e-6:
                found.append(f"{name} at the edge")
        for pad in a.pads({}):
            copper = pad.shape.polygon()
            if (
                not description.outline.covers(copper)
                or copper.distance(description.outline.boundary) < rules.copper_to_edge - 1e-4
            ):
                found.append(f"pad of {name} at the edge")
        for hole in description.holes:
            if yards[name].distance(Point(hole.at)) < hole.keep_out / 2 - 1e-6:
                found.append(f"{name} on a mounting hole")
    return found


@settings(max_examples=25, deadline=None)
@given(
    st.integers(2, 14), st.integers(0, 10**6), st.floats(0.35, 0.72), st.sampled_from([CHIPS, LEADED, CHIPS + LEADED])
)
def test_random_parts_are_placed_legally_or_refused(count: int, seed: int, full: float, kinds: tuple[str, ...]) -> None:
    chance = random.Random(seed)
    bare = random_board(count, seed, board(10, 10), kinds)
    area = sum(Polygon(p.footprint.courtyard).area for p in bare.parts)
    width = (area / full * chance.uniform(0.8, 1.6)) ** 0.5
    outline = with_post(board(width + 2, area / full / width + 2), 2.0 + 0.5 * width, 2.5, 3.0)
    hole = MountingHole((outline.bounds[2] - 3.0, outline.bounds[3] - 3.0), 2.2, 4.5)
    wishes: dict[str, Wish] = {"X0": Free(side="bottom"), "X1": Free(turn=90.0)}
    description = random_board(count, seed, outline, kinds, holes=[hole], wishes=wishes)
    try:
        placed = place(description, 1)
    except ModboardError as error:
        assert re.search(r"\d", str(error)) and "\n" not in str(error)
        return
    assert [p.part.reference for p in placed] == [p.reference for p in description.parts]
    assert broken_limits(description, placed) == []
    assert placed[0].side == "bottom" and placed[1].turn == 90.0
    assert all(p.side == "top" for p in placed[1:])


TIGHT = [
    (kinds, count, full)
    for kinds, count, fulls in ((CHIPS, 20, (0.6, 0.7)), (LEADED, 10, (0.6, 0.65)), (CHIPS + LEADED, 20, (0.7, 0.75)))
    for full in fulls
]


def test_patience_finds_places_where_haste_finds_none() -> None:
    """Ten leaded parts that fill 87 % of the room that the edges leave."""
    bare = random_board(10, 4, board(10, 10), LEADED)
    side = (sum(Polygon(p.footprint.courtyard).area for p in bare.parts) / 0.8) ** 0.5 + 1.0
    description = random_board(10, 4, board(side, side), LEADED)

    def placed(seed: int, patient: bool) -> bool:
        try:
            found = place(description, seed, patient=patient)
        except NoRoomError:
            return False
        assert broken_limits(description, found) == []
        return True

    assert not any(placed(seed, patient=False) for seed in (0, 1))
    assert any(placed(seed, patient=True) for seed in (0, 1))  # each has a fair chance, no more


@pytest.mark.parametrize(("kinds", "count", "full"), TIGHT)
def test_tight_boards_are_placed(kinds: tuple[str, ...], count: int, full: float) -> None:
    bare = random_board(count, 3, board(10, 10), kinds)
    area = sum(Polygon(p.footprint.courtyard).area for p in bare.parts)
    width = (area / full * 1.3) ** 0.5
    outline = with_post(board(width + 2, area / full / width + 2), 3.3, 3.3, 2.0)
    description = random_board(count, 3, outline, kinds)
    assert broken_limits(description, place(description, 1)) == []


def test_parts_for_which_either_side_will_do_take_the_second_only_where_one_is_too_full() -> None:
    count, kinds = 16, CHIPS
    bare = random_board(count, 5, board(10, 10), kinds)
    area = sum(Polygon(p.footprint.courtyard).area for p in bare.parts)
    either: dict[str, Wish] = {p.reference: Free(either=True) for p in bare.parts}
    side = (0.75 * area) ** 0.5 + 2  # three quarters of what one side would need at the very least
    with pytest.raises(ModboardError):
        place(random_board(count, 5, board(side, side), kinds), 1)
    description = random_board(count, 5, board(side, side), kinds, wishes=either)
    placed = place(description, 1)
    assert broken_limits(description, placed) == []
    assert {p.side for p in placed} == {"top", "bottom"}
    roomy = random_board(count, 5, board(3 * side, 3 * side), kinds, wishes=either)
    assert sum(p.side == "bottom" for p in place(roomy, 1)) <= count // 4


def test_same_seed_same_placement_and_other_seed_another() -> None:
    one, again, other = (place(surface_board(), seed) for seed in (7, 7, 8))
    assert [(p.at, p.turn) for p in one] == [(p.at, p.turn) for p in again]
    assert [(p.at, p.turn) for p in one] != [(p.at, p.turn) for p in other]


def test_fixed_parts_stand_exactly_where_they_were_wished() -> None:
    wishes: dict[str, Wish] = {
        "J1": Fixed((10.0, 15.0), 90.0, anchor="3"),
        "Q1": Fixed((25.03, 17.01), 180.0, anchor="centre"),
        "R1": Fixed((20.0, 27.0), 0.0),
        "R2": Fixed((30.0, 10.0), 270.0, side="bottom"),
    }
    description = buffer_amplifier(wishes=wishes)
    placed = {p.part.reference: p for p in place(description, 1)}
    pads = {(p.reference, p.number): p.at for part in placed.values() for p in part.pads({})}
    assert pads["J1", "3"] == pytest.approx((10.0, 15.0))
    body = MultiPoint([q for b in placed["Q1"].bodies() for q in b.outline]).bounds
    assert ((body[0] + body[2]) / 2, (body[1] + body[3]) / 2) == pytest.approx((25.03, 17.01))
    assert (placed["R1"].at, placed["R1"].turn, placed["R1"].side) == ((20.0, 27.0), 0.0, "top")
    assert (placed["R2"].at, placed["R2"].turn, placed["R2"].side) == ((30.0, 10.0), 270.0, "bottom")
    assert broken_limits(description, tuple(placed.values())) == []


@pytest.mark.parametrize("wall", ["left", "right", "top", "bottom"])
@pytest.mark.parametrize("inset", [0.0, 1.5, -2.0])
def test_parts_at_an_edge_face_out_and_keep_their_inset(wall: str, inset: float) -> None:
    parts = [("J1", "jack", "phono-jack"), ("J2", "header", "header-1x4"), ("R1", "resistor", "resistor-axial-10.16")]
    nets = {"A": "J1.1 R1.1", "B": "J2.1 R1.2"}
    where: dict[str, float] = {"J1": 12.0}
    wishes: dict[str, Wish] = {
        "J1": AtEdge(wall, along=where["J1"], inset=inset),  # type: ignore[arg-type]
        "J2": AtEdge(wall, inset=max(0.0, inset)),  # type: ignore[arg-type]
    }
    outline = board(40, 40)
    placed = {p.part.reference: p for p in place(described(parts, nets, outline, wishes=wishes), 3)}
    ox0, oy0, ox1, oy1 = outline.bounds
    for name, expected in (("J1", inset), ("J2", max(0.0, inset))):
        x0, y0, x1, y1 = Polygon(placed[name].courtyard()).bounds
        gap = {"left": x0 - ox0, "right": ox1 - x1, "bottom": y0 - oy0, "top": oy1 - y1}[wall]
        assert gap == pytest.approx(expected)
    jack = placed["J1"]
    assert jack.part.footprint.front is not None
    outwards = {"right": 0.0, "top": 90.0, "left": 180.0, "bottom": 270.0}[wall]
    assert (jack.part.footprint.front + jack.turn) % 360 == outwards
    body = MultiPoint([q for b in jack.bodies() for q in b.outline]).bounds
    along = (body[1] + body[3]) / 2 if wall in ("left", "right") else (body[0] + body[2]) / 2
    assert along == pytest.approx(12.0)
    x0, y0, x1, y1 = Polygon(placed["J2"].courtyard()).bounds
    assert (y1 - y0 > x1 - x0) == (wall in ("left", "right"))


def test_a_part_wished_near_a_pad_is_beside_it() -> None:
    description = buffer_amplifier(wishes={"C3": Near("J2", pin="3"), "R5": Near("J1", turn=90.0)})
    placed = {p.part.reference: p for p in place(description, 2)}
    target = next(p for p in placed["J2"].pads({}) if p.number == "3").at
    nearest = min(np.hypot(p.at[0] - target[0], p.at[1] - target[1]) for p in placed["C3"].pads({}))
    assert nearest < 7.0  # half of each courtyard is 1.5 and 3.0 to 4.1 mm
    assert placed["R5"].turn == 90.0
    assert Polygon(placed["R5"].courtyard()).distance(Polygon(placed["J1"].courtyard())) < 3.0


def test_groups_stay_together() -> None:
    members = ["R2", "R4", "C3"]
    loose = place(buffer_amplifier(board(70, 50)), 1)
    tight = place(buffer_amplifier(board(70, 50), groups=[members]), 1)

    def extent(placed: tuple[PlacedPart, ...]) -> float:
        middles = [Polygon(p.courtyard()).centroid for p in placed if p.part.reference in members]
        return float(MultiPoint(middles).convex_hull.length)

    assert extent(tight) <= extent(loose) + 1e-6
    assert extent(tight) < 40.0  # the three side by side, long sides together, are 2 x 12 mm apart at most


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("make", [counter_board, surface_board])
def test_decoupling_capacitors_stand_at_the_supply_pin_of_their_chip(make: object, seed: int) -> None:
    # Common practice: within some 5 mm of lead for surface-mount, a few hole rasters more for leaded parts.
    description = make()  # type: ignore[operator]
    placed = {p.part.reference: p for p in place(description, seed)}
    nets = description.net_of()
    chips = [r for r in placed if r.startswith("U")]
    leaded = placed["C1"].part.footprint.technology == "through-hole"
    for k, _ in enumerate(chips, 1):
        own = next(p.at for p in placed[f"C{k}"].pads(nets) if p.net == "VCC")
        pins = [p.at for chip in chips for p in placed[chip].pads(nets) if p.net == "VCC"]
        assert min(np.hypot(own[0] - x, own[1] - y) for x, y in pins) < (10.0 if leaded else 5.0), f"C{k}"


@pytest.mark.parametrize("seed", [1, 2])
def test_capacitors_to_ground_stand_at_the_rails_of_an_amplifier_between_two(seed: int) -> None:
    # As in application notes of dual-supply amplifiers: 100 nF from each rail to ground, close to the supply pin.
    parts: list[Any] = [
        ("U1", "amplifier", "dip-8", chip("amplifier", 8, (4, 8), ())), ("J1", "header", "header-1x4"),
        ("C1", "capacitor", "capacitor-disc-5.08"), ("C2", "capacitor", "capacitor-disc-5.08"),
        *((f"R{k}", "resistor", "resistor-axial-10.16") for k in range(4)),
    ]  # fmt: skip
    nets = {
        "GND": "J1.1 C1.2 C2.2 R0.2", "VP": "J1.2 C1.1 U1.8", "VN": "J1.3 C2.1 U1.4", "IN": "J1.4 R1.1",
        "A": "R1.2 U1.2 R2.1", "B": "R2.2 U1.1 R3.1", "C": "R3.2 U1.5 R0.1",
    }  # fmt: skip
    description = described(parts, nets, board(50, 40), pours=("GND",))
    placed = {p.part.reference: p for p in place(description, seed)}
    named = description.net_of()
    for capacitor, rail in (("C1", "VP"), ("C2", "VN")):
        own, pin = (next(p.at for p in placed[r].pads(named) if p.net == rail) for r in (capacitor, "U1"))
        assert np.hypot(own[0] - pin[0], own[1] - pin[1]) < 10.0


def half_perimeters(description: Description, placed: tuple[PlacedPart, ...]) -> float:
    """Return the sum over nets that are not poured of the half perimeter of the box round their pads, mm."""
    pads: dict[str, list[tuple[float, float]]] = {}
    for part in placed:
        for pad in part.pads(description.net_of()):
            if pad.net is not None:
                pads.setdefault(pad.net, []).append(pad.at)
    poured = {n.name for n in description.nets if n.pour}
    boxes = [np.ptp(np.array(at), axis=0).sum() for net, at in pads.items() if net not in poured]
    return float(sum(boxes))


@pytest.mark.parametrize("make", [buffer_amplifier, counter_board, surface_board])
def test_nets_are_shorter_than_in_the_best_of_many_random_placements(make: object) -> None:
    description = make(outline=board(80, 70))  # type: ignore[operator]
    found = half_perimeters(description, place(description, 1))
    chance = random.Random(1)
    best = min(half_perimeters(description, thrown(description, chance)) for _ in range(60))
    assert found < best


def thrown(description: Description, chance: random.Random) -> tuple[PlacedPart, ...]:
    """Return a legal placement by throwing part after part until it lies free."""
    x0, y0, x1, y1 = description.outline.bounds
    inner = description.outline.buffer(-description.rules.part_to_edge)
    placed: list[PlacedPart] = []
    for part in description.parts:
        for _ in range(5000):
            put = PlacedPart(
                part, (chance.uniform(x0, x1), chance.uniform(y0, y1)), chance.choice((0.0, 90.0, 180.0, 270.0))
            )
            yard = Polygon(put.courtyard())
            if inner.covers(yard) and all(yard.distance(Polygon(q.courtyard())) >= 0.25 for q in placed):
                placed.append(put)
                break
        else:
            raise AssertionError("the board is too small to throw parts on")
    return tuple(placed)


def test_pads_share_one_raster_where_there_is_room() -> None:
    # But for parts shifted into line with what is off the raster; here all bonds are whole steps of it.
    placed = place(buffer_amplifier(board(50, 40)), 1)
    firsts = np.array([p.to_board(p.part.footprint.lands[0].at) for p in placed])
    steps = (firsts - firsts[0]) / 0.635
    assert np.abs(steps - np.round(steps)).max() < 1e-6


def test_connectors_take_to_the_edge_by_themselves() -> None:
    for make in (buffer_amplifier, counter_board, surface_board):
        description = make()
        for part in place(description, 1):
            if part.part.footprint.family in ("header", "wire-pad"):
                gap = Polygon(part.courtyard()).distance(description.outline.boundary)
                assert gap < description.rules.part_to_edge + 0.7, part.part.reference


def test_crowded_places_are_left_and_spread_gives_room() -> None:
    description = surface_board(outline=board(50, 40))
    penalty = np.zeros((40, 50))
    penalty[:, 25:] = 4.0
    crowding = Congestion((0.8, 0.8), 1.0, penalty)
    right = shapely.box(25.8, 0.8, 50.8, 40.8)

    def share(placed: tuple[PlacedPart, ...]) -> float:
        yards = [Polygon(p.courtyard()) for p in placed]
        return float(sum(y.intersection(right).area for y in yards) / sum(y.area for y in yards))

    assert share(place(description, 1, congestion=crowding)) < 0.05

    def room(placed: tuple[PlacedPart, ...]) -> float:
        yards = [Polygon(p.courtyard()) for p in placed]
        return float(np.mean([min(a.distance(b) for b in yards if b is not a) for a in yards]))

    wide = place(description, 1, spread=0.8)
    assert room(wide) > room(place(description, 1)) + 0.2
    assert broken_limits(description, wide) == []


def test_tall_parts_keep_out_from_under_what_hangs_low() -> None:
    outline = board(60, 40)
    shelf = Obstacle("shelf", shapely.box(0, 0, 40, 50), bottom=10.0, top=20.0)  # 3.0 + 1.6 + 5.4 mm above the floor
    description = buffer_amplifier(outline, cavity=simple_cavity(outline, [shelf]))
    placed = place(description, 1)
    assert broken_limits(description, placed) == []
    low = shelf.outline.buffer(shelf.gap - 1e-6, join_style="mitre")
    for part in placed:
        for body in part.bodies():
            if 3.0 + 1.6 + body.height > 10.0:
                assert not Polygon(body.outline).intersects(low), part.part.reference


def refused(description: Description) -> str:
    """Return what `place` says when it refuses."""
    with pytest.raises(ModboardError) as caught:
        place(description, 1)
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_too_low_a_lid_is_for_the_fit_to_say() -> None:
    # Height over the whole board cannot be mended by placing; the part is placed, so that the finding can be waived.
    outline = board(40, 30)
    placed = place(buffer_amplifier(outline, cavity=simple_cavity(outline, height=13.0)), 1)
    assert len(placed) == len(buffer_amplifier(outline).parts)


def test_refusals_name_the_part_and_what_is_lacking() -> None:
    # two courtyards 3.0 mm deep, 1.0 mm apart in y, where the rule asks for 0.25 between them
    both: dict[str, Wish] = {"R1": Fixed((10.0, 10.0)), "R2": Fixed((12.0, 11.0))}
    assert re.search(r"R1 and R2 are too close \(2\.25 mm more needed\)", refused(buffer_amplifier(wishes=both)))
    placed_at: dict[str, Wish] = {"R1": Fixed((10.0, 10.0)), "R2": Fixed((12.0, 11.0), site=CallSite("d.py", 26))}
    line = refused(buffer_amplifier(wishes=placed_at))  # the line of place(), not of part()
    assert line.startswith("d.py:26: R1 and R2 are too close") and "give R1 or R2 another place()" in line
    off: dict[str, Wish] = {"R1": Fixed((38.0, 10.0))}  # its second pad, 10.16 mm on, is 7.4 mm beyond the edge
    assert re.search(r"pad 2 of R1 is nearer to the board edge than 0\.5 mm", refused(buffer_amplifier(wishes=off)))
    assert "leaves room" not in refused(buffer_amplifier(wishes=off))  # the plain edge has nothing to name
    post = Obstacle("screw post", Point(10.0, 10.0).buffer(3.0))  # the board is cut out round it
    cut = board(40, 30).difference(Point(10.0, 10.0).buffer(4.0))
    on_it: dict[str, Wish] = {"R1": Fixed((10.0, 10.0))}
    line = refused(buffer_amplifier(cut, cavity=simple_cavity(board(40, 30), [post]), wishes=on_it))
    assert 'pad 1 of R1 is nearer to the board edge than 0.5 mm, where the board leaves room for "screw post"' in line
    small = refused(buffer_amplifier(board(22, 16)))
    assert re.search(r"the parts need \d+ mm² on the top but only \d+ mm² are free", small)
    nowhere: dict[str, Wish] = {"J1": AtEdge("left")}
    long = described([("J1", "header", "header-1x10")], {}, board(40, 20), wishes=nowhere)
    assert re.search(r"J1 .* fits nowhere at the left edge, \d+\.\d mm too large", refused(long))
    hole = MountingHole((21.0, 5.0), 3.2, 7.0)
    taken = described(
        [("R1", "resistor", "resistor-axial-10.16")], {}, board(40, 8), holes=[hole], wishes={"R1": Fixed((15.0, 5.0))}
    )
    assert "keep-out of the mounting hole at (21, 5)" in refused(taken)
