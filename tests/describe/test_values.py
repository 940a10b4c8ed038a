"""Values as people write them, against the codes of IEC 60062 and the series of IEC 60063."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modboard import Design
from modboard.describe.values import made_in, neighbours, printed, read, series, tidied, within

ONE_VALUE = [
    ("resistor", 4700.0, "4k7 4.7k 4K7 4700 4.7K 4,7k 4.7kΩ 4.7kohm 4k70"),
    ("resistor", 100.0, "100R 100 100E 0.1k 100ohm 100Ω"),
    ("resistor", 0.22, "0R22 R22 0.22 .22 220m"),
    ("resistor", 1.5e6, "1M5 1.5M 1500k"),
    ("resistor", 1e6, "1M 1000k 1Meg 1MEG 1.0M"),
    ("capacitor", 100e-9, "100n 0.1u 0.1uF 0.1µF 104 100nF .1u 100000p 0.1UF 100NF 0.1mfd .1MFD u1"),
    ("capacitor", 4.7e-9, "4n7 4700p 472 4.7nF 0.0047u"),
    ("capacitor", 22e-12, "22p 22 220 22pF"),  # two figures are pF, three are the code: 22 x 10^0 pF
    ("capacitor", 4.7e-12, "4R7 4p7 479 4.7pF"),  # 9 as the last figure: x 0.1
    ("electrolytic", 10e-6, "10u 10uF 10µF 10UF 10MFD"),
    ("electrolytic", 0.1, "0.1F 0F1 100mF 100000u"),  # IEC 60062: F stands for farads
    ("electrolytic", 1.0, "1F 1F0 1.0F"),
    ("capacitor", 1.0, "1F"),
    ("inductor", 10e-3, "10m 10mH 10000u 103"),
    ("inductor", 1.0, "1H 1000m"),
    ("inductor", 100e-6, "100u 100uH 101 0.1m"),
    ("inductor", 2.2e-6, "2u2 2R2 2.2uH"),
]


@pytest.mark.parametrize(("sort", "value", "words"), ONE_VALUE)
def test_one_value_in_many_writings(sort, value, words):
    for word in words.split():
        found = read(word, sort)
        assert found is not None and found.value == pytest.approx(value, rel=1e-9), word
        assert printed(sort, found.value) == printed(sort, value)


def test_tolerance_letters():
    # IEC 60062: F 1 %, G 2 %, J 5 %, K 10 %, M 20 %
    for letter, percent in {"F": 1, "G": 2, "J": 5, "K": 10, "M": 20}.items():
        assert read(f"4k7{letter}", "resistor").tolerance == percent
        assert read(f"104{letter}", "capacitor").tolerance == percent
    assert read("10k 1%", "resistor").tolerance == 1
    assert read("470k", "resistor").tolerance is None  # k is the kilo here, not 10 %
    assert str(read("4k7J", "resistor")) == "4k7 5%"


def test_what_follows_is_kept():
    assert str(read("10uF 25V", "electrolytic")) == "10u 25V"
    assert str(read("10 k 1% metal film", "resistor")) == "10k 1% metal film"
    assert str(read("100n/50V X7R", "capacitor")) == "100n 50V X7R"
    assert str(read("1uF,25V", "electrolytic")) == "1u 25V"
    assert str(read("4,7uF,25V", "electrolytic")) == "4u7 25V"
    assert str(read("10uF25V", "electrolytic")) == "10u 25V"


@pytest.mark.parametrize(
    ("sort", "word"),
    [
        ("resistor", "trim"), ("resistor", "4k7k"), ("resistor", "4.7k7"), ("resistor", "k"), ("resistor", "100n"),
        ("capacitor", "4.7"), ("capacitor", "10k"), ("capacitor", "012"), ("capacitor", "1045"),
        ("electrolytic", "220"), ("inductor", "10k"),
    ],
)  # fmt: skip
def test_what_says_no_value(sort, word):
    assert read(word, sort) is None


# IEC 60063: the series as printed there (E3 and E48 from memory)
PRINTED = {
    3: "1.0 2.2 4.7",
    6: "1.0 1.5 2.2 3.3 4.7 6.8",
    12: "1.0 1.2 1.5 1.8 2.2 2.7 3.3 3.9 4.7 5.6 6.8 8.2",
    24: "1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5 8.2 9.1",
    48: "1.00 1.05 1.10 1.15 1.21 1.27 1.33 1.40 1.47 1.54 1.62 1.69 1.78 1.87 1.96 2.05 2.15 2.26 2.37 2.49 2.61 2.74 "
    "2.87 3.01 3.16 3.32 3.48 3.65 3.83 4.02 4.22 4.42 4.64 4.87 5.11 5.36 5.62 5.90 6.19 6.49 6.81 7.15 7.50 7.87 "
    "8.25 8.66 9.09 9.53",
    96: (
        "1.00 1.02 1.05 1.07 1.10 1.13 1.15 1.18 1.21 1.24 1.27 1.30 1.33 1.37 1.40 1.43 1.47 1.50 1.54 1.58 1.62 "
        "1.65 1.69 1.74 1.78 1.82 1.87 1.91 1.96 2.00 2.05 2.10 2.15 2.21 2.26 2.32 2.37 2.43 2.49 2.55 2.61 2.67 "
        "2.74 2.80 2.87 2.94 3.01 3.09 3.16 3.24 3.32 3.40 3.48 3.57 3.65 3.74 3.83 3.92 4.02 4.12 4.22 4.32 4.42 "
        "4.53 4.64 4.75 4.87 4.99 5.11 5.23 5.36 5.49 5.62 5.76 5.90 6.04 6.19 6.34 6.49 6.65 6.81 6.98 7.15 7.32 "
        "7.50 7.68 7.87 8.06 8.25 8.45 8.66 8.87 9.09 9.31 9.53 9.76"
    ),
}


@pytest.mark.parametrize("number", PRINTED)
def test_series_are_those_of_the_standard(number):
    assert series(number) == tuple(float(v) for v in PRINTED[number].split())


def test_fine_series_contain_the_coarser_ones():
    assert set(series(48)) < set(series(96)) < set(series(192))
    assert (len(series(96)), len(series(192))) == (96, 192)
    assert 9.20 in series(192) and 9.19 not in series(192)  # the one exception the standard makes


def test_membership_and_neighbours():
    assert within(4700, 12) and within(0.47, 6) and within(0, 24) and within(9.1e6, 24)
    assert not within(4800, 24) and not within(49.9, 24) and within(49.9, 96)
    assert neighbours(4800, 24) == (4700, 5100)
    assert neighbours(9.5e-9, 12) == pytest.approx((8.2e-9, 10e-9))
    assert neighbours(99, 6) == (68, 100)
    with pytest.raises(ValueError, match="there is no series E7; there are E3"):
        series(7)


def test_tolerance_chooses_the_series():
    # IEC 60063: E6 to 20 %, E12 to 10 %, E24 to 5 %, E48 to 2 %, E96 to 1 %
    said = {text: made_in(read(text, "resistor")) for text in ("1k 20%", "1k 10%", "1k 5%", "1k 2%", "1k 1%", "1k")}
    assert list(said.values()) == [(6,), (12,), (24,), (24, 48), (24, 96), (24, 96)]


@given(st.sampled_from(series(96)), st.integers(-1, 6))
def test_printed_values_read_back(mantissa, decade):
    value = float(f"{mantissa * 10.0**decade:.9g}")
    for sort, scale in (("resistor", 1.0), ("capacitor", 1e-12), ("inductor", 1e-6), ("electrolytic", 1e-9)):
        word = printed(sort, value * scale)
        found = read(word, sort)
        assert found is not None and math.isclose(found.value, value * scale, rel_tol=1e-9), word
        assert str(found) == word
        assert within(found.value, 96)


def test_a_design_prints_values_one_way():
    board = Design("values", outline=(40, 30))
    board.part("R1", "resistor", "4.7K")
    board.part("C1", "capacitor", "0.1uF 50V")
    board.part("C2", "electrolytic", "10 uF")
    board.part("Y1", "crystal", "3.58M")
    board.part("R2", "resistor", "see text")
    board.net("A", "R1.1 C1.1 C2.+ Y1.1 R2.1")
    board.net("B", "R1.2 C1.2 C2.- Y1.2 R2.2")
    assert [p.value for p in board.described().parts] == ["4k7", "100n 50V", "10u", "3.58M", "see text"]
    assert tidied("", "resistor") == ""
