"""The finished layout: an immutable `Board` in the frame of the cavity, mm, y up, seen from the top."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from modboard.describe.model import Description, Part, PinRef, Side
from modboard.geometry import Position, Shape, circle, exact_cos_sin, stroke
from modboard.library.model import Body, Hole, PadForm

CopperLayer = Literal["top", "bottom"]
COPPER_LAYERS: tuple[CopperLayer, CopperLayer] = ("top", "bottom")


@dataclass(frozen=True)
class Pad:
    """One land on the board.  `turn` is the land's own turn; `layers` where it has copper."""

    reference: str
    number: str
    pin_name: str
    net: str | None
    at: Position
    form: PadForm
    turn: float
    layers: tuple[CopperLayer, ...]
    hole: Hole | None  # in board coordinates
    mirrored: bool = False

    @cached_property
    def shape(self) -> Shape:
        """The exact copper outline."""
        flat = self.form.shape()
        if self.mirrored:
            flat = flat.mirrored()
        return flat.turned(self.turn).moved(*self.at)


@dataclass(frozen=True)
class PlacedPart:
    """A part put down: footprint origin at `at`, turned by `turn` degrees counter-clockwise as seen from the top.

    On the bottom side the footprint is mirrored left to right first (x becomes -x), then turned.
    """

    part: Part
    at: Position
    turn: float
    side: Side = "top"

    def to_board(self, point: Position) -> Position:
        """Return board coordinates of a point given in the footprint's frame."""
        x, y = (-point[0] if self.side == "bottom" else point[0]), point[1]
        cos, sin = exact_cos_sin(self.turn)
        return (self.at[0] + x * cos - y * sin, self.at[1] + x * sin + y * cos)

    def points(self, outline: tuple[Position, ...]) -> tuple[Position, ...]:
        """Return a footprint polyline in board coordinates."""
        return tuple(self.to_board(p) for p in outline)

    def hole(self, hole: Hole) -> Hole:
        """Return a footprint hole in board coordinates."""
        to = self.to_board(hole.to) if hole.to else None
        return Hole(self.to_board(hole.at), hole.diameter, hole.plated, to, hole.clear)

    def pads(self, nets: dict[PinRef, str]) -> tuple[Pad, ...]:
        """Return the part's lands on the board, with their nets."""
        device = self.part.device
        found = []
        for land in self.part.footprint.lands:
            pin = device.find(land.number) if device else None
            layers: tuple[CopperLayer, ...] = COPPER_LAYERS if land.through else (self.side,)
            found.append(
                Pad(
                    self.part.reference,
                    land.number,
                    pin.names[0] if pin and pin.names else "",
                    nets.get((self.part.reference, land.number)),
                    self.to_board(land.at),
                    land.form,
                    self.turn,
                    layers,
                    self.hole(land.hole) if land.hole else None,
                    self.side == "bottom",
                )
            )
        return tuple(found)

    def bodies(self) -> tuple[Body, ...]:
        """Return the bodies in board coordinates; heights are above the part's own side."""
        return tuple(Body(self.points(b.outline), b.height, b.above) for b in self.part.footprint.bodies)

    @property
    def body_side(self) -> Side:
        """The side of the board that bodies and courtyard are on: the other one for what hangs from the underside."""
        if not self.part.footprint.underside:
            return self.side
        return "bottom" if self.side == "top" else "top"

    def courtyard(self) -> tuple[Position, ...]:
        """Return the courtyard in board coordinates."""
        return self.points(self.part.footprint.courtyard)


@dataclass(frozen=True)
class Track:
    """A polyline of copper on one layer, of one width, with round ends."""

    net: str
    layer: CopperLayer
    points: tuple[Position, ...]
    width: float

    @cached_property
    def shape(self) -> Shape:
        """The exact copper outline."""
        return stroke(self.points, self.width)


@dataclass(frozen=True)
class Via:
    """A plated hole that joins both layers of one net."""

    net: str
    at: Position
    land: float  # diameter, mm
    hole: float  # finished diameter, mm

    @cached_property
    def shape(self) -> Shape:
        """The exact copper outline, the same on both layers."""
        return circle(self.at, self.land)


@dataclass(frozen=True)
class Pour:
    """One connected piece of poured copper (shapely polygon, holes allowed), spokes included."""

    net: str
    layer: CopperLayer
    area: Any


@dataclass(frozen=True)
class Unrouted:
    """A connection the router could not make: two pads of one net, and why."""

    net: str
    start: PinRef
    end: PinRef
    reason: str


@dataclass(frozen=True)
class Board:
    """A Description laid out.  Nothing in it changes; later stages only read it."""

    description: Description
    outline: Any  # shapely polygon
    parts: tuple[PlacedPart, ...]
    tracks: tuple[Track, ...]
    vias: tuple[Via, ...]
    pours: tuple[Pour, ...]
    unrouted: tuple[Unrouted, ...] = ()

    @cached_property
    def pads(self) -> tuple[Pad, ...]:
        """Every land of every part, in part order."""
        nets = self.description.net_of()
        return tuple(pad for placed in self.parts for pad in placed.pads(nets))

    @cached_property
    def bare_holes(self) -> tuple[Hole, ...]:
        """Every unplated hole: mounting holes and the pegs and screws of parts."""
        mounting = [Hole(h.at, h.diameter, plated=False) for h in self.description.holes]
        return tuple(mounting + [p.hole(h) for p in self.parts for h in p.part.footprint.holes])
