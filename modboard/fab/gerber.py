"""Artwork layer → Gerber X2 text.

Pours come first, the largest before the smaller ones inside it, each followed at once by the clear regions that are its
holes (the way GLFS 4.10 prefers); then pads as flashes and tracks as strokes, in the order of the artwork.  A clear
region erases whatever came before it, so the order is proven by geometry and not taken on trust.
"""

from __future__ import annotations

import shapely

from modboard.artwork.model import Artwork, Flash, Layer, Region, Stroke
from modboard.fab.attributes import (
    APERTURE_FUNCTION,
    Attributes,
    component_attributes,
    copper_attributes,
    file_attributes,
)
from modboard.fab.gerber_adapter import GerberError, LayerWriter
from modboard.fab.names import LAYER_FILES
from modboard.geometry import Position


def gerber_layer(layer: Layer, artwork: Artwork, *, created: str | None = None) -> str:
    """Return the Gerber X2 file of `layer` (mm, format 4.6).

    `created` is a date and time (ISO 8601 with zone) for .CreationDate; without it no date is written.
    Raises GerberError for a shape that cannot be written, e.g. a pour that crosses itself.
    """
    function, polarity = LAYER_FILES[layer.name]
    writer = LayerWriter(file_attributes(artwork, function, polarity, created))
    components = {p.part.reference: component_attributes(p) for p in artwork.board.parts}
    try:
        for region in in_safe_order([f for f in layer.features if isinstance(f, Region)]):
            _write_region(writer, region, layer, components)
        for feature in layer.features:
            if not isinstance(feature, Region):
                _write(writer, feature, layer, components)
    except GerberError as error:
        raise GerberError(f"{layer.name}: {error}") from error
    return writer.text()


def _write(writer: LayerWriter, feature: Flash | Stroke, layer: Layer, components: dict[str, Attributes]) -> None:
    function = APERTURE_FUNCTION[feature.function]
    attributes = object_attributes(layer, feature, components)
    if isinstance(feature, Flash):
        writer.flash(feature.form, feature.at, feature.turn, function, attributes, feature.mirrored)
    else:
        writer.draw(feature.points, feature.width, function, attributes)


def _write_region(writer: LayerWriter, region: Region, layer: Layer, components: dict[str, Attributes]) -> None:
    function = APERTURE_FUNCTION[region.function]
    writer.region(region.area.exterior.coords, function, object_attributes(layer, region, components))
    for hole in region.area.interiors:
        writer.region(hole.coords, function, clear=True)


def object_attributes(layer: Layer, feature: Flash | Stroke | Region, components: dict[str, Attributes]) -> Attributes:
    """Return net and pin for copper, the part and what is known of it for the legend, the part for mask and paste."""
    if layer.name in ("copper-top", "copper-bottom"):
        return copper_attributes(feature.owner, feature.function)
    if not feature.owner.reference:
        return ()
    if layer.name.startswith("legend"):
        return components.get(feature.owner.reference, ((".C", (feature.owner.reference,)),))
    return ((".C", (feature.owner.reference,)),)


def in_safe_order(regions: list[Region]) -> list[Region]:
    """Return single-polygon regions, in an order in which no hole erases copper of a region drawn before.

    Regions of one owner that overlap are joined.  Raises GerberError if regions of different owners still get
    in each other's way, which a check would report as a short.
    """
    ordered = sorted(_single(regions), key=_outside_area, reverse=True)
    if _erasure(ordered) is not None:
        ordered = sorted(_single(_joined(ordered)), key=_outside_area, reverse=True)
        if (at := _erasure(ordered)) is not None:
            raise GerberError(
                f"two pours overlap near ({at[0]:.2f}, {at[1]:.2f}) mm; move the copper apart or join the nets"
            )
    return ordered


def _outside_area(region: Region) -> float:
    return float(shapely.Polygon(region.area.exterior).area)


def _single(regions: list[Region]) -> list[Region]:
    for region in regions:
        if not region.area.is_valid:
            owner = region.owner.net or "no net"
            raise GerberError(f"a region of {owner} crosses itself: {shapely.is_valid_reason(region.area)}")
    return [
        Region(piece, region.function, region.owner)
        for region in regions
        for piece in shapely.get_parts(region.area)
        if piece.geom_type == "Polygon" and not piece.is_empty
    ]


def _joined(regions: list[Region]) -> list[Region]:
    groups: dict[object, list[Region]] = {}
    for region in regions:
        groups.setdefault((region.function, region.owner), []).append(region)
    return [
        Region(shapely.union_all([r.area for r in group]), group[0].function, group[0].owner)
        for group in groups.values()
    ]


def _erasure(ordered: list[Region]) -> Position | None:
    """Return a place where a hole of a later region would erase copper of an earlier one, or None."""
    for number, region in enumerate(ordered):
        before = [r.area for r in ordered[:number]]
        if not before or not region.area.interiors:
            continue
        holes = shapely.polygons([shapely.linearrings(ring.coords) for ring in region.area.interiors])
        tree = shapely.STRtree(before)
        for hole, earlier in zip(*tree.query(holes, predicate="intersects"), strict=True):
            lost = shapely.intersection(holes[hole], before[earlier])
            if lost.area > 1e-9:
                point = lost.representative_point()
                return (point.x, point.y)
    return None
