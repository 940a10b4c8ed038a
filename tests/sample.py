"""A small board laid out by hand, for tests of everything to the right of the layout.

Built straight from the value classes, without library, builder or router, so that a test on it fails for one
reason only.  A buffer amplifier with a four-way header, 30 × 25 mm, a rounded notch for a post at the top left:

- top: most tracks, a chip capacitor C1; bottom: ground pour with thermal relief, a chip capacitor C2, one track;
- through-hole parts U1 (DIP-8), R1, R2 (axial), J1 (header), J2 (two lugs, one of them in a slot);
- one signal via, one via from C1 into the pour, one mounting hole.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import shapely
from shapely.geometry import LineString, Point

from modboard.artwork.model import Artwork
from modboard.describe.model import CavityModel, Description, MountingHole, Net, Obstacle, Opening, Part, PinRef
from modboard.describe.rules import Rules
from modboard.errors import CallSite
from modboard.geometry import Position, circle, stroke
from modboard.layout.board import Board, PlacedPart, Pour, Track, Via
from modboard.library.model import Body, Device, Footprint, Hole, Land, PadForm, Pin

SITE = CallSite("sample.py", 1)
POST_AT, POST_DIAMETER = (2.3, 24.3), 4.0
LEFT, BOTTOM, WIDTH, HEIGHT = 0.8, 0.8, 30.0, 25.0


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[Position, ...]:
    """Return the four corners of a rectangle, counter-clockwise."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def closed(points: tuple[Position, ...]) -> tuple[Position, ...]:
    """Return the polyline that runs round `points` and back to the first."""
    return (*points, points[0])


def sample_rules() -> Rules:
    """Return the easy set of figures for a pool board, written out (common practice)."""
    return Rules(
        name="pool", title="Easy pool board", level="A", track=0.25, gap=0.25, via_hole=0.6, via_land=1.1,
        ring_via=0.25, ring_pad=0.35, hole_min=0.6, hole_max=6.0, hole_to_hole=0.6, bare_hole_to_copper=0.4,
        copper_to_edge=0.5, mask_expansion=0.1, mask_web=0.2, mask_to_copper=0.1, mask=True, legend=True,
        legend_line=0.15, legend_height=1.0, legend_to_copper=0.15, thermal_spoke=0.4, thermal_gap=0.4,
        pour_gap=0.3, pour_neck=0.25, outline_tolerance=0.25, cutter=2.0, thickness=1.6, copper=0.035,
        tent_vias_up_to=0.4, part_gap=0.25, part_to_edge=1.0,
    )  # fmt: skip


def dip8() -> Footprint:
    """Return a DIP-8, rows 7.62 mm apart, pad 1 (square) at the origin, pads 1 to 4 downwards."""
    at = [(0.0, -2.54 * k) for k in range(4)] + [(7.62, -2.54 * k) for k in (3, 2, 1, 0)]
    lands = tuple(
        Land(str(k + 1), p, PadForm("rectangle" if k == 0 else "round", 1.6, 1.6), Hole(p, 0.8), 0.6)
        for k, p in enumerate(at)
    )
    body = box(0.61, -8.91, 7.01, 1.29)
    notch = tuple(
        (3.81 + 0.9 * math.cos(math.radians(a)), 1.29 + 0.9 * math.sin(math.radians(a))) for a in range(180, 361, 15)
    )
    outline = ((2.91, 1.29), (1.11, 1.29), (1.11, -8.91), (6.51, -8.91), (6.51, 1.29), (4.71, 1.29))
    dot = ((-1.3, 0.9), (-1.3, 1.3), (-0.9, 1.3))
    return Footprint(
        "sample-dip-8", "dip", "DIP-8", "through-hole", lands, (Body(body, 4.5),),
        box(-1.05, -9.16, 8.67, 1.54), (outline, notch), (dot,), lead_below=3.0,
    )  # fmt: skip


def axial(pitch: float = 10.16) -> Footprint:
    """Return an axial resistor, leads `pitch` mm apart along x, pad 1 at the origin."""
    round_land = PadForm("round", 1.8, 1.8)
    ends = ((0.0, 0.0), (pitch, 0.0))
    x0, x1 = pitch / 2 - 3.15, pitch / 2 + 3.15
    return Footprint(
        "sample-axial", "axial", "Axial resistor", "through-hole",
        tuple(Land(n, p, round_land, Hole(p, 0.9), 0.6) for n, p in zip("12", ends, strict=True)),
        (Body(box(x0, -1.25, x1, 1.25), 2.5),), box(-1.15, -1.5, pitch + 1.15, 1.5),
        (closed(box(x0, -1.25, x1, 1.25)), ((0.0, 0.0), (x0, 0.0)), ((x1, 0.0), (pitch, 0.0))), lead_below=3.0,
    )  # fmt: skip


def chip() -> Footprint:
    """Return an 0805 chip, centred, pad 1 to the left."""
    land = PadForm("rounded", 1.0, 1.4, 0.2)
    return Footprint(
        "sample-0805", "chip", "0805 chip", "surface-mount",
        (Land("1", (-0.95, 0.0), land), Land("2", (0.95, 0.0), land)),
        (Body(box(-1.0, -0.625, 1.0, 0.625), 1.25),), box(-1.7, -0.95, 1.7, 0.95),
        (((-0.3, 0.8), (0.3, 0.8)), ((-0.3, -0.8), (0.3, -0.8))),
    )  # fmt: skip


def header(ways: int = 4) -> Footprint:
    """Return a single-row pin header running upwards from pad 1 (square) at the origin."""
    at = [(0.0, 2.54 * k) for k in range(ways)]
    lands = tuple(
        Land(str(k + 1), p, PadForm("rectangle" if k == 0 else "round", 1.7, 1.7), Hole(p, 1.0), 0.9)
        for k, p in enumerate(at)
    )
    body = box(-1.27, -1.27, 1.27, 2.54 * ways - 1.27)
    return Footprint(
        "sample-header", "header", "Header", "through-hole", lands, (Body(body, 8.5),),
        box(-1.52, -1.52, 1.52, 2.54 * ways - 1.02), (closed(body),), (((-0.6, -1.6), (0.6, -1.6)),),
        front=180.0, lead_below=3.0,
    )  # fmt: skip


def lugs() -> Footprint:
    """Return two solder lugs 5 mm apart: pad 1 in a slot 1.2 × 2.2 mm, pad 2 in a round hole."""
    slot = Hole((0.0, -0.5), 1.2, True, (0.0, 0.5))
    return Footprint(
        "sample-lugs", "lug", "Two lugs", "through-hole",
        (Land("1", (0.0, 0.0), PadForm("oval", 2.2, 3.2), slot, 1.0),
         Land("2", (0.0, 5.0), PadForm("round", 2.2, 2.2), Hole((0.0, 5.0), 1.2), 1.0)),
        (Body(box(-1.2, -1.7, 1.2, 6.2), 6.0),), box(-1.45, -1.95, 1.45, 6.45),
        (closed(box(-1.35, -1.85, 1.35, 6.35)),), lead_below=2.5,
    )  # fmt: skip


BUFFER = Device(
    "sample-buffer", "Buffer amplifier",
    (Pin("1", ("OUT",), "output"), Pin("2", ("IN-",), "input"), Pin("3", ("IN+",), "input"),
     Pin("4", ("GND",), "power-in"), Pin("5", ("NC5",), "no-connect"), Pin("6", ("NC6",), "no-connect"),
     Pin("7", ("NC7",), "no-connect"), Pin("8", ("VCC",), "power-in")),
    "sample-dip-8", prefix="U",
)  # fmt: skip

PLACES: tuple[tuple[str, str, str, Footprint, Position, float, str], ...] = (
    ("U1", "sample-buffer", "", dip8(), (12.0, 14.0), 0.0, "top"),
    ("R1", "resistor", "100k", axial(), (8.0, 18.0), 0.0, "top"),
    ("R2", "resistor", "1k", axial(), (8.0, 21.5), 0.0, "top"),
    ("C1", "capacitor", "100n", chip(), (23.5, 14.0), 0.0, "top"),
    ("C2", "capacitor", "1u", chip(), (15.8, 10.2), 90.0, "bottom"),
    ("J1", "header", "", header(), (3.34, 4.0), 0.0, "top"),
    ("J2", "lugs", "", lugs(), (27.5, 5.0), 0.0, "top"),
)

NETS: tuple[tuple[str, str], ...] = (
    ("GND", "J1.1 U1.4 R1.2 R2.2 C1.2 C2.2 J2.2"),
    ("VCC", "J1.2 U1.8 C1.1 C2.1"),
    ("SIG", "J1.3 U1.3 R1.1"),
    ("OUT", "J1.4 U1.1 U1.2 R2.1 J2.1"),
)

VIAS = (Via("SIG", (8.0, 9.08), 1.1, 0.6), Via("GND", (25.9, 14.0), 1.1, 0.6))

TRACKS = (
    Track("SIG", "top", ((3.34, 9.08), (11.84, 9.08), (12.0, 8.92)), 0.3),
    Track("SIG", "bottom", ((8.0, 9.08), (8.0, 18.0)), 0.3),
    Track("OUT", "top", ((3.34, 11.62), (5.72, 14.0), (12.0, 14.0)), 0.4),
    Track("OUT", "top", ((12.0, 14.0), (12.0, 11.46)), 0.4),
    Track("OUT", "top", ((5.72, 14.0), (5.72, 19.22), (8.0, 21.5)), 0.4),
    Track("OUT", "top", ((12.0, 11.46), (13.27, 10.19), (13.27, 6.27), (14.54, 5.0), (27.5, 5.0)), 0.4),
    Track("VCC", "top", ((3.34, 6.54), (4.84, 6.54), (8.88, 2.5), (28.0, 2.5), (29.5, 4.0), (29.5, 15.4),
                         (28.4, 16.5), (24.0, 16.5), (22.55, 15.05), (22.55, 14.0)), 0.5),
    Track("VCC", "top", ((19.62, 14.0), (22.55, 14.0)), 0.5),
    Track("VCC", "bottom", ((19.62, 14.0), (18.65, 14.0), (15.8, 11.15)), 0.5),
    Track("GND", "top", ((24.45, 14.0), (25.9, 14.0)), 0.5),
)  # fmt: skip


def sample_outline() -> Any:
    """Return the board's outline: 30 × 25 mm less a round notch for the post at the top left."""
    plate = shapely.box(LEFT, BOTTOM, LEFT + WIDTH, BOTTOM + HEIGHT)
    return plate.difference(circle(POST_AT, POST_DIAMETER + 2 * 0.8).covering_polygon())


def sample_description(name: str = "sample-buffer", title: str = "Sample buffer") -> Description:
    """Return what the sample board was made from."""
    parts = tuple(
        Part(reference, kind, BUFFER if kind == BUFFER.name else None, value, footprint, SITE)
        for reference, kind, value, footprint, *_ in PLACES
    )
    nets = tuple(
        Net(
            net,
            tuple(pin(word) for word in pins.split()),
            SITE,
            track_width=0.25,
            gap=0.25,
            volts={"GND": 0.0, "VCC": 5.0}.get(net),
            pour="bottom" if net == "GND" else None,
        )
        for net, pins in NETS
    )
    post = Obstacle("screw post", Point(POST_AT).buffer(POST_DIAMETER / 2), round=(POST_AT, POST_DIAMETER))
    cavity = CavityModel(
        inside=shapely.box(0.0, 0.0, 31.6, 26.6),
        height=18.0,
        board_at=4.0,
        measured_to=0.3,
        wall_gap=0.5,
        obstacles=(post,),
        openings=(Opening("lead hole", "right", 7.5, 9.0), Opening("vent", "top", 16.0, 6.0)),
    )
    return Description(
        name=name,
        title=title,
        revision="1",
        parts=parts,
        nets=nets,
        unconnected=(("U1", "5"), ("U1", "6"), ("U1", "7")),
        wishes={},
        groups=(),
        cavity=cavity,
        outline=sample_outline(),
        holes=(MountingHole((27.0, 21.8), 3.2, 6.0, "screw"),),
        rules=sample_rules(),
        site=SITE,
    )


def pin(word: str) -> PinRef:
    """Return ("R1", "2") for "R1.2"."""
    reference, _, number = word.partition(".")
    return (reference, number)


def ground_pour(board: Board) -> tuple[Pour, ...]:
    """Return the ground pour on the bottom, with thermal relief at pads and solid joints at vias."""
    rules = board.description.rules
    area = board.outline.buffer(-0.6)
    own = [p for p in board.pads if p.net == "GND" and "bottom" in p.layers]
    foreign = [p.shape for p in board.pads if p.net != "GND" and "bottom" in p.layers]
    foreign += [t.shape for t in board.tracks if t.layer == "bottom"] + [v.shape for v in board.vias if v.net != "GND"]
    keep_off = [s.grown(rules.pour_gap).covering_polygon() for s in foreign]
    keep_off += [circle(h.at, h.keep_out).covering_polygon() for h in board.description.holes]
    free = area.difference(shapely.union_all(keep_off))
    reliefs = [p.shape.grown(rules.thermal_gap).covering_polygon() for p in own]
    poured = free.difference(shapely.union_all(reliefs))
    # Opening with half the neck's width removes slivers that an etcher would lift.
    # Two micrometres over, so that no neck is left a hair too narrow.
    poured = poured.buffer(-rules.pour_neck / 2 - 0.002).buffer(rules.pour_neck / 2)
    spokes = []
    for pad in own:
        reach = max(pad.form.width, pad.form.height) / 2 + rules.thermal_gap + 0.3
        for dx, dy in ((reach, 0.0), (0.0, reach), (-reach, 0.0), (0.0, -reach)):
            x, y = pad.at
            spoke = stroke((pad.at, (x + dx, y + dy)), rules.thermal_spoke).polygon()
            tip = LineString([(x + 0.9 * dx, y + 0.9 * dy), (x + dx, y + dy)])
            if free.covers(spoke) and poured.intersects(tip):
                spokes.append(spoke)
    whole = shapely.union_all([poured, *spokes])
    anchors = [p.shape.polygon() for p in own] + [v.shape.polygon() for v in board.vias if v.net == "GND"]
    pieces = whole.geoms if hasattr(whole, "geoms") else [whole]
    return tuple(Pour("GND", "bottom", piece) for piece in pieces if any(piece.intersects(a) for a in anchors))


@cache
def sample_board(name: str = "sample-buffer", title: str = "Sample buffer") -> Board:
    """Return the board, laid out: complete, clear of every rule of `sample_rules`."""
    described = sample_description(name, title)
    parts = tuple(
        PlacedPart(described.part(reference), at, turn, side)  # type: ignore[arg-type]
        for reference, _, _, _, at, turn, side in PLACES
    )
    bare = Board(described, described.outline, parts, TRACKS, VIAS, ())
    return Board(described, described.outline, parts, TRACKS, VIAS, ground_pour(bare))


@cache
def sample_artwork() -> Artwork:
    """Return the drawing of the sample board."""
    from modboard.artwork.draw import draw

    return draw(sample_board())
