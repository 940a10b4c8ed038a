"""Ink keeps off copper that takes solder, off holes and off the edge, whatever the board looks like."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from shapely import affinity
from shapely.geometry import LineString, MultiLineString

from modboard.artwork.draw import draw
from modboard.artwork.font import text
from modboard.artwork.labels import Room
from modboard.artwork.legend import LEGEND_TO_EDGE
from modboard.artwork.model import Artwork, Flash, LayerName, Stroke
from modboard.artwork.net_names import is_connector
from modboard.describe.model import PinRef
from modboard.geometry import TOLERANCE, circle
from modboard.layout.board import COPPER_LAYERS, Board, PlacedPart
from tests.artwork.boards import strewn, strewn_boards
from tests.sample import sample_artwork, sample_board

# A published capability table's easy column: legend 0.15 mm from exposed copper; ours for the sample's rules too.
LEGEND_TO_COPPER = 0.15


def least_distances(artwork: Artwork) -> tuple[float, float, float]:
    """Return the least distance in mm from ink to mask openings, to hole walls, and to the edge from inside."""
    to_opening = to_hole = to_edge = float("inf")
    outline = artwork.board.outline
    for side in COPPER_LAYERS:
        inks = list(artwork.features(f"legend-{side}"))  # type: ignore[arg-type]
        openings = [f.shape for f in artwork.features(f"mask-{side}")]  # type: ignore[arg-type]
        for ink in inks:
            to_opening = min([to_opening, *(ink.shape.distance(o) for o in openings)])
            to_hole = min([to_hole, *(ink.shape.distance(d.shape) for d in artwork.drills)])
            inside = ink.shape.core.distance(outline.boundary) if outline.covers(ink.shape.core) else -1.0
            to_edge = min(to_edge, inside - ink.shape.radius)
    return to_opening, to_hole, to_edge


def test_ink_of_the_sample_keeps_its_distances() -> None:
    to_opening, to_hole, to_edge = least_distances(sample_artwork())
    assert to_opening >= LEGEND_TO_COPPER - TOLERANCE
    assert to_hole > 0
    assert to_edge >= LEGEND_TO_EDGE - 1e-4, "the edge is moved inwards in chords of at most 0.1 µm sag"


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(strewn_boards())
def test_ink_keeps_its_distances_on_any_board(board) -> None:  # type: ignore[no-untyped-def]
    to_opening, to_hole, to_edge = least_distances(draw(board))
    assert to_opening >= LEGEND_TO_COPPER - TOLERANCE
    assert to_hole > 0
    assert to_edge >= LEGEND_TO_EDGE - 1e-4


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(strewn_boards())
def test_a_reference_is_printed_whole_or_reported(board) -> None:  # type: ignore[no-untyped-def]
    artwork = draw(board)
    for placed in board.parts:
        reference = placed.part.reference
        found = printed_texts(artwork, reference, reference)
        assert found == (reference not in artwork.unplaced_references), reference
        own, others, led = round_a_reference(artwork, placed)
        # Common practice: it stands by its own part, not by another, or a line leads from it.
        assert not found or led or own < others + 0.1, reference


def round_a_reference(artwork: Artwork, placed: PlacedPart) -> tuple[float, float, bool]:
    """Return how near the box round a printed reference comes to its own part and to others, and if a line leads off.

    Parts are their bodies and lands on that side; distances in mm.
    """
    board, reference, side = artwork.board, placed.part.reference, placed.side
    layer: LayerName = "legend-top" if side == "top" else "legend-bottom"
    inks = [f for f in artwork.features(layer) if isinstance(f, Stroke) and f.owner.reference == reference]
    letters = shapely.union_all([f.shape.core for f in inks if f.text == reference]).envelope
    drawn = shapely.union_all(
        [LineString(placed.points(line)) for line in (*placed.part.footprint.legend, *placed.part.footprint.mark)]
    )
    lines = [f.shape.core for f in inks if not f.text and not drawn.buffer(1e-6).covers(f.shape.core)]
    areas = [(p.part.reference, shapely.Polygon(b.outline)) for p in board.parts if p.side == side for b in p.bodies()]
    areas += [(pad.reference, pad.shape.covering_polygon()) for pad in board.pads if side in pad.layers]
    own = min(letters.distance(area) for owner, area in areas if owner == reference)
    return own, min((letters.distance(a) for owner, a in areas if owner != reference), default=np.inf), bool(lines)


def test_a_reference_without_room_beside_its_part_stands_off_and_a_line_leads_to_it() -> None:
    # The middle one of a three by three block, closer together than a text is high; there is room only round the block.
    at = [15.0 + 3.8 * k for k in (-1, 0, 1)]
    block = [("C", x, y, 0.0, "top") for y in [15.0 + 1.9 * k for k in (-1, 0, 1)] for x in at]
    board = strewn(block, 30.0, 30.0)  # type: ignore[arg-type]
    artwork = draw(board)
    assert artwork.unplaced_references == ()
    (middle,) = [p for p in board.parts if p.at == (15.0, 15.0)]
    reference = middle.part.reference
    inks = [f for f in artwork.features("legend-top") if isinstance(f, Stroke) and f.owner.reference == reference]
    letters = shapely.union_all([f.shape.core for f in inks if f.text == reference])
    outlines = [LineString(middle.points(line)) for line in middle.part.footprint.legend]
    lines = [
        f.shape.core for f in inks if not f.text and not any(o.buffer(1e-6).covers(f.shape.core) for o in outlines)
    ]
    (leader,) = lines
    lands = [pad.shape for pad in board.pads if pad.reference == reference]
    assert letters.distance(leader) < 0.6
    assert min(shape.core.distance(leader) - shape.radius for shape in lands) < 1.0
    strangers = [pad.shape for pad in board.pads if pad.reference != reference]
    assert min(shape.core.distance(leader) - shape.radius for shape in strangers) > LEGEND_TO_COPPER
    others = [f.shape.core for f in artwork.features("legend-top") if f.text and f.text != reference]
    assert min(leader.distance(o) for o in others) > 0.15


def printed_texts(artwork: Artwork, reference: str, string: str) -> bool:
    """Tell whether all letters of `string` stand unbroken among the strokes owned by `reference`."""
    mirrored = next(p.side for p in artwork.board.parts if p.part.reference == reference) == "bottom"
    layer = "legend-bottom" if mirrored else "legend-top"
    strokes = [f.points for f in artwork.features(layer) if f.owner.reference == reference and isinstance(f, Stroke)]
    for height in (1.25, 1.0):  # the smallest is what the rules allow
        for turn in (0.0, 270.0 if mirrored else 90.0):
            wanted = text(string, (0.0, 0.0), height, turn, mirrored, "centre")
            for first in strokes:
                dx, dy = first[0][0] - wanted[0][0][0], first[0][1] - wanted[0][0][1]
                moved = [tuple((round(x + dx, 6), round(y + dy, 6)) for x, y in line) for line in wanted]
                have = {tuple((round(x, 6), round(y, 6)) for x, y in s) for s in strokes}
                near = [any(LineString(m).equals_exact(LineString(h), 1e-5) for h in have) for m in moved]
                if all(near):
                    return True
    return False


def test_every_reference_of_the_sample_is_printed() -> None:
    artwork = sample_artwork()
    assert artwork.unplaced_marks == artwork.unplaced_references == ()
    assert all(printed_texts(artwork, p.part.reference, p.part.reference) for p in sample_board().parts)


def test_texts_do_not_touch_each_other() -> None:
    """Strokes of different owners' texts keep a pen's width apart at least: else they cannot be read."""
    artwork = sample_artwork()
    by_pad: dict[object, list[Stroke]] = {}
    for feature in artwork.features("legend-bottom"):  # nothing but texts and the chip's two short lines
        if isinstance(feature, Stroke):
            by_pad.setdefault(feature.owner, []).append(feature)
    groups = [MultiLineString([s.points for s in strokes]) for owner, strokes in by_pad.items()]
    pen = artwork.board.description.rules.legend_line
    gaps = [a.distance(b) - pen for i, a in enumerate(groups) for b in groups[:i]]
    assert len(groups) >= 8 and min(gaps) >= 0.0


def test_the_solder_side_names_the_nets_of_every_connector_pad() -> None:
    named = {(f.owner.reference, f.owner.number, f.owner.net) for f in sample_artwork().features("legend-bottom")}
    pads = [p for p in sample_board().pads if p.reference in ("J1", "J2")]
    assert {(p.reference, p.number, p.net) for p in pads} <= named


def test_connectors_are_known_by_their_reference_letters() -> None:
    """J, P, W, X, E, TB, TP: connectors, cables, terminals, test points in IEEE 315 (from memory); Y is a crystal."""
    by_reference = {p.part.reference: is_connector(p.part) for p in sample_board().parts}
    assert by_reference == {
        "U1": False,
        "R1": False,
        "R2": False,
        "C1": False,
        "C2": False,
        "J1": True,
        "J2": True,
    }


def test_outlines_are_cut_without_blots() -> None:
    """A cut outline leaves no crumb shorter than 0.4 mm; letters have shorter strokes, but are never cut."""
    artwork = sample_artwork()
    outlines = [p.points(line) for p in sample_board().parts for line in p.part.footprint.legend]
    drawn = shapely.union_all([LineString(o) for o in outlines]).buffer(1e-6)
    lengths = [
        f.shape.core.length for f in artwork.features("legend-top") if f.owner.reference and drawn.covers(f.shape.core)
    ]
    assert lengths and min(lengths) >= 0.4


def test_a_mark_that_cannot_be_printed_is_reported() -> None:
    """The header's pin-1 mark falls off the board when its pad 1 is at the lower edge, and there is none beside it."""
    board = strewn([("J", 1.8, 1.6, 0.0, "top")], 3.6, 12.0)
    assert "J1" in draw(board).unplaced_marks
    assert "J1" not in draw(strewn([("J", 1.8, 4.0, 0.0, "top")], 3.6, 12.0)).unplaced_marks


def test_a_mark_that_would_fall_off_the_board_stands_on_another_side_of_its_land() -> None:
    board = strewn([("J", 6.0, 1.6, 0.0, "top")], 12.0, 12.0)
    artwork = draw(board)
    assert artwork.unplaced_marks == ()
    (header,) = board.parts
    outlines = shapely.union_all([LineString(header.points(line)) for line in header.part.footprint.legend])
    inks = [f for f in artwork.features("legend-top") if f.owner.reference == "J1" and isinstance(f, Stroke)]
    (mark,) = [f for f in inks if not f.text and not f.owner.number and not outlines.buffer(1e-6).covers(f.shape.core)]
    pads = {p.number: p.shape for p in board.pads if p.reference == "J1"}
    assert min(pads, key=lambda number: pads[number].distance(mark.shape)) == "1"
    assert mark.shape.core.distance(shapely.Polygon(header.bodies()[0].outline)) > 0.0
    assert mark.shape.core.length == pytest.approx(LineString(header.part.footprint.mark[0]).length)


def test_bottom_texts_are_mirrored() -> None:
    artwork = sample_artwork()
    assert printed_texts(artwork, "C2", "C2")
    strokes = [f.points for f in artwork.features("legend-bottom") if f.owner.reference == "C2"]
    plain = text("C2", (0.0, 0.0), 1.25, align="centre")
    shifted = [{(round(x - s[0][0], 4), round(y - s[0][1], 4)) for x, y in s} for s in strokes]
    (x0, y0) = plain[0][0]
    assert {(round(x - x0, 4), round(y - y0, 4)) for x, y in plain[0]} not in shifted


@pytest.mark.parametrize("side", COPPER_LAYERS)
def test_eighty_parts_are_lettered_quickly_and_nearly_all_find_room(side: str) -> None:
    choices = [("C", 2.5 + 5.0 * (k % 10), 2.5 + 4.0 * (k // 10), 0.0, side) for k in range(80)]
    board = strewn(choices, 52.0, 33.0)  # type: ignore[arg-type]
    begun = time.process_time()
    artwork = draw(board)
    seconds = time.process_time() - begun
    assert artwork.unplaced_marks == artwork.unplaced_references == ()
    assert seconds < 3.0, "0.5 s on a quiet machine; the test guards against a growth in kind"


def test_drawing_twice_gives_the_same_features() -> None:
    first, second = draw(sample_board()), draw(sample_board())
    assert repr(first.layers) == repr(second.layers) and first.drills == second.drills
    assert not re.search(r"\bnan\b", repr(first.layers))


def test_outlines_break_over_a_tented_hole() -> None:
    """The resistor's outline has its lower edge at y = 8.75; a via under the mask there has a wall to keep off."""
    artwork = draw(strewn([("R", 5.0, 10.0, 0.0, "top")], 20.0, 20.0, ((10.0, 8.75),), hole=0.3))
    assert all(f.at != (10.0, 8.75) for f in artwork.features("mask-top") if isinstance(f, Flash)), "tented"
    wall = circle((10.0, 8.75), 0.3)
    inks = [f.shape for f in artwork.features("legend-top")]
    assert 0.0 < min(ink.distance(wall) for ink in inks) < 0.5


def test_a_net_name_stands_nearest_to_its_own_land() -> None:
    """A board 5 mm wide has no room beside the header, only past its ends: the middle land's name must not go there."""
    board = strewn([("J", 2.5, 8.0, 0.0, "top")], 5.0, 22.0)
    ends, middle = draw(board), draw(only_on_net(board, ("J1", "2")))
    assert {ink.owner.number for ink in ends.features("legend-top", "legend-bottom")} - {""} == {"1", "3"}
    assert {ink.owner.number for ink in middle.features("legend-top", "legend-bottom")} == {""}
    pads = {p.number: p.shape for p in board.pads}
    for ink in ends.features("legend-top", "legend-bottom"):
        if ink.owner.number:
            assert ink.owner.number == min(pads, key=lambda n: pads[n].distance(ink.shape))


def only_on_net(board: Board, pin: PinRef) -> Board:
    """Return `board` with all pads but one taken off their nets."""
    nets = tuple(replace(net, pins=(pin,)) for net in board.description.nets)
    return replace(board, description=replace(board.description, nets=nets))


@pytest.mark.parametrize("turn", [0.0, 33.0, 45.0, 90.0])
def test_which_part_a_text_is_nearer_to_is_exact_for_parts_that_stand_askew(turn: float) -> None:
    # Against shapely's own distances.
    bodies = [("U1", affinity.rotate(shapely.box(5, 5, 7.5, 12.6), turn)), ("U2", shapely.box(12, 5, 15, 8))]
    room = Room("top", shapely.box(0, 0, 20, 20), [], bodies, [], [])
    random = np.random.default_rng(7)
    corners = random.uniform(0, 18, (60, 2))
    boxes = np.hstack([corners, corners + np.array([1.5, 1.0])])
    areas = shapely.box(*boxes.T)
    own, other = (shapely.distance(areas, body) for _, body in bodies)
    found = room.nearer_to_own(boxes, "U1")
    assert np.allclose(found, other - own, atol=1e-9)
