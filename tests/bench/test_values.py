"""Colour bands and codes against the tables of IEC 60062 (colour, RKM and three-figure codes; from memory)."""

from __future__ import annotations

import pytest

from modboard import Design
from modboard.bench.kinds import value_of
from modboard.bench.values import bands, capacitor_code, chip_code, ohms_in_words, resistor_bands


# IEC 60062: the letter stands where the point would; of three figures the last is the number of noughts, in pF
@pytest.mark.parametrize(
    ("kind", "value", "amount"),
    [
        ("resistor", "4K7", 4700.0), ("resistor", "R47", 0.47), ("resistor", "680", 680.0),
        ("capacitor", "104", 100e-9),
        ("electrolytic", "10u 25V", 10e-6), ("inductor", "100u", 100e-6), ("trimmer", "25k", 25e3),
        ("resistor", "trim", None), ("led", "red", None), ("2N3904", "4k7", None),
    ],
)  # fmt: skip
def test_the_bench_reads_values_as_the_design_does(kind: str, value: str, amount: float | None) -> None:
    design = Design("one", outline=(30, 20))
    design.part("X1", kind, value)
    found = value_of(design.described().part("X1"))
    assert found == (None if amount is None else pytest.approx(amount, rel=1e-9))


# IEC 60062 table 1: digits black 0 to white 9; multiplier gold 0.1, silver 0.01; tolerance gold 5 %, brown 1 %.
@pytest.mark.parametrize(
    ("ohms", "two", "three"),
    [
        (4700, "yellow violet red gold", "yellow violet black brown brown"),
        (10, "brown black black gold", "brown black black gold brown"),
        (0.22, "red red silver gold", None),
        (1.5, "brown green gold gold", "brown green black silver brown"),
        (1e6, "brown black green gold", "brown black black yellow brown"),
        (9.1, "white brown gold gold", "white brown black silver brown"),
        (68e3, "blue grey orange gold", "blue grey black red brown"),
        (4990, None, "yellow white white brown brown"),
    ],
)
def test_bands(ohms: float, two: str | None, three: str | None) -> None:
    assert bands(ohms, figures=2, tolerance=5) == (tuple(two.split()) if two else None)
    assert bands(ohms, figures=3, tolerance=1) == (tuple(three.split()) if three else None)
    assert resistor_bands(ohms) == tuple(tuple(b.split()) for b in (two, three) if b)


# IEC 60062, all of the table of colours (from memory): digit, power of ten, tolerance in percent
COLOURS = {
    "black": (0, 0, None), "brown": (1, 1, 1.0), "red": (2, 2, 2.0), "orange": (3, 3, 0.05), "yellow": (4, 4, 0.02),
    "green": (5, 5, 0.5), "blue": (6, 6, 0.25), "violet": (7, 7, 0.1), "grey": (8, 8, 0.01), "white": (9, 9, None),
    "gold": (None, -1, 5.0), "silver": (None, -2, 10.0),
}  # fmt: skip


@pytest.mark.parametrize("colour", COLOURS)
def test_every_colour_stands_for_its_figures(colour: str) -> None:
    digit, power, tolerance = COLOURS[colour]
    assert bands(15 * 10.0**power, figures=2, tolerance=5) == ("brown", "green", colour, "gold")
    if digit is not None:
        assert bands(100.0 + digit, figures=3, tolerance=1) == ("brown", "black", colour, "black", "brown")
    if tolerance is not None:
        assert bands(4700, figures=2, tolerance=tolerance) == ("yellow", "violet", "red", colour)


@pytest.mark.parametrize("decade", range(-2, 8))
@pytest.mark.parametrize("value", [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82])  # E12, IEC 60063
def test_bands_of_preferred_values_read_back(value: int, decade: int) -> None:
    digits = dict(
        zip(
            ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"],
            range(10),
            strict=True,
        )
    )
    read = bands(value * 10.0**decade, figures=2, tolerance=5)
    assert read is not None
    power = {"gold": -1, "silver": -2}.get(read[2], digits.get(read[2], 99))
    assert (10 * digits[read[0]] + digits[read[1]]) * 10.0**power == pytest.approx(value * 10.0**decade)


def test_capacitor_codes() -> None:  # IEC 60062: two figures and the number of noughts, in pF
    assert [capacitor_code(f) for f in (100e-9, 4.7e-9, 22e-12, 1e-6, 560e-12, 4.7e-12)] == [
        "104", "472", "220", "105", "561", "4.7",
    ]  # fmt: skip
    assert capacitor_code(123.4e-9) == ""


def test_chip_codes() -> None:  # IEC 60062 three-figure code
    assert [chip_code(r) for r in (4700, 4.7, 0.47, 10, 75, 1e6, 0)] == [
        "472",
        "4R7",
        "R47",
        "100",
        "750",
        "105",
        "000",
    ]


def test_ohms_read_like_a_meter() -> None:
    assert [ohms_in_words(r) for r in (0.22, 33.33, 999.9, 25000.0, 1.2e6, float("inf"))] == [
        "0.22 Ω", "33.3 Ω", "1 kΩ", "25 kΩ", "1.2 MΩ", "open",
    ]  # fmt: skip
