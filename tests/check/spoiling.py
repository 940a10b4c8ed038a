"""A spoilt board, and the strokes of the knife: how features, holes and parts of a clean one are changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any

import shapely

from modboard.artwork.model import Artwork, Drill, Feature, Flash, LayerName, Stroke
from modboard.describe.model import Net
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart
from tests.check.build import Scene


@dataclass(frozen=True)
class Spoilt:
    """A board with one fault: what must be found, and words that must occur in the finding's place."""

    scene: Scene
    words: Sequence[str]


Inject = Callable[[Random, Board, Artwork], Spoilt]


@dataclass(frozen=True)
class Kind:
    """A kind of fault: the rule that must find it, how to put it in, and the clean boards it can be put into."""

    rule: str
    inject: Inject
    boards: tuple[str, ...] = ("by hand", "lamp driver")

    @property
    def name(self) -> str:
        """Return the kind in words."""
        return self.inject.__name__.replace("_", " ")


def redrawn(art: Artwork, layer: LayerName, features: Sequence[Feature]) -> Artwork:
    """Return the artwork with other features on one layer."""
    layers = tuple(replace(each, features=tuple(features)) if each.name == layer else each for each in art.layers)
    return replace(art, layers=layers)


def changed(art: Artwork, layer: LayerName, old: Feature, new: Feature | None) -> Artwork:
    """Return the artwork with one feature replaced, or left out."""
    kept = [(new if f is old else f) for f in art.layer(layer).features]
    return redrawn(art, layer, [f for f in kept if f is not None])


def added(art: Artwork, layer: LayerName, *features: Feature) -> Artwork:
    """Return the artwork with features added to one layer."""
    return redrawn(art, layer, [*art.layer(layer).features, *features])


def redrilled(art: Artwork, old: Drill, new: Drill | None) -> Artwork:
    """Return the artwork with one hole replaced, or left out."""
    kept = [(new if d is old else d) for d in art.drills]
    return replace(art, drills=tuple(d for d in kept if d is not None))


def tracks(art: Artwork, layer: LayerName) -> list[Stroke]:
    """Return the tracks of a layer."""
    return [f for f in art.layer(layer).features if isinstance(f, Stroke)]


def lands(art: Artwork, layer: LayerName) -> list[Flash]:
    """Return the lands of parts on a layer that are on a net."""
    return [f for f in art.layer(layer).features if isinstance(f, Flash) and f.owner.reference and f.owner.net]


def pin(feature: Feature | Drill) -> str:
    return f"{feature.owner.reference} pin {feature.owner.number}"


def copper_layer(chance: Random) -> LayerName:
    layers: tuple[LayerName, LayerName] = ("copper-top", "copper-bottom")
    return chance.choice(layers)


def random_point(chance: Random, area: Any) -> Position:
    """Return a point of an area, by trying."""
    x0, y0, x1, y1 = area.bounds
    while True:
        at = (chance.uniform(x0, x1), chance.uniform(y0, y1))
        if area.covers(shapely.Point(at)):
            return at


def with_part(board: Board, old: PlacedPart, new: PlacedPart) -> Board:
    """Return the board with one part in another place or of another sort."""
    return replace(board, parts=tuple(new if p is old else p for p in board.parts))


def with_nets(board: Board, change: Callable[[Net], Net]) -> Board:
    """Return the board with every net of its description put through `change`; copper stays as it is."""
    nets = tuple(change(net) for net in board.description.nets)
    return replace(board, description=replace(board.description, nets=nets))


def point_on(chance: Random, track: Stroke) -> Position:
    """Return a random point of a track's middle line."""
    at = shapely.LineString(track.points).interpolate(chance.random(), normalized=True)
    return (at.x, at.y)
