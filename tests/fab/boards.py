"""Small artworks made for one purpose each."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork, Drill, Feature, Flash, Layer, LayerName, Owner, Region, Stroke
from modboard.describe.model import Net, Part
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart, Track, Via
from modboard.library.model import PadForm
from tests.sample import SITE, axial, chip, ground_pour, header, sample_board, sample_description

FORMS = (
    PadForm("round", 1.6, 1.6),
    PadForm("rectangle", 1.7, 1.1),
    PadForm("oval", 2.2, 1.2),
    PadForm("oval", 1.2, 2.2),
    PadForm("oval", 1.5, 1.5),
    PadForm("rounded", 1.3, 0.9, 0.2),
    PadForm("rounded", 0.9, 1.3, 0.45),
    PadForm("rounded", 1.3, 0.9, 0.0),
    PadForm("polygon", 2.0, 1.5, points=((-1.0, -0.75), (1.0, -0.75), (0.4, 0.75))),
    PadForm("polygon", 2.0, 1.5, points=((-1.0, -0.75), (1.0, -0.75), (1.0, 0.25), (0.0, 0.75), (-1.0, 0.1))),
)
TURNS = (0.0, 90.0, 180.0, 270.0, 45.0, 30.0, 17.3, 211.5, -90.0)


def artwork_of(*features: Feature, name: LayerName = "copper-top", drills: tuple[Drill, ...] = ()) -> Artwork:
    """Return an artwork with one layer, on the sample board."""
    return Artwork(sample_board(), (Layer(name, features),), drills)


def flash(form: PadForm, at: Position = (10.0, 10.0), turn: float = 0.0, mirrored: bool = False) -> Flash:
    """Return a surface-mount land of net A, pin U1.1."""
    return Flash(form, at, turn, "surface-pad", Owner("A", "U1", "1"), mirrored)


def pour(area: object, net: str = "GND") -> Region:
    """Return a pour."""
    return Region(area, "conductor", Owner(net))


def nested_pours() -> tuple[Region, ...]:
    """Return three pours inside one another, listed from the inside out, with other holes and a concave edge."""
    ring = shapely.box(0, 0, 30, 20).difference(shapely.box(5, 5, 20, 15)).difference(shapely.box(25, 8, 35, 12))
    island = shapely.Point(12.5, 10).buffer(4.5).difference(shapely.Point(12.5, 10).buffer(2))
    heart = shapely.box(12, 9.5, 13, 10.5)
    return (pour(heart, "A"), pour(island, "B"), pour(ring))


def every_form() -> tuple[Flash, ...]:
    """Return every pad form at every turn, plain and mirrored, apart from each other."""
    return tuple(
        flash(form, (3.0 * column + 0.123456, 3.0 * row), turn, mirrored)
        for row, (form, mirrored) in enumerate((f, m) for f in FORMS for m in (False, True))
        for column, turn in enumerate(TURNS)
    )


def tracks() -> tuple[Stroke, ...]:
    """Return tracks of several nets and widths, one of them a dot, one through a place that binary cannot hold."""
    return (
        Stroke(((0.1, 0.2), (0.3, 0.7), (5.1, 0.7)), 0.25, "conductor", Owner("A")),
        Stroke(((0.1, 3.2), (4.1, 3.2)), 0.1 + 0.2, "conductor", Owner("B")),
        Stroke(((7.0, 7.0), (7.0, 7.0)), 0.3, "conductor", Owner("B")),
    )


@cache
def fifty_parts() -> Artwork:
    """Return the drawing of 50 parts on one board with tracks along the rows and a ground pour."""
    parts, places, nets = [], [], {}
    for number in range(50):
        row, column = divmod(number, 5)
        made = (axial(), chip(), header(2))[number % 3]
        reference = f"{'RCJ'[number % 3]}{number + 1}"
        parts.append(Part(reference, made.family, None, f"{number}k", made, SITE))
        places.append((4.0 + column * 14.0, 4.0 + row * 8.0))
        nets.setdefault("GND", []).append((reference, "1"))
        nets.setdefault(f"ROW{row}", []).append((reference, "2"))
    described = replace(
        sample_description(),
        name="fifty",
        parts=tuple(parts),
        nets=tuple(Net(name, tuple(pins), SITE, 0.25, 0.25) for name, pins in nets.items()),
        outline=shapely.box(0, 0, 76, 84),
        unconnected=(),
        holes=(),
    )
    placed = tuple(PlacedPart(part, at, 0.0) for part, at in zip(parts, places, strict=True))
    bare = Board(described, described.outline, placed, (), (), ())
    laid = []
    for name in (n for n in nets if n != "GND"):
        ends = [pad.at for pad in bare.pads if pad.net == name]
        lane = max(y for _, y in ends) + 1.6
        for x, y in ends:
            laid.append(Track(name, "top", ((x, y), (x, lane)), 0.25))
        laid.append(Track(name, "top", ((min(x for x, _ in ends), lane), (max(x for x, _ in ends), lane)), 0.25))
    vias = []
    for x, y in (pad.at for pad in bare.pads if pad.net == "GND" and not pad.hole):
        vias.append(Via("GND", (x, y - 1.7), 1.1, 0.6))
        laid.append(Track("GND", "top", ((x, y), (x, y - 1.7)), 0.25))
    routed = replace(bare, tracks=tuple(laid), vias=tuple(vias))
    return draw(replace(routed, pours=ground_pour(routed)))
