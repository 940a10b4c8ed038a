"""Make a design again whenever its file is saved, and show the outcome on a page that keeps itself fresh.

The page is served to this machine only (127.0.0.1).  It asks for the state every second; a mistake is shown with its
line and cure while the last good pictures stay.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from modboard.check.report import lines
from modboard.errors import ModboardError
from modboard.make import Made, Steps, make
from modboard.view.sealed import kept, sealed_page

PAUSE = 0.3  # s between looks at the file
TYPES = {".svg": "image/svg+xml", ".html": "text/html; charset=utf-8", ".json": "application/json", ".csv": "text/csv"}
BESIDE = (".py", ".toml", ".dxf", ".svg")  # what a design may read: modules, own parts, traced rooms
Say = Callable[[str], None]


@dataclass(frozen=True)
class State:
    """What the page shows: how often the design was made, whether it is being made, the mistake if there is one."""

    run: int = 0
    busy: bool = False
    mistake: str = ""
    findings: tuple[str, ...] = ()
    made: tuple[str, ...] = ()


class Watch:
    """Watches one design; `state` is replaced whole, so any thread may read it."""

    def __init__(self, design: Path, out: Path, job: Callable[[Path, Path, Steps], Made] = make) -> None:
        """Watch `design`, writing into `out` with `job`."""
        self.design, self.out, self._job = design, out, job
        self.state = State()
        self._seen: tuple[tuple[str, int, int], ...] | None = None
        self._stop = threading.Event()

    def look(self) -> bool:
        """Make the design if it, or a file beside it that it may read, changed since the last look; tell whether so."""
        now = self._files()
        if now == self._seen:
            return False
        self._seen = now
        before = self.state
        self.state = State(before.run, True, before.mistake, before.findings, before.made)
        try:
            steps = Steps()
            made = self._job(self.design, self.out, steps)
            self.state = State(before.run + 1, False, "", tuple(lines(made.findings)), tuple(sorted(made.files)))
            if steps.stopped:  # Ctrl-C while the board was being written: now that it is, this is the end
                self.stop()
        except ModboardError as error:
            self.state = State(before.run + 1, False, str(error), (), before.made)
        except Exception as error:  # a fault of ours must not end the watch: the next save may well be made
            words = f"{self.design.name}: modboard itself failed ({type(error).__name__}: {error}); please report it"
            self.state = State(before.run + 1, False, words, (), before.made)
        return True

    def _files(self) -> tuple[tuple[str, int, int], ...]:
        """Return name, time and size of the design and of parts, rooms and modules that lie beside it."""
        found = []
        for path in sorted({self.design, *self.design.parent.glob("*.*")}):
            if path == self.design or path.suffix.lower() in BESIDE:
                try:
                    facts = path.stat()
                    found.append((path.name, facts.st_mtime_ns, facts.st_size))
                except OSError:
                    found.append((path.name, 0, 0))
        return tuple(found)

    def loop(self, say: Say) -> None:
        """Look again and again until `stop`."""
        while not self._stop.is_set():
            if self.look():
                state = self.state
                say(state.mistake or f"made, {len(state.findings)} lines of findings")
            self._stop.wait(PAUSE)

    def stop(self) -> None:
        """End the loop."""
        self._stop.set()


def server(watch: Watch, port: int = 0) -> ThreadingHTTPServer:
    """Return a server for the page of `watch` on 127.0.0.1; port 0 takes any that is free.

    Raises ModboardError if the port is taken.
    """

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            """Answer the page, the state or a file that was made; nothing else, and no other host's name."""
            here = self.connection.getsockname()[1]
            if self.headers.get("Host") not in (f"127.0.0.1:{here}", f"localhost:{here}"):
                self._answer(403, "text/plain", b"this page is for this machine only")
                return
            path = unquote(urlsplit(self.path).path)
            state = watch.state
            name = path.removeprefix("/out/")
            if path == "/":
                self._answer(200, TYPES[".html"], page(watch.design.name).encode())
            elif path == "/state":
                self._answer(200, TYPES[".json"], json.dumps(asdict(state)).encode())
            elif path != name and name in state.made and (watch.out / name).is_file():
                kind = TYPES.get(Path(name).suffix, "application/octet-stream")
                self._answer(200, kind, (watch.out / name).read_bytes())
            else:
                self._answer(404, "text/plain", b"nothing here")

        def _answer(self, status: int, kind: str, body: bytes) -> None:
            self.send_response(status)
            for header, value in (
                ("Content-Type", kind), ("Content-Length", str(len(body))), ("Cache-Control", "no-store"),
                ("X-Content-Type-Options", "nosniff"),
            ):  # fmt: skip
                self.send_header(header, value)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing of each request."""

    try:
        return ThreadingHTTPServer(("127.0.0.1", port), Handler)
    except (OSError, OverflowError) as error:
        raise ModboardError(f"cannot serve on port {port}: {error}; choose another with --port") from error


def page(name: str) -> str:
    """Return the page's HTML for a design file called `name`."""
    body = f"""<header><h1>{escape(name)}</h1><p id="doing" role="status"></p>
<a id="booklet" href="/out/bench/booklet.html" target="_blank" hidden>Bench booklet</a></header>
<p id="mistake" role="alert" hidden></p>
<main><figure><img id="assembly" alt="The board in its room" hidden></figure>
<div class="pair"><img id="top" alt="The board's top" hidden><img id="bottom" alt="The board's bottom" hidden></div>
<pre id="findings"></pre></main>"""
    allowed = "connect-src 'self'; img-src 'self' data:"
    return sealed_page(name, kept("watch.css"), kept("watch.js"), body, {}, allowed)
