"""The one drawing: ordered features on named layers.  Every output walks these and nothing else.

All layers are seen from the top of the board, in board coordinates, never mirrored.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import shapely

from modboard.geometry import Position, Shape, circle, stroke
from modboard.layout.board import Board, PlacedPart
from modboard.library.model import PadForm

LayerName = Literal[
    "copper-top", "copper-bottom", "mask-top", "mask-bottom", "legend-top", "legend-bottom",
    "paste-top", "paste-bottom", "profile", "score",
]  # fmt: skip
Function = Literal[
    "component-pad", "surface-pad", "via-pad", "washer-pad", "conductor", "non-conductor", "profile",
    "mask-opening", "paste", "legend", "fiducial", "score", "component-drill", "via-drill", "mechanical-drill",
]  # fmt: skip


@dataclass(frozen=True)
class Owner:
    """What a feature belongs to: net ("" = none), part and pad number, pin name."""

    net: str = ""
    reference: str = ""
    number: str = ""
    pin_name: str = ""


NOBODY = Owner()


@dataclass(frozen=True)
class Flash:
    """A pad form put down at `at`, turned by `turn` degrees (and mirrored left to right before, if said)."""

    form: PadForm
    at: Position
    turn: float
    function: Function
    owner: Owner = NOBODY
    mirrored: bool = False

    @cached_property
    def shape(self) -> Shape:
        """The exact outline."""
        flat = self.form.shape()
        return (flat.mirrored() if self.mirrored else flat).turned(self.turn).moved(*self.at)


@dataclass(frozen=True)
class Stroke:
    """A polyline drawn with a round pen of `width` mm."""

    points: tuple[Position, ...]
    width: float
    function: Function
    owner: Owner = NOBODY
    text: str = ""  # the whole text that this is a stroke of, if of any
    marks: bool = False  # it is of the mark of pin 1 or of polarity of its part

    @cached_property
    def shape(self) -> Shape:
        """The exact outline."""
        return stroke(self.points, self.width)


@dataclass(frozen=True)
class Region:
    """A filled polygon (shapely Polygon, holes allowed)."""

    area: Any
    function: Function
    owner: Owner = NOBODY

    @cached_property
    def shape(self) -> Shape:
        """The exact outline."""
        return Shape(self.area, 0.0)


Feature = Flash | Stroke | Region


@dataclass(frozen=True)
class Drill:
    """A hole hit, or a slot from `at` to `to`; `diameter` is the finished size."""

    at: Position
    diameter: float
    plated: bool
    function: Function
    owner: Owner = NOBODY
    to: Position | None = None

    @cached_property
    def shape(self) -> Shape:
        """The exact outline."""
        return stroke((self.at, self.to), self.diameter) if self.to else circle(self.at, self.diameter)


@dataclass(frozen=True)
class Layer:
    """Features of one layer in drawing order."""

    name: LayerName
    features: tuple[Feature, ...]

    def area(self) -> Any:
        """Return the union of all features as one shapely geometry."""
        return shapely.union_all([f.shape.polygon() for f in self.features])


@dataclass(frozen=True)
class Artwork:
    """All layers and holes of one board."""

    board: Board
    layers: tuple[Layer, ...]  # only the layers that have something on them, plus every copper side and profile
    drills: tuple[Drill, ...]
    unplaced_marks: tuple[str, ...] = ()  # parts whose mark of pin 1 or polarity found no room in the legend
    unplaced_references: tuple[str, ...] = ()  # references that found none
    panel: str = ""  # what the panel is made of and how it comes apart, if this is a panel of several boards

    def layer(self, name: LayerName) -> Layer:
        """Return the layer called `name`; an empty one if nothing is on it."""
        return next((layer for layer in self.layers if layer.name == name), Layer(name, ()))

    def features(self, *names: LayerName) -> Iterator[Feature]:
        """Walk the features of the named layers in order."""
        for name in names:
            yield from self.layer(name).features

    @cached_property
    def printed_marks(self) -> dict[str, tuple[tuple[Position, ...], ...]]:
        """The lines of each part's mark of pin 1 or of polarity as printed, by reference; only of parts that have one.

        The legend may have cut, turned or moved it.
        """
        found: dict[str, tuple[tuple[Position, ...], ...]] = {}
        for feature in self.features("legend-top", "legend-bottom"):
            if isinstance(feature, Stroke) and feature.marks:
                found[feature.owner.reference] = (*found.get(feature.owner.reference, ()), feature.points)
        return found

    def mark(self, placed: PlacedPart) -> tuple[tuple[Position, ...], ...]:
        """Return the lines of a part's mark as printed; where its pattern has it if nothing of it is printed."""
        pattern = placed.part.footprint.mark
        return self.printed_marks.get(placed.part.reference) or tuple(tuple(placed.points(line)) for line in pattern)
