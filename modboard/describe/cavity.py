"""The measured room a board must go into: inside faces, what stands in it, and the holes in its walls."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Unpack

import shapely
from shapely.affinity import translate

from modboard.describe import fixtures, measures
from modboard.describe.faces import corner_sides
from modboard.describe.fixtures import WALL_ALIASES, WALLS, Ground, wall_named
from modboard.describe.model import CavityModel, Fixing, Mouth, Obstacle, Opening
from modboard.describe.polygons import plan
from modboard.describe.room import BOARD_AT, MEASURED_TO, WALL_GAP, RoomSaid, RoomWords, composed, room_said
from modboard.describe.traced import cavity_rings
from modboard.errors import CallSite, DesignError, caller


class Cavity:
    """A room measured with calipers; all lengths mm, x to the right, y up as drawn in plan, heights from its floor.

    Make one with `rectangle`, `polygon` or `traced`, then add what stands in it.  All three also take, by name:

    - `height`: floor to lid; `measured_to`: how far any figure may be out (0.2), `wall_gap`: the free room to keep to
      the walls (0.5).  A figure with a ± of its own is written ``pm(57.0, 0.05)``.
    - `board_at`: floor to the underside of the board (`clear_below` if that is given, else 3), or `stand_off`: the same
      from the top of the posts that carry it; `clear_above`, `clear_below`: the free height over and under the board.
    - `corner`: radius of the room's corners; `draft`: how many degrees moulded walls lean inwards from the lid, where
      they are measured, towards the floor.
    - `leads`: how far trimmed leads stand below the board (1.5); `metal`: walls, floor and lid conduct.

    A room that can't be (a wall that crosses itself, a post outside) raises DesignError naming the line of the call.
    """

    def __init__(self, mouth: Any, sides_to: Sequence[float], said: RoomSaid, site: CallSite) -> None:
        self._mouth, self._sides_to, self._said = mouth, tuple(sides_to), said
        self._obstacles: list[Obstacle] = []
        self._openings: list[Opening] = []
        self._fixings: list[Fixing] = []
        self._way_in: Mouth | None = None
        self.site = site
        self.model()  # refuses at the constructor's own line what can't be

    @classmethod
    def rectangle(cls, width: float, depth: float, **words: Unpack[RoomWords]) -> Cavity:
        """Return a room `width` by `depth` mm between inside faces, its lower left corner at (0, 0)."""
        site = caller()
        said = room_said(words, cls.rectangle, site)
        w = measures.length(width, "width of the cavity", site)
        d = measures.length(depth, "depth of the cavity", site)
        inside = plan([(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)], "the cavity", site)
        across, up = measures.own(width, depth)
        return cls(inside, corner_sides([(across, up)] * 4, inside.exterior, said.measured_to), said, site)

    @classmethod
    def polygon(cls, points: Iterable[Sequence[float]], **words: Unpack[RoomWords]) -> Cavity:
        """Return a room whose inside faces run through `points` (mm), in order round it."""
        site = caller()
        said = room_said(words, cls.polygon, site)
        corners: Any = list(points) if isinstance(points, Iterable) and not isinstance(points, str) else points
        plan(corners, "the cavity", site)
        ground = fixtures.polygon(corners, "the cavity", said.measured_to, site)
        return cls(ground.outline, ground.sides_to, said, site)

    @classmethod
    def traced(
        cls,
        drawing: str,
        *,
        units: str | None = None,
        layer: str | None = None,
        close: float = 0.1,
        **words: Unpack[RoomWords],
    ) -> Cavity:
        """Return a room whose inside faces are traced in a DXF or SVG file, its lower left corner put at (0, 0).

        `drawing` is named as seen from the design file.  Outlines inside the largest stand in the room from floor to
        lid, as "traced 1" and so on.  `units` ("mm", "inch", "px") says what a unit of the drawing is where the file
        does not; `layer` takes one DXF layer; gaps in the outline up to `close` mm are closed.
        """
        site = caller()
        said = room_said(words, cls.traced, site)
        file = Path(site.file).parent / measures.text(drawing, "name of the drawing", site, empty=False)
        gap = measures.margin(close, "close", site)
        outer, inner = cavity_rings(file, site, units=units, layer=layer, close=gap)
        x0, y0 = outer.bounds[:2]
        room = cls(translate(outer, -x0, -y0), (), said, site)
        for number, ring in enumerate(inner, 1):
            room._obstacles.append(Obstacle(f"traced {number}", translate(ring, -x0, -y0), kind="traced"))
        return room

    def post(
        self,
        name: str,
        *,
        at: Sequence[float],
        diameter: float,
        gap: float = 0.5,
        height: float | None = None,
        carries: bool = False,
        screw: str | None = None,
        metal: bool = False,
    ) -> None:
        """Add a round post of `diameter` mm centred at `at`; `height` mm tall, None for up to the lid.

        The board keeps `gap` mm away all round, on top of the measuring tolerance, unless the post ends below it and
        `carries` it; a `screw` ("M3") in the post must then find a hole in the board.
        """
        site = caller()
        words = self._new_name(name, "post", site)
        ground = fixtures.disc(at, diameter, words, self._said.measured_to, site)
        if (carries or screw) and height is None:
            raise DesignError(f"{words} carries the board, so say how high it is with height=", site)
        self._add(name, "post", ground, 0.0, height, gap, site, carries=carries or screw is not None, metal=metal)
        if screw is not None:
            self._fixings.append(fixtures.fixing(name, at, screw, None, self._said.measured_to, site))

    def obstacle(
        self,
        name: str,
        area: Sequence[Any],
        *,
        bottom: float = 0.0,
        top: float | None = None,
        gap: float = 0.5,
        metal: bool = False,
        carries: bool = False,
    ) -> None:
        """Add something that stands in the room: `area` is a rectangle (x0, y0, x1, y1) or a list of corners (x, y).

        It reaches from `bottom` to `top` mm above the floor (None: to the lid).  The board keeps `gap` mm away from it
        where it is at the board's own height; above and below that it limits the parts only.
        """
        self._stand(name, "obstacle", area, bottom, top, gap, metal=metal, carries=carries)

    def neighbour(
        self, name: str, area: Sequence[Any], *, height: float, gap: float = 0.5, metal: bool = False
    ) -> None:
        """Add a part of the host that stands on the floor beside or under the board, `height` mm tall."""
        self._stand(name, "neighbour", area, 0.0, height, gap, metal=metal)

    def floor_step(self, name: str, area: Sequence[Any], *, height: float, carries: bool = False) -> None:
        """Say that the floor is `height` mm higher over an `area`: less clear height below the board there."""
        self._stand(name, "floor step", area, 0.0, height, 0.5, metal=self._said.metal, carries=carries)

    def lid_step(self, name: str, area: Sequence[Any], *, height: float) -> None:
        """Say that the lid is only `height` mm above the floor over an `area`: less clear height above the board."""
        self._stand(name, "lid step", area, height, None, 0.5, metal=self._said.metal)

    def rib(
        self, name: str, start: Sequence[float], end: Sequence[float], *, thick: float, bottom: float = 0.0,
        height: float | None = None, gap: float = 0.5, carries: bool = False, metal: bool = False,
    ) -> None:  # fmt: skip
        """Add a rib `thick` mm wide along a line from `start` to `end`, from `bottom` up to `height` mm (None: lid)."""
        site = caller()
        words = self._new_name(name, "rib", site)
        ground = fixtures.strip(start, end, thick, words, self._said.measured_to, site)
        self._add(name, "rib", ground, bottom, height, gap, site, carries=carries, metal=metal)

    def ledge(
        self, name: str, *, wall: str, depth: float, bottom: float, top: float | None = None,
        between: Sequence[float] | None = None, gap: float = 0.5, carries: bool = False, metal: bool = False,
    ) -> None:  # fmt: skip
        """Add a ledge that stands `depth` mm out from a wall, along all of it or `between` two coordinates."""
        site = caller()
        words = self._new_name(name, "ledge", site)
        side = wall_named(wall, site)
        ground = fixtures.along_wall(self._mouth, side, depth, between, words, self._said.measured_to, site)
        self._add(name, "ledge", ground, bottom, top, gap, site, carries=carries, metal=metal)

    def tab(self, name: str, *, at: Sequence[float], size: Sequence[float], height: float, bottom: float = 0.0) -> None:
        """Add a metal tab, `size` (width, depth) mm about `at`, that comes up through a hole in the board."""
        site = caller()
        words = self._new_name(name, "tab", site)
        ground = fixtures.box_round(at, size, words, self._said.measured_to, site)
        self._add(name, "tab", ground, bottom, height, 0.0, site, through=True, metal=True)

    def fixing(
        self, name: str, *, at: Sequence[float], screw: str | None = None, diameter: float | None = None
    ) -> None:
        """Add a screw ("M3") or a peg of `diameter` mm of the host that must find its hole in the board."""
        site = caller()
        words = self._new_name(name, "fixing", site)
        found = fixtures.fixing(name, at, screw, diameter, self._said.measured_to, site)
        fixtures.inside_of(self._mouth, shapely.Point(found.at).buffer(found.diameter / 2), words, site)
        self._fixings.append(found)

    def opening(
        self,
        name: str,
        *,
        wall: str,
        centre: float,
        width: float,
        bottom: float | None = None,
        top: float | None = None,
        thick: float = 0.0,
        plug: float | Sequence[float] | None = None,
        wires: bool = False,
    ) -> None:
        """Add a hole in a wall: "left", "right", "bottom" (or "front"), "top" (or "back") as drawn in plan.

        `centre` is y on the left and right walls, x on the others; `bottom` and `top` are heights above the floor.
        `plug` is the diameter or (width, height) of the body of the plug that goes in from outside, `thick` the wall's
        thickness there; `wires` says that the board's wires leave here.
        """
        site = caller()
        words = self._new_name(name, "opening", site)
        usual = self._said.measured_to
        hole = fixtures.hole_in_wall(name, "opening", wall, centre, width, bottom, top, self._mouth, usual, site)
        self._below_lid(hole.bottom or 0.0, hole.top, hole.top_to, words, site)
        self._openings.append(
            replace(
                hole,
                thick=measures.margin(thick, f"thickness of the wall at {words}", site),
                plug=None if plug is None else fixtures.plug_size(plug, words, site),
                wires=measures.flag(wires, f"wires of {words}", site),
            )
        )

    def slot(
        self, name: str, *, wall: str, centre: float, width: float, depth: float, bottom: float, top: float
    ) -> None:
        """Add a slot in a wall that does not go through: board and parts may reach `depth` mm into it."""
        site = caller()
        words = self._new_name(name, "slot", site)
        usual = self._said.measured_to
        hole = fixtures.hole_in_wall(name, "slot", wall, centre, width, bottom, top, self._mouth, usual, site)
        self._below_lid(hole.bottom or 0.0, hole.top, hole.top_to, words, site)
        self._openings.append(replace(hole, depth=measures.length(depth, f"depth of {words}", site)))

    def mouth(self, area: Sequence[Any], *, thick: float = 1.0) -> None:
        """Say through which hole in the top the board must be got in, if not the whole top opens.

        `area` is a rectangle or a list of corners as for `obstacle`, in a rim `thick` mm thick at the cavity's height.
        """
        site = caller()
        if self._said.height is None:
            raise DesignError("mouth needs the cavity's height=, to say where it is", site)
        ground = fixtures.area(area, "the mouth", self._said.measured_to, site)
        fixtures.inside_of(self._mouth, ground.outline, "the mouth", site)
        rim = measures.length(thick, "thickness of the mouth's rim", site)
        self._way_in = Mouth(ground.outline, rim, ground.sides_to)

    def model(self) -> CavityModel:
        """Return the room as it stands now, frozen."""
        return composed(
            self._mouth, self._sides_to, self._said, self._obstacles, self._openings, self._fixings, self._way_in,
            self.site,
        )  # fmt: skip

    def _new_name(self, name: object, kind: str, site: CallSite) -> str:
        found = measures.text(name, f"name of the {kind}", site, empty=False)
        taken = {o.name for o in self._obstacles} | {o.name for o in self._openings} | {f.name for f in self._fixings}
        if found in taken:
            raise DesignError(f'{kind} "{found}" is in the cavity already; give this one another name', site)
        return f'{kind} "{found}"'

    def _stand(
        self, name: str, kind: str, area: Sequence[Any], bottom: object, top: object, gap: object, **flags: bool
    ) -> None:
        site = caller()
        words = self._new_name(name, kind, site)
        ground = fixtures.area(area, words, self._said.measured_to, site)
        self._add(name, kind, ground, bottom, top, gap, site, **flags)

    def _add(
        self, name: str, kind: str, ground: Ground, bottom: object, top: object, gap: object, site: CallSite,
        **flags: bool,
    ) -> None:  # fmt: skip
        found = fixtures.standing(name, kind, ground, bottom, top, gap, site, **flags)
        fixtures.inside_of(self._mouth, found.outline, f'{kind} "{name}"', site)
        words = f'{kind} "{name}"'
        self._below_lid(found.bottom, found.top, found.top_to, words, site)
        if kind == "floor step":
            fixtures.under_lid(found.top or 0.0, self._said.height, words, site)
        if found.carries and found.top is None:
            raise DesignError(f"{words} carries the board, so say how high it is", site)
        self._obstacles.append(found)

    def _below_lid(self, bottom: float, top: float | None, top_to: float | None, words: str, site: CallSite) -> None:
        """Refuse what begins or ends above the lid."""
        usual, height = self._said.measured_to, self._said.height
        fixtures.under_lid(bottom, height, words, site)
        loose = self._said.own.get("height", usual) + (usual if top_to is None else top_to)
        fixtures.ends_under_lid(top, height, loose, words, site)


__all__ = ["BOARD_AT", "MEASURED_TO", "WALLS", "WALL_ALIASES", "WALL_GAP", "Cavity", "wall_named"]
