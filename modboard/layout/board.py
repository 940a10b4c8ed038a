"""The finished layout: an immutable `Board` in the frame of the cavity, mm, y up, seen from the top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

from modboard.describe.model import Description, Part, PinRef, Side
from modboard.describe.rules import Rules
from modboard.geometry import Position, Shape, circle, exact_cos_sin, stroke
from modboard.library.model import Body, Hole, Land, PadForm

if TYPE_CHECKING:
    from modboard.layout.place.congestion import Congestion

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
    bridge: str = ""  # the wire link that joins it to its other pads

    @cached_property
    def shape(self) -> Shape:
        """The exact copper outline."""
        flat = self.form.shape()
        if self.mirrored:
            flat = flat.mirrored()
        return flat.turned(self.turn).moved(*self.at)

    def bare(self, layer: CopperLayer, rules: Rules) -> Hole | None:
        """Return the lead's hole if it goes bare through a layer: without a land, but with copper to be kept off it.

        The side of a one-sided board that has no copper has none to keep off.
        """
        return None if layer in self.layers or rules.one_sided else self.hole


BEYOND_TIPS = 1.5  # mm that the mask stays open past the tips of fingers: to the edge and over it


def _box(lands: Sequence[Land]) -> tuple[float, float, float, float]:
    boxes = [land.form.shape(land.at).bounds() for land in lands]
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


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
            if land.opposite:
                layers = ("bottom" if self.body_side == "top" else "top",)
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
                    self.part.reference if self.part.footprint.bridge else "",
                )
            )
        return tuple(found)

    def bodies(self) -> tuple[Body, ...]:
        """Return the bodies in board coordinates; heights are above the part's own side."""
        return tuple(Body(self.points(b.outline), b.height, b.above) for b in self.part.footprint.bodies)

    def window(self) -> tuple[Position, ...]:
        """Return the corners of what the mask leaves bare round the fingers of a card edge, over the edge; else ()."""
        if self.part.footprint.edge != "fingers":
            return ()
        x0, y0, x1, y1 = _box(self.part.footprint.lands)
        return self.points(((x0, y0 - BEYOND_TIPS), (x1, y0 - BEYOND_TIPS), (x1, y1), (x0, y1)))

    def between_fingers(self) -> tuple[tuple[Position, ...], ...]:
        """Return the corners of each gap between two fingers of a card edge, where no track may run; else ()."""
        if self.part.footprint.edge != "fingers":
            return ()
        fingers = sorted((land.at[0], land.form.width / 2) for land in self.part.footprint.lands if not land.opposite)
        _, y0, _, y1 = _box(self.part.footprint.lands)
        gaps = [(a + wide, b - its) for (a, wide), (b, its) in pairwise(fingers)]
        return tuple(self.points(((a, y0), (b, y0), (b, y1), (a, y1))) for a, b in gaps if b > a)

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
    remarks: tuple[str, ...] = ()  # how the layout ended, if not well: what was tried, what would help
    crowded: Congestion | None = field(default=None, compare=False)  # where the router was short of room

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
