"""Compares what a package says of parts, drawings, its own files and its checksums with the design and the files."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import pairwise
from typing import Any

import shapely

from modboard.artwork import drawings
from modboard.artwork.model import Artwork
from modboard.fab.readback.layer import ReadLayer, ReadObject
from modboard.fab.readback.package import ReadPackage
from modboard.layout.board import CopperLayer, PlacedPart

COMPONENTS: dict[CopperLayer, str] = {"top": "Component,L1,Top", "bottom": "Component,L2,Bot"}
ASSEMBLY: dict[CopperLayer, str] = {"top": "AssemblyDrawing,Top", "bottom": "AssemblyDrawing,Bot"}
Side = frozenset[tuple[int, int]]  # two ends in nm, the grid of the files
KEY_PIN_AREA, PIN = 0.36**2 / 2, 0.1  # mm², mm: GLFS 6.9, a square standing on a corner, and a dot
DRAWN = "NonMaterial"  # GLFS 5.6.10: what drawings are made of
PARTS_ALONE = {"ComponentMain": {".C", ".CRot", ".CVal", ".CFtp", ".CMnt", ".CHgt"}, "ComponentOutline": {".C"}}
NEAR = 2e-6  # mm; files are on a grid of 1 nm


def component_differences(package: ReadPackage, artwork: Artwork) -> list[str]:
    """Return parts that the component layers lack, have too many, or show elsewhere, turned or joined otherwise."""
    found: list[str] = []
    nets = artwork.board.description.net_of()
    for side, function in COMPONENTS.items():
        parts = {p.part.reference: p for p in artwork.board.parts if _listed(p) and p.body_side == side}
        layer = package.layer(function)
        if layer is None:
            found += [f"no file says that it is {function}"] if parts else []
            continue
        mains = [o for o in layer.objects if o.field(".AperFunction") == "ComponentMain"]
        middles = {o.field(".C"): o for o in mains}
        if len(mains) != len(middles):
            found.append(f"{layer.name}: a part is shown twice")
        found += [f"{layer.name}: part {r} is missing" for r in sorted(parts.keys() - middles.keys())]
        found += [f"{layer.name}: part {r} is not in the design" for r in sorted(middles.keys() - parts.keys())]
        found += _strange_objects(layer)
        for reference, placed in parts.items():
            if reference in middles:
                found += _part_differences(layer, middles[reference], placed, nets)
    return found


def _strange_objects(layer: ReadLayer) -> list[str]:
    """Return objects that carry what belongs to others, e.g. the middle of a part with a pin's number (GLFS 6.9)."""
    found = []
    for item in layer.objects:
        function = item.field(".AperFunction")
        allowed = PARTS_ALONE.get(function, {".C", ".P", ".N"})
        if item.attributes.keys() - allowed - {".AperFunction"}:
            found.append(f"{layer.name}: {function or 'an object'} of part {item.field('.C')} says more than it may")
    return found


def _listed(placed: PlacedPart) -> bool:
    footprint = placed.part.footprint
    return placed.part.fitted and footprint.technology != "none" and not footprint.family.startswith("wire-pad")


def _part_differences(
    layer: ReadLayer, middle: ReadObject, placed: PlacedPart, nets: dict[tuple[str, str], str]
) -> list[str]:
    reference = placed.part.reference
    found = []
    bodies = [shapely.Polygon(body.outline) for body in placed.bodies()] or [shapely.Polygon(placed.courtyard())]
    if middle.at is None or not _close(middle.at, _middle(bodies, placed)):
        found.append(f"{layer.name}: part {reference} is not where the design has it")
    if not _is_turn(middle.field(".CRot"), placed.turn % 360):
        found.append(f"{layer.name}: part {reference} is turned by {middle.field('.CRot') or 'nothing'}")
    mine = [o for o in layer.objects if o.field(".C") == reference]
    pins = [
        (o.attributes.get(".P", ())[:2], o.field(".N"), o.at)
        for o in mine
        if o.field(".AperFunction") == "ComponentPin"
    ]
    wanted = [(((p.reference, p.number)), p.net or "N/C", p.at) for p in placed.pads(nets)]
    same = len(pins) == len(wanted) and all(
        a[:2] == b[:2] and a[2] is not None and _close(a[2], b[2]) for a, b in zip(pins, wanted, strict=True)
    )
    shapes = [(o.core.area, o.radius) for o in mine if o.field(".AperFunction") == "ComponentPin"]
    if shapes and (abs(shapes[0][0] - KEY_PIN_AREA) > 1e-5 or any(abs(r - PIN / 2) > 1e-6 for _, r in shapes[1:])):
        found.append(f"{layer.name}: the key pin of part {reference} is not marked as such")
    if not same:
        found.append(f"{layer.name}: the pins of part {reference} are not those of the design")
    lines = [o for o in mine if o.field(".AperFunction").startswith("ComponentOutline")]
    drawn = Counter(side for o in lines for side in _object_sides(o))
    if drawn != Counter(side for body in bodies for side in _sides(body.exterior.coords)):
        found.append(f"{layer.name}: the outline of part {reference} is not that of the design")
    return found


def _is_turn(text: str, turn: float) -> bool:
    """Tell whether a field says `turn` degrees."""
    return re.fullmatch(r"\d{1,3}(?:\.\d{1,9})?", text) is not None and abs(float(text) - turn) <= 1e-6


def _middle(bodies: list[Any], placed: PlacedPart) -> tuple[float, float]:
    """Return the middle of the box round the bodies in the part's own frame, which a turn by other than 90° shifts."""
    points = [p for b in placed.part.footprint.bodies for p in b.outline]
    points = points or [land.at for land in placed.part.footprint.lands]
    x0, y0, x1, y1 = shapely.MultiPoint(points).bounds
    return placed.to_board(((x0 + x1) / 2, (y0 + y1) / 2))


def _close(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return math.dist(a, b) <= NEAR


def drawing_differences(package: ReadPackage, artwork: Artwork) -> list[str]:
    """Return where the drawings show anything but what was drawn: edge, bodies, holes, letters and table."""
    found = []
    drawn = {function: drawings.assembly_drawing(artwork.board, side) for side, function in ASSEMBLY.items()}
    for function, strokes in {**drawn, "Drillmap": drawings.drill_drawing(artwork)}.items():
        layer = package.layer(function)
        if layer is None:
            found += [f"no file says that it is {function}"] if strokes else []
            continue
        wanted = Counter(
            (stroke.width, stroke.owner.reference, DRAWN, side) for stroke in strokes for side in _sides(stroke.points)
        )
        there = Counter(
            (round(2 * o.radius, 6), o.field(".C"), o.field(".AperFunction"), side)
            for o in layer.objects
            for side in _object_sides(o)
        )
        for (*_, side), words in [(k, "shows what was not drawn") for k in there - wanted] + [
            (k, "does not show what is") for k in wanted - there
        ]:
            x, y = min(side)
            found.append(f"{layer.name}: {words}, or of another part or function, at ({x / 1e6:.2f}, {y / 1e6:.2f}) mm")
    return found


def _object_sides(item: ReadObject) -> list[Side]:
    """Return the sides of a drawn line; anything else counts as a dot where it lies, and is never wanted."""
    if item.kind == "draw" and item.dark and item.core.geom_type == "LineString":
        return _sides(item.core.coords)
    at = item.core.representative_point() if not item.core.is_empty else shapely.Point(0, 0)
    place = (round(at.x * 1_000_000), round(at.y * 1_000_000))
    return [] if item.kind == "draw" and item.core.geom_type == "Point" else [frozenset((place,))]


def _sides(points: Any) -> list[Side]:
    ends = [(round(x * 1_000_000), round(y * 1_000_000)) for x, y in points]
    return [frozenset(side) for side in pairwise(ends) if side[0] != side[1]]


def job_differences(package: ReadPackage) -> list[str]:
    """Return files that the job file names wrongly, describes wrongly or leaves out."""
    if package.job is None:
        return ["no job file (.gbrjob)"]
    found = []
    listed = {}
    entries = package.job.get("FilesAttributes", [])
    for entry in entries if isinstance(entries, list) else []:
        if isinstance(entry, dict):
            listed[str(entry.get("Path"))] = (entry.get("FileFunction"), entry.get("FilePolarity"))
    for layer in package.layers.values():
        own = (layer.function, ",".join(layer.attributes.get(".FilePolarity", ())))
        if listed.pop(layer.name, None) != own:
            found.append(f"job file: does not list {layer.name} as {', '.join(own)}")
    return found + [f"job file: lists {path}, which is not there" for path in sorted(listed)]


def manifest_differences(package: ReadPackage) -> list[str]:
    """Return files whose SHA-256 is not that of the manifest, that it lacks, or that are not there."""
    if package.manifest is None:
        return ["no manifest (-manifest.txt)"]
    name, listed = package.manifest
    found = [f"{name}: lists {n}, which is not there" for n in sorted(listed.keys() - package.digests.keys())]
    for file, digest in sorted(package.digests.items()):
        if file not in listed:
            found.append(f"{name}: does not list {file}")
        elif listed[file] != digest:
            found.append(f"{file}: its bytes are not those of the manifest (SHA-256)")
    return found
