"""Small boards put together feature by feature, so that a test can say exactly what lies where."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import shapely

from modboard.artwork.model import Artwork, Drill, Feature, Flash, Layer, LayerName, Owner, Region, Stroke
from modboard.check import check
from modboard.check.findings import Finding
from modboard.describe.model import Description, MountingHole, Net, Part, PinRef, Waiver
from modboard.errors import CallSite
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart, Unrouted
from modboard.library.model import Body, Device, Footprint, Hole, Land, PadForm
from tests.sample import sample_description, sample_rules

SITE = CallSite("build.py", 1)
RULES = sample_rules()
SQUARE = shapely.box(0.0, 0.0, 40.0, 40.0)
BARE = replace(
    sample_description(),
    parts=(),
    nets=(),
    unconnected=(),
    wishes={},
    cavity=None,
    outline=SQUARE,
    holes=(),
)
Scene = tuple[Board, Artwork]


def net(name: str, pins: Iterable[PinRef] = (), **values: Any) -> Net:
    """Return a net with the widths and gaps of the rules unless said otherwise."""
    return Net(name, tuple(pins), SITE, **{"track_width": RULES.track, "gap": RULES.gap, **values})


def scene(
    *,
    top: Sequence[Feature] = (),
    bottom: Sequence[Feature] = (),
    drills: Sequence[Drill] = (),
    mask: Sequence[Feature] = (),
    legend: Sequence[Feature] = (),
    nets: Sequence[Net] = (),
    parts: Sequence[PlacedPart] = (),
    holes: Sequence[MountingHole] = (),
    outline: Any = SQUARE,
    unrouted: Sequence[Unrouted] = (),
    waivers: Sequence[Waiver] = (),
    **described: Any,
) -> Scene:
    """Return a board of 40 by 40 mm with the features given and its profile; mask and legend are the top ones."""
    description: Description = replace(
        BARE,
        outline=outline,
        nets=tuple(nets),
        parts=tuple(p.part for p in parts),
        holes=tuple(holes),
        waivers=tuple(waivers),
        **described,
    )
    board = Board(description, outline, tuple(parts), (), (), (), tuple(unrouted))
    rings = [outline.exterior, *outline.interiors]
    profile = [Stroke(tuple((float(x), float(y)) for x, y in ring.coords), 0.1, "profile") for ring in rings]
    content: list[tuple[LayerName, Sequence[Feature]]] = [
        ("copper-top", top),
        ("copper-bottom", bottom),
        ("mask-top", mask),
        ("legend-top", legend),
        ("profile", profile),
    ]
    return board, Artwork(board, tuple(Layer(name, tuple(f)) for name, f in content), tuple(drills))


def findings(made: Scene, rule: str) -> list[Finding]:
    """Return the findings of one rule."""
    return [f for f in check(*made) if f.rule == rule]


def track(net_name: str, *points: Position, width: float = 0.3) -> Stroke:
    """Return a track."""
    return Stroke(tuple(points), width, "conductor", Owner(net=net_name))


def pad(
    net_name: str, at: Position, form: PadForm, *, name: str = "X1.1", turn: float = 0.0, through: bool = False
) -> Flash:
    """Return the land of pin `name`."""
    reference, _, number = name.partition(".")
    return Flash(form, at, turn, "component-pad" if through else "surface-pad", Owner(net_name, reference, number))


def drill(net_name: str, at: Position, diameter: float, *, name: str = "X1.1", to: Position | None = None) -> Drill:
    """Return the plated hole of pin `name`."""
    reference, _, number = name.partition(".")
    return Drill(at, diameter, True, "component-drill", Owner(net_name, reference, number), to)


def via(net_name: str, at: Position, land: float = 1.1, hole: float = 0.6) -> tuple[Flash, Drill]:
    """Return the land (same on both layers) and the hole of a via."""
    owner = Owner(net=net_name)
    return Flash(round_land(land), at, 0.0, "via-pad", owner), Drill(at, hole, True, "via-drill", owner)


def bare_hole(at: Position, diameter: float) -> Drill:
    """Return a hole without plating."""
    return Drill(at, diameter, False, "mechanical-drill")


def opening(of: Flash, by: float) -> Flash:
    """Return the mask opening of a land, `by` mm larger all round (round and rectangular forms)."""
    form = replace(of.form, width=of.form.width + 2 * by, height=of.form.height + 2 * by)
    return replace(of, form=form, function="mask-opening")


def pour(net_name: str, area: Any) -> Region:
    """Return poured copper."""
    return Region(area, "conductor", Owner(net=net_name))


def round_land(diameter: float) -> PadForm:
    """Return a round land."""
    return PadForm("round", diameter, diameter)


def ring_of(width: float, height: float, at: Position = (0.0, 0.0)) -> tuple[Position, ...]:
    """Return the corners of a rectangle centred on `at`."""
    x, y = at
    return ((x - width / 2, y - height / 2), (x + width / 2, y - height / 2),
            (x + width / 2, y + height / 2), (x - width / 2, y + height / 2))  # fmt: skip


def box_part(
    reference: str,
    at: Position,
    size: tuple[float, float],
    *,
    height: float = 3.0,
    side: str = "top",
    leads: Sequence[tuple[str, Position]] = (),
    device: Device | None = None,
    kind: str = "block",
    body: bool = True,
    turn: float = 0.0,
    lead_below: float = 3.0,
    courtyard: tuple[float, float] | None = None,
    above: float = 0.0,
    measured: float | None = None,
) -> PlacedPart:
    """Return a block of `size` mm centred on `at` whose courtyard is its body, with round 1.5 mm lands on `leads`."""
    lands = tuple(Land(n, p, round_land(1.5), Hole(p, 0.8), 0.6) for n, p in leads)
    bodies = (Body(ring_of(*size), height, above),) if body else ()
    footprint = Footprint(
        f"block-{size[0]}x{size[1]}",
        "block",
        "Block",
        "through-hole" if leads else "surface-mount",
        lands,
        bodies,
        ring_of(*(courtyard or size)),
        lead_below=lead_below if leads else 0.0,
    )
    part = Part(reference, kind, device, "", footprint, SITE, height=measured)
    return PlacedPart(part, at, turn, side)  # type: ignore[arg-type]
