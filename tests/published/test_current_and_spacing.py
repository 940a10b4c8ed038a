"""Track current, spacing and copper resistance against published figures."""

from __future__ import annotations

import pytest

from modboard.calc.copper import (
    sheet_resistance,
    track_resistance,
    via_area,
    via_current,
    via_inductance,
    via_resistance,
)
from modboard.calc.current import track_current, track_width
from modboard.calc.spacing import COLUMNS, Column, spacing

# IPC-2221 Figure 6-4 fit, worked with I = k ΔT^0.44 A^0.725 by hand; width mm, copper mm, rise K, inner layer, A.
CURRENTS = [
    (0.25, 0.035, 10, False, 0.8754),
    (0.25, 0.035, 10, True, 0.4377),
    (1.00, 0.035, 10, False, 2.3916),
    (1.00, 0.035, 20, False, 3.2444),
    (2.54, 0.035, 20, False, 6.3773),
    (2.00, 0.070, 10, False, 6.5339),
]
WIDTHS = [(1.0, 10, 0.3004), (2.0, 10, 0.7814), (3.0, 20, 0.8976)]  # A, K, mm; same source


@pytest.mark.parametrize(("width", "copper", "rise", "internal", "amps"), CURRENTS)
def test_current_of_a_track(width: float, copper: float, rise: float, internal: bool, amps: float) -> None:
    assert track_current(width, copper, rise, internal=internal) == pytest.approx(amps, abs=6e-5)


@pytest.mark.parametrize(("amps", "rise", "width"), WIDTHS)
def test_width_for_a_current(amps: float, rise: float, width: float) -> None:
    assert track_width(amps, rise=rise) == pytest.approx(width, abs=6e-5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: track_width(35.1),
        lambda: track_width(17.6, internal=True),
        lambda: track_width(1.0, rise=9),
        lambda: track_width(1.0, rise=101),
        lambda: track_width(1.0, copper=0.2),
        lambda: track_width(14.0),  # about 11 mm, off the chart
        lambda: track_width(float("nan")),
        lambda: track_current(10.5),
        lambda: track_current(-1.0),
    ],
)
def test_outside_the_charts_is_refused(call: object) -> None:
    """Limits of the IPC-2221 charts: 10 to 100 K, 35 A outside, 17.5 A inside, about 10 mm, 0.5 to 3 oz."""
    assert callable(call)
    with pytest.raises(ValueError, match=r"outside|beyond"):
        call()


# IPC-2221 table 6-1: the last volt of each band and the first of the next, columns B1 B2 B3 B4 A5 A6 A7, mm.
TABLE = {
    (0, 15): (0.05, 0.1, 0.1, 0.05, 0.13, 0.13, 0.13),
    (16, 30): (0.05, 0.1, 0.1, 0.05, 0.13, 0.25, 0.13),
    (31, 50): (0.1, 0.6, 0.6, 0.13, 0.13, 0.4, 0.13),
    (51, 100): (0.1, 0.6, 1.5, 0.13, 0.13, 0.5, 0.13),
    (101, 150): (0.2, 0.6, 3.2, 0.4, 0.4, 0.8, 0.4),
    (151, 170): (0.2, 1.25, 3.2, 0.4, 0.4, 0.8, 0.4),
    (171, 250): (0.2, 1.25, 6.4, 0.4, 0.4, 0.8, 0.4),
    (251, 300): (0.2, 1.25, 12.5, 0.4, 0.4, 0.8, 0.8),
    (301, 500): (0.25, 2.5, 12.5, 0.8, 0.8, 1.5, 0.8),
}


@pytest.mark.parametrize(("band", "row"), TABLE.items())
def test_spacing_table(band: tuple[int, int], row: tuple[float, ...]) -> None:
    for volts in band:
        assert tuple(spacing(volts, column) for column in COLUMNS) == row
        assert tuple(spacing(-volts, column) for column in COLUMNS) == row


@pytest.mark.parametrize(
    ("column", "gap"),  # at 600 V; B1 is the standard's own worked note (from memory), the rest its slopes
    [("B1", 0.50), ("B2", 3.0), ("B3", 15.0), ("B4", 1.105), ("A6", 1.805)],
)
def test_spacing_above_500_volts(column: Column, gap: float) -> None:
    assert spacing(600, column) == pytest.approx(gap)


def test_spacing_refuses_what_the_table_has_not() -> None:
    with pytest.raises(ValueError, match="B1, B2"):
        spacing(5, "B9")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="finite"):
        spacing(float("nan"))


# Annealed copper, IEC 60028: 1/58 Ω·mm²/m and 0.00393/K; length mm, width mm, °C, mΩ.
@pytest.mark.parametrize(
    ("length", "width", "celsius", "milliohm"),
    [(100, 0.25, 20, 197.04), (100, 0.25, 70, 235.76), (100, 1.0, 20, 49.261), (10, 0.20, 20, 24.631)],
)
def test_track_resistance(length: float, width: float, celsius: float, milliohm: float) -> None:
    assert track_resistance(length, width, celsius=celsius) * 1000 == pytest.approx(milliohm, rel=3e-5)


@pytest.mark.parametrize(("copper", "milliohm"), [(0.035, 0.4926), (0.070, 0.2463), (0.018, 0.9579)])
def test_sheet_resistance(copper: float, milliohm: float) -> None:
    assert sheet_resistance(copper) * 1000 == pytest.approx(milliohm, abs=6e-5)


# Barrel geometry, IEC 60028 resistivity, IPC-2221 fit, Johnson and Graham's inductance; board 1.6 mm.
# hole, plating, mm², mΩ, A by the outer constant, A by the inner, nH
@pytest.mark.parametrize(
    "row",
    [
        (0.3, 0.020, 0.02011, 1.372, 1.600, 0.800, 1.299),
        (0.3, 0.025, 0.02553, 1.081, 1.902, 0.951, 1.299),
        (0.4, 0.020, 0.02639, 1.045, 1.949, 0.974, 1.207),
        (0.8, 0.025, 0.06480, 0.426, 3.738, 1.869, 0.985),
    ],
)
def test_plated_hole(row: tuple[float, ...]) -> None:
    hole, plating, area, milliohm, outer, inner, nanohenry = row
    assert via_area(hole, plating) == pytest.approx(area, abs=6e-6)
    assert via_resistance(hole, 1.6, plating) * 1000 == pytest.approx(milliohm, abs=6e-4)
    assert via_current(hole, plating, internal=False) == pytest.approx(outer, abs=6e-4)
    assert via_current(hole, plating) == pytest.approx(inner, abs=6e-4)
    assert via_inductance(hole) == pytest.approx(nanohenry, abs=6e-4)
