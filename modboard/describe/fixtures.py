"""What stands in a measured room or in its walls: outlines, heights and the ± of each, from what a person wrote."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry.polygon import orient

from modboard.describe import measures
from modboard.describe.faces import corner_sides, sides
from modboard.describe.model import Fixing, Obstacle, Opening, Wall
from modboard.describe.polygons import outer_disc, plan
from modboard.describe.screws import SCREWS
from modboard.errors import CallSite, DesignError
from modboard.geometry import TOLERANCE

WALLS: tuple[Wall, ...] = ("left", "right", "bottom", "top")
WALL_ALIASES: dict[str, Wall] = {"front": "bottom", "back": "top"}  # as one stands before the machine
Owns = tuple[float | None, ...]
UPRIGHT: tuple[Wall, Wall] = ("left", "right")  # walls that run along y
SQUARE = 1.0 - 1e-9  # cosine of the angle within which a side faces straight out
THREADS = {name: float(name.removeprefix("M")) for name in SCREWS}  # mm, ISO 261


@dataclass(frozen=True)
class Ground:
    """The plan of something: its outline (shapely), centre and diameter if it is round, and the ± of each side."""

    outline: Any
    round: tuple[tuple[float, float], float] | None = None
    sides_to: tuple[float, ...] = ()


def wall_named(wall: object, site: CallSite) -> Wall:
    """Return the wall called `wall`, "front" and "back" read as "bottom" and "top"; DesignError with the nearest."""
    found = WALL_ALIASES.get(wall, wall) if isinstance(wall, str) else wall
    for valid in WALLS:
        if found == valid:
            return valid
    measures.choice(wall, "wall", [*WALLS, *WALL_ALIASES], site)
    raise AssertionError("unreachable: every valid name was tried")


def disc(at: Sequence[float], diameter: object, words: str, usual: float, site: CallSite) -> Ground:
    """Return a round thing; its face is out by the ± of its place, x and y apart, and half that of its diameter."""
    centre = measures.position(at, f"place of {words}", site)
    size = measures.length(diameter, f"diameter of {words}", site)
    outline = outer_disc(centre, size / 2)
    return Ground(outline, (centre, size), _round_to(outline, measures.own(*at), measures.own(diameter)[0], usual))


def _face_to(place_to: float | None, sizes: Sequence[float | None], usual: float) -> float | None:
    """Return the ± of a face from that of the middle (None: `usual`) and half that of the size, or None."""
    owns = [to for to in sizes if to is not None]
    if place_to is None and not owns:
        return None
    return (usual if place_to is None else place_to) + max(owns, default=0.0) / 2


def _place_to(at: Sequence[float], usual: float) -> float | None:
    """Return the greater ± of a place's x and y, or None if neither has one of its own."""
    owns = measures.own(*at)
    return None if owns == (None, None) else max(usual if to is None else to for to in owns)


def _normals(outline: Any) -> list[tuple[float, float]]:
    """Return the unit normal of each side of an outline drawn counter-clockwise, to the outside."""
    found = []
    for (x0, y0), (x1, y1) in sides(outline.exterior):
        long = math.hypot(x1 - x0, y1 - y0)
        found.append(((y1 - y0) / long, (x0 - x1) / long))
    return found


def _round_to(outline: Any, place: Owns, size_to: float | None, usual: float) -> tuple[float, ...]:
    """Return the ± of each chord of a round thing whose middle lies in an ellipse about where it was measured."""
    if (*place, size_to) == (None, None, None):
        return ()
    dx, dy = (usual if to is None else to for to in place)
    half = (size_to or 0.0) / 2
    return tuple(round(math.hypot(nx * dx, ny * dy) + half, 9) for nx, ny in _normals(outline))


def _square_to(outline: Any, place: Owns, sizes: Owns, usual: float) -> tuple[float, ...]:
    """Return the ± of each side of an upright rectangle from those of its middle and of its width and depth."""
    if (*place, *sizes) == (None, None, None, None):
        return ()
    x_to, y_to = (_face_to(at, (size,), usual) for at, size in zip(place, sizes, strict=True))
    across, along = (usual if to is None else to for to in (x_to, y_to))
    return tuple(across if abs(nx) > abs(ny) else along for nx, ny in _normals(outline))


def area(said: Any, words: str, usual: float, site: CallSite) -> Ground:
    """Return a rectangle (x0, y0, x1, y1) or a list of corners (x, y)."""
    if is_rectangle(said):
        x0, y0, x1, y1 = (measures.number(v, f"side of {words}", site) for v in said)
        if x0 == x1 or y0 == y1:
            raise DesignError(f"{words} has no area: a rectangle is (x0, y0, x1, y1), two opposite corners", site)
        a, b, c, d = said
        corners: list[Any] = [(a, b), (c, b), (c, d), (a, d)]
    else:
        plan(said, words, site)
        corners = list(said)
    return polygon(corners, words, usual, site)


def is_rectangle(said: Any) -> bool:
    """Tell whether four plain numbers were given."""
    flat = isinstance(said, Sequence) and not isinstance(said, str) and len(said) == 4
    return flat and not any(isinstance(p, Iterable) for p in said)


def polygon(corners: Sequence[Sequence[float]], words: str, usual: float, site: CallSite) -> Ground:
    """Return a thing with straight sides, the ± of each side taken from its corners."""
    outline = plan(corners, words, site)
    known = {(float(x), float(y)): measures.own(x, y) for x, y in corners}
    pairs = [known.get((x, y), (None, None)) for x, y in outline.exterior.coords[:-1]]
    return Ground(outline, None, corner_sides([(p[0], p[1]) for p in pairs], outline.exterior, usual))


def strip(
    start: Sequence[float], end: Sequence[float], thick: object, words: str, usual: float, site: CallSite
) -> Ground:
    """Return a rib `thick` mm wide whose middle runs from `start` to `end`."""
    (x0, y0), (x1, y1) = (measures.position(p, f"end of {words}", site) for p in (start, end))
    half = measures.length(thick, f"thickness of {words}", site) / 2
    long = math.hypot(x1 - x0, y1 - y0)
    if long == 0:
        raise DesignError(f"{words} has no length: its ends are one point", site)
    nx, ny = half * (y0 - y1) / long, half * (x1 - x0) / long
    outline = plan([(x0 - nx, y0 - ny), (x1 - nx, y1 - ny), (x1 + nx, y1 + ny), (x0 + nx, y0 + ny)], words, site)
    thick_to = measures.own(thick)[0]
    ends = [measures.own(*start), measures.own(*end)]
    if thick_to is None and all(to is None for place in ends for to in place):
        return Ground(outline)
    ahead = ((x1 - x0) / long, (y1 - y0) / long)
    found = []
    for side in _normals(outline):
        facing = side[0] * ahead[0] + side[1] * ahead[1]  # 1 at the end, -1 at the start, 0 along the rib
        if abs(facing) > 0.5:
            found.append(_place_along(ends[1 if facing > 0 else 0], side, usual))
        else:
            found.append(max(_place_along(place, side, usual) for place in ends) + (thick_to or 0.0) / 2)
    return Ground(outline, None, tuple(found))


def _place_along(place: Owns, normal: tuple[float, float], usual: float) -> float:
    """Return how far a place may be out along a direction; `usual` if neither coordinate has a ± of its own."""
    if place == (None, None):
        return usual
    dx, dy = (usual if to is None else to for to in place)
    return abs(normal[0]) * dx + abs(normal[1]) * dy


def along_wall(
    inside: Any, wall: Wall, out: object, between: Sequence[float] | None, words: str, usual: float, site: CallSite
) -> Ground:
    """Return a ledge that stands `out` mm from a wall, along all of it or `between` two coordinates."""
    depth = measures.length(out, f"depth of {words}", site)
    x0, y0, x1, y1 = inside.bounds
    low, high = (y0, y1) if wall in UPRIGHT else (x0, x1)
    if between is not None:
        low, high = sorted(measures.position(between, f"ends of {words}", site))
        if low == high:
            raise DesignError(f"{words} has no length: between=(from, to) along the wall", site)
    box = {
        "left": (x0 - 1.0, low, x0 + depth, high),
        "right": (x1 - depth, low, x1 + 1.0, high),
        "bottom": (low, y0 - 1.0, high, y0 + depth),
        "top": (low, y1 - depth, high, y1 + 1.0),
    }[wall]
    outline = shapely.box(*box).intersection(inside)
    if outline.is_empty or outline.geom_type != "Polygon":
        raise DesignError(f"{words} does not lie along the {wall} wall, which runs from {low:g} to {high:g} mm", site)
    outline = orient(outline)
    return Ground(outline, None, _ledge_to(outline, wall, measures.own(out)[0], between, usual))


def _ledge_to(
    outline: Any, wall: Wall, depth_to: float | None, between: Sequence[float] | None, usual: float
) -> tuple[float, ...]:
    """Return the ± of a ledge's sides: its face has that of its depth, its ends theirs, the rest the greatest."""
    ends = measures.own(*sorted(between)) if between is not None else (None, None)
    if (depth_to, *ends) == (None, None, None):
        return ()
    face, low, high = (usual if to is None else to for to in (depth_to, *ends))
    out = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "bottom": (0.0, 1.0), "top": (0.0, -1.0)}[wall]
    found = []
    for nx, ny in _normals(outline):
        along = ny if wall in UPRIGHT else nx
        if nx * out[0] + ny * out[1] > SQUARE:
            found.append(face)
        elif abs(along) > SQUARE:
            found.append(high if along > 0 else low)
        else:
            found.append(max(face, low, high))
    return tuple(found)


def standing(
    name: str, kind: str, ground: Ground, bottom: object, top: object, gap: object, site: CallSite, **more: bool
) -> Obstacle:
    """Return something in the room from height `bottom` to `top` (None: to the lid)."""
    words = f'{kind} "{name}"'
    floor = measures.margin(bottom, f"bottom of {words}", site)
    ceiling = None if top is None else measures.length(top, f"height of {words}", site)
    upright(words, floor, ceiling, site)
    bottom_to, top_to = measures.own(bottom, top)
    if bottom_to is None and floor == 0.0:
        bottom_to = 0.0  # it stands on the floor, that is not measured
    room = measures.margin(gap, f"gap of {words}", site)
    flags = {flag: measures.flag(value, f"{flag} of {words}", site) for flag, value in more.items()}
    return Obstacle(
        name, ground.outline, floor, ceiling, room, ground.round, kind,
        sides_to=ground.sides_to, bottom_to=bottom_to, top_to=top_to, **flags,
    )  # fmt: skip


def upright(words: str, bottom: float, top: float | None, site: CallSite) -> None:
    """Refuse something whose top is not above its bottom."""
    if top is not None and top <= bottom:
        raise DesignError(f"top of {words}, {top:g} mm, must be above its bottom, {bottom:g} mm", site)


def hole_in_wall(
    name: str, kind: str, wall: str, centre: object, width: object, bottom: object, top: object, inside: Any,
    usual: float, site: CallSite,
) -> Opening:  # fmt: skip
    """Return an opening or slot; DesignError where it reaches beyond its wall."""
    words = f'{kind} "{name}"'
    side = wall_named(wall, site)
    middle = measures.number(centre, f"centre of {words}", site)
    size = measures.length(width, f"width of {words}", site)
    x0, y0, x1, y1 = inside.bounds
    low, high = (y0, y1) if side in UPRIGHT else (x0, x1)
    if size > high - low:
        raise DesignError(f"{words} is {size:g} mm wide, wider than the {side} wall of {high - low:g} mm", site)
    if middle - size / 2 < low or middle + size / 2 > high:
        raise DesignError(
            f"{words} reaches from {middle - size / 2:g} to {middle + size / 2:g} mm, "
            f"beyond the {side} wall, which runs from {low:g} to {high:g}",
            site,
        )
    floor = None if bottom is None else measures.margin(bottom, f"bottom of {words}", site)
    ceiling = None if top is None else measures.length(top, f"top of {words}", site)
    upright(words, floor or 0.0, ceiling, site)
    middle_to, size_to, bottom_to, top_to = measures.own(centre, width, bottom, top)
    side_to = _face_to(middle_to, (size_to,), usual)
    return Opening(name, side, middle, size, floor, ceiling, side_to=side_to, bottom_to=bottom_to, top_to=top_to)


def inside_of(inside: Any, outline: Any, words: str, site: CallSite) -> None:
    """Refuse something that is wholly outside the room."""
    if shapely.intersection(outline, inside).area <= 0:
        x0, y0, x1, y1 = inside.bounds
        raise DesignError(
            f"{words} is outside the cavity, which spans x {x0:g} to {x1:g} and y {y0:g} to {y1:g} mm", site
        )


def under_lid(level: float, height: float | None, words: str, site: CallSite) -> None:
    """Refuse something that begins no lower than the lid."""
    if height is not None and level >= height:
        raise DesignError(
            f"{words} is {level:g} mm above the floor, and the cavity {height:g} mm high; measure both from the floor",
            site,
        )


def ends_under_lid(top: float | None, height: float | None, loose: float, words: str, site: CallSite) -> None:
    """Refuse something that ends above the lid by more than `loose`, the ± of both together (mm)."""
    if height is not None and top is not None and top > height + loose + TOLERANCE:
        raise DesignError(
            f"top of {words} is {top:g} mm above the floor, over the lid at {height:g} mm; measure both again, "
            "or leave its top out if it ends at the lid",
            site,
        )


def plug_size(said: object, words: str, site: CallSite) -> tuple[float, float]:
    """Return width and height of a plug's body from a diameter or a pair."""
    if isinstance(said, Sequence) and not isinstance(said, str):
        across, up = measures.position(said, f"plug of {words}", site)
        return (measures.length(across, f"plug of {words}", site), measures.length(up, f"plug of {words}", site))
    size = measures.length(said, f"plug of {words}", site)
    return (size, size)


def fixing(name: str, at: Sequence[float], screw: object, diameter: object, usual: float, site: CallSite) -> Fixing:
    """Return a screw ("M3") or a peg of `diameter` mm that must find its hole in the board."""
    words = f'fixing "{name}"'
    centre = measures.position(at, f"place of {words}", site)
    if (screw is None) == (diameter is None):
        raise DesignError(f'{words} needs either screw="M3" or diameter= in mm', site)
    if screw is not None:
        size = THREADS[measures.choice(screw, f"screw of {words}", THREADS, site)]
    else:
        size = measures.length(diameter, f"diameter of {words}", site)
    return Fixing(name, centre, size, _place_to(at, usual))


def box_round(at: Sequence[float], size: object, words: str, usual: float, site: CallSite) -> Ground:
    """Return a rectangle of `size` (width, depth) about its middle `at`."""
    x, y = measures.position(at, f"place of {words}", site)
    wide, deep = plug_size(size, words, site)
    box = shapely.box(x - wide / 2, y - deep / 2, x + wide / 2, y + deep / 2)
    outline = plan(box.exterior.coords, words, site)
    sizes = measures.own(*size) if isinstance(size, Sequence) else measures.own(size) * 2
    return Ground(outline, None, _square_to(outline, measures.own(*at), sizes, usual))
