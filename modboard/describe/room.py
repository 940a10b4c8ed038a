"""The words that every kind of cavity takes, and the frozen room they make with what stands in it."""

from __future__ import annotations

import inspect
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, TypedDict

from modboard.describe import measures
from modboard.describe.faces import carried_over, moved
from modboard.describe.model import CavityModel, Fixing, Mouth, Obstacle, Opening
from modboard.describe.polygons import chords
from modboard.errors import CallSite, DesignError

MEASURED_TO = 0.2  # mm, calipers in a corner, common practice
WALL_GAP = 0.5  # mm, free room all round, common practice
INCHES_BELOW = 2.0  # mm; no board and its leads go under so low a lid, but as inches it is a usual height
STEEPEST = 45.0  # degrees that a wall may lean
LEADS = 1.5  # mm that trimmed leads stand below the board, IPC-A-610 class 3 limit
BOARD_AT = 3.0  # mm: leads trimmed to 1.5 below the board and as much again of air, common practice


class RoomWords(TypedDict, total=False):
    """What `Cavity.rectangle`, `polygon` and `traced` take by name; `Cavity` says what each means."""

    height: float | None
    measured_to: float
    wall_gap: float
    board_at: float | None
    stand_off: float | None
    clear_above: float | None
    clear_below: float | None
    corner: float
    draft: float
    leads: float
    metal: bool


@dataclass(frozen=True)
class RoomSaid:
    """The same, checked; `own` holds the ± of those that carry one."""

    height: float | None
    measured_to: float
    wall_gap: float
    board_at: float | None
    stand_off: float | None
    clear_above: float | None
    clear_below: float | None
    corner: float
    draft: float
    leads: float
    metal: bool
    own: Mapping[str, float]


def room_said(words: Mapping[str, Any], call: Any, site: CallSite) -> RoomSaid:
    """Check the words a person gave to the constructor `call`; DesignError for unknown ones and for what can't be."""
    names = [f.name for f in fields(RoomSaid) if f.name != "own"]
    for word in words:
        if word not in names:
            params = [p for p in inspect.signature(call).parameters if p != "words"]
            hint = measures.suggestion(word, [*params, *names], most=0)
            raise DesignError(f'{call.__name__}() takes no "{word}="{hint}', site)
    get = words.get

    def length(name: str, what: str) -> float | None:
        return None if get(name) is None else measures.length(get(name), what, site)

    def margin(name: str) -> float | None:
        return None if get(name) is None else measures.margin(get(name), name, site)

    said = RoomSaid(
        length("height", "height of the cavity"),
        measures.margin(get("measured_to", MEASURED_TO), "measured_to", site),
        measures.margin(get("wall_gap", WALL_GAP), "wall_gap", site),
        margin("board_at"),
        margin("stand_off"),
        length("clear_above", "clear_above"),
        margin("clear_below"),
        measures.margin(get("corner", 0.0), "corner of the cavity", site),
        measures.number(get("draft", 0.0), "draft of the cavity", site),
        measures.margin(get("leads", LEADS), "leads", site),
        measures.flag(get("metal", False), "metal", site),
        {name: own for name, value in words.items() if (own := measures.own(value)[0]) is not None},
    )
    if said.board_at is not None and said.stand_off is not None:
        raise DesignError("board_at= and stand_off= both say how high the board is; give one of them", site)
    if not 0 <= said.draft < STEEPEST:
        raise DesignError(f"draft of the cavity is 0 to {STEEPEST:g} degrees, not {said.draft:g}", site)
    if said.draft and said.height is None:
        raise DesignError("draft of the cavity needs height=, to say how far the walls lean in", site)
    return said


def composed(
    mouth: Any,
    sides_to: Sequence[float],
    said: RoomSaid,
    obstacles: Sequence[Obstacle],
    openings: Sequence[Opening],
    fixings: Sequence[Fixing],
    way_in: Mouth | None,
    site: CallSite,
) -> CavityModel:
    """Return the frozen room; `mouth` is its outline (shapely) at the lid, where walls that lean are farthest apart."""
    at, at_to = _board_at(said, obstacles)
    if said.height is not None and at >= said.height:
        cure = "give board_at= a smaller figure"
        if said.height < INCHES_BELOW:
            cure += (
                f"; or is height in inches? All lengths are in mm: {said.height:g} inches are {said.height * 25.4:g}"
            )
        raise DesignError(
            f"the cavity is {said.height:g} mm high, so a board {at:g} mm above its floor is over the lid; {cure}",
            site,
        )
    lean = math.tan(math.radians(said.draft))
    inside, own = _shaped(mouth, sides_to, said, lean * ((said.height or 0.0) - at), site)
    return CavityModel(
        inside,
        said.height,
        at,
        said.measured_to,
        said.wall_gap,
        tuple(obstacles),
        tuple(openings),
        said.clear_above,
        said.clear_below,
        tuple(fixings),
        way_in,
        said.metal,
        said.leads,
        lean,
        own,
        said.own.get("height"),
        at_to,
        said.own.get("clear_above"),
        said.own.get("clear_below"),
    )


def _board_at(said: RoomSaid, obstacles: Sequence[Obstacle]) -> tuple[float, float]:
    """Return the height of the board's underside and its ±: as said, or on what carries it, or else as usual."""
    if said.board_at is not None:
        return said.board_at, said.own.get("board_at", 0.0)
    posts = [o for o in obstacles if o.carries and o.top is not None]
    off, off_to = said.stand_off or 0.0, said.own.get("stand_off", 0.0)
    if posts:
        highest = max(posts, key=lambda o: o.top or 0.0)
        post_to = said.measured_to if highest.top_to is None else highest.top_to
        return (highest.top or 0.0) + off, post_to + off_to
    if said.stand_off is not None:
        return off, off_to
    return (BOARD_AT, 0.0) if said.clear_below is None else (said.clear_below, 0.0)


def _shaped(
    mouth: Any, sides_to: Sequence[float], said: RoomSaid, inwards: float, site: CallSite
) -> tuple[Any, tuple[float, ...]]:
    """Return the room at the board's underside, walls `inwards` (mm) of the mouth and corners rounded, and its ±.

    Chords of the corners lie inside the arcs, so that the room is never taken as larger than it is.
    """
    inside = mouth
    if inwards:
        inside = moved(mouth, [-inwards] * (len(mouth.exterior.coords) - 1))
    if said.corner and not inside.is_empty:
        quarter = chords(said.corner, math.pi / 2)
        radius = said.corner
        inside = inside.buffer(-radius, join_style="mitre", mitre_limit=100.0).buffer(radius, quad_segs=quarter)
    if inside.is_empty or inside.geom_type != "Polygon":
        raise DesignError(
            "nothing is left of the cavity, or it falls apart, with its corner and draft taken off; measure them again",
            site,
        )
    if not inwards and not said.corner:
        return inside, tuple(sides_to)
    return inside, carried_over(inside.exterior, moved_ring(mouth, inwards), sides_to)


def moved_ring(mouth: Any, inwards: float) -> Any:
    """Return the sharp ring that corners were rounded from."""
    return moved(mouth, [-inwards] * (len(mouth.exterior.coords) - 1)).exterior if inwards else mouth.exterior
