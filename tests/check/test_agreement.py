"""Opens and shorts found twice: by the checks on the drawing, and by the reader of the written files, which shares no
line with them.  On clean boards neither finds any; on spoilt ones both find the same nets.

The files hold no rule and no finding: the reader sees copper and holes only, and its nets are compared with the
netlist of the design here.
"""

from __future__ import annotations

from itertools import combinations

import pytest

from modboard.artwork.model import Artwork
from modboard.check import connections, gaps, inspected
from modboard.check.inspection import Inspection
from modboard.fab.package import package_texts
from modboard.fab.readback.connectivity import connectivity
from modboard.fab.readback.package import package_of
from tests.check.clean import BOARDS
from tests.check.faults import KINDS, spoilt
from tests.check.spoiling import Kind

PARTING = ("track cut", "track nicked", "via not drilled", "land lost")
JOINING = ("track moved onto pad", "nets bridged", "track to the edge", "copper under the screw")
KINDS_HERE = [kind for kind in KINDS if kind.name in (*PARTING, *JOINING)]


def by_files(artwork: Artwork) -> tuple[set[str], set[frozenset[str]]]:
    """Return the nets in pieces and the pairs of nets joined, as the written files alone have them."""
    texts = package_texts(artwork, (), groups=("layers", "holes"))
    joined = connectivity(package_of({name: text.encode() for name, text in texts.items()}))
    net_of = artwork.board.description.net_of()
    pieces: dict[str, int] = {}
    shorts: set[frozenset[str]] = set()
    seen: set[tuple[str, str]] = set()
    known = set(net_of.values())
    for copper in joined.nets:
        nets = {net_of[pin] for pin in copper.pins if pin in net_of}
        seen |= copper.pins
        for net in nets:
            pieces[net] = pieces.get(net, 0) + 1
        claimed = nets | {name for name in copper.names if name in known}  # a track cut off has no pin
        shorts |= {frozenset(pair) for pair in combinations(sorted(claimed), 2)}
    lost = {net for pin, net in net_of.items() if pin not in seen}
    return {net for net, count in pieces.items() if count > 1} | lost, shorts


def by_checks(artwork: Artwork) -> tuple[set[str], set[frozenset[str]]]:
    """Return the same from the findings of the checks; shorts through copper of one net join all that it touches."""
    found = inspected(Inspection(artwork.board, artwork), (gaps, connections))
    opens = {f.message.split()[1] for f in found if f.rule in ("open", "pad-missing")}
    touching = [frozenset(f.message.split("copper of ")[1].removesuffix(" touches").split(" and ")) for f in found
                if f.rule == "short"]  # fmt: skip
    return opens, set(touching)


@pytest.mark.parametrize("name", BOARDS)
def test_neither_finds_anything_on_a_clean_board(name: str) -> None:
    _, artwork = BOARDS[name]()
    assert by_files(artwork) == by_checks(artwork) == (set(), set())


@pytest.mark.parametrize("kind", KINDS_HERE, ids=[kind.name for kind in KINDS_HERE])
def test_both_find_the_same_nets_open_and_shorted(kind: Kind) -> None:
    for seed in range(3):
        _, artwork = spoilt(kind, seed * len(kind.boards)).scene
        opens, shorts = by_files(artwork)
        found_opens, found_shorts = by_checks(artwork)
        if kind.name in PARTING:
            assert opens == found_opens != set()
            continue
        # A short joins two nets by touching; files know which pins hang together, so chains of shorts join all.
        chained = {frozenset(pair) for group in grouped(found_shorts) for pair in combinations(sorted(group), 2)}
        assert shorts == {pair for pair in chained if "no net" not in pair}


def grouped(pairs: set[frozenset[str]]) -> list[set[str]]:
    """Return the nets that hang together by the given pairs."""
    groups: list[set[str]] = []
    for pair in pairs:
        near = [g for g in groups if g & pair]
        groups = [g for g in groups if not g & pair] + [set(pair).union(*near)]
    return groups
