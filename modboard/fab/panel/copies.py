"""One board's drawing copied to a place of the panel, its parts and nets renamed so that no two are alike."""

from __future__ import annotations

from dataclasses import replace

from shapely import affinity

from modboard.artwork.model import Artwork, Drill, Feature, Flash, Layer, Owner, Region, Stroke
from modboard.describe.model import Description, Net, Part
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart, Pour, Track, Via


def copied(artwork: Artwork, mark: str, by: Position) -> Artwork:
    """Return `artwork` shifted by `by` (mm), every part and net called ``<name>-<mark>``; its edge is left out."""
    board = artwork.board
    described = _description(board.description, mark)
    parts = {part.reference: part for part in described.parts}

    def at(point: Position) -> Position:
        return (point[0] + by[0], point[1] + by[1])

    placed = tuple(PlacedPart(parts[_name(p.part.reference, mark)], at(p.at), p.turn, p.side) for p in board.parts)
    shifted = Board(
        described,
        affinity.translate(board.outline, *by),
        placed,
        tuple(Track(_name(t.net, mark), t.layer, tuple(map(at, t.points)), t.width) for t in board.tracks),
        tuple(Via(_name(v.net, mark), at(v.at), v.land, v.hole) for v in board.vias),
        tuple(Pour(_name(p.net, mark), p.layer, affinity.translate(p.area, *by)) for p in board.pours),
    )
    layers = tuple(
        Layer(layer.name, tuple(_feature(f, mark, by) for f in layer.features))
        for layer in artwork.layers
        if layer.name != "profile"
    )
    drills = tuple(
        Drill(at(d.at), d.diameter, d.plated, d.function, _owner(d.owner, mark), at(d.to) if d.to else None)
        for d in artwork.drills
    )
    return Artwork(shifted, layers, drills)


def _feature(feature: Feature, mark: str, by: Position) -> Feature:
    owner = _owner(feature.owner, mark)
    if isinstance(feature, Flash):
        return replace(feature, at=(feature.at[0] + by[0], feature.at[1] + by[1]), owner=owner)
    if isinstance(feature, Stroke):
        return replace(feature, points=tuple((x + by[0], y + by[1]) for x, y in feature.points), owner=owner)
    return Region(affinity.translate(feature.area, *by), feature.function, owner)


def _name(name: str, mark: str) -> str:
    return f"{name}-{mark}" if name else ""


def _owner(owner: Owner, mark: str) -> Owner:
    return replace(owner, net=_name(owner.net, mark), reference=_name(owner.reference, mark))


def _description(described: Description, mark: str) -> Description:
    def pin(of: tuple[str, str]) -> tuple[str, str]:
        return (_name(of[0], mark), of[1])

    parts: tuple[Part, ...] = tuple(replace(p, reference=_name(p.reference, mark)) for p in described.parts)
    nets: tuple[Net, ...] = tuple(
        replace(n, name=_name(n.name, mark), pins=tuple(map(pin, n.pins))) for n in described.nets
    )
    return replace(described, parts=parts, nets=nets, unconnected=tuple(map(pin, described.unconnected)))
