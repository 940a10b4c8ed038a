"""Bare-board test netlist in IPC-D-356A: every pad, via and bare hole, the tracks and the board's edge.

Written after an equipment maker's application note on IPC-D-356A, which restates the standard.  Pours have no record of
their own there: a tester finds them by the pads that they join.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from modboard.artwork.measure import COPPER
from modboard.artwork.model import Artwork, Drill, Flash, LayerName, Owner, Stroke
from modboard.fab.netlist_columns import (
    LARGEST_SIZE,
    PIN_COLUMNS,
    REFERENCE_COLUMNS,
    TestRecord,
    ascii_text,
    chains,
    cut_names,
    net_names,
)
from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, CopperLayer

_SIDE = {"top": "01", "bottom": "02"}  # 02: the last layer of two
_MASK: dict[CopperLayer, LayerName] = {"top": "mask-top", "bottom": "mask-bottom"}
_LAYER = {"top": "L01", "bottom": "L02"}
_MASK_BIT = {"top": 1, "bottom": 2}
_PADS = ("component-pad", "surface-pad", "via-pad")


def netlist_file(artwork: Artwork) -> str:
    """Return the netlist; names too long for their columns are cut uniquely, and the file says how.

    Raises ModboardError if a coordinate does not fit the format (±999.999 mm).
    """
    lands = _lands(artwork)
    named = [owner.net for _, flash, _ in lands if (owner := flash.owner).net]
    nets, alias_lines = net_names(named + [s.owner.net for s in _strokes(artwork) if s.owner.net])
    references, cut_lines = cut_names([f.owner.reference for _, f, _ in lands], REFERENCE_COLUMNS, "reference")
    pins, more_lines = cut_names([f.owner.number for _, f, _ in lands], PIN_COLUMNS, "pin")
    cover = {side: _cover(artwork, side) for side in COPPER_LAYERS}
    records = [_land_record(*land, nets, references, pins, cover) for land in lands]
    records.sort(key=lambda r: (r.net == "N/C", r.net, r.reference, r.pin, r.at))
    records += _bare_records(artwork, [drill for *_, drill in lands if drill])
    return "\n".join(
        [
            *_heading(artwork),
            *alias_lines,
            *cut_lines,
            *more_lines,
            *_size_notes(records),
            *(r.line() for r in records),
            *_conductors(artwork, nets),
            *_edge(artwork),
            "999\n",
        ]
    )


def _heading(artwork: Artwork) -> list[str]:
    described = artwork.board.description
    return [
        f"P  JOB   {ascii_text(described.name)}"[:72],
        "P  CODE  00",
        "P  UNITS CUST 1",
        f"P  TITLE {ascii_text(described.title or described.name)}"[:72],
        f"P  NUM   {ascii_text(described.name)}"[:72],
        f"P  REV   {ascii_text(described.revision or '1')}"[:72],
        "P  VER   IPC-D-356A",
        "P  IMAGE PRIMARY",
    ]


def _lands(artwork: Artwork) -> list[tuple[tuple[CopperLayer, ...], Flash, Drill | None]]:
    """Return every land once, with its hole and the sides it is on; one without a hole is on one side."""
    drills: dict[Owner, list[Drill]] = {}
    for hole in artwork.drills:
        drills.setdefault(hole.owner, []).append(hole)
    flashed = {
        side: [f for f in artwork.layer(COPPER[side]).features if isinstance(f, Flash) and f.function in _PADS]
        for side in COPPER_LAYERS
    }
    there = {side: {(f.owner, f.at) for f in flashes} for side, flashes in flashed.items()}
    found: list[tuple[tuple[CopperLayer, ...], Flash, Drill | None]] = []
    seen: set[tuple[Owner, Position]] = set()
    for side, flashes in flashed.items():
        for flash in flashes:
            place = (flash.owner, flash.at)
            if place in seen:
                continue
            inside = [d for d in drills.get(flash.owner, []) if flash.shape.distance(d.shape) <= 0]
            drill = inside[0] if inside and flash.function != "surface-pad" else None
            if drill:
                seen.add(place)
            sides = tuple(s for s in COPPER_LAYERS if place in there[s]) if drill else (side,)
            found.append((sides, flash, drill))
    return found


def _land_record(
    sides: tuple[CopperLayer, ...],
    flash: Flash,
    drill: Drill | None,
    nets: dict[str, str],
    references: dict[str, str],
    pins: dict[str, str],
    cover: dict[CopperLayer, shapely.STRtree | None],
) -> TestRecord:
    via = flash.function == "via-pad"
    form = flash.form
    return TestRecord(
        code="317" if drill else "327",
        net=nets.get(flash.owner.net, "N/C"),
        reference="VIA" if via else references[flash.owner.reference],
        pin="" if via else pins[flash.owner.number],
        middle=via,
        hole=(drill.diameter, drill.plated) if drill else None,
        side="00" if len(sides) == len(COPPER_LAYERS) else _SIDE[sides[0]],
        at=flash.at,
        sizes=(form.width, 0.0 if form.form == "round" else form.height),
        turn=0.0 if form.form == "round" else flash.turn,
        mask=sum(_MASK_BIT[s] for s in sides if _covered(cover[s], flash.at)),
    )


def _cover(artwork: Artwork, side: CopperLayer) -> shapely.STRtree | None:
    """Return the openings in the mask of one side; None if the board has no mask at all."""
    if not artwork.board.description.rules.mask:
        return None
    return shapely.STRtree([f.shape.polygon() for f in artwork.layer(_MASK[side]).features])


def _covered(openings: shapely.STRtree | None, at: Position) -> bool:
    return openings is not None and not len(openings.query(shapely.Point(at), predicate="intersects"))


def _bare_records(artwork: Artwork, in_lands: list[Drill]) -> list[TestRecord]:
    bare = sorted((d for d in artwork.drills if d not in in_lands), key=lambda d: d.at)
    return [
        TestRecord("367", "N/C", f"H{n}", "1", False, (d.diameter, d.plated), "00", d.at, None, 0.0, 0)
        for n, d in enumerate(bare, start=1)
    ]


def _size_notes(records: list[TestRecord]) -> list[str]:
    """Return a comment for every land and hole whose true size does not fit four digits."""
    limit = LARGEST_SIZE / 1000
    return [
        f"C  {r.reference}-{r.pin} is larger than {limit:.3f} mm and is listed at that size"[:72]
        for r in records
        if max(*(r.sizes or (0.0, 0.0)), r.hole[0] if r.hole else 0.0) > limit
    ]


def _strokes(artwork: Artwork) -> list[Stroke]:
    found = artwork.features("copper-top", "copper-bottom")
    return [f for f in found if isinstance(f, Stroke) and f.function == "conductor"]


def _conductors(artwork: Artwork, nets: dict[str, str]) -> list[str]:
    """Return the tracks: one 378 record with its continuations for each net, side and width."""
    groups: dict[tuple[str, str, str], list[Stroke]] = {}
    for side in COPPER_LAYERS:
        for stroke in artwork.layer(COPPER[side]).features:
            if isinstance(stroke, Stroke) and stroke.function == "conductor":
                pen = f"X{min(round(stroke.width * 1000), LARGEST_SIZE):04d}"
                groups.setdefault((nets.get(stroke.owner.net, "N/C"), _LAYER[side], pen), []).append(stroke)
    lines: list[str] = []
    for (net, layer, pen), strokes in sorted(groups.items(), key=lambda g: g[0]):
        lines += chains(f"378{net:<14} {layer} ", pen, [s.points for s in strokes])
    return lines


def _edge(artwork: Artwork) -> list[str]:
    """Return the board's edge as a closed chain, openings after it; of a panel its edge, then slots and scores."""
    edges = [f.points for f in artwork.layer("profile").features if isinstance(f, Stroke)]
    scores = [f for f in artwork.layer("score").features if isinstance(f, Stroke)]
    kinds = {"PANEL_EDGE": edges[:1], "OTHER_FAB": edges[1:]} if artwork.panel else {"BOARD_EDGE": edges}
    lines = [line for kind, paths in kinds.items() if paths for line in _fabrication(kind, 0.1, paths)]
    return lines + (_fabrication("SCORE_LINE", scores[0].width, [s.points for s in scores]) if scores else [])


def _fabrication(kind: str, pen: float, paths: Sequence[Sequence[Position]]) -> list[str]:
    return chains(f"389{kind:<14}     ", f"X{round(pen * 1000):04d}", paths)
