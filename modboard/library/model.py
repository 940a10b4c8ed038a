"""What a footprint and a device are, once their TOML has been read.

A footprint is given in its own frame: mm, x right, y up, seen from the top of the board, not turned.
The origin is where the family file says it is (pad 1 for in-line and DIP parts, the body centre for
surface-mount parts); nothing downstream depends on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from modboard.geometry import Position, Shape, circle, polygon, rectangle, stroke

LandForm = Literal["round", "oval", "rectangle", "rounded", "polygon"]
PinType = Literal[
    "passive", "input", "output", "bidirectional", "open-collector", "three-state",
    "power-in", "power-out", "no-connect",
]  # fmt: skip


@dataclass(frozen=True)
class PadForm:
    """The outline of a land about its own centre: what an aperture is made from.

    `width` runs along x and `height` along y before the part is turned.  `corner` (mm) is used by
    "rounded" only.  `points` is used by "polygon" only.
    """

    form: LandForm
    width: float
    height: float
    corner: float = 0.0
    points: tuple[Position, ...] = ()

    def shape(self, at: Position = (0.0, 0.0), turn: float = 0.0) -> Shape:
        """Return the exact shape, centred on `at` and turned by `turn` degrees."""
        if self.form == "polygon":
            return polygon(self.points).turned(turn).moved(*at)
        if self.form == "round":
            return circle(at, self.width)
        corner = {"oval": min(self.width, self.height) / 2, "rounded": self.corner}.get(self.form, 0.0)
        return rectangle((0.0, 0.0), self.width, self.height, corner).turned(turn).moved(*at)

    def short_side(self) -> float:
        """Return the smaller of the two sizes in mm."""
        return min(self.width, self.height)


@dataclass(frozen=True)
class Hole:
    """A hole of finished `diameter` mm at `at`; a slot if `to` (the other end centre) is given.

    `clear` is how far across (mm) copper keeps off it on both sides: under the head, washer and nut of a screw.
    """

    at: Position
    diameter: float
    plated: bool = True
    to: Position | None = None
    clear: float = 0.0

    def shape(self) -> Shape:
        """Return the hole's exact outline."""
        return stroke((self.at, self.to), self.diameter) if self.to else circle(self.at, self.diameter)

    def kept_off(self, gap: float) -> Shape:
        """Return what copper stays out of: the hole and `gap` mm round it, or all that its screw covers if more."""
        return self.shape().grown(max(gap, (self.clear - self.diameter) / 2))


@dataclass(frozen=True)
class Land:
    """One pad of a footprint: `number` is what a net names, e.g. "1" or "tab".

    A land with a hole has the same form on both sides, or only that away from the body where it is `opposite`.
    A land without is on the side of the part.  Several lands may share a number (a tab and its pin);
    they must be joined by the layout like any other pads of the net.
    """

    number: str
    at: Position
    form: PadForm
    hole: Hole | None = None
    lead: float | None = None  # greatest lead diameter or diagonal, mm
    # Copper only on the side away from the body: the back of a card edge, or with a hole where leads have no plating
    opposite: bool = False

    def meets(self, other: Land) -> bool:
        """Tell whether both lands have copper on one side."""
        return self.through or other.through or self.opposite == other.opposite

    @property
    def through(self) -> bool:
        """Tell whether the land goes through the board."""
        return self.hole is not None


@dataclass(frozen=True)
class Body:
    """A prism of the part: plan outline, and how high it stands above the board's surface (mm)."""

    outline: tuple[Position, ...]
    height: float
    above: float = 0.0  # height of its underside, e.g. a chip in a socket


@dataclass(frozen=True)
class Footprint:
    """A land pattern with everything a board needs to know of the package.

    `legend` holds polylines to print; `mark` is the pin-1 or polarity mark, also polylines, printed so that it
    stays visible once the part is fitted.  `front` is the direction (degrees) its mouth or plug faces.
    `lead_below` is how far leads reach below a 1.6 mm board when fitted: stiff pins as made, wire leads as cut
    (0 for surface-mount).
    """

    name: str
    family: str
    title: str
    technology: Literal["through-hole", "surface-mount", "none"]
    lands: tuple[Land, ...]
    bodies: tuple[Body, ...]
    courtyard: tuple[Position, ...]
    legend: tuple[tuple[Position, ...], ...] = ()
    mark: tuple[tuple[Position, ...], ...] = ()
    holes: tuple[Hole, ...] = ()  # bare holes (screws, pegs)
    front: float | None = None
    lead_below: float = 0.0
    polarised: bool = False
    source: str = ""
    measure_yours: bool = False  # varies by maker
    underside: bool = False  # hangs below the board: courtyard and body count for the side it is not placed on
    watts: float | None = None  # what the body may dissipate at 70 °C, where it has a rating
    exception: str = ""  # a usual limit that this pattern cannot keep, and why
    edge: Literal["", "halved", "fingers"] = ""  # the board's edge halves its holes, or its lands are bare to the edge
    bridge: bool = False  # a wire: joins all its lands
    bend_note: str = ""  # what to know when bending the leads to this pitch

    @property
    def height(self) -> float:
        """Return the height of the tallest body in mm."""
        return max((b.height for b in self.bodies), default=0.0)

    def numbers(self) -> tuple[str, ...]:
        """Return the pad numbers in order, each once."""
        return tuple(dict.fromkeys(land.number for land in self.lands))


@dataclass(frozen=True)
class Pin:
    """A pin of a device: the pad number, its names (first one preferred) and its electrical type."""

    number: str
    names: tuple[str, ...]
    type: PinType = "passive"
    may_be_ground: bool = False  # a supply of its own that the data sheet lets be tied to the ground pin, too


@dataclass(frozen=True)
class Device:
    """What a part is electrically: "2N3904", "resistor", "62256"; `pins` in pad order."""

    name: str
    title: str
    pins: tuple[Pin, ...]
    footprint: str  # default footprint name
    alternatives: tuple[str, ...] = ()  # other footprints that fit
    prefix: str = ""  # customary reference letter, e.g. "R"
    source: str = ""
    supply: tuple[float, float] | None = None  # volts, least and greatest
    notes: str = ""
    watts: float | None = None  # what it may dissipate at 25 °C in still air without a heat sink, where that matters
    orders: tuple[tuple[str, ...], ...] = ()  # every pin order the type is sold in, if in more than one
    words: str = ""  # what else people call it, for searching
    amps: float | None = None  # the greatest current that a regulator is rated to give

    def find(self, name: str) -> Pin | None:
        """Return the pin with pad number or name `name` (case and a leading "/" must match; see `library.devices`)."""
        for pin in self.pins:
            if name == pin.number or name in pin.names:
                return pin
        return None

    def find_all(self, name: str) -> tuple[Pin, ...]:
        """Return every pin with pad number or name `name`, in pad order: several pads may be called "GND"."""
        return tuple(pin for pin in self.pins if name == pin.number or name in pin.names)
