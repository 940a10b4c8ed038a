"""Readings expected in circuit: hand-solved networks from textbooks, and a second method of linear algebra."""

from __future__ import annotations

import itertools
import math
import random

import networkx as nx
import numpy as np
import pytest

from modboard import Design
from modboard.bench.readings import Network


def network(resistors: list[tuple[str, str, str]], extra: str = "") -> Network:
    """Return the network of a design with these (value, net, net) resistors and parts named in `extra`."""
    board = Design("net", outline=(200, 200))
    nets: dict[str, list[str]] = {}
    for n, (value, one, other) in enumerate(resistors, 1):
        board.part(f"R{n}", "resistor", value)
        nets.setdefault(one, []).append(f"R{n}.1")
        nets.setdefault(other, []).append(f"R{n}.2")
    for line in extra.split(";"):
        if line:
            reference, kind, value, *pins = line.split()
            board.part(reference, kind, value.strip("-"))
            for pin in pins:
                name, net = pin.split("=")
                nets.setdefault(net, []).append(f"{reference}.{name}")
    for n, (net, pins) in enumerate(nets.items()):
        if len(pins) == 1:  # a net needs two pins
            board.part(f"W{n}", "wire-pad")
            pins.append(f"W{n}.1")
        board.net(net, " ".join(pins))
    return Network(board.described())


def test_series_and_parallel() -> None:
    assert network([("100R", "A", "B"), ("220R", "B", "C")]).ohms("A", "C") == pytest.approx(320)
    assert network([("10k", "A", "B"), ("15k", "A", "B")]).ohms("A", "B") == pytest.approx(6000)
    assert math.isinf(network([("10k", "A", "B"), ("1k", "C", "D")]).ohms("A", "C"))


def test_balanced_bridge() -> None:
    """Wheatstone: in balance the middle arm carries nothing, so (1k + 2k) beside (2k + 4k) is 2 kΩ."""
    arms = [("1k", "A", "L"), ("2k", "L", "B"), ("2k", "A", "R"), ("4k", "R", "B"), ("330R", "L", "R")]
    assert network(arms).ohms("A", "B") == pytest.approx(2000)


def test_cube_of_resistors() -> None:
    """Twelve equal resistors on a cube: across the body diagonal 5/6 R, along an edge 7/12 R (classic problem)."""
    corners = ["".join(bits) for bits in itertools.product("01", repeat=3)]
    edges = [
        (a, b) for a, b in itertools.combinations(corners, 2) if sum(x != y for x, y in zip(a, b, strict=True)) == 1
    ]
    cube = network([("1k", f"N{a}", f"N{b}") for a, b in edges])
    assert cube.ohms("N000", "N111") == pytest.approx(5 / 6 * 1000)
    assert cube.ohms("N000", "N001") == pytest.approx(7 / 12 * 1000)


def test_ladder() -> None:
    """An R-2R ladder ended in 2R shows R at every rung seen from the end: 2R beside 2R (textbook)."""
    rungs = [("20k", "N0", "GND")]
    for n in range(4):
        rungs += [("10k", f"N{n}", f"N{n + 1}"), ("20k", f"N{n + 1}", "GND")]
    assert network(rungs[:1]).ohms("N0", "GND") == pytest.approx(20e3)
    assert network([("20k", "N0", "GND"), ("20k", "N0", "GND")]).ohms("N0", "GND") == pytest.approx(10e3)
    assert network([*rungs, ("20k", "N0", "GND")]).ohms("N4", "GND") == pytest.approx(10e3)


@pytest.mark.parametrize("seed", range(6))
def test_random_networks_by_another_method(seed: int) -> None:
    """Resistance distance from the Laplacian's pseudo-inverse (Klein & Randić 1993)."""
    rnd = random.Random(seed)
    graph = nx.gnm_random_graph(7, 11, seed=seed)
    edges = [(f"{rnd.randint(1, 99)}k", f"N{a}", f"N{b}") for a, b in graph.edges]
    found = network(edges)
    g = np.zeros((7, 7))
    for (value, _, _), (a, b) in zip(edges, graph.edges, strict=True):
        g[a, b] += 1 / (1000 * int(value[:-1]))
        g[b, a] = g[a, b]
    inverse = np.linalg.pinv(np.diag(g.sum(axis=0)) - g)
    largest = max(nx.connected_components(graph), key=len)
    for a, b in itertools.combinations(sorted(largest), 2):
        reference = inverse[a, a] + inverse[b, b] - 2 * inverse[a, b]
        assert found.ohms(f"N{a}", f"N{b}") == pytest.approx(reference, rel=1e-6)


def test_verdicts() -> None:
    low = network([("0R22", "A", "B"), ("22R", "B", "C"), ("1k", "C", "D")])
    shunt = low.expected("A", "B")
    assert shunt.verdict == "millivolts"
    assert shunt.least == pytest.approx(11)  # half of 0.22 Ω × 100 mA (Ohm's law)
    assert "22 mV is right, under 11 mV is a bridge" in shunt.remarks[0]
    assert network([("0R01", "A", "B")]).expected("A", "B").verdict == "no telling"  # 1 mV: no hobby meter is sure
    assert low.expected("B", "C").verdict == "beep anyway"
    assert low.expected("C", "D").verdict == "silent"
    assert "R2" in low.expected("B", "C").remarks[0]


def test_diodes_conduct_one_way_only() -> None:
    found = network([("1k", "A", "X"), ("1k", "B", "X")], "D1 1N4148 - A=A K=B")
    assert found.conducting("A", "B") == ("D1",)
    assert found.conducting("B", "A") == ()
    remark = " ".join(found.expected("A", "B").remarks)
    assert "red as said, D1" in remark
    assert "swapped" not in remark


def test_transistors_conduct_from_the_base() -> None:
    npn = network([("10k", "B", "X"), ("10k", "C", "X")], "Q1 2N3904 - B=B C=C E=E")
    assert npn.conducting("B", "E") == ("Q1",)
    assert npn.conducting("E", "B") == ()
    pnp = network([("10k", "B", "X"), ("10k", "C", "X")], "Q1 2N3906 - B=B C=C E=E")
    assert pnp.conducting("E", "B") == ("Q1",)
    assert pnp.conducting("B", "E") == ()


def test_large_capacitors_chirp() -> None:
    found = network([("10k", "A", "B")], "C1 electrolytic 100u +=A -=B;C2 capacitor 100n 1=A 2=B")
    remark = " ".join(found.expected("A", "B").remarks)
    assert "C1 charges" in remark
    assert "C2" not in remark
