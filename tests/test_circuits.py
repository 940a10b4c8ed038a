"""The circuits of `tests/circuits`: every one loads, and a few of each sort come out whole.

The others, and more seeds, are run by ``python -m tests.benchmarks.circuits``.
"""

from __future__ import annotations

import ast
import re

import pytest

from modboard.artwork.draw import draw
from modboard.check import check
from modboard.describe.load import load
from modboard.layout import layout
from tests.benchmarks.circuits import FOLDER, area_ratio, names

STATED = re.compile(r"Courtyards \d+ mm² in .*: (\d\.\d\d) times their area\.")


def test_there_are_enough_circuits_of_every_size() -> None:
    sizes = [len(load(FOLDER / f"{name}.py").described().parts) for name in names()]
    assert len(sizes) >= 24
    assert min(sizes) <= 4
    assert max(sizes) >= 70


@pytest.mark.parametrize("name", names())
def test_each_loads_without_remarks_in_the_room_it_states(name: str) -> None:
    path = FOLDER / f"{name}.py"
    description = load(path).described()
    assert description.notes == ()  # nothing forgotten, nothing cut off
    assert {ref for net in description.nets for ref in net.pins}.isdisjoint(description.unconnected)
    stated = STATED.search(ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "")
    assert stated, "the docstring states the area ratio"
    assert area_ratio(description) == pytest.approx(float(stated[1]), abs=0.02)


@pytest.mark.parametrize("name", ["regulator_78l05", "timer_astable", "timer_astable_smd"])
def test_small_ones_come_out_whole(name: str) -> None:
    board = layout(load(FOLDER / f"{name}.py"))
    assert board.unrouted == ()
    assert [f for f in check(board, draw(board)) if f.severity == "error"] == []
