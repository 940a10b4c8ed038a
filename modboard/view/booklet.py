"""The bench sheet as a booklet: one HTML file that needs nothing else, on a phone at the bench or printed.

The file asks nothing of any network: its policy forbids every request, and names its one style and one script by
their hashes, so that nothing a design is called can run.
"""

from __future__ import annotations

import hashlib
import json
from html import escape as e
from typing import Any

from modboard.artwork.model import Artwork
from modboard.bench.sheet import BenchSheet
from modboard.view.booklet_board import definitions, drawn_marks, still, view_box
from modboard.view.booklet_html import html
from modboard.view.booklet_leaves import CHAPTERS, Leaf, leaves
from modboard.view.booklet_marks import marks, middle, reach
from modboard.view.sealed import kept, sealed_page

SCRIPTS = ("store.js", "booklet_board.js", "booklet_hints.js", "booklet.js")
STYLE = "booklet.css"


def booklet(sheet: BenchSheet, artwork: Artwork) -> str:
    """Return the whole page as HTML; the same sheet and artwork give the same text."""
    nets = {name: number for number, name in enumerate(sheet.copper)}
    order = {placed.part.reference: n for n, placed in enumerate(sheet.board.parts)}
    pages = leaves(sheet)
    style = kept(STYLE)
    # A picture that uses stored shapes can light them only through a property that is handed down to them.
    style += "".join(
        f"[data-n='{n}']{{color:var(--n{n},inherit)}}.lit-{n}{{--n{n}:var(--lit)}}\n" for n in nets.values()
    )
    script = "'use strict';\n" + "\n".join(kept(name) for name in SCRIPTS)
    data = page_data(sheet, artwork, pages, nets, order)
    groups = definitions(artwork, nets)
    d = sheet.board.description
    told = "".join(_leaf(artwork, leaf, n, len(pages), nets, order) for n, leaf in enumerate(pages))
    stored = "".join(f'<g id="{k}">{v}</g>' for k, v in groups.items())
    body = f"""<svg class="store" aria-hidden="true"><defs>{stored}</defs></svg>
<header class="band"><h1>{e(d.title)} <span>rev {e(d.revision)}</span></h1>
<progress id="far" max="1" value="0" aria-label="How far you are" aria-describedby="farsaid"></progress>
<span id="farsaid"></span>
<button type="button" id="dark" aria-pressed="false">Dark</button>
<button type="button" id="keys" aria-pressed="true" aria-label="{_KEYS}">Keys</button>
<button type="button" id="forget">Start over</button></header>
<nav class="tabs" aria-label="Chapters">{_tabs(pages)}</nav>
<main>
<section class="page bench" aria-label="The board">
<svg id="live" tabindex="0" role="application" aria-label="{_ALT}">
<g id="scene"></g><g id="over"></g></svg>
<div class="tools"><button type="button" id="turn">Turn over</button><span id="seen"></span>
<button type="button" id="closer" aria-label="closer">+</button>
<button type="button" id="further" aria-label="further">−</button>
<button type="button" id="whole">Whole board</button>
<label>Light <select id="net" aria-label="Light a net"><option value="">no net</option></select></label></div>
<p id="say" role="status" aria-live="polite"></p></section>
<div class="page words">{told}</div>
</main>
<nav class="turner" aria-label="Pages"><button type="button" id="prev"><span aria-hidden="true">‹ </span>Back</button>
<span id="folio"></span><button type="button" id="next">Next<span aria-hidden="true"> ›</span></button></nav>"""
    return sealed_page(f"{d.title}: bench booklet", style, script, body, data)


_ALT = "Board; arrow keys move, plus and minus zoom, T turns it over, tap a pad to light its net"
_KEYS = "Keys of one letter: G for the good answer, B for the bad one, T turns over"


def page_data(
    sheet: BenchSheet, artwork: Artwork, pages: list[Leaf], nets: dict[str, int], order: dict[str, int]
) -> dict[str, Any]:
    """Return what the script needs: leaves, pads, nets, and the faults each probe tells of."""
    board = sheet.board
    keys = (k for s in sheet.all_apart for k in s.pair.keys)
    ends = {k: n for n, k in enumerate(dict.fromkeys(keys))}  # conductors: one net can be several on a bare board
    data: dict[str, Any] = {
        "nets": list(nets),
        "parts": [
            {"r": p.part.reference, "s": p.body_side, "at": list(middle(p)), "up": reach(p)} for p in board.parts
        ],
        "pads": [
            {"p": name, "n": nets[net.name], "at": [round(c, 3) for c in pad.at], "s": list(pad.layers)}
            for net in sheet.copper.values()
            for name, pad in net.pads.items()
        ],
        "box": {side: [float(x) for x in view_box(artwork, side).split()] for side in ("top", "bottom")},
        "leaves": [
            {
                "chapter": leaf.chapter,
                "title": leaf.title,
                "side": leaf.side,
                "net": nets.get(leaf.net) if leaf.net else None,
                "fit": [order[r] for r in leaf.fit],
                "done": [order[r] for r in leaf.done],
                "places": [[round(c, 3) for c in at] for at in leaf.places],
                "probes": [p | {"net": nets.get(p.get("net", ""))} for p in leaf.probes],
            }
            for leaf in pages
        ],
        "breaks": [
            {"w": s.words, "t": s.what, "at": [round(c, 3) for c in s.at], "s": s.side or "both"}
            for s in sheet.all_suspects
        ],
        "whole": [list(p.suspects) for p in sheet.all_probes],
        "apart": [
            {
                "nets": [nets[n] for n in s.pair.nets],
                "ends": [ends[k] for k in s.pair.keys],
                "sites": [
                    {"w": site.words, "at": [round(c, 3) for c in site.at], "s": site.side} for site in s.pair.sites[:3]
                ],
                "weight": round(s.pair.weight, 2),
            }
            for s in sheet.all_apart
        ],
    }
    # Ticks are remembered under the plan's own name: another layout of the same design starts afresh.
    plan = json.dumps(data, sort_keys=True).encode()
    data["store"] = f"modboard-bench:{board.description.name}:{hashlib.sha256(plan).hexdigest()[:12]}"
    return data


def _leaf(artwork: Artwork, leaf: Leaf, number: int, count: int, nets: dict[str, int], order: dict[str, int]) -> str:
    shown_marks = drawn_marks(marks(leaf, artwork.board.parts), leaf.side)
    net = nets.get(leaf.net) if leaf.net else None
    done = [order[r] for r in leaf.done] if leaf.chapter != "Bare board" else []
    shown = [order[r] for r in leaf.fit]
    alt = f"The board seen from the {leaf.side}: {leaf.title}"
    picture = still(artwork, leaf.side, done, shown, net, shown_marks, alt)
    return (
        f'<article class="leaf" id="leaf-{number}" tabindex="-1" aria-label="Page {number + 1} of {count}: '
        f'{e(leaf.title)}">'
        f'<p class="chapter">{e(leaf.chapter)} <span>{number + 1}</span></p><h2>{e(leaf.title)}</h2>'
        f"<figure>{picture}<figcaption>seen from the {leaf.side}</figcaption></figure>{html(leaf.blocks)}</article>"
    )


def _tabs(pages: list[Leaf]) -> str:
    first = {leaf.chapter: n for n, leaf in reversed(list(enumerate(pages)))}
    return "".join(f'<a href="#leaf-{first[c]}" data-c="{e(c)}">{e(c)}</a>' for c in CHAPTERS if c in first)
