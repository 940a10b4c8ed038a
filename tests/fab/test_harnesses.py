"""Short runs of the mutation and fuzz harnesses; the long ones are run by hand (see their modules)."""

from __future__ import annotations

from tests.fab import fuzz, mutations
from tests.sample import sample_artwork


def test_mutations_that_change_the_board_are_all_found() -> None:
    """Two dozen of many kinds, without any checksum to help."""
    score = mutations.run(sample_artwork(), 24, seed=7)
    assert score.missed == [] and score.counted.total() == 24 and len(score.counted) > 8


def test_fuzzed_input_is_read_or_refused() -> None:
    """Two thousand inputs over five readers, and forty damaged zips."""
    seen, slowest = fuzz.run(2000, seed=11)
    assert seen.total() == 2000 and slowest < 2.0
    assert all(seen[f"{name} read"] and seen[f"{name} refused"] for name in fuzz.READERS)
    assert fuzz.run_zips(40, seed=11).total() == 40
