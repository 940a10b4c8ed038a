"""The two directions of the current formula undo each other, and more current never needs less copper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modboard.calc.copper import track_resistance, via_area
from modboard.calc.current import track_current, track_width
from modboard.calc.spacing import COLUMNS, Column, spacing


@given(st.floats(0.05, 10.0), st.floats(10, 60), st.floats(0.0175, 0.035), st.booleans())
def test_width_undoes_current(width: float, rise: float, copper: float, internal: bool) -> None:
    try:
        amps = track_current(width, copper, rise, internal=internal)
    except ValueError:
        assert internal or rise > 10  # at 10 K and 35 µm no chartable track reaches the limit
        return
    if width < 9.999:
        assert track_width(amps, copper, rise, internal=internal) == pytest.approx(width, rel=1e-9)


@given(st.floats(0, 2000), st.floats(0, 2000), st.sampled_from(COLUMNS))
def test_more_volts_never_need_less_gap(one: float, other: float, column: Column) -> None:
    low, high = sorted((one, other))
    assert spacing(low, column) <= spacing(high, column)


@pytest.mark.parametrize("wrong", [0.0, -1.0, float("nan"), float("inf")])
def test_lengths_must_be_lengths(wrong: float) -> None:
    with pytest.raises(ValueError, match="width must be more than 0 mm"):
        track_resistance(10, wrong)
    with pytest.raises(ValueError, match="hole must be more than 0 mm"):
        via_area(wrong)
