"""What holds the board: posts under it that carry it, screws and pegs that find their holes, tabs that come through."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.faces import obstacle_to
from modboard.describe.model import Fixing, MountingHole, Obstacle
from modboard.fit.distance import EXACT
from modboard.fit.room import Room

HOLE_TO = 0.1  # mm that a hole may be off its place, common practice of board houses

FIXING_LINE = Rule(
    "fixing-line",
    "error",
    "every screw and peg of the host finds a hole in the board that it passes with every ± against it",
    "move or enlarge the hole, or measure the place of the screw again",
    source="the cavity as measured; holes ±0.1 mm, common practice",
)
TAB_PASSES = Rule(
    "tab-passes",
    "error",
    "a tab that comes up through the board finds a hole or notch that it passes with every ± against it",
    "give the board a hole or a notch there, or enlarge it",
    source="the cavity as measured; holes ±0.1 mm, common practice",
)
CARRIED = Rule(
    "board-carried",
    "warning",
    "what is said to carry the board lies under it and ends at its underside",
    "make the posts level with spacers, or move the outline over them",
    source="the cavity as measured",
)
RULES = (FIXING_LINE, TAB_PASSES, CARRIED)


def inspect(room: Room) -> Iterator[Finding]:
    """Look for the hole of every fixing and tab, and at everything that carries the board."""
    for fixing in room.cavity.fixings:
        yield from to_fixing(room, fixing)
    for obstacle in room.cavity.obstacles:
        if obstacle.through and room.reaches(obstacle, room.plate):
            yield from to_tab(room, obstacle)
        if obstacle.carries:
            yield from carrying(room, obstacle)


def to_fixing(room: Room, fixing: Fixing) -> Iterator[Finding]:
    """Compare a screw with the nearest hole; one wholly beside the board needs none."""
    own = room.cavity.within(fixing.at_to) + HOLE_TO
    where = f"{fixing.name} of the host"
    screw = shapely.Point(fixing.at).buffer(fixing.diameter / 2)
    if room.board.outline.distance(screw) > own:
        return
    nearest = min(holes(room), key=lambda h: math.dist(h.at, fixing.at), default=None)
    place = f"({fixing.at[0]:g}, {fixing.at[1]:g})"
    if nearest is None or math.dist(nearest.at, fixing.at) > nearest.diameter / 2:
        message = f"no hole for {fixing.name}, {fixing.diameter:g} mm thick at {place}"
        wide = math.ceil((fixing.diameter + 2 * own) * 10 - 1e-6) / 10
        cure = f"add board.hole(at={place}, diameter={wide:g}), or wider"
        yield FIXING_LINE.finding(room.rules, fixing.at, where, message, cure=cure)
        return
    play = (nearest.diameter - fixing.diameter) / 2
    clear = play - math.dist(nearest.at, fixing.at)
    if clear < own - EXACT:
        off = math.dist(nearest.at, fixing.at)
        message = (
            f"the hole of {nearest.diameter:g} mm is {off:.2f} mm off {fixing.name}, {fixing.diameter:g} mm thick: "
            f"{own - clear:.2f} mm lack with the tolerances"
        )
        yield FIXING_LINE.finding(room.rules, fixing.at, where, message, clear, own)


def holes(room: Room) -> tuple[MountingHole, ...]:
    """Return every bare hole of the board."""
    return tuple(MountingHole(h.at, h.diameter, h.diameter) for h in room.board.bare_holes if h.to is None)


def to_tab(room: Room, tab: Obstacle) -> Iterator[Finding]:
    """Compare a tab with the hole it is in, or with the outline where it is beside the board."""
    own = max(obstacle_to(tab, room.cavity)) + HOLE_TO
    x, y = tab.outline.centroid.coords[0]
    where = f"the tab {tab.name}"
    corners = [(float(cx), float(cy)) for cx, cy in tab.outline.exterior.coords]
    about = [h for h in holes(room) if math.dist(h.at, (x, y)) <= h.diameter / 2]
    if about:
        hole = min(about, key=lambda h: math.dist(h.at, (x, y)))
        clear = hole.diameter / 2 - max(math.dist(hole.at, c) for c in corners)
        if clear < own - EXACT:
            message = (
                f"the hole of {hole.diameter:g} mm leaves {clear:.2f} mm round {tab.name}, {own - clear:.2f} too little"
            )
            yield TAB_PASSES.finding(room.rules, (x, y), where, message, clear, own)
        return
    clear = float(room.board.outline.distance(tab.outline))
    if clear < own - EXACT:
        wide = math.ceil((2 * max(math.dist((x, y), c) for c in corners) + 2 * own) * 10 - 1e-6) / 10
        message = f"{tab.name} comes up through the board where there is no hole" if clear == 0 else (
            f"the board is {clear:.2f} mm from {tab.name}, {own - clear:.2f} mm too near"
        )  # fmt: skip
        cure = f"add board.hole(at=({x:g}, {y:g}), diameter={wide:g}), or notch the outline there"
        yield TAB_PASSES.finding(room.rules, (x, y), where, message, clear, own, cure=cure)


def carrying(room: Room, post: Obstacle) -> Iterator[Finding]:
    """Say what is meant to carry the board and doesn't, because it is too low or beside it."""
    x, y = post.outline.centroid.coords[0]
    if not post.outline.intersects(room.board.outline):
        message = f"{post.name} stands beside the board and carries nothing"
        yield CARRIED.finding(room.rules, (x, y), f"{post.name} under the board", message)
        return
    highest = max(o.top or 0.0 for o in room.cavity.obstacles if o.carries)
    short, loose = highest - (post.top or 0.0), room.cavity.within(post.top_to)
    if short > loose + EXACT:
        message = f"{post.name} ends {short:.2f} mm lower than the highest that carries the board, more than its ±"
        yield CARRIED.finding(room.rules, (x, y), f"{post.name} under the board", message, short, loose)
