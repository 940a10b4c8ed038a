"""A real Chromium, driven by the W3C WebDriver protocol over plain HTTP: no package needed, two programs are."""

from __future__ import annotations

import base64
import json
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
MISSING = "" if CHROMIUM and DRIVER else "needs chromium and chromedriver (Debian: chromium, chromium-driver)"
ARGUMENTS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip


class Browser:
    """One window of a fresh profile; `close` ends both programs."""

    def __init__(self, profile: Path) -> None:
        """Start the driver on a free port and open a window."""
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        assert DRIVER and CHROMIUM
        self.driver = subprocess.Popen(
            [DRIVER, f"--port={self.port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self._wait()
        options = {"binary": CHROMIUM, "args": [*ARGUMENTS, f"--user-data-dir={profile}"]}
        capabilities = {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
        }
        self.session = ""
        made = self.call("session", {"capabilities": {"alwaysMatch": capabilities}})
        self.session = f"session/{made['sessionId']}/"

    def _wait(self) -> None:
        for _ in range(100):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{self.port}/status", timeout=2).close()
                return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        raise RuntimeError("the browser's driver did not start")

    def call(self, path: str, body: dict[str, Any] | None = None, method: str = "POST") -> Any:
        """Send one command; return its value, RuntimeError with the driver's words if it fails."""
        url = f"http://127.0.0.1:{self.port}/{getattr(self, 'session', '')}{path}"
        data = None if method != "POST" else json.dumps(body or {}).encode()
        request = urllib.request.Request(url, data, {"Content-Type": "application/json"}, method=method)
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(error.read().decode()[:600]) from None

    def devtools(self, command: str, **parameters: Any) -> Any:
        """Send one command of the browser's own protocol."""
        return self.call("goog/cdp/execute", {"cmd": command, "params": parameters})

    def open(self, page: Path, hash_: str = "") -> None:
        """Load a page from disk, whole: the one before it has stored what it keeps, this one has what was stored."""
        self.run("return typeof store === 'undefined' || store.saved")
        self.call("url", {"url": "about:blank"})
        self.call("url", {"url": f"file://{page}{hash_}"})
        self.run("return typeof store === 'undefined' || store.begun")

    def open_afresh(self, page: Path, nothing: Any) -> None:
        """Load a page that keeps what is entered as if nothing were: the latest that it kept is `nothing`."""
        self.open(page)
        self.run("store.save(arguments[0]); return store.saved", nothing)
        self.open(page)

    def size(self, width: int, height: int) -> None:
        """Give the page a screen of this many CSS pixels; narrow ones are phones."""
        self.devtools(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 800
        )

    def run(self, script: str, *arguments: Any) -> Any:
        """Run a script in the page; return what it returns."""
        return self.call("execute/sync", {"script": script, "args": list(arguments)})

    def press(self, selector: str, number: int = 0) -> None:
        """Click, as a mouse would, the visible element `number` of those that match."""
        where = self.run(
            "const seen = [...document.querySelectorAll(arguments[0])].filter(e => e.getClientRects().length);"
            "const e = seen[arguments[1]];"
            "e.scrollIntoView({block: 'center'}); const r = e.getBoundingClientRect();"
            "return [r.x + r.width / 2, r.y + r.height / 2]",
            selector,
            number,
        )
        self.tap(*where)

    def tap(self, x: float, y: float) -> None:
        """Press and let go at a point of the window."""
        for kind in ("mousePressed", "mouseReleased"):
            self.devtools("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def type(self, key: str) -> None:
        """Type one key at whatever has the focus."""
        named = {"ArrowRight": "\ue014", "ArrowLeft": "\ue012"}
        actions = [{"type": "keyDown", "value": named.get(key, key)}, {"type": "keyUp", "value": named.get(key, key)}]
        self.call("actions", {"actions": [{"type": "key", "id": "keys", "actions": actions}]})

    def log(self) -> list[str]:
        """Return what the console said since the last call."""
        return [entry["message"] for entry in self.call("se/log", {"type": "browser"})]

    def requests(self) -> list[str]:
        """Return every address asked for since the last call."""
        messages = [json.loads(e["message"])["message"] for e in self.call("se/log", {"type": "performance"})]
        return [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]

    def picture(self, path: Path) -> None:
        """Save what one sees as PNG."""
        path.write_bytes(base64.b64decode(self.call("screenshot", method="GET")))

    def close(self) -> None:
        """End the window, then the driver."""
        try:
            self.call("", method="DELETE") if not self.session else self._delete()
        finally:
            self.driver.terminate()
            self.driver.wait(10)

    def _delete(self) -> None:
        url = f"http://127.0.0.1:{self.port}/{self.session.rstrip('/')}"
        urllib.request.urlopen(urllib.request.Request(url, method="DELETE"), timeout=20).close()
