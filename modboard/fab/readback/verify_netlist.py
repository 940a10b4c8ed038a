"""Compares the test netlist, record by record, and the figures of the job file with the design."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

import shapely

from modboard.artwork.measure import COPPER, gaps_by_kind, smallest_track
from modboard.artwork.model import Artwork, Drill, Flash, LayerName, Owner, Stroke
from modboard.fab.readback.netlist import ReadChain, ReadRecord
from modboard.fab.readback.package import ReadPackage
from modboard.layout.board import COPPER_LAYERS, CopperLayer

LARGEST = 9.999  # mm, what four digits hold
MASK: dict[CopperLayer, LayerName] = {"top": "mask-top", "bottom": "mask-bottom"}
PADS = ("component-pad", "surface-pad", "via-pad")
REFERENCE, PIN = 6, 4  # columns; longer names are cut
GAPS = {
    "PadToPad": ("pad", "pad"), "PadToTrack": ("pad", "track"), "TrackToTrack": ("track", "track"),
    "TrackToRegion": ("region", "track"), "RegionToRegion": ("region", "region"),
}  # fmt: skip
Row = tuple[Any, ...]


def record_differences(package: ReadPackage, artwork: Artwork) -> list[str]:
    """Return lands, holes, tracks and edges that only the netlist has, or only the design."""
    netlist = package.netlist
    if netlist is None:
        return []
    found = _unlike(netlist.name, "record", map(_read_row, netlist.records), _drawn_rows(artwork))
    found += _unlike(netlist.name, "track", _read_sides(netlist.conductors), _drawn_sides(artwork))
    edges = [(kind, 0, 0, *side) for kind, line in _edge_lines(artwork) for side in _sides(line)]
    outlines = [(n, 0, 0, *rest) for n, _, _, *rest in _read_sides(netlist.outlines)]
    found += _unlike(netlist.name, "edge", outlines, edges)
    return found


def _edge_lines(artwork: Artwork) -> list[tuple[str, Sequence[tuple[float, float]]]]:
    """Return every line of the edge by what IPC-D-356A calls it; on a panel the first is its edge, the others slots."""
    edges = [s.points for s in artwork.features("profile") if isinstance(s, Stroke)]
    names = ["PANEL_EDGE", *["OTHER_FAB"] * (len(edges) - 1)] if artwork.panel else ["BOARD_EDGE"] * len(edges)
    scores = [("SCORE_LINE", s.points) for s in artwork.features("score") if isinstance(s, Stroke)]
    return [*zip(names, edges, strict=True), *scores]


def _unlike(name: str, what: str, read: Iterable[Row], drawn: Iterable[Row]) -> list[str]:
    files, design = Counter(read), Counter(drawn)
    found = [f"{name}: {what} that is not in the design: {_words(row)}" for row in sorted(files - design, key=str)]
    return found + [f"{name}: {what} is missing: {_words(row)}" for row in sorted(design - files, key=str)]


def _words(row: Row) -> str:
    return " ".join(str(value) for value in row if value is not None)


def _read_row(record: ReadRecord) -> Row:
    reference = record.reference if len(record.reference) < REFERENCE else record.reference[:1]
    pin = record.pin if len(record.pin) < PIN else ""
    hole = None if record.hole is None else (_steps(record.hole[0]), record.hole[1])
    sizes = None if record.sizes is None else (_steps(record.sizes[0]), _steps(record.sizes[1]))
    if record.code == "367":
        reference, pin = "", ""
    return (
        record.code, record.net, reference, pin, record.middle, hole, record.side, _steps(record.at[0]),
        _steps(record.at[1]), sizes, round(record.turn) % 360, record.mask,
    )  # fmt: skip


def _drawn_rows(artwork: Artwork) -> list[Row]:
    """Return what the records must say, worked out from lands and holes."""
    holes: dict[Owner, list[Drill]] = {}
    for hit in artwork.drills:
        holes.setdefault(hit.owner, []).append(hit)
    openings = {
        side: shapely.union_all([f.shape.polygon() for f in artwork.features(MASK[side])]) for side in COPPER_LAYERS
    }
    bottom = {(f.owner, f.at) for f in artwork.features(COPPER["bottom"]) if isinstance(f, Flash)}
    rows: list[Row] = []
    used: set[int] = set()
    seen: set[tuple[Owner, tuple[float, float]]] = set()
    for side in COPPER_LAYERS:
        for flash in artwork.features(COPPER[side]):
            drill: Drill | None = None
            if not isinstance(flash, Flash) or flash.function not in PADS or (flash.owner, flash.at) in seen:
                continue
            if flash.function != "surface-pad":
                own = holes.get(flash.owner, [])
                drill = next((d for d in own if flash.shape.distance(d.shape) <= 0), None)
            if drill:
                seen.add((flash.owner, flash.at))
                used.add(id(drill))
            through = drill is not None and side == "top" and (flash.owner, flash.at) in bottom
            rows.append(_land_row(artwork, flash, drill, COPPER_LAYERS if through else (side,), openings))
    landed = {d for d in artwork.drills if id(d) in used}
    for bare in artwork.drills:
        if bare not in landed:
            hole = (_steps(min(bare.diameter, LARGEST)), bare.plated)
            place = (_steps(bare.at[0]), _steps(bare.at[1]))
            rows.append(("367", "N/C", "", "", False, hole, "00", *place, None, 0, 0))
    return rows


def _land_row(
    artwork: Artwork,
    flash: Flash,
    drill: Drill | None,
    sides: tuple[CopperLayer, ...],
    openings: dict[CopperLayer, Any],
) -> Row:
    owner, via, form = flash.owner, flash.function == "via-pad", flash.form
    reference = "VIA" if via else _plain(owner.reference)
    reference = reference if len(reference) < REFERENCE else reference[:1]
    pin = "" if via else _plain(owner.number)
    pin = pin if len(pin) < PIN else ""
    round_land = form.form == "round"
    sizes = tuple(_steps(min(v, LARGEST)) for v in (form.width, 0.0 if round_land else form.height))
    mask = 0
    if artwork.board.description.rules.mask:
        point = shapely.Point(flash.at)
        mask = sum({"top": 1, "bottom": 2}[s] for s in sides if not openings[s].intersects(point))
    return (
        "317" if drill else "327", _net(owner.net), reference, pin, via,
        (_steps(min(drill.diameter, LARGEST)), drill.plated) if drill else None,
        "00" if len(sides) > 1 else {"top": "01", "bottom": "02"}[sides[0]],
        _steps(flash.at[0]), _steps(flash.at[1]), sizes, 0 if round_land else round(flash.turn % 360) % 360, mask,
    )  # fmt: skip


def _plain(text: str) -> str:
    return "".join(c if 32 < ord(c) < 127 else "_" if c == " " else "?" for c in text)


def _net(net: str) -> str:
    """Return what a reader sees of a net name: blanks as lines, at most 58 characters."""
    return _plain(net)[:58] or "N/C"


def _steps(length: float) -> int:
    return round(length * 1000)


def _sides(points: Sequence[tuple[float, float]]) -> list[tuple[Any, Any]]:
    places = [(_steps(x), _steps(y)) for x, y in points]
    ends = [tuple(sorted(pair)) for pair in pairwise(places) if pair[0] != pair[1]]
    return [(a, b) for a, b in ends] or [(places[0], places[0])]


def _read_sides(chains: Iterable[ReadChain]) -> list[Row]:
    return [(c.name, c.layer, _steps(c.width), *side) for c in chains for chain in c.chains for side in _sides(chain)]


def _drawn_sides(artwork: Artwork) -> list[Row]:
    return [
        (_net(stroke.owner.net), layer, _steps(min(stroke.width, LARGEST)), *side)
        for layer, name in ((1, COPPER["top"]), (2, COPPER["bottom"]))
        for stroke in artwork.features(name)
        if isinstance(stroke, Stroke) and stroke.function == "conductor"
        for side in _sides(stroke.points)
    ]


def figure_differences(package: ReadPackage, artwork: Artwork) -> list[str]:
    """Return sizes, rules and thicknesses of the job file that are not those of the design."""
    job = package.job
    if job is None:
        return []
    rules = artwork.board.description.rules
    sides = 1 if rules.one_sided else 2
    x0, y0, x1, y1 = artwork.board.outline.bounds
    wanted: dict[str, Any] = {
        "GeneralSpecs.Size.X": x1 - x0, "GeneralSpecs.Size.Y": y1 - y0, "GeneralSpecs.LayerNumber": sides,
        "GeneralSpecs.BoardThickness": rules.thickness,
    }  # fmt: skip
    gaps = gaps_by_kind(artwork)
    wanted |= {f"DesignRules.0.{key}": gaps[pair].value for key, pair in GAPS.items() if pair in gaps}
    if track := smallest_track(artwork):
        wanted["DesignRules.0.MinLineWidth"] = track.value
    found = []
    for path, value in wanted.items():
        said = _at(job, path)
        if not isinstance(said, int | float) or abs(said - value) > 0.0006:
            found.append(f"job file: {path} is {said!r}, the design has {value:.4f}")
    stack = job.get("MaterialStackup")
    said_stack = (
        [(e.get("Type"), e.get("Thickness")) for e in stack if isinstance(e, dict)] if isinstance(stack, list) else []
    )
    drawn = {layer.name for layer in artwork.layers}
    inner = round(rules.thickness - sides * rules.copper, 4)
    copper = [("Copper", rules.copper)]
    wanted_stack: list[tuple[str, float | None]] = [*copper * (sides - 1), ("Dielectric", inner), *copper]
    for kind, top, bottom in (("SolderMask", "mask-top", "mask-bottom"), ("Legend", "legend-top", "legend-bottom")):
        wanted_stack = [(kind, None)] * (top in drawn) + wanted_stack + [(kind, None)] * (bottom in drawn)
    if package.layers and said_stack != wanted_stack:
        found.append(f"job file: the stack-up is {said_stack}, the design has {wanted_stack}")
    return found


def _at(job: Any, path: str) -> Any:
    """Return the value at a dotted path, None if there is none."""
    for key in path.split("."):
        if isinstance(job, list):
            job = job[int(key)] if key.isdigit() and int(key) < len(job) else None
        else:
            job = job.get(key) if isinstance(job, dict) else None
    return job
