"""The exact check of a placement against every hard limit, by true distances between true outlines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.model import AtEdge, Description, Fixed
from modboard.geometry import TOLERANCE
from modboard.layout.board import PlacedPart
from modboard.layout.place.room import Room
from modboard.layout.place.standing import Standing
from modboard.layout.place.wishes import wish_of


@dataclass(frozen=True)
class Fault:
    """A broken limit: the parts it concerns, what is wrong in words, and by how many mm."""

    parts: tuple[str, ...]
    text: str
    lack: float

    def parts_among(self, references: set[str]) -> bool:
        """Tell whether it concerns none but these parts."""
        return set(self.parts) <= references

    def __str__(self) -> str:
        return f"{self.text} ({self.lack:.2f} mm more needed)"


def overlap_depth(a: Any, b: Any) -> float:
    """Return how far two shapely areas reach into each other: the thickness of their common part, mm."""
    common = a.intersection(b)
    if common.area <= TOLERANCE**2:
        return 0.0
    x0, y0, x1, y1 = common.bounds
    return float(min(x1 - x0, y1 - y0))


def lacking(a: Any, b: Any, gap: float) -> float:
    """Return by how much two areas are nearer than `gap` (mm), 0 if they are not."""
    distance = float(shapely.distance(a, b))
    if distance > 0:
        return max(0.0, gap - distance)
    depth = overlap_depth(a, b)
    return depth + gap if depth > TOLERANCE or gap > 0 else 0.0


def pair_faults(description: Description, placed: Sequence[PlacedPart]) -> Iterator[Fault]:
    """Yield courtyards that meet, and leads that come out inside the courtyard of a part on the other side."""
    gap = description.rules.part_gap
    yards = [Polygon(p.courtyard()) for p in placed]
    standings = [Standing(p.part, p.turn, p.side) for p in placed]
    for i, a in enumerate(placed):
        for j in range(i + 1, len(placed)):
            b = placed[j]
            names = (a.part.reference, b.part.reference)
            if a.side == b.side:
                lack = lacking(yards[i], yards[j], gap)
                if lack > TOLERANCE:
                    yield Fault(names, f"{names[0]} and {names[1]} are too close", lack)
                continue
            for one, other in ((i, j), (j, i)):
                x, y = placed[one].at
                for box in standings[one].through:
                    lack = lacking(shapely.box(box[0] + x, box[1] + y, box[2] + x, box[3] + y), yards[other], 0.0)
                    if lack > TOLERANCE:
                        through, under = placed[one].part.reference, placed[other].part.reference
                        yield Fault(names, f"a lead of {through} comes out under {under}", lack)
                        break


def outside_by(area: Any, inner: Any) -> float:
    """Return how far (mm) `inner` sticks out of `area`, 0 if it does not.

    Where a bulge of what is outside reaches into a straight side, all corners of what is cut off lie on its edge:
    its thickness then says how far.
    """
    rest = inner.difference(area)
    if rest.is_empty or rest.area < TOLERANCE**2:
        return 0.0
    points = shapely.points(shapely.get_coordinates(rest))
    far = float(shapely.distance(points, area).max())
    if far > TOLERANCE:
        return far
    x0, y0, x1, y1 = shapely.bounds(shapely.get_parts(rest)).T
    return float(np.minimum(x1 - x0, y1 - y0).max())


def board_faults(room: Room, placed: PlacedPart) -> Iterator[Fault]:
    """Yield what is wrong between one part and the board, its mounting holes and the cavity."""
    description = room.description
    reference = placed.part.reference
    wish = wish_of(description, placed.part)
    yard = Polygon(placed.courtyard())
    if not isinstance(wish, Fixed | AtEdge):
        lack = outside_by(room.part_area, yard)
        if lack > TOLERANCE:
            yield Fault((reference,), f"{reference} is not on the board", lack)
    for pad in placed.pads({}) if placed.part.footprint.edge != "halved" else ():
        lack = outside_by(room.copper_area, pad.shape.polygon())
        if lack > TOLERANCE:
            least = description.rules.copper_to_edge
            text = f"pad {pad.number} of {reference} is nearer to the board edge than {least:g} mm"
            if names := left_free_for(description, pad.shape.polygon(), least):
                text += f", where the board leaves room for {names}"
            yield Fault((reference,), text, lack)
            break
    for hole, disc in zip(description.holes, room.holes, strict=True):
        lack = lacking(yard, disc, 0.0)
        if lack > TOLERANCE:
            at = f"({hole.at[0]:g}, {hole.at[1]:g})"
            yield Fault((reference,), f"{reference} is in the keep-out of the mounting hole at {at}", lack)
    for area in description.keep_outs:
        if "parts" in area.bars and placed.side in area.sides:
            lack = lacking(yard, area.shape.polygon(), 0.0)
            if lack > TOLERANCE:
                yield Fault((reference,), f"{reference} is in the keep-out of {area.site}", lack)
    for text, lack in room.drawn.faults(placed):
        yield Fault((reference,), text, lack)
    if isinstance(wish, Fixed):
        return  # where the person put it against the cavity is for the fit to judge
    standing = Standing(placed.part, placed.turn, placed.side)
    at_x, at_y = np.array([placed.at[0]]), np.array([placed.at[1]])
    for limit in room.obstacle_limits(standing):
        if not limit.passes(at_x, at_y)[0]:
            outline = Polygon(limit.hull + np.array(placed.at))
            yield Fault((reference,), f"{reference} meets an obstacle of the cavity", min_size(outline))
            return


def left_free_for(description: Description, land: Any, least: float) -> str:
    """Return the names of what stands in the cavity, beside or amid the board, that an area comes too near to.

    `least` (mm) is how near to the board's edge the area may come.
    """
    cavity = description.cavity
    near = [
        f'"{o.name}"'
        for o in (cavity.obstacles if cavity else ())
        if not description.outline.intersects(o.outline)
        and shapely.distance(o.outline, land) < shapely.distance(o.outline, description.outline) + least
    ]
    return " and ".join(dict.fromkeys(near))


def min_size(outline: Any) -> float:
    """Return the lesser side of the box round an outline."""
    x0, y0, x1, y1 = outline.bounds
    return float(min(x1 - x0, y1 - y0))


def faults(description: Description, placed: Sequence[PlacedPart], room: Room | None = None) -> list[Fault]:
    """Return every broken limit of a placement, the worst first."""
    room = room or Room(description, ())
    found = list(pair_faults(description, placed))
    for part in placed:
        found.extend(board_faults(room, part))
    return sorted(found, key=lambda f: (-f.lack, f.parts))
