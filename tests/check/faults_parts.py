"""Faults of parts: on each other, over the edge, out of the room."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.describe.model import AtEdge, Fixed, Obstacle, Waiver
from modboard.errors import CallSite
from modboard.layout.board import Board, PlacedPart, Unrouted
from tests.check.spoiling import (
    Kind,
    Spoilt,
    random_point,
    with_part,
)


def part_onto_part(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The middles of two courtyards put within 0.5 mm of each other."""
    one, other = chance.sample([p for p in board.parts if p.side == "top" and p.courtyard()], 2)
    here, there = shapely.Polygon(one.courtyard()).centroid, shapely.Polygon(other.courtyard()).centroid
    x, y = one.at[0] + there.x - here.x, one.at[1] + there.y - here.y
    moved = replace(one, at=(x + chance.uniform(-0.5, 0.5), y + chance.uniform(-0.5, 0.5)))
    return Spoilt((with_part(board, one, moved), art), [one.part.reference, other.part.reference])


def part_over_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A part moved to the right until its body reaches 0.01 to 3 mm over the edge."""
    part = chance.choice([p for p in board.parts if p.bodies()])
    right = max(x for b in part.bodies() for x, _ in b.outline)
    by = board.outline.bounds[2] - right + chance.uniform(0.01, 3.0)
    spoilt = with_part(board, part, replace(part, at=(part.at[0] + by, part.at[1])))
    return Spoilt((spoilt, art), [part.part.reference])


def part_too_tall(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The lid is at 18.0, the board's top at 5.6, margin 0.5 and measured to 0.3: 11.6 mm are left."""
    placed = chance.choice([p for p in board.parts if p.side == "top"])
    tall = replace(placed, part=replace(placed.part, height=chance.uniform(11.7, 30.0)))
    spoilt = replace(board, parts=tuple(tall if p is placed else p for p in board.parts))
    return Spoilt((spoilt, draw(spoilt)), [placed.part.reference, "the lid"])


def connection_given_up(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net = chance.choice(board.description.nets)
    spoilt = replace(board, unrouted=(Unrouted(net.name, net.pins[0], net.pins[1], "no room"),))
    return Spoilt((spoilt, art), [f"net {net.name}"])


def board_in_the_wall(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The room moved so that a wall comes within 0.55 mm of the board, or into it."""
    cavity = board.description.cavity
    assert cavity is not None
    dx = chance.choice((-1, 1)) * chance.uniform(0.3, 3.0)
    moved = replace(cavity, inside=shapely.transform(cavity.inside, lambda xy: xy + np.array([dx, 0.0])))
    spoilt = replace(board, description=replace(board.description, cavity=moved))
    return Spoilt((spoilt, art), ["board and wall"])


def post_under_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    cavity = board.description.cavity
    assert cavity is not None
    at = random_point(chance, board.outline)
    post = Obstacle("stray post", shapely.Point(at).buffer(1.0), round=(at, 2.0))
    spoilt = replace(board, description=replace(board.description, cavity=replace(cavity, obstacles=(post,))))
    return Spoilt((spoilt, art), ["board and stray post"])


def part_in_an_obstacle(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A rib from the lid down into a body on the top."""
    cavity = board.description.cavity
    assert cavity is not None
    placed = chance.choice([p for p in board.parts if p.side == "top" and p.part.tall > 2])
    body = max(placed.bodies(), key=lambda b: b.height)
    at = random_point(chance, shapely.Polygon(body.outline))
    rib = Obstacle("rib", shapely.Point(at).buffer(0.5), bottom=cavity.board_at + 1.6 + chance.uniform(0.3, 1.5))
    spoilt = replace(board, description=replace(board.description, cavity=replace(cavity, obstacles=(rib,))))
    return Spoilt((spoilt, art), [f"{placed.part.reference} and rib"])


def part_in_the_wall(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A part moved across the left wall, where there is no opening."""
    placed = chance.choice([p for p in board.parts if p.side == "top"])
    left = min(x for b in placed.bodies() for x, _ in b.outline)
    moved = replace(placed, at=(placed.at[0] - left - chance.uniform(0.1, 2.0), placed.at[1]))
    return Spoilt((with_part(board, placed, moved), art), [f"{placed.part.reference} and wall"])


def floor_too_near(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Trimmed leads reach 1.5 mm below the board and want 0.5 mm of air and 0.3 of tolerance."""
    cavity = board.description.cavity
    assert cavity is not None
    low = replace(cavity, board_at=chance.uniform(0.1, 2.29))
    spoilt = replace(board, description=replace(board.description, cavity=low))
    reference = chance.choice(
        [p.part.reference for p in board.parts if p.part.footprint.lead_below and p.side == "top"]
    )
    return Spoilt((spoilt, art), [f"the leads of {reference}", "the floor"])


def board_over_the_lid(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The lid is at 18.0 and the board 1.6 thick, measured to 0.3."""
    cavity = board.description.cavity
    assert cavity is not None
    high = replace(cavity, board_at=chance.uniform(16.2, 17.9))
    spoilt = replace(board, description=replace(board.description, cavity=high))
    return Spoilt((spoilt, art), ["board under the lid"])


def part_beside_its_opening(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """J2, whose middle is at y 7.25, asked to an opening on the right wall that is 0.51 to 3 mm off."""
    cavity = board.description.cavity
    assert cavity is not None
    wishes = {**board.description.wishes, "J2": AtEdge("right")}
    off = replace(cavity.openings[0], centre=7.25 + chance.choice((-1, 1)) * chance.uniform(0.51, 3.0))
    described = replace(board.description, wishes=wishes, cavity=replace(cavity, openings=(off,)))
    return Spoilt((replace(board, description=described), art), ["J2 at the opening lead hole"])


def part_far_from_its_opening(chance: Random, board: Board, art: Artwork) -> Spoilt:
    placed = next(p for p in board.parts if p.part.reference == "J2")
    wishes = {**board.description.wishes, "J2": AtEdge("right")}
    moved = replace(placed, at=(placed.at[0] - chance.uniform(2.0, 8.0), placed.at[1]))
    spoilt = with_part(replace(board, description=replace(board.description, wishes=wishes)), placed, moved)
    return Spoilt((spoilt, art), ["J2 at the opening lead hole"])


def waiver_of_nothing(chance: Random, board: Board, art: Artwork) -> Spoilt:
    waiver = Waiver("copper-gap", f"place {chance.randrange(1000)}", "it was so once", CallSite("design.py", 7))
    spoilt = replace(board, description=replace(board.description, waivers=(waiver,)))
    return Spoilt((spoilt, art), [waiver.where, "design.py:7"])


def waived_thing_changed(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A finding waived by its fingerprint, and then something else in its place."""
    print_ = f"{chance.randrange(16**8):08x}"
    name = chance.choice(board.parts).part.reference
    waiver = Waiver("mark-unplaced", "legend", "seen on the sheet", CallSite("design.py", 9), print_)
    described = replace(board.description, waivers=(waiver,))
    spoilt = replace(art, unplaced_marks=(name,))
    return Spoilt((replace(board, description=described), spoilt), ["mark-unplaced", "design.py:9"])


def part_near_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A part that nobody asked to a place, whose courtyard ends within what the rules ask of the right edge."""
    free = [p for p in board.parts if p.courtyard() and p.bodies() and not placed_on_purpose(board, p)]
    part = chance.choice(free)
    right = max(x for x, _ in part.courtyard())
    near = chance.uniform(0.0, board.description.rules.part_to_edge - 0.001)
    by = board.outline.bounds[2] - near - right
    # Away from the notch of the sample board, whose parts are all lower.
    spoilt = with_part(board, part, replace(part, at=(part.at[0] + by, part.at[1])))
    return Spoilt((spoilt, art), [part.part.reference])


def placed_on_purpose(board: Board, part: PlacedPart) -> bool:
    return isinstance(board.description.wishes.get(part.part.reference), AtEdge | Fixed)


def part_too_wide_for_its_opening(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """J2 moved into an opening of the right wall that lacks 0.02 to 1.5 mm of width, measured to 0.3."""
    cavity = board.description.cavity
    assert cavity is not None
    placed = next(p for p in board.parts if p.part.reference == "J2")
    x0, low, x1, high = shapely.union_all([shapely.Polygon(b.outline) for b in placed.bodies()]).bounds
    by = cavity.inside.bounds[2] - x1 + chance.uniform(0.05, min(2.0, x1 - x0 - 0.1))
    tight = (high - low) + 2 * cavity.measured_to - chance.uniform(0.02, 1.5)
    opening = replace(cavity.openings[0], centre=(low + high) / 2, width=max(tight, 0.5))
    wishes = {**board.description.wishes, "J2": AtEdge("right")}
    described = replace(board.description, wishes=wishes, cavity=replace(cavity, openings=(opening,)))
    moved = replace(placed, at=(placed.at[0] + by, placed.at[1]))
    spoilt = with_part(replace(board, description=described), placed, moved)
    return Spoilt((spoilt, art), ["J2 in the opening lead hole"])


def waiver_without_a_fingerprint(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A finding that is waived by its words alone."""
    name = chance.choice(board.parts).part.reference
    waiver = Waiver("mark-unplaced", "legend", "seen on the sheet", CallSite("design.py", 9))
    described = replace(board.description, waivers=(waiver,))
    spoilt = replace(art, unplaced_marks=(name,))
    return Spoilt((replace(board, description=described), spoilt), ["mark-unplaced", "design.py:9"])


ROOM = ("by hand",)
KINDS = (
    Kind("courtyard-overlap", part_onto_part),
    Kind("part-off-board", part_over_the_edge),
    Kind("part-to-edge", part_near_the_edge),
    Kind("unrouted", connection_given_up),
    Kind("waiver-unused", waiver_of_nothing),
    Kind("waiver-expired", waived_thing_changed),
    Kind("waiver-unpinned", waiver_without_a_fingerprint),
    Kind("under-lid", part_too_tall, ROOM),
    Kind("board-under-lid", board_over_the_lid, ROOM),
    Kind("over-floor", floor_too_near, ROOM),
    Kind("board-to-wall", board_in_the_wall, ROOM),
    Kind("board-to-obstacle", post_under_the_board, ROOM),
    Kind("part-to-wall", part_in_the_wall, ROOM),
    Kind("part-to-obstacle", part_in_an_obstacle, ROOM),
    Kind("opening-line", part_beside_its_opening, ROOM),
    Kind("opening-reach", part_far_from_its_opening, ROOM),
    Kind("opening-pass", part_too_wide_for_its_opening, ROOM),
)
