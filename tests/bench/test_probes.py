"""The buzz-out plan: no pair too many, none missing, and every single fault found."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

from modboard.bench.reach import hidden
from modboard.bench.sheet import bench_sheet
from modboard.describe.load import load
from modboard.layout import layout
from modboard.layout.board import Board
from modboard.view.booklet_blocks import Pairs, Words
from modboard.view.booklet_leaves import leaves
from modboard.view.booklet_words import LINKS
from tests.bench.boards import ISLANDS, WAYS, across, crossbar_board, stairs_board, straits_board
from tests.bench.injection import SoundBoardRefused, inject
from tests.bench.meter import Fault, Faulty, Meter, probe
from tests.layout.test_options import crossing
from tests.sample import sample_board

CIRCUITS = Path(__file__).parents[1] / "circuits"


@cache
def board(name: str) -> Board:
    """A hand-laid board, one etched at home, with islands in its pour or a stepped track, or a circuit laid out."""
    if name == "sample":
        return sample_board()
    if name == "home":
        made = sample_board()
        rules = replace(made.description.rules, layers_plated=False, mask=False, legend=False)
        return replace(made, description=replace(made.description, rules=rules))
    if name == "straits":
        return straits_board()
    if name == "stairs":
        return stairs_board()
    if name == "link":
        return layout(crossing())
    return layout(load(CIRCUITS / f"{name}.py"))


NAMES = ["sample", "home", "straits", "stairs", "regulator_78l05", "timer_astable", "link"]


@pytest.mark.parametrize("name", NAMES)
def test_every_single_fault_is_found(name: str) -> None:
    account = inject(board(name))
    assert account.missed == []
    assert account.unnamed == []
    assert account.caught.total() == account.real.total() > (10 if name in ("link", "regulator_78l05") else 50)
    assert name not in ("sample", "home", "straits") or {"three", "blob", "via"} <= account.caught.keys()
    assert name != "straits" or account.caught["neck"] == len(ISLANDS)
    assert {"cut", "joint"} | ({"bridge"} if name != "link" else set()) <= account.caught.keys()


def test_a_plan_that_a_sound_board_fails_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two pads of different nets that "must beep": without this check every fault would count as found."""
    sheet = bench_sheet(board("sample"))
    first = sheet.whole.probes[0]
    other = next(p for p in sheet.whole.probes if p.net != first.net)
    wrong = replace(sheet.whole, probes=(replace(first, red=other.red), *sheet.whole.probes[1:]))
    for bad in (replace(sheet, whole=wrong), replace(sheet, bare=wrong)):
        monkeypatch.setattr("tests.bench.injection.bench_sheet", lambda _board, bad=bad: bad)
        with pytest.raises(SoundBoardRefused):
            inject(board("sample"))


@pytest.mark.parametrize("name", ["home", "link"])
def test_bare_and_unplated_each_piece_takes_one_probe_less_than_it_has_lands(name: str) -> None:
    """Pieces are counted from outlines (shapely) and lands on each; a spanning tree of each has lands less one."""
    sheet, sound = bench_sheet(board(name)), Meter(Faulty(board(name)), None, False)
    pieces = {sound.where[point] for point in sound.points}
    assert len(sheet.bare.probes) == len(sound.points) - len(pieces)
    assert all(p.red.side == p.black.side for p in sheet.bare.probes)


@pytest.mark.parametrize("name", NAMES)
def test_a_net_of_n_pads_takes_n_less_one_probes(name: str) -> None:
    """A connected graph on n nodes has at least n - 1 edges, and one of n - 1 is a tree (networkx says which)."""
    sheet = bench_sheet(board(name))
    pads = [p for p in board(name).pads if p.net]
    nets = {p.net for p in pads}
    assert len(sheet.whole.probes) == len(pads) - len(nets)
    for net in nets:
        graph = nx.Graph((p.red.pad, p.black.pad) for p in sheet.whole.probes if p.net == net)
        assert nx.is_tree(graph)
        assert graph.number_of_nodes() == sum(1 for p in pads if p.net == net)


@pytest.mark.parametrize("name", NAMES)
def test_black_starts_where_something_is_proved(name: str) -> None:
    proved: set[str] = set()
    for p in bench_sheet(board(name)).whole.probes:
        first = not any(pad in proved for pad in bench_sheet_pads(name, p.net))
        assert first or p.black.pad in proved
        proved |= {p.black.pad, p.red.pad}


def bench_sheet_pads(name: str, net: str) -> list[str]:
    return [f"{p.reference}.{p.number}" for p in board(name).pads if p.net == net]


def test_without_a_probe_some_fault_gets_away() -> None:
    """The harness can fail: take any one probe away and a cut or a cold joint is missed."""
    made = board("sample")
    probes = bench_sheet(made).whole.probes
    faulty = Faulty(made)
    for left_out in range(len(probes)):
        rest = [p for n, p in enumerate(probes) if n != left_out]
        meters = [
            Meter(faulty, Fault("joint", pad.net or "", thing=name), True, lambda _part: None)
            for name, pad in faulty.names.items()
            if pad.net == probes[left_out].net
        ]
        groups = nx.Graph([(p.red.pad, p.black.pad) for p in rest if p.net == probes[left_out].net])
        lone = [n for n, p in faulty.names.items() if p.net == probes[left_out].net and n not in groups]
        parts = list(nx.connected_components(groups))
        assert lone or len(parts) > 1  # two groups never compared
        if lone:
            assert any(all(probe(m, p.red, p.black) for p in rest) for m in meters)


@pytest.mark.parametrize("name", NAMES)
def test_shorts_are_ranked_and_bounded(name: str) -> None:
    sheet = bench_sheet(board(name))
    weights = [round(s.pair.weight, 6) for s in sheet.apart]
    assert weights == sorted(weights, reverse=True)
    assert len(sheet.apart) <= 4 * len(board(name).pads)
    pairs = [s.pair.nets for s in sheet.apart]
    assert len(set(pairs)) == len(pairs)


def test_a_board_of_200_pads_takes_few_steps() -> None:
    """On a crossbar only the next lands, and the next but one, of either connector are near enough to bridge."""
    made = crossbar_board()
    sheet = bench_sheet(made)
    assert len(made.pads) == 200
    assert len(sheet.whole.probes) == 200 - 100
    near = {(i, j) for i, j in itertools.combinations(range(WAYS), 2)}
    near = {(i, j) for i, j in near if abs(i - j) <= 2 or abs(across(i) - across(j)) <= 2}
    pairs = [sorted(int(net[1:]) for net in s.pair.nets) for s in sheet.apart]
    assert sorted(map(tuple, pairs)) == sorted(near)
    assert len(near) < 2 * len(made.pads)


def test_a_leaf_holds_a_dozen_pairs_and_none_is_lost() -> None:
    """100 nets of one pair each fill nine leaves of twelve; on the sample board nets keep together."""
    for made, most in ((crossbar_board(), 9), (sample_board(), 2)):
        sheet = bench_sheet(made)
        for chapter, key in (("Bare board", "bw"), ("Joints", "jw")):
            found = [leaf for leaf in leaves(sheet) if leaf.chapter == chapter and leaf.title.endswith("whole")]
            rows = [row for leaf in found for b in leaf.blocks if isinstance(b, Pairs) for row in b.rows]
            keys = [p["k"] for leaf in found for p in leaf.probes]
            assert [row.key for row in rows] == keys
            assert sorted(keys) == sorted(f"{key}{n}" for n in range(len(sheet.whole.probes)))
            assert len(found) <= most
            for row in rows:
                probe = sheet.whole.probes[int(row.key[2:])]
                alone = sum(p.net == probe.net for p in sheet.whole.probes) == 1
                assert row.net == (probe.net if alone else "")


def test_links_that_are_not_in_yet_are_explained_where_they_are_probed() -> None:
    for name in ("home", "sample"):
        explained = []
        for leaf in leaves(bench_sheet(board(name))):
            text = " ".join(b.text for b in leaf.blocks if isinstance(b, Words))
            probed = {p[end]["p"] for p in leaf.probes if p["t"] == "w" for end in "rb"}
            assert (LINKS in text) == any(pad.startswith("link ") for pad in probed)
            explained.append(LINKS in text)
        assert any(explained) == (name == "home")


def test_suspects_name_the_place() -> None:
    """The sample board's one signal via is the only way from the header to R1: without it, that probe is silent."""
    whole = bench_sheet(board("sample")).whole
    via = [n for n, s in enumerate(whole.suspects) if s.what == "hole" and s.at == (8.0, 9.08)]
    assert len(via) == 1
    silent = [p for p in whole.probes if via[0] in p.suspects]
    assert [{p.red.pad, p.black.pad} & {"R1.1"} for p in silent] == [{"R1.1"}]
    assert whole.suspects[via[0]].words == "via of SIG not plated through"


def test_a_lead_hidden_by_another_part_is_probed_from_the_other_side() -> None:
    """C2 lies on the bottom; put under R1's first lead, it hides that joint from below, once it is fitted."""
    made = sample_board()
    lead = next(p.at for p in made.pads if (p.reference, p.number) == ("R1", "1"))
    under = replace(made, parts=tuple(replace(p, at=lead) if p.part.reference == "C2" else p for p in made.parts))
    sheet = bench_sheet(under)
    fitted = {s.side for p in sheet.whole.probes for s in (p.red, p.black) if s.pad == "R1.1"}
    bare = {s.side for p in sheet.bare.probes for s in (p.red, p.black) if s.pad == "R1.1"}
    assert (fitted, bare) == ({"top"}, {"bottom"})
    for s in (s for p in bench_sheet(made).whole.probes for s in (p.red, p.black) if s.pad == "R1.1"):
        assert s.side == "bottom"


def test_shorts_are_probed_where_no_part_stands_on_the_pad() -> None:
    """U1 put over C1, whose lands have no other side: bare, C1.1 is nearest to VCC's neighbour, fitted another is."""
    made = sample_board()
    x, y = next(p.at for p in made.pads if (p.reference, p.number) == ("C1", "1"))
    over = replace(made, parts=tuple(replace(p, at=(x - 5, y)) if p.part.reference == "U1" else p for p in made.parts))
    assert hidden(made) == set()
    assert hidden(over) == {"C1.1", "C1.2"}
    sheet = bench_sheet(over)
    touched = [
        {s.pair.red.pad for s in plan} | {s.pair.black.pad for s in plan} for plan in (sheet.bare_apart, sheet.apart)
    ]
    assert "C1.1" in touched[0]
    assert not touched[1] & {"C1.1", "C1.2"}
    assert [s.pair.nets for s in sheet.apart] == [s.pair.nets for s in sheet.bare_apart]
