"""From lands and bodies to a whole footprint: courtyard, legend clear of the lands, and a mark that stays visible."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import shapely
from shapely.geometry import LineString, MultiLineString, Polygon, box

from modboard.errors import LibraryError
from modboard.geometry import Position
from modboard.library.families import Dimensions
from modboard.library.model import Body, Footprint, Hole, Land, LandForm, PadForm
from modboard.library.sizing import (
    COURTYARD_EXCESS,
    EXTERNAL_RING,
    FINE_STEP,
    HOME_RING,
    HOME_ROW_GAP,
    KEPT_RING,
    LEAST_GAP,
    ROW_GAP,
    STEP,
    Level,
    channel_left,
    finished_hole,
    land_across_pitch,
    land_diameter,
    round_down,
    round_up,
)

LEGEND_LINE = 0.15  # mm, easy tier of published capability tables
MASK_EXPANSION = 0.10  # mm per side, the same tables
LEGEND_GAP = 0.15  # mm from exposed copper, the same tables
LEGEND_KEEP = MASK_EXPANSION + LEGEND_GAP + LEGEND_LINE / 2 + 0.005  # from a land to the middle of a legend line
SAME_LINE = 0.7  # mm; leads no further off one line than this are neighbours in it
SHORTEST_LINE = 0.4  # mm; a shorter scrap of legend says nothing
MARK_TO_BODY = 0.15 + LEGEND_LINE / 2  # middle of the mark's line to the body

# the mark's distance to its own land, at most this part of that to any other: the first that can be had
MARK_NEARER = (0.65, 0.85, 0.99)
OFF_BOARD = (-500.0, -500.0, 500.0, 0.0)  # mm, beyond the edge at y = 0 of a pattern that it halves
MARK_REACH = 24.0  # mm from pad 1

Polyline = tuple[Position, ...]
MarkKind = Literal["dot", "bar", "plus", "none"]

MARKS: dict[str, tuple[Polyline, ...]] = {
    "dot": (((-0.15, 0.0), (0.0, 0.15), (0.15, 0.0), (0.0, -0.15), (-0.15, 0.0)),),
    "bar": (((0.0, -0.5), (0.0, 0.5)),),
    "plus": (((-0.4, 0.0), (0.4, 0.0)), ((0.0, -0.4), (0.0, 0.4))),
    "none": (),
}


@dataclass(frozen=True)
class Lead:
    """Where a lead comes through the board, and its greatest diameter or diagonal `size` (mm).

    `slot` (width, overall length) asks for a slotted hole, upright (along y) or lying; `bore` for a round hole of that
    finished size; `ring` for a wider ring than the formula gives; `square` for the square land of pad 1.
    """

    number: str
    at: Position
    size: float
    square: bool = False
    ring: float = 0.0
    bore: float | None = None
    slot: tuple[float, float] | None = None
    upright: bool = True

    def hole(self, diameter: float) -> Hole:
        """Return the plated hole, or the slot."""
        if self.slot is None:
            return Hole(self.at, diameter)
        half = (self.slot[1] - self.slot[0]) / 2
        dx, dy = (0.0, half) if self.upright else (half, 0.0)
        return Hole((self.at[0] - dx, self.at[1] - dy), diameter, True, (self.at[0] + dx, self.at[1] + dy))


def nearest_in_line(lead: Lead, leads: Sequence[Lead], axis: int) -> float | None:
    """Return the distance to the nearest other lead in the same row (`axis` 0) or column (1), None if alone there."""
    gaps = [
        round(abs(other.at[axis] - lead.at[axis]), 6)
        for other in leads
        if other is not lead and abs(other.at[1 - axis] - lead.at[1 - axis]) < SAME_LINE
    ]
    return min(gaps, default=None)


def nearest_askew(lead: Lead, leads: Sequence[Lead]) -> float | None:
    """Return the distance to the nearest lead that is in neither its row nor its column, None if there is none."""
    gaps = [
        math.dist(lead.at, other.at)
        for other in leads
        if other is not lead and min(abs(other.at[k] - lead.at[k]) for k in (0, 1)) >= SAME_LINE
    ]
    return min(gaps, default=None)


@dataclass(frozen=True)
class Sizing:
    """The producibility level, and the least land of a hole (mm, 0 = as the formula gives)."""

    level: Level
    land_min: float = 0.0

    @property
    def kept(self) -> float:
        """The ring to keep where lands are cramped, mm."""
        return HOME_RING if self.land_min > 0 else KEPT_RING[self.level]

    def lands(self, leads: Sequence[Lead]) -> tuple[Land, ...]:
        """Return the through lands for `leads`, each held clear of its neighbours in its own row and column."""
        return tuple(self._land(lead, leads) for lead in leads)

    def _land(self, lead: Lead, leads: Sequence[Lead]) -> Land:
        """Return one land: by rounded sizes, else by finer steps, else round a snug hole, else with the least gap.

        Finer steps are also taken where they let a track pass between two lands that rounded sizes would close.  A
        snug hole has the allowance of level C, the least that IPC-2222 gives; with the least gap the ring is what is
        left.

        Raises LibraryError if even that leaves less ring than IPC-2221 table 9-2 asks for.
        """
        comfortable = max(ROW_GAP[self.level], HOME_ROW_GAP if self.land_min > 0 else 0.0)
        least = comfortable if self.land_min > 0 else LEAST_GAP
        pitches = [nearest_in_line(lead, leads, axis) for axis in (0, 1)]
        askew = nearest_askew(lead, leads)
        roomy = [self._spans(lead, pitches, askew, step, comfortable, self.level) for step in (STEP, FINE_STEP)]
        snug = [self._spans(lead, pitches, askew, FINE_STEP, gap, "C") for gap in (comfortable, least)]
        whole = [t for t in roomy if t[2] >= self.kept - 1e-9]
        passable = [t for t in whole if all(channel_left(p, s) for p, s in zip(pitches, t[1], strict=True))]
        whole = whole or [t for t in snug if t[2] >= self.kept - 1e-9]
        hole, spans, ring = (passable or whole or snug[-1:])[0]
        if ring < EXTERNAL_RING - 1e-9:
            pitch = min(p for p in (*pitches, askew) if p is not None)
            raise LibraryError(
                f"pitch {pitch:g} less a gap of {least:g} mm leaves a ring of only {ring:.2f} mm "
                f"round a hole of {hole:g}; take a wider pitch or an easier rule set"
            )
        width, height = spans
        form: LandForm = "rectangle" if lead.square else "round" if width == height else "oval"
        return Land(lead.number, lead.at, PadForm(form, width, height), lead.hole(hole), lead.size)

    def _spans(
        self, lead: Lead, pitches: Sequence[float | None], askew: float | None, step: float, gap: float, fit: Level
    ) -> tuple[float, tuple[float, float], float]:
        """Return hole (with the allowance of level `fit`), land size along x and y, and least ring, by `step`."""
        hole = lead.slot[0] if lead.slot else lead.bore or finished_hole(lead.size, fit, step)
        length = lead.slot[1] if lead.slot else hole
        openings = (hole, length) if lead.upright else (length, hole)
        ring = max((land_diameter(hole, self.level, step) - hole) / 2, lead.ring)
        width, height = (
            land_across_pitch(
                round_up(opening + 2 * ring, step),
                opening,
                pitch,
                kept=self.kept,
                gap=gap,
                land_min=self.land_min,
                step=step,
            )
            for opening, pitch in zip(openings, pitches, strict=True)
        )
        if askew is not None:  # leads on a circle: what matters is the distance across the corner
            across = round_down(askew - gap, step)
            width, height = min(width, max(across, openings[0])), min(height, max(across, openings[1]))
        return hole, (width, height), min(width - openings[0], height - openings[1]) / 2


@dataclass(frozen=True)
class Drawing:
    """What a builder hands over; everything else of a footprint follows from it."""

    lands: tuple[Land, ...]
    bodies: tuple[Body, ...]
    legend: tuple[Polyline, ...] = ()  # as one would like it; what comes too near a land is cut away
    mark: MarkKind = "none"
    holes: tuple[Hole, ...] = ()
    front: float | None = None
    courtyard_excess: dict[str, float] = field(default_factory=lambda: COURTYARD_EXCESS)
    underside: bool = False
    yard: Polyline | None = None  # the courtyard, where it is not to go round all lands
    bridge: bool = False
    edge: Literal["", "halved", "fingers"] = ""  # with "halved" the board's edge is at y = 0, and the board above it


def rectangle_outline(x0: float, y0: float, x1: float, y1: float) -> Polyline:
    """Return the corners of a rectangle, counter-clockwise from lower left."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def centred_outline(at: Position, width: float, height: float) -> Polyline:
    """Return the corners of a rectangle of `width` along x and `height` along y about `at`."""
    return rectangle_outline(at[0] - width / 2, at[1] - height / 2, at[0] + width / 2, at[1] + height / 2)


def round_outline(at: Position, diameter: float, sides: int = 24) -> Polyline:
    """Return a regular polygon that just contains a circle."""
    radius = diameter / 2 / math.cos(math.pi / sides)
    turns = [2 * math.pi * (k + 0.5) / sides for k in range(sides)]
    return tuple((round(at[0] + radius * math.cos(t), 4), round(at[1] + radius * math.sin(t), 4)) for t in turns)


def closed(outline: Sequence[Position]) -> Polyline:
    """Return an outline as a polyline that ends where it began."""
    return (*outline, outline[0])


def finish(name: str, family: str, dims: Dimensions, drawing: Drawing, level: Level) -> Footprint:
    """Complete a drawing: clip the legend, find a place for the mark, put the courtyard round all of it."""
    copper = [land.form.shape(land.at) for land in drawing.lands]
    holes = [hole.shape() for hole in drawing.holes]
    keep_off = shapely.union_all([s.grown(LEGEND_KEEP).covering_polygon() for s in copper + holes])
    bodies = shapely.union_all([Polygon(body.outline) for body in drawing.bodies])
    legend = clip(drawing.legend, keep_off)
    extent = shapely.union_all([bodies, *(s.covering_polygon() for s in copper + holes)])
    if drawing.edge == "halved":  # nothing is printed, and no courtyard kept, where there is no board
        keep_off = keep_off.union(box(*OFF_BOARD))
        extent = extent.difference(box(*OFF_BOARD))
    mark = place_mark(name, drawing, bodies, keep_off, extent)
    screws = [hole.kept_off(0.0).covering_polygon() for hole in drawing.holes]
    printed = [LineString(line).buffer(LEGEND_LINE / 2) for line in (*legend, *mark)]
    courtyard = courtyard_round(extent, [*printed, *screws], drawing.courtyard_excess[level])
    if drawing.edge == "halved":
        courtyard = tuple((x, max(0.0, y)) for x, y in courtyard)
    courtyard = drawing.yard or courtyard
    through = any(land.through for land in drawing.lands)
    return Footprint(
        name=name,
        family=family,
        title=dims.text("title"),
        technology="none" if dims.flag("bare") or not drawing.lands else "through-hole" if through else "surface-mount",
        lands=drawing.lands,
        bodies=drawing.bodies,
        courtyard=courtyard,
        legend=legend,
        mark=mark,
        holes=drawing.holes,
        front=drawing.front,
        lead_below=dims.length("lead_below", 0.0),
        polarised=drawing.mark != "none",
        source=dims.text("source"),
        measure_yours=dims.has("varies"),
        underside=drawing.underside,
        watts=dims.length("watts") if dims.has("watts") else None,
        exception=dims.text("exception", ""),
        edge=drawing.edge,
        bridge=drawing.bridge,
        bend_note=dims.text("bend_note", ""),
    )


def clip(lines: Sequence[Polyline], keep_off: Any) -> tuple[Polyline, ...]:
    """Return the pieces of `lines` outside `keep_off` that are long enough to print."""
    pieces: list[Polyline] = []
    for line in lines:
        left = shapely.line_merge(LineString(line).difference(keep_off))
        parts = left.geoms if isinstance(left, MultiLineString) else [left]
        pieces += [tuple((round(x, 4), round(y, 4)) for x, y in p.coords) for p in parts if p.length >= SHORTEST_LINE]
    return tuple(pieces)


def place_mark(name: str, drawing: Drawing, bodies: Any, keep_off: Any, extent: Any) -> tuple[Polyline, ...]:
    """Return the mark moved to the place that is off lands and bodies, plainly at pad 1, and widens the part least."""
    glyph = MARKS[drawing.mark]
    if not glyph:
        return ()
    forbidden = shapely.union_all([keep_off, bodies.buffer(MARK_TO_BODY, join_style="mitre")])
    for nearer in MARK_NEARER:
        at = _best_place(drawing, MultiLineString([LineString(line) for line in glyph]), forbidden, extent, nearer)
        if at is not None:
            return tuple(tuple((round(x + at[0], 4), round(y + at[1], 4)) for x, y in line) for line in glyph)
    raise LibraryError(f'footprint "{name}": no room for the pin 1 mark within {MARK_REACH:g} mm of pad 1')


def _best_place(drawing: Drawing, glyph: Any, forbidden: Any, extent: Any, nearer: float) -> Position | None:
    """Search outwards from pad 1 in eight directions; None if no place is `nearer` to it than to any other land."""
    origin = drawing.lands[0].at
    others = [land.at for land in drawing.lands if land.at != origin]
    best: tuple[float, float, int, Position] | None = None
    for ring in range(4, int(MARK_REACH / 0.1)):
        distance = ring * 0.1
        if best is not None and distance > best[1] + 1.5:
            break
        for eighth, (ux, uy) in enumerate(DIRECTIONS):
            at = (round(origin[0] + ux * distance, 4), round(origin[1] + uy * distance, 4))
            if not all(math.dist(at, origin) <= nearer * math.dist(at, other) for other in others):
                continue
            moved = shapely.transform(glyph, lambda points, at=at: points + at)
            if moved.intersects(forbidden):
                continue
            growth = box(*shapely.union(extent, moved).bounds).area - box(*extent.bounds).area
            candidate = (round(growth, 3), distance, eighth, at)
            if best is None or candidate < best:
                best = candidate
    return None if best is None else best[3]


# Left first, then up and round: the order in which places for a mark are preferred
DIRECTIONS = [(round(math.cos(a), 6), round(math.sin(a), 6)) for a in (math.radians(d) for d in range(180, -180, -45))]


def courtyard_round(extent: Any, within: Sequence[Any], excess: float) -> Polyline:
    """Return the courtyard: a rectangle round lands and bodies plus `excess`, wide enough for all that is `within`.

    That is the legend, so that no neighbour's land can come to lie on it, and what screws cover likewise.
    """
    x0, y0, x1, y1 = extent.bounds
    outer = [box(x0 - excess, y0 - excess, x1 + excess, y1 + excess), *within]
    x0, y0, x1, y1 = shapely.union_all(outer).bounds
    return rectangle_outline(*(-round_up(-v, 0.01) if low else round_up(v, 0.01) for v, low in
                               ((x0, True), (y0, True), (x1, False), (y1, False))))  # fmt: skip
