"""The repair page in a real browser: it reasons as the planner does, keeps answers, and runs nothing of a list."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import networkx as nx
import pytest
from click.testing import CliRunner

from modboard.bench.repair import broken, plan, read_results
from modboard.cli import main
from modboard.view.repair_page import repair_page
from tests.bench import browser as web
from tests.bench.accessible import announced, problems, tree

pytestmark = pytest.mark.skipif(bool(web.MISSING), reason=web.MISSING)
NETS = {
    "A0": ("IC1.10", "IC2.5", "IC3.8", "J1.1", "R7.2"),
    "D0": ("IC1.20", "IC3.9"),
    "</script><b>RESET</b>": ("IC1.26", "C7.+", "<img src=x onerror=window.bad=1>.2"),
}


@pytest.fixture(scope="module")
def window(tmp_path_factory: pytest.TempPathFactory) -> Iterator[web.Browser]:
    opened = web.Browser(tmp_path_factory.mktemp("profile"))
    yield opened
    opened.close()


@pytest.fixture
def page(tmp_path: Path, window: web.Browser) -> Path:
    path = tmp_path / "host.html"
    path.write_text(repair_page("Dunlin 48", NETS, plan(NETS, ["IC3"]), {}), encoding="utf-8")
    window.size(360, 740)
    window.open_afresh(path, [])
    return path


@pytest.mark.parametrize("seed", range(12))
def test_it_narrows_a_break_down_to_its_two_sides(window: web.Browser, page: Path, seed: int) -> None:
    """A random tree of track with one or two stretches cut, probed as the page asks; networkx knows the pieces."""
    rnd = random.Random(seed)
    board = nx.Graph()
    for pins in NETS.values():
        tree = nx.random_labeled_tree(len(pins), seed=seed)
        board = nx.union(board, nx.relabel_nodes(tree, dict(enumerate(pins))))
    board.remove_edges_from(rnd.sample(sorted(board.edges), 1 + seed % 2))
    said = {}
    for _ in range(60):
        pair = window.run("return pair && [pair.red, pair.black]")
        if not pair:
            break
        said[tuple(pair)] = nx.has_path(board, *pair)
        window.run("say(arguments[0])", "beep" if said[tuple(pair)] else "silent")
    assert window.run("return pair") is None
    pieces = window.run("return broken(answers).map(b => [b.certain, b.groups])")
    found = {frozenset(group) for _, groups in pieces for group in groups}
    real = {frozenset(c) for c in nx.connected_components(board) if not any(c == set(pins) for pins in NETS.values())}
    assert found == real
    assert all(certain for certain, _ in pieces)
    shown = window.run("return [...document.querySelectorAll('#found li')].map(e => e.textContent)")
    assert shown == [b.words for b in broken(NETS, said)]  # word for word what the command line says


def test_answers_stay_and_leave_as_csv(window: web.Browser, page: Path, tmp_path: Path) -> None:
    window.press("#silent")
    window.type("b")
    first = window.run("return [...answers]")
    assert [said for _, said in first] == ["silent", "beep"]
    window.open(page)
    assert window.run("return [...answers]") == first
    address = window.run("return document.getElementById('save').href")
    kept = tmp_path / "results.csv"
    kept.write_text(unquote(address.partition(",")[2]), newline="")
    assert list(read_results(kept, NETS).values()) == [False, True]
    window.press("#undo")
    assert window.run("return answers.size") == 1


LOSSES = {
    "an empty localStorage, as Chromium 156 hands files from disk now and then": "localStorage.clear(); return true",
    "an old localStorage": "localStorage.setItem(store.name, JSON.stringify([1, [['x', 'beep']]])); return true",
    "a localStorage that is no list": "localStorage.setItem(store.name, '{'); return true",
    "no IndexedDB": "store.connect = () => Promise.reject(); return true",
}


@pytest.mark.parametrize("loss", LOSSES)
def test_answers_outlive_the_loss_of_either_store(window: web.Browser, page: Path, loss: str) -> None:
    """Asked again in the same document, which sees what it has put into localStorage for certain."""
    window.press("#silent")
    assert window.run("return store.saved.then(() => answers.size)") == 1
    window.run(LOSSES[loss])
    again = "let found; store.at = 0; store.open(store.name, kept => { found = kept; });"
    assert window.run(f"{again} return store.begun.then(() => found)") == window.run("return [...answers]")


def test_a_browser_that_keeps_nothing_is_said_at_once(window: web.Browser, page: Path) -> None:
    """Both stores refuse, as where a browser is told to remember nothing."""
    window.run(
        "store.base = Promise.reject(); store.base.catch(() => {});"
        "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no'); }})"
    )
    window.press("#silent")
    said = window.run("return store.saved.then(() => document.getElementById('done').textContent)")
    assert said == "This browser keeps nothing: save the answers before you close the page."


def test_a_contradiction_is_said_at_once(window: web.Browser, page: Path) -> None:
    window.run(
        "answers = new Map([[key('IC1.10', 'IC2.5'), 'beep'], [key('IC2.5', 'IC3.8'), 'beep'],"
        "[key('IC1.10', 'IC3.8'), 'silent']]); show();"
    )
    said = window.run("const e = document.getElementById('wrong'); return e.hidden ? '' : e.textContent")
    assert said == "A0: IC1.10 and IC3.8 were silent, yet other beeps join them; probe them again"


def test_the_page_can_be_heard(window: web.Browser, page: Path) -> None:
    """Controls have names, the pair in hand and what the answers tell are announced, keys can be turned off."""
    nodes = tree(window)
    assert problems(nodes) == []
    pair = window.run("return [pair.red, pair.black]")
    assert announced(nodes) == [f"Red on {pair[0]}, black on {pair[1]}", "No break so far."]
    window.run("document.getElementById('found').firstChild.mark = 1")
    window.press("#beep")
    assert window.run("return document.getElementById('found').firstChild.mark") == 1  # not said again
    window.press("#silent")
    assert announced(tree(window))[1] == window.run("return document.querySelector('#found li').textContent")
    window.press("#keys")
    window.type("b")
    assert window.run("return answers.size") == 2
    window.press("#keys")
    window.type("b")
    assert window.run("return answers.size") == 3


def test_nothing_runs_nothing_leaves_and_all_fits(window: web.Browser, page: Path) -> None:
    window.log()
    window.requests()
    for width in (360, 1600):
        window.size(width, 800)
        window.open(page)
        assert window.run("return document.documentElement.scrollWidth") <= width
    assert window.run("return window.bad === undefined")
    assert window.run("return document.querySelectorAll('img, #list b').length") == 0
    assert window.log() == []
    assert all(url.startswith(("file://", "data:", "about:")) for url in window.requests())


def test_the_command_writes_it(tmp_path: Path) -> None:
    netlist, page = tmp_path / "host.csv", tmp_path / "host.html"
    netlist.write_text("net,part,pin\nA0,IC1,10\nA0,IC2,5\n")
    run = CliRunner().invoke(main, ["repair", str(netlist), "--page", str(page)])
    assert run.exit_code == 0, run.output
    assert run.output == f"wrote {page}: open it in a browser\n"
    assert "default-src 'none'" in page.read_text()
    run = CliRunner().invoke(main, ["repair", str(netlist), "--page", str(tmp_path / "none" / "x.html")])
    assert run.exit_code == 2
    assert "choose another file with --page" in run.output
