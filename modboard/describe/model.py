"""What a validated design says: frozen values that the layout reads and nothing changes.

`Design` (in `design.py`) is the builder a person writes against; `Design.described()` checks everything
and returns a `Description`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from modboard.describe.rules import Rules
from modboard.errors import CallSite
from modboard.geometry import Position, Shape, stroke
from modboard.library.model import Device, Footprint

Side = Literal["top", "bottom"]
Wall = Literal["left", "right", "bottom", "top"]  # as drawn: x left to right, y bottom to top
PinRef = tuple[str, str]  # (part reference, pad number)


@dataclass(frozen=True)
class Part:
    """One part: `footprint` is resolved, `device` may be None for a part known by footprint alone."""

    reference: str
    kind: str  # as the person wrote it: "2N3904", "resistor"
    device: Device | None
    value: str
    footprint: Footprint
    site: CallSite
    height: float | None = None  # measured height overriding the footprint's, mm
    note: str = ""
    fitted: bool = True
    pins_said: bool = False  # the design itself says which contact is which

    @property
    def tall(self) -> float:
        """Return the height above the board in mm."""
        return self.footprint.height if self.height is None else self.height


@dataclass(frozen=True)
class Net:
    """One net with what was said of it; widths and gaps not said are None and come from rules, amps and volts.

    `track_width` and `gap` are resolved: what the layout must use and the checks must demand.
    """

    name: str
    pins: tuple[PinRef, ...]
    site: CallSite
    track_width: float  # mm
    gap: float  # mm to other nets
    volts: float | None = None  # to ground: DC, or the peak of what alternates
    amps: float | None = None
    pour: Literal["top", "bottom", "both"] | None = None
    width_reason: str = ""  # "rule pool", "1.2 A, IPC-2221", "asked for"
    gap_reason: str = ""
    quiet: bool = False  # kept rules.quiet_gap from noisy nets, but for the neighbourhood of parts that both are on
    noisy: bool = False
    ac: bool = False  # alternating: as far below ground as above
    gap_by_volts: bool = False  # `gap` comes from the greatest volts between this net and any other


@dataclass(frozen=True)
class Fixed:
    """The part's origin (see `anchor`) at `at`, turned and on `side`.

    `anchor` "origin" puts the footprint's origin there, "centre" the centre of its body, or a pad number.
    """

    at: Position
    turn: float = 0.0
    side: Side = "top"
    anchor: str = "origin"
    site: CallSite | None = field(default=None, compare=False, repr=False)  # where the design says so


@dataclass(frozen=True)
class AtEdge:
    """Against the board edge nearest to `wall`; `along` is the coordinate (y for left/right, x for bottom/top) of
    the body centre, None = free along the edge.  `inset` is from board edge to courtyard; negative overhangs.
    """

    wall: Wall
    along: float | None = None
    inset: float = 0.0
    turn: float | None = None  # None: front outwards, or long side along the edge
    side: Side = "top"


@dataclass(frozen=True)
class Near:
    """As near as can be to another part, or to one pad of it if `pin` is given."""

    reference: str
    pin: str | None = None
    side: Side = "top"
    turn: float | None = None
    either: bool = False  # the other side will do as well


@dataclass(frozen=True)
class Free:
    """Placed by the tool, but on `side` and turned by `turn` if given."""

    side: Side = "top"
    turn: float | None = None
    either: bool = False  # the other side will do as well


Wish = Fixed | AtEdge | Near | Free


@dataclass(frozen=True)
class Opening:
    """A hole in a cavity wall through which something must pass; heights are from the cavity floor, None = not said.

    `depth` is how far a slot goes into the wall, None for right through; `thick` is how thick the wall is; `plug` the
    width and height of the plug's body that comes from outside; `wires` says that wires leave here.  A `..._to` is how
    far that figure alone may be out, None for as far as any in the cavity.
    """

    name: str
    wall: Wall
    centre: float
    width: float
    bottom: float | None = None
    top: float | None = None
    depth: float | None = None
    thick: float = 0.0
    plug: tuple[float, float] | None = None
    wires: bool = False
    side_to: float | None = None  # either side of it
    bottom_to: float | None = None
    top_to: float | None = None


@dataclass(frozen=True)
class Obstacle:
    """Something inside the cavity: `outline` (shapely polygon, mm) from height `bottom` to `top` above the floor.

    A post runs from the floor to the lid (`top` None).  `gap` is the room the board must leave round it.  `kind` is
    what a person called it ("post", "ledge", "floor step").  One that `carries` the board stands under it, one that
    goes `through` comes up through a hole in it.  `sides_to` (one for each side of the outline, in order), `bottom_to`
    and `top_to` are how far those figures alone may be out; empty or None for as far as any in the cavity.
    """

    name: str
    outline: Any
    bottom: float = 0.0
    top: float | None = None
    gap: float = 0.5
    round: tuple[Position, float] | None = None  # centre and diameter, if it is a round post
    kind: str = "obstacle"
    metal: bool = False
    carries: bool = False
    through: bool = False
    sides_to: tuple[float, ...] = ()
    bottom_to: float | None = None
    top_to: float | None = None


@dataclass(frozen=True)
class Fixing:
    """A screw or peg of the host that must find its hole in the board: its own `diameter` (mm) and its ±."""

    name: str
    at: Position
    diameter: float
    at_to: float | None = None


@dataclass(frozen=True)
class Mouth:
    """The hole (`outline`, shapely) over the cavity through which the board must be got in, in a rim `thick` mm.

    `sides_to` is how far each side of it may be out, in order; empty for as far as any figure of the cavity.
    """

    outline: Any
    thick: float = 1.0
    sides_to: tuple[float, ...] = ()


@dataclass(frozen=True)
class CavityModel:
    """The measured room: `inside` is a shapely polygon of the inside faces (mm) at the board's underside.

    Height figures (mm) from the floor: `height` to the lid, `board_at` to the underside of the board.
    Clear room above the board = height - board_at - board thickness.  None = not measured, not checked.
    `measured_to` is how far any measured figure may be out that has no ± of its own: `sides_to` (one for each side of
    `inside`, in order) and the other `..._to`.  Walls stand `lean` mm farther out for each mm farther up.  Leads are
    trimmed to `leads` mm below the board.
    """

    inside: Any
    height: float | None
    board_at: float
    measured_to: float
    wall_gap: float
    obstacles: tuple[Obstacle, ...]
    openings: tuple[Opening, ...]
    clear_above: float | None = None
    clear_below: float | None = None
    fixings: tuple[Fixing, ...] = ()
    mouth: Mouth | None = None
    metal: bool = False
    leads: float = 1.5  # IPC-A-610 class 3 limit
    lean: float = 0.0
    sides_to: tuple[float, ...] = ()
    height_to: float | None = None
    board_at_to: float = 0.0  # where the board is put is a choice, not a measurement, unless a post carries it
    clear_above_to: float | None = None
    clear_below_to: float | None = None

    def within(self, own: float | None) -> float:
        """Return the ± of a figure: its own, or the cavity's for one that has none."""
        return self.measured_to if own is None else own


@dataclass(frozen=True)
class MountingHole:
    """A bare hole for a screw: copper and parts stay outside `keep_out` (diameter, mm)."""

    at: Position
    diameter: float
    keep_out: float
    name: str = ""


Barred = Literal["tracks", "vias", "pours", "lands", "parts"]


@dataclass(frozen=True)
class KeepOut:
    """An area (`outline` is its convex or other core, grown by `radius` mm) that some things stay out of."""

    outline: Any  # shapely point or polygon, mm
    radius: float
    sides: tuple[Side, ...]
    bars: tuple[Barred, ...]
    site: CallSite
    name: str = ""

    @property
    def shape(self) -> Shape:
        """The exact outline."""
        return Shape(self.outline, self.radius)


@dataclass(frozen=True)
class DrawnTrack:
    """A track that the person drew: it stays as it is, and the router joins its net to it."""

    net: str
    side: Side
    points: tuple[Position, ...]
    width: float
    site: CallSite

    @property
    def shape(self) -> Shape:
        """The exact copper outline."""
        return stroke(self.points, self.width)


@dataclass(frozen=True)
class DrawnVia:
    """A via that the person put down."""

    net: str
    at: Position
    site: CallSite


@dataclass(frozen=True)
class Waiver:
    """A finding the person accepts: rule name, words that must occur in its place, and why.

    `fingerprint`, if given, is that of what was accepted: the waiver ends when it changes.
    """

    rule: str
    where: str
    reason: str
    site: CallSite
    fingerprint: str = ""


@dataclass(frozen=True)
class HostWire:
    """Where the wire from a pad of the board goes on the host machine, in the person's own words.

    `at` is the host point in the cavity's frame (mm), `length` a measured length (mm) that overrides it.
    `undo` says how the connection comes off again; "" for unsoldering.
    """

    pin: PinRef
    host: str
    site: CallSite
    at: Position | None = None
    length: float | None = None
    colour: str = ""
    undo: str = ""


@dataclass(frozen=True)
class HostCut:
    """Something on the host that the person says is cut or taken out, and how to make it good again."""

    what: str
    undo: str
    site: CallSite


@dataclass(frozen=True)
class Description:
    """Everything a design says, checked and resolved."""

    name: str
    title: str
    revision: str
    parts: tuple[Part, ...]
    nets: tuple[Net, ...]
    unconnected: tuple[PinRef, ...]  # pins marked as no-connect
    wishes: dict[str, Wish]
    groups: tuple[tuple[str, ...], ...]
    cavity: CavityModel | None
    outline: Any  # shapely polygon of the board, arcs as chords to 1 µm
    holes: tuple[MountingHole, ...]
    rules: Rules
    waivers: tuple[Waiver, ...] = ()
    cautions: tuple[str, ...] = ()  # safety remarks that follow from the volts given
    notes: tuple[str, ...] = ()
    seed: int = 1
    teardrops: bool = False  # tracks widen where they meet lands and vias
    site: CallSite = field(default=CallSite("?", 0))
    wires: tuple[HostWire, ...] = ()
    cuts: tuple[HostCut, ...] = ()
    removals: tuple[HostCut, ...] = ()  # what comes out of the host whole, and how it goes back
    own_notes: tuple[str, ...] = ()  # those of `notes` that the person wrote
    keep_outs: tuple[KeepOut, ...] = ()
    drawn_tracks: tuple[DrawnTrack, ...] = ()
    drawn_vias: tuple[DrawnVia, ...] = ()

    def part(self, reference: str) -> Part:
        """Return the part called `reference`; KeyError if there is none."""
        return next(p for p in self.parts if p.reference == reference)

    def net_of(self) -> dict[PinRef, str]:
        """Return the net name of every connected pad, keyed by (reference, pad number)."""
        return {pin: net.name for net in self.nets for pin in net.pins}
