"""Faults of the fit beyond plan and heights: what holds the board, bare metal, plugs, wires, the way in.

The sample's board is 30 × 25 mm with a bare hole of 3.2 mm; its room is 31.6 × 26.6 × 18, measured to 0.3.
"""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random
from typing import Any

import shapely

from modboard.artwork.model import Artwork
from modboard.describe.model import AtEdge, CavityModel, Fixing, HostWire, Mouth, Obstacle, Opening
from modboard.fit.metal import AIR
from modboard.fit.room import SOLDER
from modboard.fit.supports import HOLE_TO
from modboard.geometry import Position
from modboard.layout.board import Board
from tests.check.spoiling import Kind, Spoilt, random_point, with_part
from tests.sample import SITE

OUTSIDE: Position = (80.0, 10.0)  # beyond every wall of the room


def _room(board: Board) -> CavityModel:
    cavity = board.description.cavity
    assert cavity is not None
    return cavity


def _with_room(board: Board, **changed: Any) -> Board:
    """Return the board with other things in its room."""
    return replace(board, description=replace(board.description, cavity=replace(_room(board), **changed)))


def _column(name: str, at: Position, side: float, **more: Any) -> Obstacle:
    """Return a square column."""
    x, y = at
    return Obstacle(name, shapely.box(x - side / 2, y - side / 2, x + side / 2, y + side / 2), **more)


def _beside(chance: Random, at: Position, far: float) -> Position:
    angle = chance.uniform(0.0, 2 * math.pi)
    return (at[0] + far * math.cos(angle), at[1] + far * math.sin(angle))


def _solid_ground(board: Board, away: float) -> Any:
    """Return the board's area farther than `away` mm from its edge and its bare holes."""
    holes = [shapely.Point(h.at).buffer(h.diameter / 2 + away) for h in board.bare_holes]
    return board.outline.buffer(-away).difference(shapely.union_all(holes))


def carrier_beside_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A post said to carry the board that ends 0.01 mm or more beside it."""
    x0, y0, x1, y1 = board.outline.bounds
    away = 1.0 + chance.uniform(0.01, 3.0)
    at = chance.choice([(x0 - away, (y0 + y1) / 2), (x1 + away, y0 + 3.0), (x0 + 9.0, y0 - away), (x1, y1 + away)])
    post = _column("leg", at, 2.0, top=_room(board).board_at, carries=True)
    return Spoilt((_with_room(board, obstacles=(post,)), art), ["leg under the board"])


def carrier_too_low(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Two posts, one lower than the other by more than its ±, its own or that of the room (0.3)."""
    own = chance.choice((None, 0.05, 0.6))
    short = (0.3 if own is None else own) + chance.uniform(0.001, 2.0)
    at = [random_point(chance, board.outline) for _ in range(2)]
    level = _room(board).board_at
    high = _column("long leg", at[0], 2.0, top=level, carries=True)
    low = _column("short leg", at[1], 2.0, top=level - short, carries=True, top_to=own)
    return Spoilt((_with_room(board, obstacles=(high, low)), art), ["short leg under the board"])


def screw_off_its_hole(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A screw farther off the hole of 3.2 mm than half the play less its own ± and the 0.1 of the hole."""
    hole = board.bare_holes[0]
    own = chance.choice((None, 0.0, 0.1))
    thick = chance.uniform(1.5, 3.1)
    play = (hole.diameter - thick) / 2 - (0.3 if own is None else own) - HOLE_TO
    at = _beside(chance, hole.at, max(0.0, play) + chance.uniform(0.001, 1.0))
    screw = Fixing("screw 1", at, thick, own)
    return Spoilt((_with_room(board, fixings=(screw,)), art), ["screw 1 of the host"])


def screw_without_a_hole(chance: Random, board: Board, art: Artwork) -> Spoilt:
    at = random_point(chance, _solid_ground(board, 2.0))
    screw = Fixing("peg", at, chance.uniform(1.0, 5.0), chance.choice((None, 0.05)))
    return Spoilt((_with_room(board, fixings=(screw,)), art), ["peg of the host"])


def metal_under_leads(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A chassis plate under the leads of a part that ends within 1 mm and its ± of theirs."""
    room = _room(board)
    placed = chance.choice([p for p in board.parts if p.side == "top" and any(q.hole for q in p.pads({}))])
    reach = max(SOLDER, min(placed.part.footprint.lead_below, room.leads))
    own = chance.choice((None, 0.1))
    level = room.board_at - reach - AIR - (0.3 if own is None else own) + chance.uniform(0.001, 1.0)
    pad = chance.choice([p for p in placed.pads({}) if p.hole is not None])
    plate = _column("plate", pad.at, 3.0, top=level, top_to=own, metal=True)
    return Spoilt((_with_room(board, obstacles=(plate,)), art), [f"the leads of {placed.part.reference}", "plate"])


def metal_over_copper(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A shield that hangs over the board, within 1 mm of a track on the top and the ± of where it ends."""
    track = chance.choice([t for t in board.tracks if t.layer == "top"])
    level = _room(board).board_at + board.description.rules.thickness + chance.uniform(0.05, AIR + 0.3 - 0.001)
    shield = _column("shield", track.points[0], 2.0, bottom=level, metal=True)
    return Spoilt((_with_room(board, obstacles=(shield,)), art), ["the top copper", "shield"])


def metal_walls_too_near(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A metal tin whose left wall is pushed to within 1 mm, both ± (0.3 and 0.25) counted, of the copper."""
    copper = [p.shape.covering_polygon() for p in board.pads if "top" in p.layers]
    copper += [t.shape.covering_polygon() for t in board.tracks if t.layer == "top"]
    first = shapely.union_all(copper).bounds[0]
    _, y0, x1, y1 = _room(board).inside.bounds
    wall = first - chance.uniform(0.0, AIR + 0.55 - 0.001)
    inside = shapely.box(wall, y0 - 5.0, x1 + 5.0, y1 + 5.0)
    return Spoilt((_with_room(board, metal=True, inside=inside), art), ["copper", "the wall"])


def tab_through_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    at = random_point(chance, _solid_ground(board, 3.0))
    tab = _column("lug", at, chance.uniform(0.5, 4.0), top=10.0, through=True, metal=True)
    return Spoilt((_with_room(board, obstacles=(tab,)), art), ["the tab lug"])


def tab_too_wide_for_its_hole(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A square tab in the hole of 3.2 mm whose corners come within its ± and 0.1 mm of the rim."""
    hole = board.bare_holes[0]
    own = chance.choice((0.3, 0.05))
    reach = hole.diameter / 2 - own - HOLE_TO + chance.uniform(0.001, 1.0)  # middle to corner
    sides_to = () if own == 0.3 else (own,) * 4
    tab = _column("lug", hole.at, reach * math.sqrt(2), top=10.0, through=True, metal=True, sides_to=sides_to)
    return Spoilt((_with_room(board, obstacles=(tab,)), art), ["the tab lug"])


def plug_stopped_by_the_wall(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A plug wider than its hole at the right wall, which stops it 0.51 mm or more before J2 is reached."""
    room = _room(board)
    placed = next(p for p in board.parts if p.part.reference == "J2")
    _, low, x1, high = shapely.union_all([shapely.Polygon(b.outline) for b in placed.bodies()]).bounds
    back, thick = chance.uniform(0.0, 1.5), chance.uniform(0.51, 4.0)
    moved = replace(placed, at=(placed.at[0] + room.inside.bounds[2] - x1 - back, placed.at[1]))
    width = (high - low) + chance.uniform(1.0, 4.0)
    wide = width - 2 * room.measured_to + chance.uniform(0.002, 3.0)
    socket = Opening("socket", "right", (low + high) / 2, width, thick=thick, plug=(wide, 1.0))
    made = with_part(_with_room(board, openings=(socket,)), placed, moved)
    described = replace(made.description, wishes={**made.description.wishes, "J2": AtEdge("right")})
    return Spoilt((replace(made, description=described), art), ["the plug of J2", "socket"])


def _wired(board: Board, count: int) -> Board:
    """Return the board with wires from its pads to a place outside the room."""
    pins = [pin for net in board.description.nets for pin in net.pins]
    wires = tuple(HostWire(pins[k % len(pins)], "the socket outside", SITE, OUTSIDE) for k in range(count))
    return replace(board, description=replace(board.description, wires=wires))


def wires_walled_in(chance: Random, board: Board, art: Artwork) -> Spoilt:
    return Spoilt((_wired(board, chance.randint(1, 8)), art), ["wires out of the cavity"])


def wires_in_too_small_an_opening(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Less than 1.5 mm is left at worst for any wire at all, or half of the opening for too many."""
    if chance.random() < 0.5:
        width, count = chance.uniform(0.7, 2.09), 1
    else:  # 5 × 5 less 0.3 all round: half of 4.4² holds 5 wires of 1.5 mm
        width, count = 5.0, chance.randint(6, 20)
    hole = Opening("gap", "left", 13.0, width, 2.0, 2.0 + max(width, 3.0), wires=True)
    return Spoilt((_with_room(_wired(board, count), openings=(hole,)), art), ["wires through the opening gap"])


def mouth_too_small_for_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A board nowhere less than 25 mm wide, and a mouth whose diagonal is less: no turning gets it through."""
    wide, deep = chance.uniform(4.0, 17.0), chance.uniform(4.0, 17.0)
    x, y = random_point(chance, shapely.box(9.0, 9.0, 22.0, 17.0))
    hole = Mouth(shapely.box(x - wide / 2, y - deep / 2, x + wide / 2, y + deep / 2), chance.uniform(0.5, 3.0))
    return Spoilt((_with_room(board, mouth=hole), art), ["the way in"])


def frame_of_ribs_over_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Four ribs above the parts from wall to wall that leave the same too small a hole; the lid opens."""
    wide, deep = chance.uniform(4.0, 17.0), chance.uniform(4.0, 17.0)
    x, y = random_point(chance, shapely.box(9.0, 9.0, 22.0, 17.0))
    x0, y0, x1, y1 = _room(board).inside.bounds
    left, right, near, far = x - wide / 2, x + wide / 2, y - deep / 2, y + deep / 2
    areas = ((x0, y0, left, y1), (right, y0, x1, y1), (x0, y0, x1, near), (x0, far, x1, y1))
    ribs = [Obstacle(f"rib {n}", shapely.box(*area), 17.0, 17.8, kind="rib") for n, area in enumerate(areas)]
    return Spoilt((_with_room(board, obstacles=tuple(ribs), openings=()), art), ["the way in"])


ROOM = ("by hand",)
KINDS = (
    Kind("board-carried", carrier_beside_the_board, ROOM),
    Kind("board-carried", carrier_too_low, ROOM),
    Kind("fixing-line", screw_off_its_hole, ROOM),
    Kind("fixing-line", screw_without_a_hole, ROOM),
    Kind("metal-gap", metal_under_leads, ROOM),
    Kind("metal-gap", metal_over_copper, ROOM),
    Kind("metal-gap", metal_walls_too_near, ROOM),
    Kind("tab-passes", tab_through_the_board, ROOM),
    Kind("tab-passes", tab_too_wide_for_its_hole, ROOM),
    Kind("plug-clear", plug_stopped_by_the_wall, ROOM),
    Kind("wires-leave", wires_walled_in, ROOM),
    Kind("wires-leave", wires_in_too_small_an_opening, ROOM),
    Kind("way-in", mouth_too_small_for_the_board, ROOM),
    Kind("way-in", frame_of_ribs_over_the_board, ROOM),
)
