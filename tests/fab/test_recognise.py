"""What a file is taken for: chance must not decide."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from modboard.fab.readback.recognise import kind_of


@given(
    st.lists(st.integers(0, 2**256 - 1), min_size=1, max_size=6), st.sampled_from(["317", "327", "367", "017", "307"])
)
def test_a_manifest_is_one_however_its_checksums_begin(sums: list[int], start: str) -> None:
    # IPC-D-356A records begin with three digits; one checksum in 150 does, too.
    lines = [f"{start}{number:064x}"[:64] + f"  file-{k}.gbr" for k, number in enumerate(sums)]
    assert kind_of("anything-manifest.txt", "\n".join(lines) + "\n") == "manifest"


def test_a_netlist_is_still_one_by_its_records() -> None:
    assert kind_of(
        "board.txt", "P  JOB   X\nP  UNITS CUST 0\n327N1              R1    -1          A01X+000100Y+000100\n"
    ) == ("netlist")
