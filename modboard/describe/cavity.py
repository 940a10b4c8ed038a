"""The measured room a board must go into: inside faces, posts, obstacles and openings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import shapely
from shapely.affinity import translate

from modboard.describe import measures
from modboard.describe.model import CavityModel, Obstacle, Opening, Wall
from modboard.describe.polygons import chords, outer_disc, plan
from modboard.describe.traced import cavity_rings
from modboard.errors import CallSite, DesignError, caller
from modboard.geometry import Position

WALLS: tuple[Wall, ...] = ("left", "right", "bottom", "top")
WALL_ALIASES: dict[str, Wall] = {"front": "bottom", "back": "top"}  # as one stands before the machine
MEASURED_TO = 0.2  # mm, calipers in a corner, common practice
WALL_GAP = 0.5  # mm, free room all round, common practice
STEEPEST = 45.0  # degrees that a wall may lean
LEADS = 1.5  # mm that trimmed leads stand below the board, IPC-A-610 class 3 limit
BOARD_AT = 3.0  # mm: leads trimmed to 1.5 below the board and as much again of air, common practice


class Cavity:
    """A room measured with calipers; all lengths mm, x to the right, y up as drawn in plan, heights from its floor.

    Make one with `rectangle` or `polygon`, then add what stands in it.  A room that can't be (a wall that crosses
    itself, a post outside) raises DesignError naming the line of the call.
    """

    def __init__(self, model: CavityModel, site: CallSite) -> None:
        self._model = model
        self._obstacles: list[Obstacle] = []
        self._openings: list[Opening] = []
        self.site = site

    @classmethod
    def rectangle(
        cls,
        width: float,
        depth: float,
        *,
        height: float | None = None,
        measured_to: float = MEASURED_TO,
        wall_gap: float = WALL_GAP,
        board_at: float | None = None,
        clear_above: float | None = None,
        clear_below: float | None = None,
        corner: float = 0.0,
        draft: float = 0.0,
    ) -> Cavity:
        """Return a room `width` by `depth` mm between inside faces, its lower left corner at (0, 0).

        `height` is floor to lid; `board_at` floor to the underside of the board (`clear_below` if that is given,
        else 3 mm); `clear_above` and `clear_below` say the free height over and under the board outright.
        `measured_to` is how far any figure may be out, `wall_gap` the free room to keep to the walls.
        `corner` is the radius of the room's corners; `draft` (degrees) how far moulded walls lean inwards from the
        mouth, where width and depth are measured, towards the floor: the room counts as wide as at the leads' ends.
        """
        site = caller()
        w = measures.length(width, "width of the cavity", site)
        d = measures.length(depth, "depth of the cavity", site)
        inside = plan([(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)], "the cavity", site)
        inside = _shaped(inside, corner, draft, height, board_at, clear_below, site)
        return cls(_room(inside, site, height, measured_to, wall_gap, board_at, clear_above, clear_below), site)

    @classmethod
    def polygon(
        cls,
        points: Iterable[Sequence[float]],
        *,
        height: float | None = None,
        measured_to: float = MEASURED_TO,
        wall_gap: float = WALL_GAP,
        board_at: float | None = None,
        clear_above: float | None = None,
        clear_below: float | None = None,
        corner: float = 0.0,
        draft: float = 0.0,
    ) -> Cavity:
        """Return a room whose inside faces run through `points` (mm), in order round it; else as `rectangle`."""
        site = caller()
        inside = plan(points, "the cavity", site)
        inside = _shaped(inside, corner, draft, height, board_at, clear_below, site)
        return cls(_room(inside, site, height, measured_to, wall_gap, board_at, clear_above, clear_below), site)

    @classmethod
    def traced(
        cls,
        drawing: str,
        *,
        units: str | None = None,
        layer: str | None = None,
        close: float = 0.1,
        height: float | None = None,
        measured_to: float = MEASURED_TO,
        wall_gap: float = WALL_GAP,
        board_at: float | None = None,
        clear_above: float | None = None,
        clear_below: float | None = None,
    ) -> Cavity:
        """Return a room whose inside faces are traced in a DXF or SVG file, its lower left corner put at (0, 0).

        `drawing` is named as seen from the design file.  Outlines inside the largest stand in the room from floor to
        lid, as "traced 1" and so on.  `units` ("mm", "inch", "px") says what a unit of the drawing is where the file
        does not; `layer` takes one DXF layer; gaps in the outline up to `close` mm are closed.  Else as `rectangle`.
        """
        site = caller()
        file = Path(site.file).parent / measures.text(drawing, "name of the drawing", site, empty=False)
        gap = measures.margin(close, "close", site)
        outer, inner = cavity_rings(file, site, units=units, layer=layer, close=gap)
        x0, y0 = outer.bounds[:2]
        inside = translate(outer, -x0, -y0)
        room = cls(_room(inside, site, height, measured_to, wall_gap, board_at, clear_above, clear_below), site)
        for number, ring in enumerate(inner, 1):
            room._obstacles.append(Obstacle(f"traced {number}", translate(ring, -x0, -y0)))
        return room

    def post(
        self, name: str, *, at: Sequence[float], diameter: float, gap: float = 0.5, height: float | None = None
    ) -> None:
        """Add a round post of `diameter` mm centred at `at`; `height` mm tall, None for up to the lid.

        The board keeps `gap` mm away all round, on top of the measuring tolerance.
        """
        site = caller()
        words = self._new_name(name, "post", site)
        centre = measures.position(at, f"place of {words}", site)
        size = measures.length(diameter, f"diameter of {words}", site)
        outline = outer_disc(centre, size / 2)
        self._add(name, words, outline, 0.0, height, gap, (centre, size), site)

    def obstacle(
        self,
        name: str,
        area: Sequence[Any],
        *,
        bottom: float = 0.0,
        top: float | None = None,
        gap: float = 0.5,
    ) -> None:
        """Add something that stands in the room: `area` is a rectangle (x0, y0, x1, y1) or a list of corners (x, y).

        It reaches from `bottom` to `top` mm above the floor (None: to the lid).  The board keeps `gap` mm away from it
        where it is at the board's own height; above and below that it limits the parts only.
        """
        site = caller()
        words = self._new_name(name, "obstacle", site)
        self._add(name, words, _area(area, words, site), bottom, top, gap, None, site)

    def opening(
        self,
        name: str,
        *,
        wall: str,
        centre: float,
        width: float,
        bottom: float | None = None,
        top: float | None = None,
    ) -> None:
        """Add a hole in a wall: "left", "right", "bottom" (or "front"), "top" (or "back") as drawn in plan.

        `centre` is y on the left and right walls, x on the others; `bottom` and `top` are heights above the floor.
        """
        site = caller()
        words = self._new_name(name, "opening", site)
        side = wall_named(wall, site)
        middle = measures.number(centre, f"centre of {words}", site)
        size = measures.length(width, f"width of {words}", site)
        x0, y0, x1, y1 = self._model.inside.bounds
        low, high = (y0, y1) if side in ("left", "right") else (x0, x1)
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
        _upright(words, floor or 0.0, ceiling, site)
        self._openings.append(Opening(name, side, middle, size, floor, ceiling))

    def model(self) -> CavityModel:
        """Return the room as it stands now, frozen."""
        m = self._model
        return CavityModel(
            m.inside,
            m.height,
            m.board_at,
            m.measured_to,
            m.wall_gap,
            tuple(self._obstacles),
            tuple(self._openings),
            m.clear_above,
            m.clear_below,
        )

    def _new_name(self, name: object, kind: str, site: CallSite) -> str:
        found = measures.text(name, f"name of the {kind}", site, empty=False)
        if found in {o.name for o in self._obstacles} | {o.name for o in self._openings}:
            raise DesignError(f'{kind} "{found}" is in the cavity already; give this one another name', site)
        return f'{kind} "{found}"'

    def _add(
        self,
        name: str,
        words: str,
        outline: Any,
        bottom: object,
        top: object,
        gap: object,
        round_: tuple[Position, float] | None,
        site: CallSite,
    ) -> None:
        floor = measures.margin(bottom, f"bottom of {words}", site)
        ceiling = None if top is None else measures.length(top, f"height of {words}", site)
        _upright(words, floor, ceiling, site)
        if shapely.intersection(outline, self._model.inside).area <= 0:
            x0, y0, x1, y1 = self._model.inside.bounds
            raise DesignError(
                f"{words} is outside the cavity, which spans x {x0:g} to {x1:g} and y {y0:g} to {y1:g} mm", site
            )
        room = measures.margin(gap, f"gap of {words}", site)
        self._obstacles.append(Obstacle(name, outline, floor, ceiling, room, round_))


def wall_named(wall: object, site: CallSite) -> Wall:
    """Return the wall called `wall`, "front" and "back" read as "bottom" and "top"; DesignError with the nearest."""
    found = WALL_ALIASES.get(wall, wall) if isinstance(wall, str) else wall
    for valid in WALLS:
        if found == valid:
            return valid
    measures.choice(wall, "wall", [*WALLS, *WALL_ALIASES], site)
    raise AssertionError("unreachable: every valid name was tried")


def _room(
    inside: Any,
    site: CallSite,
    height: object,
    measured_to: object,
    wall_gap: object,
    board_at: object,
    clear_above: object,
    clear_below: object,
) -> CavityModel:
    tall = None if height is None else measures.length(height, "height of the cavity", site)
    above = None if clear_above is None else measures.margin(clear_above, "clear_above", site)
    below = None if clear_below is None else measures.margin(clear_below, "clear_below", site)
    if board_at is not None:
        at = measures.margin(board_at, "board_at", site)
    else:
        at = BOARD_AT if below is None else below
    if tall is not None and at >= tall:
        raise DesignError(
            f"the cavity is {tall:g} mm high, so a board {at:g} mm above its floor is over the lid; set board_at=", site
        )
    return CavityModel(
        inside,
        tall,
        at,
        measures.margin(measured_to, "measured_to", site),
        measures.margin(wall_gap, "wall_gap", site),
        (),
        (),
        above,
        below,
    )


def _shaped(
    inside: Any, corner: object, draft: object, height: object, board_at: object, clear_below: object, site: CallSite
) -> Any:
    """Return the room with its corners rounded and its walls where they lean to at the ends of the leads.

    Chords of the corners lie inside the arcs, so that the room is never taken as larger than it is.
    """
    radius = measures.margin(corner, "corner of the cavity", site)
    lean = measures.number(draft, "draft of the cavity", site)
    if not 0 <= lean < STEEPEST:
        raise DesignError(f"draft of the cavity is 0 to {STEEPEST:g} degrees, not {lean:g}", site)
    if lean:
        if height is None:
            raise DesignError("draft of the cavity needs height=, to say how far the walls lean in", site)
        room = _room(inside, site, height, MEASURED_TO, WALL_GAP, board_at, None, clear_below)
        deep = measures.length(height, "height of the cavity", site) - max(0.0, room.board_at - LEADS)
        inside = inside.buffer(-deep * math.tan(math.radians(lean)), join_style="mitre", mitre_limit=100.0)
    if radius:
        quarter = chords(radius, math.pi / 2)
        inside = inside.buffer(-radius, join_style="mitre", mitre_limit=100.0).buffer(radius, quad_segs=quarter)
    if inside.is_empty or inside.geom_type != "Polygon":
        raise DesignError(
            "nothing is left of the cavity, or it falls apart, with its corner and draft taken off; measure them again",
            site,
        )
    return inside


def _area(area: object, words: str, site: CallSite) -> Any:
    if (
        isinstance(area, Sequence)
        and not isinstance(area, str)
        and len(area) == 4
        and not any(isinstance(p, Iterable) for p in area)
    ):
        x0, y0, x1, y1 = (measures.number(v, f"side of {words}", site) for v in area)
        if x0 == x1 or y0 == y1:
            raise DesignError(f"{words} has no area: a rectangle is (x0, y0, x1, y1), two opposite corners", site)
        return plan([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], words, site)
    return plan(area, words, site)


def _upright(words: str, bottom: float, top: float | None, site: CallSite) -> None:
    if top is not None and top <= bottom:
        raise DesignError(f"top of {words}, {top:g} mm, must be above its bottom, {bottom:g} mm", site)
