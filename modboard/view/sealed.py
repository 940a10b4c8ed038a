"""Pages that ask nothing of any network: one file, whose policy names its one style and one script by their hashes.

Nothing that a design or a list calls itself can run: the browser refuses whatever is not named (W3C Content Security
Policy 3).
"""

from __future__ import annotations

import base64
import hashlib
import json
from html import escape
from importlib.resources import files
from typing import Any


def kept(name: str) -> str:
    """Return the text of a file that lies beside this module."""
    return (files("modboard.view") / name).read_text(encoding="utf-8")


def hashed(text: str) -> str:
    """Return the source expression that allows exactly this style or script."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def sealed_page(title: str, style: str, script: str, body: str, facts: Any, allowed: str = "img-src data:") -> str:
    """Return a whole page; its script finds `facts` as JSON in the element of that id.

    `allowed` are further rules of its policy: pictures within the file itself, by default.
    """
    text = json.dumps(facts, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    policy = (
        f"default-src 'none'; style-src '{hashed(style)}'; script-src '{hashed(script)}'; {allowed}; "
        "base-uri 'none'; form-action 'none'"
    )
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title><link rel="icon" href="data:,">
<style>{style}</style></head>
<body>
{body}
<script type="application/json" id="facts">{_safe(text)}</script>
<script>{script}</script>
</body></html>
"""


def _safe(text: str) -> str:
    """Return JSON that cannot end the element it stands in."""
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")
