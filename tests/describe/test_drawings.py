"""Drawings as other programs write them: every dialect of one room gives its area, known by hand.

The room is 40 by 30 mm, its upper right corner rounded to 5: area 1200 - 25 (1 - pi/4).  What moves rigidly keeps the
area, mirrored or not; a matrix multiplies it by its determinant.  Units: CSS Values 3, DXF reference ($INSUNITS).
Chords lie within 1 µm of the curve: the area is out by no more than the length of the curve times that.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ezdxf.filemanagement import new

from modboard.describe.traced import rings
from modboard.errors import CallSite, DesignError

SITE = CallSite("design.py", 3)
AREA = 1200 - 25 * (1 - math.pi / 4)
ROOM = '<path d="M 0 30 H 40 V 5 A 5 5 0 0 0 35 0 H 0 Z"/>'
MM = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
BIG = '<rect width="90" height="90"/>'
SVG: dict[str, tuple[str, str, float]] = {  # head of the page, what is in it, area
    "capital unit": ('width="50MM" height="40MM" viewBox="0 0 50 40"', ROOM, AREA),
    "points": ('width="113.385827pt" height="85.0393701pt" viewBox="0 0 40 30"', ROOM, AREA),
    "inches, page begins elsewhere": ('width="2in" height="2in" viewBox="-5 -5 50.8 50.8"', ROOM, AREA),
    "stretched page": ('width="80mm" height="30mm" viewBox="0 0 40 30" preserveAspectRatio="none"', ROOM, 2 * AREA),
    "slanted arc": (MM, f'<g transform="matrix(1 0 0.5 1 3 3)">{ROOM}</g>', AREA),
    "turned, mirrored and scaled in turn": (
        MM,
        '<g transform="translate(50,50) rotate(37)"><g transform="scale(-0.5,0.5)">'
        f'<g transform="scale(2) rotate(-12 3 4)">{ROOM}</g></g></g>',
        AREA,
    ),
    "turned ellipse": (
        MM, '<ellipse cx="30" cy="30" rx="20" ry="10" transform="rotate(20)"/>', math.pi * 200,
    ),
    "flags run together": (MM, '<path d="m0,30h40v-25a5,5 0 00-5-5h-35z"/>', AREA),
    "long way round": (MM, '<path d="M10 30a20 20 0 1 1 40 0a20 20 0 1 1-40 0z"/>', math.pi * 400),
    "used group": (MM, f'<defs><g id="r">{ROOM}</g></defs><use href="#r" transform="rotate(30)" x="10"/>', AREA),
    "things not shown": (
        MM,
        f'<defs>{BIG}</defs><g style="display:none">{BIG}</g><g visibility="hidden">{BIG}</g><mask id="q">{BIG}</mask>'
        f'<clipPath id="c">{BIG}</clipPath><marker id="m">{BIG}</marker><pattern id="p">{BIG}</pattern>{ROOM}',
        AREA,
    ),
    "drawn twice in other pieces": (MM, '<rect width="40" height="30"/><path d="M40 0H0V30H40z"/>', 1200.0),
    "page in a page": (
        MM, f'<svg x="9" width="40" height="30" viewBox="0 0 80 60"><g transform="scale(2)">{ROOM}</g></svg>', AREA,
    ),
}  # fmt: skip


@pytest.mark.parametrize("dialect", SVG)
def test_svg(tmp_path: Path, dialect: str) -> None:
    head, body, area = SVG[dialect]
    file = tmp_path / "room.svg"
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>')
    (ring,) = rings(file, SITE)
    assert ring.area == pytest.approx(area, abs=0.001 * ring.length)


BULGE = math.tan(math.radians(90) / 4)
POINTS = [(0, 0, 0), (40, 0, 0), (40, 25, BULGE), (35, 30, 0), (0, 30, 0)]
Draw = Callable[[Any, Any], object]


def outline(target: Any, scale: float = 1.0, **values: Any) -> object:
    points = [(x * scale, y * scale, b) for x, y, b in POINTS]
    return target.add_lwpolyline(points, format="xyb", close=True, dxfattribs=values)


def read(tmp_path: Path, make: Draw, unit: int = 4, **said: Any) -> Any:
    drawing = new("R2010")
    drawing.header["$INSUNITS"] = unit
    make(drawing, drawing.modelspace())
    drawing.saveas(tmp_path / "room.dxf")
    return rings(tmp_path / "room.dxf", SITE, **said)


def nested(drawing: Any, space: Any) -> None:
    """Mirrored and doubled in one block, halved and mirrored the other way in the next."""
    outline(drawing.blocks.new("A"))
    drawing.blocks.new("B").add_blockref("A", (3, 4), {"xscale": -2, "yscale": 2, "rotation": 30})
    space.add_blockref("B", (1, 1), {"xscale": 0.5, "yscale": -0.5, "rotation": 77})


def stretched(drawing: Any, space: Any) -> None:
    outline(drawing.blocks.new("A"))
    space.add_blockref("A", (1, 1), {"xscale": 2, "yscale": 0.5, "rotation": 20})


def hidden(drawing: Any, space: Any) -> None:
    drawing.layers.add("off").off()
    drawing.layers.add("frozen").freeze()
    for values in ({"layer": "off"}, {"layer": "frozen"}, {"invisible": 1}):
        outline(space, 2.0, **values)
    outline(space)


def labelled(drawing: Any, space: Any) -> None:
    outline(space)
    space.add_linear_dim(base=(0, -5), p1=(0, 0), p2=(40, 0)).render()
    space.add_text("room")
    space.add_hatch().paths.add_polyline_path([(1, 1), (9, 1), (9, 9)])


def backwards_from_an_arc(drawing: Any, space: Any) -> None:
    """Clockwise, and the arc is its first piece."""
    space.add_lwpolyline([(35, 30, -BULGE), (40, 25, 0), (40, 0, 0), (0, 0, 0), (0, 30, 0)], format="xyb", close=True)


def old_polyline(drawing: Any, space: Any) -> None:
    space.add_polyline2d(POINTS, format="xyb", close=True)


def seen_from_below(drawing: Any, space: Any) -> None:
    outline(space, extrusion=(0, 0, -1))


@pytest.mark.parametrize(
    "make", [nested, stretched, hidden, labelled, backwards_from_an_arc, old_polyline, seen_from_below]
)
def test_dxf(tmp_path: Path, make: Draw) -> None:
    (ring,) = read(tmp_path, make)
    assert ring.area == pytest.approx(AREA, abs=0.001 * ring.length)


@pytest.mark.parametrize(
    ("code", "unit"), [(1, 25.4), (2, 304.8), (5, 10), (6, 1000), (9, 0.0254), (10, 914.4), (13, 0.001), (14, 100)]
)
def test_dxf_units(tmp_path: Path, code: int, unit: float) -> None:
    (ring,) = read(tmp_path, lambda _, space: outline(space, 1 / unit), code)
    assert ring.area == pytest.approx(AREA, abs=0.001 * ring.length)


@pytest.mark.parametrize(("measured", "word"), [(0, "English"), (1, "metric")])
def test_unitless_dxf_says_what_it_hints_at(tmp_path: Path, measured: int, word: str) -> None:
    def make(drawing: Any, space: Any) -> None:
        drawing.header["$MEASUREMENT"] = measured
        outline(space)

    with pytest.raises(DesignError, match=f'give units="mm" or units="inch"; its .MEASUREMENT is {word}'):
        read(tmp_path, make, 0)


@pytest.mark.parametrize(
    ("make", "area"),
    [(lambda _, s: s.add_circle((0, 0), 100), math.pi * 1e4),
     (lambda _, s: s.add_ellipse((5, 5), (20, 5), 0.5), math.pi * 425 * 0.5)],
)  # fmt: skip
def test_arcs_are_never_outside_nor_a_micrometre_inside(tmp_path: Path, make: Draw, area: float) -> None:
    """A room must not be taken as larger than it is: cubic curves in place of arcs are 0.027 mm outside at 100 mm."""
    (ring,) = read(tmp_path, make)
    assert 0 <= area - ring.area <= 0.001 * ring.length


def test_layer_is_found_in_and_through_blocks_whatever_its_capitals(tmp_path: Path) -> None:
    """What is on layer 0 in a block is on the layer of its insert (DXF reference, BYBLOCK layer rule)."""

    def through(drawing: Any, space: Any) -> None:
        outline(drawing.blocks.new("A"))
        space.add_blockref("A", (0, 0), dxfattribs={"layer": "Walls"})
        outline(space, 3.0)

    def within(drawing: Any, space: Any) -> None:
        outline(drawing.blocks.new("A"), layer="WALLS")
        space.add_blockref("A", (0, 0))
        outline(space, 3.0)

    for make in (through, within):
        (ring,) = read(tmp_path, make, layer="walls")
        assert ring.area == pytest.approx(AREA, abs=0.2)


@pytest.mark.parametrize("seed", range(6))
def test_loose_ends_in_any_order_that_miss_or_cross_each_other(tmp_path: Path, seed: int) -> None:
    """An L of 1000 mm², 140 mm round, whose ends are each off by up to 0.02 mm: short, or past the corner."""
    chance = random.Random(seed)
    corners = [(0, 0), (40, 0), (40, 30), (20, 30), (20, 20), (0, 20)]
    sides = [(corners[k], corners[(k + 1) % 6]) for k in range(6)]
    chance.shuffle(sides)

    def make(drawing: Any, space: Any) -> None:
        for side in sides:
            space.add_line(*((x + chance.uniform(-0.02, 0.02), y + chance.uniform(-0.02, 0.02))
                             for x, y in chance.sample(side, 2)))  # fmt: skip

    (ring,) = read(tmp_path, make)
    assert ring.area == pytest.approx(1000, abs=140 * 0.02)
    with pytest.raises(DesignError, match=r"is open at \(.*\) mm as drawn"):
        read(tmp_path, make, close=0.0001)
