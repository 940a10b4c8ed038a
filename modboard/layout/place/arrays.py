"""A description and the places its parts may take, as the plain arrays that the annealer works on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from modboard.describe.model import Description, Near, Part
from modboard.layout.place.congestion import Congestion
from modboard.layout.place.kernels import Bins, Nets, Places, Problem, Yards
from modboard.layout.place.pulls import Pull, decoupling
from modboard.layout.place.sites import Sites
from modboard.layout.place.standing import Box, Standing
from modboard.layout.place.wishes import wish_of

LINE_WORTH = 0.12  # cost per mm of width and depth that being in line saves
BIN = 2.54  # mm, side of a congestion bin
USABLE = 0.35  # share of both layers that tracks can use between pads and round corners
MOST_ROOM = 1.5  # mm of elbow room on a board with plenty of it
LINK_ROOM = 1.2  # mm between parts in which a wire link can lie: its courtyard and a little
CROWDED = 0.9  # of a one-sided board that parts and these corridors may take, for links need them
SPARSE = 0.6  # share of the board that courtyards may take, gaps and all, before gaps are widened no more
ROOM_SHARE = 0.45  # of the gap there would be if all parts stood evenly spread


def starts(counts: Sequence[int]) -> Any:
    """Return the running start of each slice, and the end of the last."""
    return np.concatenate([[0], np.cumsum(np.asarray(counts, dtype=np.int64))]).astype(np.int64)


def elbow_room(options: Sequence[Sequence[Sites]], free: dict[str, Any]) -> Any:
    """Return how much room (mm) each part would like on each side, from how full its side of the board is.

    `free` is the area (shapely) in which courtyards may lie on each side; a part that stands at the edge or is fixed
    takes of it what it covers.
    """
    room = np.zeros(len(options))
    for side in ("top", "bottom"):
        shares = np.array([share_on(side, o) for o in options])
        if not shares.any():
            continue
        used = sum(share * covered(o[0], free[side]) for share, o in zip(shares, options, strict=True))
        gap = (math.sqrt(max(free[side].area, used)) - math.sqrt(used)) / math.sqrt(shares.sum())
        room = np.where(shares > 0, np.maximum(room, min(MOST_ROOM, ROOM_SHARE * gap)), room)
    return room


def covered(sites: Sites, free: Any) -> float:
    """Return how much (mm²) of the free area a part covers on its first site."""
    standing = affinity.translate(sites.standing.courtyard, sites.x[0], sites.y[0])
    return float(standing.intersection(free).area)


def share_on(side: str, sites: Sequence[Sites]) -> float:
    """Return how much of a part counts for a side: all or nothing, or half if either side will do."""
    sides = {s.standing.side for s in sites}
    return 1.0 / len(sides) if side in sides else 0.0


def gap_between(
    description: Description, options: Sequence[Sequence[Sites]], free: dict[str, Any], spread: float
) -> float:
    """Return the gap (mm) between courtyards: the rule's, and as much of `spread` as leaves the board sparse.

    `free` as for `elbow_room`.
    """
    gap = description.rules.part_gap
    sparse = SPARSE
    if description.rules.one_sided:
        spread, sparse = max(spread, LINK_ROOM), CROWDED
    boxes = [o[0].standing.box for o in options]
    shares = {
        side: [share_on(side, o) * covered(o[0], area) / o[0].standing.courtyard.area for o in options]
        for side, area in free.items()
    }
    for _ in range(8):
        full = 0.0
        sides = [(b[2] - b[0] + gap + spread, b[3] - b[1] + gap + spread) for b in boxes]
        for side, area in free.items():
            wanted = sum(share * wide * high for share, (wide, high) in zip(shares[side], sides, strict=True))
            full = max(full, wanted / area.area if wanted > 0 else 0.0)
        if full < sparse:
            return gap + spread
        spread *= 0.7
    return gap


def shoulder_to_shoulder(description: Description) -> Any:
    """Return the pairs of parts (a square array of 0 and 1) that need no elbow room between them."""
    index = {p.reference: i for i, p in enumerate(description.parts)}
    loose = np.zeros((len(index), len(index)), dtype=np.uint8)
    pairs = [(capacitor, chip) for capacitor, chip, _, _ in decoupling(description)]
    for i, part in enumerate(description.parts):
        wish = wish_of(description, part)
        if isinstance(wish, Near) and wish.reference in index:
            pairs.append((i, index[wish.reference]))
    pads = [i for i, p in enumerate(description.parts) if p.footprint.family.startswith("wire-pad")]
    pairs += [(a, b) for a in pads for b in pads if a < b]
    for a, b in pairs:
        loose[a, b] = loose[b, a] = 1
    return loose


def kinds(description: Description) -> Any:
    """Return a number for each part; parts of one number (same footprint) like to stand in line."""
    names = sorted({p.footprint.name for p in description.parts})
    return np.array([names.index(p.footprint.name) for p in description.parts], dtype=np.int64)


def tidiness(part: Part) -> float:
    """Return what standing in line with its like is worth to a part: more to a large one, whose skew shows."""
    x0, y0, x1, y1 = Standing(part, 0.0, "top").box
    return LINE_WORTH * (x1 - x0 + y1 - y0)


def bins(description: Description, congestion: Congestion | None) -> tuple[Any, Any]:
    """Return the frame of the congestion bins and how much track (mm) each takes before it is crowded."""
    rules = description.rules
    x0, y0, x1, y1 = description.outline.bounds
    shape = (max(1, math.ceil((y1 - y0) / BIN)), max(1, math.ceil((x1 - x0) / BIN)))
    j, i = np.indices(shape)
    squares = shapely.box(x0 + i * BIN, y0 + j * BIN, x0 + (i + 1) * BIN, y0 + (j + 1) * BIN)
    area = shapely.area(shapely.intersection(squares, description.outline))
    layers = 2 if rules.layers_plated else 1.3  # wire links are no second layer
    room = USABLE * layers * area / (rules.track + rules.gap)
    if congestion is not None:
        room = room / (1.0 + congestion.resampled((x0, y0), BIN, shape))
    return np.array([x0, y0, BIN]), room


def grown_box(box: Box, by: float) -> Box:
    """Return the box with `by` mm more on each side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def build(
    description: Description,
    options: Sequence[Sequence[Sites]],
    fixed: Sequence[bool],
    pulls: Sequence[Pull],
    halo: Any,
    gap: float,
    congestion: Congestion | None,
) -> Problem:
    """Return the arrays; `options` holds for each part the sites of each of its turns, none empty.

    `halo` is the elbow room of each part, `gap` what shall be kept between courtyards, mm.
    """
    variants = [sites for part in options for sites in part]
    maps: dict[int, int] = {}
    for sites in variants:
        maps.setdefault(id(sites), len(maps))
    unique = list({id(s): s for s in variants}.values())
    offsets = [pin_offsets(sites) for sites in variants]
    through = [np.array(s.standing.through, dtype=float).reshape(-1, 4) for s in variants]
    touching: list[list[int]] = [[] for _ in options]
    for net, pull in enumerate(pulls):
        for part in sorted({part for part, _ in pull.pins}):
            touching[part].append(net)
    pin_first = starts([len(p.footprint.lands) + 1 for p in description.parts])
    frame, room = bins(description, congestion)
    site_first = starts([len(s) for s in unique])
    grids = [
        np.where(s.cells >= 0, s.cells + first, -1).ravel() for s, first in zip(unique, site_first[:-1], strict=True)
    ]
    cells = [np.argwhere(s.cells >= 0)[:, ::-1] for s in unique]
    return Problem(
        Yards(
            side=np.array([0 if s.standing.side == "top" else 1 for s in variants], dtype=np.int64),
            halo=np.asarray(halo, dtype=float),
            kind=kinds(description),
            tidy=np.array([tidiness(p) for p in description.parts], dtype=float),
            loose=shoulder_to_shoulder(description),
            rect=np.array([grown_box(s.standing.box, gap / 2) for s in variants], dtype=float),
            through_first=starts([len(t) for t in through]),
            through=np.vstack([*through, np.zeros((0, 4))]),
        ),
        Nets(
            first=starts([len(p.pins) for p in pulls]),
            pin=np.array([pin_first[part] + k for p in pulls for part, k in p.pins], dtype=np.int64),
            weight=np.array([p.weight for p in pulls], dtype=float),
            crowds=np.array([1 if p.track else 0 for p in pulls], dtype=np.int64),
            firm=np.array([1 if p.firm else 0 for p in pulls], dtype=np.int64),
            touch_first=starts([len(t) for t in touching]),
            touch=np.array([net for t in touching for net in t], dtype=np.int64),
            pin_first=pin_first,
            part=np.repeat(np.arange(len(description.parts), dtype=np.int64), np.diff(pin_first)),
            offset_first=starts([len(o) for o in offsets]),
            offset=np.vstack(offsets),
        ),
        Places(
            movable=np.nonzero(~np.asarray(fixed, dtype=bool))[0].astype(np.int64),
            free=(~np.asarray(fixed, dtype=bool)).astype(np.uint8),
            variant_first=starts([len(o) for o in options]),
            variant_map=np.array([maps[id(s)] for s in variants], dtype=np.int64),
            map_first=starts([s.cells.size for s in unique]),
            map_shape=np.array([s.cells.shape[::-1] for s in unique], dtype=np.int64),
            map_frame=np.array([s.frame for s in unique], dtype=float),
            grid=np.concatenate(grids).astype(np.int64),
            site_first=site_first,
            site=np.vstack([np.column_stack([s.x, s.y]) for s in unique]),
            cell=np.vstack(cells).astype(np.int64),
            cost=np.concatenate([s.cost for s in unique]).astype(float),
        ),
        Bins(frame, np.asarray(room, dtype=float)),
    )


def pin_offsets(sites: Sites) -> Any:
    """Return the lands of a turned part, and last the middle of its courtyard, about its origin."""
    standing = sites.standing
    x0, y0, x1, y1 = standing.box
    lands = [standing.placed.to_board(land.at) for land in standing.part.footprint.lands]
    return np.array([*lands, ((x0 + x1) / 2, (y0 + y1) / 2)], dtype=float)
