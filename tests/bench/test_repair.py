"""Repairing an old board from a list of its nets: proofs by trees, breaks narrowed by answers, mistakes answered."""

from __future__ import annotations

import csv
import io
import random
from pathlib import Path

import networkx as nx
import pytest
from click.testing import CliRunner

from modboard.bench.repair import (
    RepairError,
    RepairProbe,
    broken,
    plan,
    probe_table,
    read_netlist,
    read_results,
    suspect_pins,
)
from modboard.cli import main

NETLIST = """net,part,pin
A0,IC1,10
A0,IC2,5
A0,IC3,8
A0,J1,1
D0,IC1,20
D0,IC3,9
RESET,IC1,26
RESET,C7,+
RESET,R4,2
"""


@pytest.fixture
def netlist(tmp_path: Path) -> Path:
    path = tmp_path / "host.csv"
    path.write_text(NETLIST)
    return path


def test_each_net_is_proved_by_a_tree(netlist: Path) -> None:
    """A connected graph on n nodes with n - 1 edges is a tree (networkx says so)."""
    nets = read_netlist(netlist)
    probes = plan(nets)
    assert len(probes) == 9 - 3
    for net, pins in nets.items():
        tree = nx.Graph((p.red, p.black) for p in probes if p.net == net)
        assert nx.is_tree(tree)
        assert set(tree) == set(pins)


def test_suspects_come_first(netlist: Path) -> None:
    probes = plan(read_netlist(netlist), ["C7"])
    assert (probes[0].net, probes[0].red) == ("RESET", "C7.+")
    assert [p.suspect for p in probes] == [True] + [False] * 5
    with pytest.raises(RepairError, match="C8 is no part, pin or net of the list; did you mean C7"):
        plan(read_netlist(netlist), ["C8"])


def test_suspects_may_be_pins_nets_and_patterns(netlist: Path) -> None:
    nets = read_netlist(netlist)
    assert suspect_pins(nets, ["IC3.9"]) == {"IC3.9"}
    assert suspect_pins(nets, ["A0"]) == set(nets["A0"])
    assert suspect_pins(nets, ["IC?"]) == {p for pins in nets.values() for p in pins if p.startswith("IC")}


@pytest.mark.parametrize("seed", range(5))
def test_suspects_shorten_the_search(seed: int) -> None:
    """A break beside a pin of the suspect: found on average in half the probes at suspects, not half of all."""
    rnd = random.Random(seed)
    nets = {f"N{n}": tuple(f"IC{k}.{n}" for k in rnd.sample(range(1, 9), 4)) for n in range(1, 25)}
    pins = sorted(suspect_pins(nets, ["IC4"]))

    def steps(probes: tuple[RepairProbe, ...]) -> float:
        first = [next(n for n, p in enumerate(probes, 1) if pin in (p.red, p.black)) for pin in pins]
        return sum(first) / len(first)

    told = steps(plan(nets, ["IC4"]))
    assert told == (len(pins) + 1) / 2  # the mean of 1 to n: no order of single probes does better
    assert told < steps(plan(nets)) / 2


def test_nothing_answered_is_lost(netlist: Path) -> None:
    """Pairs beyond the plan, and the pair asked for next, are in the table that goes out."""
    nets = read_netlist(netlist)
    said = {(p.red, p.black): p.red not in ("IC2.5", "IC3.8") for p in plan(nets)}
    (found,) = broken(nets, said)
    rows = list(csv.DictReader(io.StringIO(probe_table(plan(nets), said, nets))))
    assert (rows[-1]["red"], rows[-1]["black"], rows[-1]["result"]) == (*(found.next_pair or ()), "")
    said[found.next_pair or ("", "")] = False
    rows = list(csv.DictReader(io.StringIO(probe_table(plan(nets), said, nets))))
    assert {(r["red"], r["black"]): r["result"] == "beep" for r in rows if r["result"]} == said


@pytest.mark.parametrize("seed", range(20))
def test_any_break_is_narrowed_to_its_two_sides(seed: int) -> None:
    """A random tree of track between pins, one stretch cut: answers, then the pairs asked for, find both sides."""
    rnd = random.Random(seed)
    pins = tuple(f"IC{n}.{rnd.randint(1, 28)}" for n in range(rnd.randint(2, 12)))
    board = nx.random_labeled_tree(len(pins), seed=seed) if len(pins) > 1 else nx.empty_graph(1)
    board = nx.relabel_nodes(board, dict(enumerate(pins)))
    board.remove_edge(*rnd.choice(sorted(board.edges)))
    nets = {"LINE": pins}
    results = {(p.red, p.black): nx.has_path(board, p.red, p.black) for p in plan(nets)}
    for _ in range(100):
        (found,) = broken(nets, results)
        if found.certain:
            break
        assert found.next_pair
        results[found.next_pair] = nx.has_path(board, *found.next_pair)
    assert {frozenset(g) for g in found.groups} == {frozenset(c) for c in nx.connected_components(board)}
    assert "a wire mends it" in found.words


def test_answers_that_contradict_are_refused(netlist: Path) -> None:
    nets = read_netlist(netlist)
    said = {("IC1.10", "IC2.5"): True, ("IC2.5", "IC3.8"): True, ("IC1.10", "IC3.8"): False}
    with pytest.raises(RepairError, match="probe them again"):
        broken(nets, said)


def test_the_table_can_be_filled_in_and_read_back(netlist: Path, tmp_path: Path) -> None:
    nets = read_netlist(netlist)
    rows = list(csv.DictReader(io.StringIO(probe_table(plan(nets), {}, nets))))
    rows[0]["result"] = "silent"
    text = io.StringIO()
    writer = csv.DictWriter(text, rows[0])
    writer.writeheader()
    writer.writerows(rows)
    filled = tmp_path / "filled.csv"
    filled.write_text(text.getvalue())
    assert read_results(filled, nets) == {(rows[0]["red"], rows[0]["black"]): False}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("net,part\nA,B\n", "no column pin"),
        ("net,part,pin\nA,,1\n", "host.csv:2: part is empty"),
        ("net,part,pin\nA,IC1,1\nB,IC1,1\n", 'host.csv:3: pin IC1.1 is on net "B" here but on "A" in line 2'),
        ("net,part,pin\n", "lists no nets"),
        ("", "no column net, part, pin"),
    ],
)
def test_mistakes_in_the_list(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "host.csv"
    path.write_text(text)
    with pytest.raises(RepairError) as error:
        read_netlist(path)
    assert said in str(error.value)


def test_the_command(netlist: Path, tmp_path: Path) -> None:
    out = tmp_path / "probes.csv"
    run = CliRunner().invoke(main, ["repair", str(netlist), "--suspect", "IC3", "--out", str(out)])
    assert run.exit_code == 0, run.output
    rows = list(csv.DictReader(out.read_text().splitlines()))
    assert len(rows) == 6
    assert {r["red"] for r in rows if r["suspect"]} == {"IC3.8", "IC3.9"}
    answers = tmp_path / "answers.csv"
    answers.write_text("red,black,result\nIC3.9,IC1.20,silent\n")
    run = CliRunner().invoke(main, ["repair", str(netlist), "--results", str(answers), "--out", str(out)])
    assert run.exit_code == 1
    assert "D0: broken between IC1.20 and IC3.9; a wire mends it: IC1.20 to IC3.9" in run.output
    answers.write_text("red,black,result\nIC3.9,IC1.20,maybe\n")
    run = CliRunner().invoke(main, ["repair", str(netlist), "--results", str(answers)])
    assert run.exit_code == 2
