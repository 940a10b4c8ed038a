"""Traced outlines: drawings in several dialects of one room, whose size and area are known by hand.

The room is 40 by 30 mm with its upper right corner rounded to 5 mm: area 1200 - 25 (1 - pi/4) mm².  Units: DXF
reference ($INSUNITS 1 inch, 4 mm); CSS Values 3 (an inch is 96 px and 25.4 mm).
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from ezdxf.filemanagement import new

from modboard.describe.cavity import Cavity
from modboard.describe.traced import rings
from modboard.errors import CallSite, DesignError

SITE = CallSite("design.py", 3)
AREA = 1200 - 25 * (1 - math.pi / 4)
STRAIGHT = [((0, 25), (0, 0)), ((0, 0), (40, 0)), ((40, 0), (40, 25)), ((35, 30), (0, 30)), ((0, 30), (0, 25))]


def dxf(folder: Path, unit: int = 4, scale: float = 1.0, gap: float = 0.0, kind: str = "lines") -> Path:
    """Write the room: loose lines in no order and one arc, a polyline with a bulge, or a mirrored, turned block."""
    drawing = new("R2010")
    drawing.header["$INSUNITS"] = unit
    target = drawing.blocks.new("ROOM") if kind == "block" else drawing.modelspace()

    def at(x: float, y: float) -> tuple[float, float]:
        return (x * scale, y * scale)

    if kind == "polyline":
        bulge = math.tan(math.radians(90) / 4)
        points = [(*at(0, 0), 0), (*at(40, 0), 0), (*at(40, 25), bulge), (*at(35, 30), 0), (*at(0, 30), 0)]
        target.add_lwpolyline(points, format="xyb", close=True)
    else:
        for number, (start, end) in enumerate(STRAIGHT):
            one, other = (end, start) if number % 2 else (start, end)
            target.add_line(at(*one), at(*other))
        target.add_arc(at(35, 25 + gap), 5 * scale, 0, 90)
    if kind == "block":
        drawing.modelspace().add_blockref("ROOM", (7, 9), {"xscale": -1, "rotation": 90})
    drawing.modelspace().add_text("inside faces")
    drawing.saveas(folder / "room.dxf")
    return folder / "room.dxf"


@pytest.mark.parametrize("kind", ["lines", "polyline", "block"])
def test_dxf_dialects_give_one_room(tmp_path: Path, kind: str) -> None:
    (ring,) = rings(dxf(tmp_path, kind=kind), SITE)
    x0, y0, x1, y1 = ring.bounds
    size = (30, 40) if kind == "block" else (40, 30)
    assert (x1 - x0, y1 - y0) == pytest.approx(size, abs=1e-6)
    assert ring.area == pytest.approx(AREA, abs=0.01)


def test_mirrored_and_turned_block_lands_where_it_was_inserted(tmp_path: Path) -> None:
    """Mirrored (x to -x), then turned a quarter: (x, y) comes to (-y, -x), then to its place (7, 9).

    The rounded corner (40, 30) comes to (7 - 30, 9 - 40): lower left.
    """
    (ring,) = rings(dxf(tmp_path, kind="block"), SITE)
    assert ring.bounds == pytest.approx((-23, -31, 7, 9), abs=1e-6)
    corners = {(round(x, 3), round(y, 3)) for x, y in ring.exterior.coords}
    assert {(7, 9), (7, -31), (-23, 9)} <= corners and (-23, -31) not in corners


def test_dxf_in_inches_and_units_that_overrule(tmp_path: Path) -> None:
    (ring,) = rings(dxf(tmp_path, unit=1, scale=1 / 25.4), SITE)
    assert ring.area == pytest.approx(AREA, abs=0.01)
    (ring,) = rings(dxf(tmp_path, unit=1), SITE, units="mm")
    assert ring.area == pytest.approx(AREA, abs=0.01)


def test_dxf_without_a_unit_asks_for_one(tmp_path: Path) -> None:
    file = dxf(tmp_path, unit=0)
    with pytest.raises(DesignError, match=r'design.py:3: room.dxf does not say its unit; give units="mm"'):
        rings(file, SITE)
    assert rings(file, SITE, units="mm")[0].area == pytest.approx(AREA, abs=0.01)


def test_gaps_are_closed_up_to_the_length_stated_and_named_beyond(tmp_path: Path) -> None:
    """The arc lies 0.08 mm too high: its ends are 0.08 mm from the lines'."""
    file = dxf(tmp_path, gap=0.08)
    assert rings(file, SITE, close=0.081)[0].area == pytest.approx(AREA, abs=5.0)
    with pytest.raises(DesignError, match=r"open at .*mm as drawn: .* 0\.08 mm away.*close="):
        rings(file, SITE, close=0.079)


SVG = {
    "mm page": '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">{room}</svg>',
    "inch page, scaled": (
        '<svg xmlns="http://www.w3.org/2000/svg" width="5in" height="4in" viewBox="0 0 127 101.6">'
        '<g transform="scale(2)"><g transform="scale(1)">{half}</g></g></svg>'
    ),
    "mirrored group": (
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">'
        '<g transform="translate(45 0) scale(-1 1)">{room}</g></svg>'
    ),
    "loose lines": '<svg xmlns="http://www.w3.org/2000/svg" width="5cm" height="4cm" viewBox="0 0 50 40">{loose}</svg>',
}
ROOM = '<path d="M 0 30 H 40 V 5 A 5 5 0 0 0 35 0 H 0 Z" fill="none" stroke="black"/>'
HALF = '<path d="M 0 15 h 20 v -12.5 a 2.5 2.5 0 0 0 -2.5 -2.5 h -17.5 z"/>'
LOOSE = (
    '<line x1="0" y1="30" x2="40" y2="30"/><line x1="40" y1="5" x2="40" y2="30"/><path d="M 35 0 A 5 5 0 0 1 40 5"/>'
    '<polyline points="35,0 0,0 0,30"/><text x="3" y="3">inside</text>'
)


@pytest.mark.parametrize("dialect", SVG)
def test_svg_dialects_give_one_room(tmp_path: Path, dialect: str) -> None:
    file = tmp_path / "room.svg"
    file.write_text(SVG[dialect].format(room=ROOM, half=HALF, loose=LOOSE))
    (ring,) = rings(file, SITE)
    x0, y0, x1, y1 = ring.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((40, 30), abs=1e-4)
    assert ring.area == pytest.approx(AREA, abs=0.01)
    # y is turned upwards: what is rounded at the top of the page is rounded at the top of the room.
    rounded_left = dialect == "mirrored group"
    corner = (x0, y1) if rounded_left else (x1, y1)
    assert math.dist(corner, min(ring.exterior.coords, key=lambda p: math.dist(p, corner))) > 2.0


def test_svg_in_pixels_asks_for_a_unit(tmp_path: Path) -> None:
    file = tmp_path / "room.svg"
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" width="50" height="40" viewBox="0 0 50 40">{ROOM}</svg>')
    with pytest.raises(DesignError, match='give units="mm"'):
        rings(file, SITE)
    assert rings(file, SITE, units="mm")[0].area == pytest.approx(AREA, abs=0.01)
    inch = rings(file, SITE, units="px")[0]
    assert inch.bounds[2] - inch.bounds[0] == pytest.approx(40 * 25.4 / 96, abs=1e-4)


def design(folder: Path, call: str) -> Cavity:
    """Run a design file in `folder` that traces a room."""
    file = folder / "board.py"
    file.write_text(f"room = {call}\n")
    space = {"Cavity": Cavity}
    exec(compile(file.read_text(), str(file), "exec"), space)
    return space["room"]  # type: ignore[return-value]


def test_traced_room_begins_at_its_lower_left_and_has_its_posts(tmp_path: Path) -> None:
    drawing = new("R2010", units=4)
    space = drawing.modelspace()
    space.add_lwpolyline([(100, 200), (140, 200), (140, 230), (100, 230)], close=True)
    space.add_circle((110, 210), 3)
    drawing.saveas(tmp_path / "tin.dxf")
    model = design(tmp_path, 'Cavity.traced("tin.dxf", height=20, measured_to=0.3)').model()
    assert model.inside.bounds == (0, 0, 40, 30) and (model.height, model.measured_to) == (20, 0.3)
    (post,) = model.obstacles
    assert post.name == "traced 1" and post.outline.bounds == pytest.approx((7, 7, 13, 13), abs=0.002)


@pytest.mark.parametrize(
    ("call", "words"),
    [('Cavity.traced("none.dxf")', "there is no drawing"),
     ('Cavity.traced("board.py")', "save the outline as DXF or SVG"),
     ('Cavity.traced("two.dxf")', "not inside the largest one"), ('Cavity.traced("two.dxf", layer="wals")', 'walls'),
     ('Cavity.traced("two.dxf", units="furlong")', "units of the drawing"), ('Cavity.traced("bad.svg")', "as SVG"),
     ('Cavity.traced("bad.dxf")', "as DXF")],
)  # fmt: skip
def test_mistakes_are_answered_in_one_line_with_their_place(tmp_path: Path, call: str, words: str) -> None:
    drawing = new("R2010", units=4)
    drawing.layers.add("walls")
    for x in (0, 50):
        points = [(x, 0), (x + 40, 0), (x + 40, 30), (x, 30)]
        drawing.modelspace().add_lwpolyline(points, close=True, dxfattribs={"layer": "walls"})
    drawing.saveas(tmp_path / "two.dxf")
    (tmp_path / "bad.svg").write_text("<svg")
    (tmp_path / "bad.dxf").write_text("nothing")
    with pytest.raises(DesignError) as error:
        design(tmp_path, call)
    assert str(error.value).startswith("board.py:1: ") and words in str(error.value) and "\n" not in str(error.value)
