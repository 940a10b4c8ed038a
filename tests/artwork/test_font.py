"""The legend's letters: inside their cells, told apart, drawable with the pen that boards are printed with."""

from __future__ import annotations

import itertools
import math
import string

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiLineString

from modboard.artwork.font import BASE, GLYPHS, TOP, UNITS_HIGH, extent, glyph, length, text

# A pool maker prints 0.15 mm lines from 1.0 mm letters upwards (published capability tables: line 0.15, height 1.0).
HEIGHT, PEN = 1.0, 0.15


def drawn(character: str) -> MultiLineString:
    """Return a glyph on its grid."""
    return MultiLineString(glyph(character)[0])


def test_every_printable_ascii_character_and_the_signs_of_electronics_have_a_glyph() -> None:
    wanted = set(string.ascii_letters + string.digits + string.punctuation) | set("µΩ°±×")
    assert wanted <= set(GLYPHS)


@pytest.mark.parametrize("character", sorted(GLYPHS))
def test_a_glyph_stays_in_its_cell(character: str) -> None:
    strokes, width = glyph(character)
    x0, y0, x1, y1 = drawn(character).bounds
    assert x0 >= 0 and x1 <= width <= UNITS_HIGH, "no wider than high"
    assert y0 >= -BASE - 0.5 and y1 <= TOP - BASE + 0.5
    assert all(LineString(s).length > 0 for s in strokes), "a stroke without length is not drawn by every plotter"


def test_capitals_and_figures_are_as_high_as_said() -> None:
    for character in string.ascii_uppercase + string.digits:
        _, y0, _, y1 = drawn(character).bounds
        assert (y0, y1) == (0.0, float(UNITS_HIGH)), character


def test_no_two_glyphs_can_be_mistaken_when_printed() -> None:
    """At the smallest size, what tells two characters apart must be as large as a dot of the pen at least."""
    inks = {c: drawn(c).buffer(PEN / 2 / HEIGHT * UNITS_HIGH) for c in GLYPHS}
    dot = math.pi * (PEN / 2 / HEIGHT * UNITS_HIGH) ** 2
    for one, other in itertools.combinations(sorted(inks), 2):
        difference = inks[one].symmetric_difference(inks[other]).area
        assert difference > dot, f"{one} and {other} differ by {difference:.3f}"


def test_letters_do_not_run_into_each_other_at_the_smallest_size() -> None:
    for pair in ("II", "MM", "88", "RV", "W1", "gg", "()"):
        lines = text(pair, (0.0, 0.0), HEIGHT)
        half = len(glyph(pair[0])[0])
        gap = MultiLineString(lines[:half]).distance(MultiLineString(lines[half:])) - PEN
        assert gap >= PEN, f"{pair}: {gap:.3f} mm of board between the letters"


def test_unknown_characters_are_boxes_and_accents_fall_away() -> None:
    assert glyph("漢") == glyph("\u2603")
    assert drawn("漢").bounds == (0.0, 0.0, 4.0, 6.0)
    assert glyph("é") == glyph("e") and glyph("Å") == glyph("A")
    assert glyph("\u2126") == glyph("Ω") and glyph("\u03bc") == glyph("µ")
    assert glyph(" ")[0] == ()


@given(st.text(min_size=1, max_size=12), st.floats(0.5, 5.0), st.sampled_from(["left", "centre", "right"]))
def test_length_and_alignment_agree_with_what_is_drawn(words: str, height: float, align: str) -> None:
    lines = text(words, (3.0, 4.0), height, align=align)  # type: ignore[arg-type]
    if not lines:
        return
    x0, y0, x1, y1 = shapely.MultiLineString(lines).bounds
    start = {"left": 3.0, "centre": 3.0 - length(words, height) / 2, "right": 3.0 - length(words, height)}[align]
    assert x0 >= start - 1e-9 and x1 <= start + length(words, height) + 1e-9
    _, ey0, _, ey1 = extent(words, height)
    assert y0 == pytest.approx(4.0 + ey0) and y1 == pytest.approx(4.0 + ey1)


def test_mirrored_text_reads_right_when_the_board_is_turned_over() -> None:
    """Turning a board over about its y axis takes x to -x: what was mirrored then equals plain text."""
    below = [[(-x, y) for x, y in line] for line in text("R12", (5.0, 1.0), 1.0, mirrored=True, align="centre")]
    plain = [list(line) for line in text("R12", (-5.0, 1.0), 1.0, align="centre")]
    assert MultiLineString(below).equals_exact(MultiLineString(plain), 1e-9)


def test_a_quarter_turn_reads_upwards() -> None:
    (stem, *_) = text("L", (0.0, 0.0), 6.0, turn=90.0)
    assert stem[0] == pytest.approx((-3.0, 0.0)) and stem[-1] == pytest.approx((3.0, 4.0))
