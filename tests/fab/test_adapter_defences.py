"""Every defect measured on gerber-writer 0.4.3.3, met by a defence, and proof that the defence is what meets it.

Each test states the legal outcome, then takes the defence away and sees the outcome go wrong.  Should a later
gerber-writer mend a defect, the second half fails, and the defence can be taken out.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import gerber_writer
import numpy as np
import pytest
import shapely

from modboard.artwork.model import Flash, Layer, Owner, Region, Stroke
from modboard.fab import gerber_adapter, gerber_text
from modboard.fab.gerber import gerber_layer
from modboard.fab.gerber_adapter import GerberError, LayerWriter
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.trouble import ReadError
from modboard.geometry import Position
from modboard.library.model import PadForm
from tests.fab.boards import artwork_of, flash

TRIANGLE = PadForm("polygon", 2.0, 2.0, points=((-1.0, -1.0), (1.0, -1.0), (0.0, 1.0)))
SQUARE = PadForm("polygon", 2.0, 2.0, points=((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)))
OVAL = PadForm("oval", 3.0, 1.0)


def text_of(*features: Any) -> str:
    """Return the top copper file of some features."""
    return gerber_layer(Layer("copper-top", features), artwork_of(*features))


def image_of(*features: Any) -> Any:
    """Return what our reader makes of them."""
    return read_gerber(text_of(*features)).image


def test_two_polygons_do_not_share_an_aperture(monkeypatch: pytest.MonkeyPatch) -> None:
    """A triangle (area 2) and a square (area 4), equal in function and turn."""
    pads = (flash(TRIANGLE, (0.0, 0.0)), flash(SQUARE, (5.0, 0.0)))
    assert image_of(*pads).area == pytest.approx(6.0, abs=1e-9)
    monkeypatch.setattr(gerber_adapter, "separate_key", lambda function, number: function)
    assert image_of(*pads).area == pytest.approx(4.0, abs=1e-9)  # the square came out as a triangle


def test_an_oval_turned_by_a_quarter_stands_upright(monkeypatch: pytest.MonkeyPatch) -> None:
    """3.0 × 1.0 mm turned by 90° is 1.0 wide and 3.0 high."""
    assert image_of(flash(OVAL, (0.0, 0.0), 90.0)).bounds == pytest.approx((-0.5, -1.5, 0.5, 1.5), abs=1e-6)
    monkeypatch.setattr(gerber_adapter, "quarter_turned", lambda width, height, turn: (width, height, turn % 180))
    monkeypatch.setattr(LayerWriter, "_oval", plain_oval)
    assert image_of(flash(OVAL, (0.0, 0.0), 90.0)).bounds == pytest.approx((-1.5, -0.5, 1.5, 0.5), abs=1e-6)


def plain_oval(self: LayerWriter, width: float, height: float, turn: float, function: str) -> tuple[object, float]:
    """Hand an oval to gerber-writer as it comes."""
    return gerber_writer.RoundedRectangle(width, height, min(width, height) / 2, function), turn


def test_an_oval_at_any_turn_has_no_side_of_no_length(monkeypatch: pytest.MonkeyPatch) -> None:
    """GLFS 4.10.3: no zero-length segments; gerber-writer's own macro has two of them at half height."""
    assert not zero_length_sides(text_of(flash(OVAL, (0.0, 0.0), 30.0)))
    monkeypatch.setattr(LayerWriter, "_oval", plain_oval)
    assert zero_length_sides(text_of(flash(OVAL, (0.0, 0.0), 30.0)))


def zero_length_sides(text: str) -> bool:
    """Tell whether the rounded-rectangle macro is called with a straight side of length zero ($3 or $4 zero)."""
    called = re.search(r"%ADD\d+RoundedRectangle,([^*]*)\*%", text)
    return called is not None and 0.0 in [float(v) for v in called[1].split("X")[2:4]]


@pytest.mark.parametrize("value", [1.001, -1.001, 1.023, 33.333333, -57.000001])
def test_coordinates_are_rounded_not_cut_off(value: float) -> None:
    """1.001 mm is 1001000 nm, although 1.001 × 1e6 is 1000999.9999999999 in binary."""
    assert f"X{round(value * 1e6)}Y0D03*" in text_of(flash(SQUARE, (value, 0.0)))


@pytest.mark.parametrize("value", [1.001, -1.001, 1.023])
def test_without_rounding_they_are_cut_off(monkeypatch: pytest.MonkeyPatch, value: float) -> None:
    """The defect itself: one nanometre short."""
    monkeypatch.setattr(gerber_adapter, "safe_point", lambda point: (float(point[0]), float(point[1])))
    short = round(value * 1e6) - (1 if value > 0 else -1)
    assert f"X{short}Y0D03*" in text_of(flash(SQUARE, (value, 0.0)))


def test_equal_widths_share_an_aperture(monkeypatch: pytest.MonkeyPatch) -> None:
    """0.1 + 0.2 is 0.30000000000000004 in binary; it is the same pen as 0.3."""
    strokes = [Stroke(((0.0, y), (1.0, y)), w, "conductor", Owner("A")) for y, w in ((0.0, 0.3), (2.0, 0.1 + 0.2))]
    assert text_of(*strokes).count("%ADD") == 1
    monkeypatch.setattr(gerber_adapter, "size", float)
    assert "0.30000000000000004" in text_of(*strokes)


def test_no_number_has_an_exponent(monkeypatch: pytest.MonkeyPatch) -> None:
    """GLFS 3.4.1 knows no exponent; a corner at 0.00002 mm is written as 2e-05 by gerber-writer."""
    corner = PadForm("polygon", 2.0, 2.0, points=((0.00002, -1.0), (1.0, 1.0), (-1.0, 1.0)))
    assert not re.search(r"\de-\d", text_of(flash(corner)))
    assert "0.00002,-1.0" in text_of(flash(corner))
    monkeypatch.setattr(gerber_text, "without_exponents", lambda text: text)
    assert "2e-05" in text_of(flash(corner))


@pytest.mark.parametrize("width", [0.0, 1e-7, 0.0004])
def test_sizes_below_a_micrometre_are_refused(width: float) -> None:
    """GLFS 4.14; 1e-7 would also be written with an exponent."""
    with pytest.raises(GerberError, match=r"copper-top: .*too small to make"):
        text_of(Stroke(((0.0, 0.0), (1.0, 0.0)), width, "conductor"))


def test_numpy_numbers_are_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """gerber-writer takes Python floats only; a float32 raises TypeError there."""
    wide = np.float32(0.25)
    pads = (
        Flash(PadForm("round", wide, wide), (np.float32(1.5), np.float64(2.0)), 0.0, "via-pad"),  # type: ignore[arg-type]
        Stroke(((np.float32(0.5), 0.0), (1.0, 0.0)), wide, "conductor"),  # type: ignore[arg-type]
    )
    assert "C,0.25*%" in text_of(*pads)
    monkeypatch.setattr(gerber_adapter, "size", lambda value: value)
    with pytest.raises(TypeError):
        text_of(*pads)


def test_an_open_contour_is_closed_and_a_broken_one_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """gerber-writer looks at the last contour of a path only; here each contour is made whole by itself."""
    writer = LayerWriter(())
    writer.region([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)], "Conductor")
    (region,) = read_gerber(writer.text()).objects
    assert region.core.area == pytest.approx(0.5)
    for broken in ([(0.0, 0.0), (1.0, 1.0)], [(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)]):
        with pytest.raises(GerberError):
            LayerWriter(()).region(broken, "Conductor")
    monkeypatch.setattr(gerber_adapter, "checked_contour", unchecked)
    writer = LayerWriter(())
    writer.region([(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (0.0, 0.0)], "Conductor")
    with pytest.raises(ReadError, match=r"crosses itself|encloses nothing"):
        read_gerber(writer.text())


def unchecked(points: Any) -> list[Position]:
    """Let every contour through."""
    return list(points)


def test_gerber_writer_does_accept_an_open_first_contour() -> None:
    """The defect itself, as measured: two contours, the first one open."""
    path = gerber_writer.Path()
    path.moveto((0.0, 0.0))
    path.lineto((1.0, 0.0))
    path.lineto((1.0, 1.0))
    path.moveto((5.0, 5.0))
    for point in ((6.0, 5.0), (6.0, 6.0), (5.0, 5.0)):
        path.lineto(point)
    layer = gerber_writer.DataLayer("Copper,L1,Top")
    layer.add_region(path, "Conductor")
    with pytest.raises(ReadError, match="not closed"):
        read_gerber(layer.dumps_gerber())


def test_no_clock_is_in_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """gerber-writer stamps datetime.now() without a zone; the adapter writes its own header."""
    text = text_of(flash(SQUARE))
    assert "CreationDate" not in text and str(datetime.now().year) not in text
    header = LayerWriter._header
    monkeypatch.setattr(LayerWriter, "_header", lambda self: [stamped(self), *header(self)])
    assert "CreationDate" in text_of(flash(SQUARE))


def stamped(writer: LayerWriter) -> str:
    """Return the line with the clock that gerber-writer puts at the top."""
    line = next(row for row in writer._layer.dumps_gerber().split("\n") if "CreationDate" in row)
    assert datetime.now().strftime("%Y-%m-%d") in line
    return str(line)


@pytest.mark.parametrize("reach", [0.5, 90.0, 500.0, 1500.0])
def test_number_format_is_always_four_and_six(reach: float) -> None:
    """gerber-writer lets the count of integer digits follow the board's size; 4.6 always holds ours (GLFS 4.2)."""
    stroke = Stroke(((0.0, 0.0), (reach, reach)), 0.25, "conductor")
    assert "%FSLAX46Y46*%" in text_of(stroke)
    layer = gerber_writer.DataLayer("Copper,L1,Top")
    layer.add_trace_line((0.0, 0.0), (reach, reach), 0.25, "Conductor")
    assert ("%FSLAX46Y46*%" in layer.dumps_gerber()) is (reach >= 1000)


def test_a_line_after_a_region_says_where_it_starts(monkeypatch: pytest.MonkeyPatch) -> None:
    """GLFS 4.10: after a region the current point is not defined, even if the line starts where the region ended."""
    region = Region(shapely.Polygon([(0, 0), (1, 0), (1, 1)]), "conductor", Owner("A"))
    start = region.area.exterior.coords[0]
    stroke = Stroke((start, (-3.0, 0.0)), 0.25, "conductor", Owner("A"))
    after = text_of(region, stroke).split("G37*")[1]
    assert after.index("D02*") < after.index("D01*")
    monkeypatch.setattr(gerber_text.Rewriter, "operation", lambda self, line: self._out.append(line))
    assert "D02*" not in text_of(region, stroke).split("G37*")[1]


def test_attributes_are_commands_not_comments() -> None:
    """gerber-writer writes every attribute as a comment (``G04 #@! …``); GLFS 5 wants commands."""
    text = text_of(flash(SQUARE), Stroke(((0.0, 0.0), (1.0, 0.0)), 0.25, "conductor", Owner("A")))
    assert "G04" not in text and "#@!" not in text and "TAShape" not in text
    layer = gerber_writer.DataLayer("Copper,L1,Top")
    layer.add_trace_line((0.0, 0.0), (1.0, 1.0), 0.25, "Conductor")
    assert "G04 #@! TA.AperFunction,Conductor*" in layer.dumps_gerber()
