"""Watching a design: made when saved, mistakes shown with their line, and a server for this machine alone."""

from __future__ import annotations

import json
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from http.server import ThreadingHTTPServer
from pathlib import Path

import pytest

from modboard.errors import ModboardError
from modboard.make import Made
from modboard.watch import Watch, page, server
from tests.bench import browser as web
from tests.bench.accessible import announced, problems, tree

DESIGN = """from modboard import Design

board = Design("tiny", outline=(30, 20))
board.part("J1", "wire-pads-1x2", pins="A B")
board.part("R1", "resistor", "1k")
board.net("A", "J1.A R1.1")
board.net("B", "J1.B R1.{pin}")
"""


@pytest.fixture
def watch(tmp_path: Path) -> Watch:
    path = tmp_path / "tiny.py"
    path.write_text(DESIGN.format(pin=2))
    return Watch(path, tmp_path / "out")


@pytest.fixture
def served(watch: Watch) -> Iterator[ThreadingHTTPServer]:
    host = server(watch)
    thread = threading.Thread(target=host.serve_forever, daemon=True)
    thread.start()
    yield host
    host.shutdown()
    host.server_close()


def get(host: ThreadingHTTPServer, path: str, name: str = "127.0.0.1") -> tuple[int, bytes]:
    port = host.server_address[1]
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers={"Host": f"{name}:{port}"})
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as error:
        return error.code, error.read()


def test_saving_makes_again_and_mistakes_show_their_line(watch: Watch, served: ThreadingHTTPServer) -> None:
    assert watch.look()
    assert not watch.look()  # nothing was saved since
    state = json.loads(get(served, "/state")[1])
    assert (state["run"], state["mistake"]) == (1, "")
    good = state["made"]
    assert {"view/assembly.svg", "bench/booklet.html"} <= set(good)
    watch.design.write_text(DESIGN.format(pin=37))
    assert watch.look()
    state = json.loads(get(served, "/state")[1])
    assert state["mistake"].startswith("tiny.py:7: ")
    assert 'has no pin "37"' in state["mistake"]
    assert state["made"] == good  # the last good pictures stay
    assert get(served, "/out/view/assembly.svg")[0] == 200
    watch.design.unlink()
    assert watch.look()
    assert "tiny.py" in watch.state.mistake


def test_a_part_beside_the_design_counts_and_nothing_ends_the_watch(tmp_path: Path) -> None:
    design = tmp_path / "tiny.py"
    design.write_text(DESIGN.format(pin=2))
    runs = []

    def job(path: Path, out: Path, steps: object) -> Made:
        runs.append(path)
        raise KeyError("a fault of ours")

    watched = Watch(design, tmp_path / "out", job)
    assert watched.look()
    assert "please report it" in watched.state.mistake
    assert not watched.look()
    (tmp_path / "relay.toml").write_text("title = 'Relay'")
    assert watched.look()
    (tmp_path / "notes.txt").write_text("not read by any design")
    assert not watched.look()
    assert len(runs) == 2


def test_only_what_was_made_is_served_and_only_to_this_machine(watch: Watch, served: ThreadingHTTPServer) -> None:
    watch.out.mkdir()
    (watch.out / "secret.txt").write_text("mine")
    for path in ("/out/secret.txt", "/out/../tiny.py", "/out/%2e%2e/tiny.py", "/etc/passwd", "/out//etc/passwd"):
        assert get(served, path)[0] == 404, path
    assert get(served, "/", name="evil.example")[0] == 403
    assert served.server_address[0] == "127.0.0.1"
    with pytest.raises(ModboardError, match="choose another with --port"):
        server(watch, served.server_address[1])


def test_names_are_escaped() -> None:
    assert "<img" not in page("<img src=x>.py").replace('<img id="', "")


@pytest.mark.skipif(bool(web.MISSING), reason=web.MISSING)
def test_the_page_freshens_itself(watch: Watch, served: ThreadingHTTPServer, tmp_path: Path) -> None:
    window = web.Browser(tmp_path / "profile")
    try:
        watch.look()
        window.call("url", {"url": "about:blank"})
        window.requests()  # those of the page that a new window shows
        window.call("url", {"url": f"http://127.0.0.1:{served.server_address[1]}/"})
        assert becomes(window, "return document.getElementById('assembly').naturalWidth > 0")
        assert problems(tree(window)) == []
        watch.design.write_text(DESIGN.format(pin="<b>"))
        watch.look()
        assert becomes(window, "return document.getElementById('mistake').textContent.includes('tiny.py:7')")
        assert window.run("return document.querySelectorAll('#mistake b').length") == 0
        assert any("tiny.py:7" in words for words in announced(tree(window)))
        assert window.run("return document.getElementById('assembly').naturalWidth > 0")  # the last good one stays
        watch.design.write_text(DESIGN.format(pin=2).replace("30, 20", "31, 20"))
        old = window.run("return document.getElementById('assembly').src")
        watch.look()
        assert becomes(window, f"return document.getElementById('assembly').src !== '{old}'")
        assert becomes(window, "return document.getElementById('assembly').naturalWidth > 0")
        assert window.run("return document.getElementById('mistake').hidden")
        assert window.log() == []
        asked = {url for url in window.requests() if url != "about:blank"}
        assert all(url.startswith((f"http://127.0.0.1:{served.server_address[1]}/", "data:")) for url in asked)
    finally:
        window.close()


def becomes(window: web.Browser, test: str) -> bool:
    """Wait until a script returns true; False after eight seconds."""
    end = time.monotonic() + 8
    while time.monotonic() < end:
        if window.run(test):
            return True
        time.sleep(0.1)
    return False
