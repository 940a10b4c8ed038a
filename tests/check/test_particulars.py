"""What rules must not fire at, and how findings are worded."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork, Flash, Owner, Stroke
from modboard.check import check
from modboard.describe.model import AtEdge, MountingHole
from tests.artwork.boards import moved_mark, turned_mark
from tests.check.build import (
    RULES,
    SQUARE,
    Scene,
    bare_hole,
    box_part,
    drill,
    findings,
    net,
    opening,
    pad,
    pour,
    ring_of,
    round_land,
    scene,
    track,
    via,
)
from tests.check.limits_copper import ring_off_centre

MICROMETRE = 1e-3  # mm
A, B = net("A"), net("B")


def test_ring_text_and_figures_of_one_finding() -> None:
    (top, bottom) = findings(ring_off_centre(-0.05), "annular-ring")
    assert (top.where, bottom.where) == ("X1 pin 1, bottom", "X1 pin 1, top")
    assert top.measured == pytest.approx(0.30, abs=1e-6) and top.required == 0.35


def test_same_net_web_is_a_warning_and_common_opening_is_fine() -> None:
    lands = [pad("A", (10, 10), round_land(1.0)), pad("A", (11.3, 10), round_land(1.0), name="X1.2")]
    made = scene(top=lands, mask=[opening(land, 0.1) for land in lands], nets=[A])
    assert [f.severity for f in findings(made, "mask-web")] == ["warning"]
    merged = scene(top=lands, mask=[opening(land, 0.2) for land in lands], nets=[A])
    assert findings(merged, "mask-web") == []


def test_part_at_edge_may_overhang_the_edge_it_was_asked_to() -> None:
    part = box_part("P1", (39, 20), (4, 4))
    assert findings(scene(parts=[part]), "part-off-board")
    made = scene(parts=[part], wishes={"P1": AtEdge("right", inset=-1.0)})
    assert not findings(made, "part-off-board") and not findings(made, "part-to-edge")


def test_parts_on_two_sides_do_not_collide_unless_leads_reach_through() -> None:
    top, bottom = box_part("P1", (10, 10), (4, 4)), box_part("P2", (10, 10), (4, 4), side="bottom")
    assert findings(scene(parts=[top, bottom]), "courtyard-overlap") == []
    leaded = box_part("P1", (10, 10), (4, 4), leads=[("1", (1, 1))])
    assert len(findings(scene(parts=[leaded, bottom]), "courtyard-overlap")) == 1


def test_profile_must_follow_the_outline_and_close() -> None:
    board, art = scene()
    assert findings((board, art), "profile") == []
    points = tuple((float(x), float(y)) for x, y in SQUARE.exterior.coords)
    for wrong in (points[:-1], (*points[:2], (40.0, 39.0), *points[3:])):
        drawn = replace(art.layers[-1], features=(Stroke(wrong, 0.1, "profile"),))
        assert findings((board, replace(art, layers=(*art.layers[:-1], drawn))), "profile"), wrong
    nothing = replace(art.layers[-1], features=())
    assert findings((board, replace(art, layers=(*art.layers[:-1], nothing))), "profile")


def test_pour_island_and_spokes() -> None:
    """A square pour round a land, joined by as many strips as said; gap 0.4 round a land of 1.6."""

    def poured(strips: int) -> Scene:
        land = pad("A", (20, 20), round_land(1.6), through=True)
        area = shapely.box(10, 10, 30, 30).difference(shapely.Point(20, 20).buffer(1.2, quad_segs=32))
        ways = [(19.8, 20, 20.2, 22), (20, 19.8, 22, 20.2), (19.8, 18, 20.2, 20)]
        area = shapely.union_all([area, *[shapely.box(*way) for way in ways[:strips]]])
        asked = net("A", [("X1", "1")])
        return scene(top=[land], bottom=[land, pour("A", area)], drills=[drill("A", (20, 20), 0.8)], nets=[asked])

    assert len(findings(poured(0), "pour-island")) == 1
    assert findings(poured(1), "pour-island") == []
    assert [f.measured for f in findings(poured(0), "thermal-spokes")] == [0]
    assert [f.measured for f in findings(poured(1), "thermal-spokes")] == [1]
    assert findings(poured(2), "thermal-spokes") == [] == findings(poured(3), "thermal-spokes")


def test_narrow_corner_of_a_pour_is_no_neck() -> None:
    spike = shapely.Polygon([(10, 10), (20, 10), (20, 12)])
    assert findings(scene(top=[pour("A", spike)], nets=[A]), "pour-neck") == []


def test_pour_too_thin_all_along_is_found() -> None:
    thin = scene(top=[pour("A", shapely.box(10, 10, 20, 10.2))], nets=[A])
    (found,) = findings(thin, "pour-neck")
    assert found.measured == pytest.approx(0.2, abs=2.1e-4)


def test_via_with_copper_on_one_side_only_leads_nowhere() -> None:
    land, hole = via("A", (10, 10))
    wire = track("A", (10, 10), (20, 10))
    one = scene(top=[land, wire], bottom=[land], drills=[hole], nets=[A])
    both = scene(top=[land, wire], bottom=[land, wire], drills=[hole], nets=[A])
    assert len(findings(one, "dangling-via")) == 1
    assert findings(both, "dangling-via") == []


def test_short_through_a_plated_hole_without_land() -> None:
    made = scene(bottom=[track("B", (9, 10), (11, 10))], drills=[drill("A", (10, 10), 0.8)], nets=[A, B])
    (short,) = findings(made, "short")
    assert short.where == "between the track of B and X1 pin 1, bottom"


def test_pads_on_no_net_must_keep_apart_too() -> None:
    lands = [pad("", (10, 10), round_land(1.0)), pad("", (11.1, 10), round_land(1.0), name="X1.2")]
    assert len(findings(scene(top=lands), "copper-gap")) == 1
    same = [pad("", (10, 10), round_land(1.0)), pad("", (11.1, 10), round_land(1.0))]
    assert findings(scene(top=same), "copper-gap") == []


def test_one_finding_for_a_fault_seen_on_both_layers() -> None:
    one, other = via("A", (10, 10))[0], via("B", (11.2, 10))[0]
    found = findings(scene(top=[one, other], bottom=[one, other], nets=[A, B]), "copper-gap")
    assert [f.where.rpartition(", ")[2] for f in found] == ["top and bottom"]


def test_home_etched_lands_must_be_large() -> None:
    rules = replace(RULES, pad_land_min=2.0)
    land = pad("A", (10, 10), round_land(2.0 - MICROMETRE), through=True)
    small = scene(top=[land], bottom=[land], drills=[drill("A", (10, 10), 0.8)], nets=[A], rules=rules)
    assert len(findings(small, "land-size")) == 2
    land = pad("A", (10, 10), round_land(2.0), through=True)
    large = scene(top=[land], bottom=[land], drills=[drill("A", (10, 10), 0.8)], nets=[A], rules=rules)
    assert findings(large, "land-size") == []


def test_washer_land_may_lie_round_its_hole() -> None:
    washer = Flash(round_land(6.0), (10, 10), 0.0, "washer-pad", Owner())
    made = scene(top=[washer], drills=[bare_hole((10, 10), 3.2)], holes=[MountingHole((10, 10), 3.2, 6.0, "screw")])
    assert not findings(made, "bare-hole-to-copper") and not findings(made, "keep-out")


def test_courtyards_need_not_be_square_to_the_board() -> None:
    """A 4 mm square on its corner reaches 2√2 from its centre; add 2.0 and the part gap of 0.25."""
    reach = 2 * math.sqrt(2) + 0.25 + 2.0
    for short, count in ((MICROMETRE, 1), (-MICROMETRE, 0)):
        parts = [box_part("P1", (10, 10), (4, 4), turn=45.0), box_part("P2", (10 + reach - short, 10), (4, 4))]
        assert len(findings(scene(parts=parts), "courtyard-overlap")) == count
    assert ring_of(4, 4)[0] == (-2, -2)


def without(artwork: Artwork, stroke: Stroke) -> Artwork:
    """Return the artwork less one stroke of its upper legend."""
    legend = artwork.layer("legend-top")
    rest = replace(legend, features=tuple(f for f in legend.features if f is not stroke))
    return replace(artwork, layers=tuple(rest if layer is legend else layer for layer in artwork.layers))


def test_a_mark_turned_about_its_land_counts_and_its_ink_is_looked_for() -> None:
    board = turned_mark()
    artwork = draw(board)
    assert not [f for f in check(board, artwork) if f.rule.startswith("mark-")]
    outlines = shapely.union_all(
        [shapely.LineString(board.parts[0].points(p)) for p in board.parts[0].part.footprint.legend]
    )
    own = [f for f in artwork.features("legend-top") if f.owner.reference == "J1" and isinstance(f, Stroke)]
    (mark,) = [f for f in own if not f.text and not outlines.buffer(1e-6).covers(f.shape.core)]
    assert [f.rule for f in check(board, without(artwork, mark)) if f.rule.startswith("mark-")] == ["mark-unplaced"]


def test_a_mark_moved_beside_the_body_counts_and_its_ink_is_looked_for() -> None:
    board = moved_mark()
    artwork, part = draw(board), board.parts[0].part
    assert not [f for f in check(board, artwork) if f.rule.startswith("mark-")]
    inks = [f for f in artwork.features("legend-top") if isinstance(f, Stroke) and not f.text and f.owner.reference]
    mark = min(inks, key=lambda f: f.shape.core.length)
    assert mark.shape.core.length == pytest.approx(shapely.LineString(part.footprint.mark[0]).length)
    assert mark.shape.core.centroid.x == pytest.approx(3.2), "level with pin 1"
    assert [f.rule for f in check(board, without(artwork, mark)) if f.rule.startswith("mark-")] == ["mark-unplaced"]


def test_neck_that_a_track_of_the_net_fills_is_the_affair_of_the_track() -> None:
    discs = [shapely.Point(15 + side * 1.12, 15).buffer(1.0, quad_segs=256) for side in (-1, 1)]
    area = pour("A", shapely.box(5, 5, 25, 25).difference(shapely.union_all(discs)))  # 0.24 between the two
    (found,) = findings(scene(bottom=[area], nets=[A]), "pour-neck")
    assert found.measured == pytest.approx(0.24, abs=2.1e-3)
    through = track("A", (15, 12), (15, 18), width=0.24)
    assert findings(scene(bottom=[area, through], nets=[A]), "pour-neck") == []
    beside = track("A", (12, 18), (18, 18), width=0.24)
    assert len(findings(scene(bottom=[area, beside], nets=[A]), "pour-neck")) == 1


def test_branch_that_rounding_leads_past_its_joint_is_no_crossing() -> None:
    host = track("A", (11.303, 15.24), (12.573, 13.97), (12.573, 11.568629), width=0.4)
    branch = track("A", (15.875, 17.526), (12.446, 14.097), width=0.4)
    assert findings(scene(bottom=[host, branch], nets=[A]), "acute-angle") == []
    beyond = track("A", (15.875, 17.526), (11.946, 13.597), width=0.4)
    assert findings(scene(bottom=[host, beyond], nets=[A]), "acute-angle") != []
