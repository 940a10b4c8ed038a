"""What words with ranges stand for, against lists written out by hand."""

from __future__ import annotations

import pytest

from modboard.describe.notation import expanded, expanded_words
from modboard.errors import DesignError
from tests.sample import SITE


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("A[0..2]", "A0 A1 A2"),
        ("A[2..0]", "A2 A1 A0"),
        ("D[0,3..5]", "D0 D3 D4 D5"),
        ("Q[A..D]", "QA QB QC QD"),
        ("Q[d..b]", "Qd Qc Qb"),
        ("U[1,2].[A,C..D]", "U1.A U1.C U1.D U2.A U2.C U2.D"),
        ("[1..2][A..B]", "1A 1B 2A 2B"),
        ("R1.1", "R1.1"),
    ],
)
def test_ranges_stand_for_names(word: str, names: str) -> None:
    assert expanded(word, SITE) == names.split()


def test_commas_part_words_outside_brackets_only() -> None:
    assert expanded_words("U1.Q[A,C], R1.1", "net", SITE) == ["U1.QA", "U1.QC", "R1.1"]


@pytest.mark.parametrize("word", ["A[0-2]", "Q[A..d]", "Q[A..3]", "Q[AB]", "A[]", "A[0..]", "Q[..C]"])
def test_what_is_no_range_is_refused(word: str) -> None:
    with pytest.raises(DesignError, match=r"is not a range; write \[0\.\.7\], \[0,2,5\.\.7\] or \[A\.\.H\]"):
        expanded(word, SITE)
