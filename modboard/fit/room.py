"""The room, and the solids that must share it: the board, part bodies and the leads below it, each with its heights."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import shapely
from shapely.geometry import Polygon

from modboard.describe.faces import inside_at, obstacle_to, walls_to
from modboard.describe.model import CavityModel, Obstacle, Opening
from modboard.describe.outline import THICKNESS_TO
from modboard.describe.rules import Rules
from modboard.fit.distance import EXACT, Gap, Ground, apart, ground, within
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart
from modboard.layout.place.room import CLEAR

SOLDER = 0.5  # mm that a soldered joint stands below the board at the least, IPC-A-610 (from memory)
LID_MARGIN = CLEAR  # mm of air between a part and lid or floor
BEYOND = 1000.0  # mm, farther than any wall


@dataclass(frozen=True, eq=False)
class Solid:
    """A prism: plan outline (shapely polygon) between two heights above the cavity floor (mm).

    `reference` is the part; `what` is "body", "leads", or "board" for the board itself.
    """

    reference: str
    what: str
    outline: Any
    low: float
    high: float

    @property
    def words(self) -> str:
        """Return 'C3' or 'the leads of C3'."""
        return f"the leads of {self.reference}" if self.what == "leads" else self.reference

    def verb(self, one: str, many: str) -> str:
        """Return the form of a verb that goes with `words`."""
        return many if self.what == "leads" else one

    @property
    def middle(self) -> Position:
        """Return a point inside the outline."""
        point = self.outline.representative_point()
        return (point.x, point.y)


class Room:
    """A board in its cavity."""

    def __init__(self, board: Board, cavity: CavityModel) -> None:
        self.board = board
        self.cavity = cavity
        self._grounds: dict[tuple[float, tuple[str, ...]], Ground] = {}

    @property
    def rules(self) -> Rules:
        """The rule set of the design."""
        return self.board.description.rules

    @property
    def underside(self) -> float:
        """Height of the board's underside above the floor."""
        return self.cavity.board_at

    @property
    def topside(self) -> float:
        """Height of the board's upper surface above the floor."""
        return self.cavity.board_at + self.rules.thickness

    @property
    def made_to(self) -> float:
        """How much larger than drawn the board's edge may be made, on each side."""
        return self.rules.outline_tolerance

    @property
    def plate(self) -> Solid:
        """The board itself, without its mounting holes."""
        return Solid("the board", "board", self.board.outline, self.underside, self.topside)

    @cached_property
    def solids(self) -> tuple[Solid, ...]:
        """Every fitted part's bodies, and its leads where they come out on the other side.

        What hangs from the underside to plug into the host's own socket is meant to meet the host and left out.
        """
        standing = [p for p in self.board.parts if p.part.fitted and not p.part.footprint.underside]
        return tuple(s for placed in standing for s in (*self._bodies(placed), *self._leads(placed)))

    def _bodies(self, placed: PlacedPart) -> list[Solid]:
        bodies = placed.bodies()
        tallest = max((b.height for b in bodies), default=0.0)
        found = []
        for body in bodies:
            height = placed.part.tall if body.height == tallest else min(body.height, placed.part.tall)
            low, high = self._heights(placed, min(body.above, height), height)
            found.append(Solid(placed.part.reference, "body", Polygon(body.outline), low, high))
        return found

    def _heights(self, placed: PlacedPart, near: float, far: float) -> tuple[float, float]:
        """Return the heights above the floor of what stands from `near` to `far` over the part's own side."""
        if placed.side == "top":
            return self.topside + near, self.topside + far
        return self.underside - far, self.underside - near

    def _leads(self, placed: PlacedPart) -> list[Solid]:
        """Return the trimmed leads and their solder that come out on the far side of the board."""
        pads = [p for p in placed.pads({}) if p.hole is not None]
        if not pads:
            return []
        outline = shapely.union_all([p.shape.polygon() for p in pads])
        reach = max(SOLDER, min(placed.part.footprint.lead_below, self.cavity.leads))
        if placed.side == "top":
            return [Solid(placed.part.reference, "leads", outline, self.underside - reach, self.underside)]
        return [Solid(placed.part.reference, "leads", outline, self.topside, self.topside + reach)]

    def height_to(self, solid: Solid) -> float:
        """Return how far the solid's upper end may be out: where the board is held, and its thickness on top."""
        return self.level_to(solid.high)

    def low_to(self, solid: Solid) -> float:
        """Return the same for its lower end."""
        return self.level_to(solid.low)

    def level_to(self, level: float) -> float:
        """Return how far a height on the board may be out; above it, the board's thickness counts too."""
        top = level > self.topside - EXACT
        return self.cavity.board_at_to + (THICKNESS_TO * self.rules.thickness if top else 0.0)

    def reaches(self, obstacle: Obstacle, solid: Solid, *, worst: bool = False) -> bool:
        """Tell whether an obstacle is anywhere between a solid's heights, or may be with every ± against it."""
        high_to, low_to = (self.height_to(solid), self.low_to(solid)) if worst else (0.0, 0.0)
        over, under = (self.cavity.within(to) if worst else 0.0 for to in (obstacle.bottom_to, obstacle.top_to))
        below = obstacle.top is not None and obstacle.top + under + low_to <= solid.low + EXACT
        above = obstacle.bottom - over - high_to >= solid.high - EXACT
        return not (below or above)

    def to_obstacle(self, solid: Solid, obstacle: Obstacle) -> Gap:
        """Return the room in plan between a solid and an obstacle."""
        return apart(solid.outline, obstacle, obstacle_to(obstacle, self.cavity), self.made_to)

    def to_walls(self, solid: Solid) -> Gap:
        """Return the room in plan between a solid and the walls; openings and slots it fits into in height are free."""
        free = [o for o in self.cavity.openings if self.passes_in_height(o, solid)]
        if solid.what == "board":  # a hole whose height nobody measured is no way for the board itself
            free = [o for o in free if o.bottom is not None and o.top is not None]
        return within(solid.outline, self.free_ground(solid.low, free), self.made_to)

    def free_ground(self, height: float, openings: list[Opening]) -> Ground:
        """Return the ground within the walls at a height, with that of the openings given."""
        at = height if self.cavity.lean else 0.0
        key = (at, tuple(o.name for o in openings))
        if key not in self._grounds:
            walls = inside_at(self.cavity, at) if self.cavity.lean else self.cavity.inside
            corridors = [(self.corridor(o, walls), self.cavity.within(o.side_to)) for o in openings]
            tos = walls_to(self.cavity)
            if len(tos) != len(walls.exterior.coords) - 1:
                tos = (max(tos),) * (len(walls.exterior.coords) - 1)
            self._grounds[key] = ground(walls, walls, tos, corridors)
        return self._grounds[key]

    def corridor(self, opening: Opening, inside: Any = None) -> Any:
        """Return the ground outside the wall that an opening gives access to, as wide as the opening.

        It begins at the innermost of the wall's points at the opening's middle and sides, and goes as deep as a slot.
        `inside` is the room's outline at the height asked about, where walls lean (None: at the board's underside).
        """
        along_y = opening.wall in ("left", "right")
        low, high = opening.centre - opening.width / 2, opening.centre + opening.width / 2
        face = self.wall_face(opening, inside)
        if face is None:
            return Polygon()
        deep = BEYOND if opening.depth is None else opening.depth
        out = face - deep if opening.wall in ("left", "bottom") else face + deep
        if along_y:
            return shapely.box(min(face, out), low, max(face, out), high)
        return shapely.box(low, min(face, out), high, max(face, out))

    def wall_face(self, opening: Opening, inside: Any = None) -> float | None:
        """Return the coordinate of the wall's inner face at an opening: the innermost at its middle and sides."""
        walls = self.cavity.inside if inside is None else inside
        along_y = opening.wall in ("left", "right")
        faces = []
        for along in (opening.centre - opening.width / 2, opening.centre, opening.centre + opening.width / 2):
            ends = ((-BEYOND, along), (BEYOND, along)) if along_y else ((along, -BEYOND), (along, BEYOND))
            across = walls.intersection(shapely.LineString(ends))
            if not across.is_empty:
                x0, y0, x1, y1 = across.bounds
                faces.append({"left": x0, "right": x1, "bottom": y0, "top": y1}[opening.wall])
        if not faces:
            return None
        return float(max(faces) if opening.wall in ("left", "bottom") else min(faces))

    def passes_in_height(self, opening: Opening, solid: Solid) -> bool:
        """Tell whether the solid's heights lie within the opening's, worst case; unmeasured ones do not count."""
        over, under = self.cavity.within(opening.top_to), self.cavity.within(opening.bottom_to)
        clear = opening.top is None or solid.high + self.height_to(solid) <= opening.top - over + EXACT
        return clear and (opening.bottom is None or solid.low - self.low_to(solid) >= opening.bottom + under - EXACT)
