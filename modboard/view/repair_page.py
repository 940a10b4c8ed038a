"""The probing of an old board as a page: one pair at a time, beep or silent, and where it is broken as answers come in.

Works offline; answers stay in the browser, and leave it as the CSV that ``modboard repair --results`` reads.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from html import escape

from modboard.bench.repair import Nets, RepairProbe
from modboard.view.sealed import kept, sealed_page

SCRIPTS = ("store.js", "repair_reason.js", "repair.js")


def repair_page(
    title: str, nets: Nets, probes: tuple[RepairProbe, ...], results: Mapping[tuple[str, str], bool]
) -> str:
    """Return the page for `probes` of `nets`, with the answers so far; equal arguments give equal text."""
    facts = {
        "nets": [[net, list(pins)] for net, pins in nets.items()],
        "probes": [{"net": p.net, "red": p.red, "black": p.black, "suspect": p.suspect} for p in probes],
        "known": [[red, black, "beep" if beep else "silent"] for (red, black), beep in results.items()],
    }
    plan = hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()[:12]
    script = "'use strict';\n" + "".join(kept(name) for name in SCRIPTS)
    body = f"""<header><h1>{escape(title)}</h1>
<progress id="far" max="1" value="0" aria-label="How far you are" aria-describedby="farsaid"></progress>
<span id="farsaid"></span>
<button type="button" id="dark" aria-pressed="false">Dark</button>
<button type="button" id="keys" aria-pressed="true" aria-label="Keys: B beep, S silent, U undo">Keys</button>
<button type="button" id="forget">Start over</button></header>
<main>
<section class="now" aria-labelledby="why"><p id="why"></p>
<p class="pair"><span class="red">Red on <b id="red"></b></span>
<span class="black">Black on <b id="black"></b></span></p>
<p class="answers"><button type="button" id="beep">Beep</button> <button type="button" id="silent">Silent</button>
<button type="button" id="skip">Can't reach</button> <button type="button" id="undo">Undo</button></p>
<p id="done" role="status" aria-live="polite"></p>
<p class="hint">Host off, unplugged, its capacitors empty. Touch pins, not sockets. Keys: B beep, S silent, U undo.</p>
</section>
<section aria-labelledby="told"><h2 id="told">What this tells</h2>
<p id="wrong" role="alert" hidden></p><ul id="found" aria-live="polite"></ul>
<a id="save" download="results.csv" href="data:text/csv,">Save answers (CSV)</a></section>
<section class="wide" aria-labelledby="all"><h2 id="all">All pairs</h2><ol id="list"></ol></section>
</main>"""
    return sealed_page(
        f"{title}: repair", kept("repair.css"), script, body, facts | {"store": f"modboard-repair:{plan}"}
    )
