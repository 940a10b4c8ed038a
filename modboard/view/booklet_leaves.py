"""The leaves of the booklet: what each says, as HTML with every text escaped, and what the page must know of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape as e
from typing import Any

from modboard.bench.build import BuildStep
from modboard.bench.colours import WIRE_COLOURS
from modboard.bench.continuity import Probe
from modboard.bench.kinds import named
from modboard.bench.power import PowerStep
from modboard.bench.sheet import BenchSheet, Silence
from modboard.view.booklet_pieces import (
    BLANK,
    band_strip,
    chunks,
    hint,
    listed_names,
    packed,
    probe,
    row,
    tick,
    tick_box,
    wire_swatch,
)

CHAPTERS = ("Start", "Bare board", "Build", "Joints", "Power", "Wires", "Way back")
ON_LANDS = "Put the probes on the lands themselves."
ON_LEADS = "Touch the leads, not the lands: a lead that does not sit in its solder stays silent."


@dataclass
class Leaf:
    """One page: its chapter, title, HTML, and what is shown on the board beside it."""

    chapter: str
    title: str
    html: str
    side: str = "bottom"
    net: str | None = None
    fit: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    probes: list[dict[str, Any]] = field(default_factory=list)


def leaves(sheet: BenchSheet) -> list[Leaf]:
    """Return all leaves in order."""
    found = [cover(sheet), cautions(sheet)]
    plated = sheet.board.description.rules.layers_plated
    if plated:
        found += whole(sheet, "Bare board")
    found += apart(sheet, "Bare board")
    steps = [s for s in sheet.build if s.stage == "board"]
    done: tuple[str, ...] = ()
    for step in steps:
        found.append(build(step, done, len(steps)))
        done += step.references
    fitted = whole(sheet, "Joints") + apart(sheet, "Joints")
    for leaf in fitted:
        leaf.done = done
    found += fitted
    function = [s for s in sheet.power if s.rung == "function"]
    for number, rung in enumerate((s for s in sheet.power if s.rung not in ("caution", "function")), 1):
        found.append(power(rung, number, done))
    if sheet.wires:
        found.append(wires(sheet, done))
    found += [power(rung, 0, done, "Wires") for rung in function]
    found.append(back(sheet, done))
    return found


def cover(sheet: BenchSheet) -> Leaf:
    """The first leaf: what this is, how long the way is, what to have at hand."""
    d = sheet.board.description
    steps = [s for s in sheet.build if s.stage == "board"]
    parts = "".join(
        f"<tr><td>{s.count} ×</td><td>{e(s.title)}</td><td>{e(', '.join(s.references))}</td></tr>" for s in steps
    )
    spare = [p.reference for p in d.parts if not p.fitted]
    spares = f"<p>Left empty: {e(', '.join(spare))}.</p>" if spare else ""
    silent = sum(1 for s in sheet.apart)
    total = sum(s.count for s in steps)
    figures = (
        (total, "part" if total == 1 else "parts"),
        (len(sheet.whole.probes), "lines to hear"),
        (silent, "silences to hear"),
        (len(sheet.wires), "wires"),
    )
    counts = "".join(f"<li><b>{n}</b> {e(words)}</li>" for n, words in figures)
    html = (
        f'<p class="lead">From bare board to working machine, one small step at a time, and a way back.</p>'
        f'<ul class="figures">{counts}</ul>'
        "<h3>Have at hand</h3><p>Soldering iron and thin solder, side cutters, a meter that beeps, a bench supply with "
        "a current limit (or a resistor; the booklet says which), good light, a lens, "
        f'and time.</p><h3>Lay out the parts</h3><table class="parts">{parts}</table>{spares}'
    )
    return Leaf("Start", d.title, html, side="top", fit=tuple(p.reference for p in d.parts if p.fitted))


def cautions(sheet: BenchSheet) -> Leaf:
    """What can hurt, before anything else."""
    rows = "".join(tick(f"c{n}", s.action) for n, s in enumerate(r for r in sheet.power if r.rung == "caution"))
    return Leaf("Start", "First, stay whole", f'<ul class="ticks caution">{rows}</ul>', side="top")


def whole(sheet: BenchSheet, chapter: str) -> list[Leaf]:
    """Continuity: the pairs of each net under its name, as many nets on a leaf as it holds."""
    bare = chapter == "Bare board"
    by_net: dict[str, list[tuple[int, Probe]]] = {}
    for number, pair in enumerate(sheet.whole.probes):
        by_net.setdefault(pair.net, []).append((number, pair))
    say = f"<p>Every pair must <b>beep</b>. {ON_LANDS if bare else ON_LEADS}</p>"
    found = []
    for group in packed([(net, chunk) for net, probes in by_net.items() for chunk in chunks(probes)]):
        html, data = say, []
        for net, chunk in group:
            rows = []
            for number, p in chunk:
                key = f"{'b' if bare else 'j'}w{number}"
                data.append(probe(key, "w", p.red, p.black, number, net))
                rows.append(row(key, p.red.pad, p.black.pad, "Beep", "Silent", "should beep"))
            html += f'<h3>{e(net)}</h3><ol class="probes">{"".join(rows)}</ol>'
        title = f"Hear {listed_names([net for net, _ in group])} whole"
        found.append(Leaf(chapter, title, html + hint(), data[0]["b"]["s"], group[0][0], probes=data))
    return found


def apart(sheet: BenchSheet, chapter: str) -> list[Leaf]:
    """Shorts: hold one probe still and walk the other round; after soldering only what an iron can bridge."""
    bare = chapter == "Bare board"
    pairs = [(n, s) for n, s in enumerate(sheet.apart) if bare or s.by_iron]
    say = "<p>Hold black where it says and walk red round. Every touch must stay <b>silent</b>.</p>"
    if not bare:
        say = "<p>Once more, after the iron. Where parts make it beep, the remark says what is right.</p>"
    found = []
    for group in packed(_walks(pairs)):
        html, data = say, []
        for held, chunk in group:
            rows = []
            for number, s in chunk:
                mine, other = (s.pair.red, s.pair.black) if s.pair.nets[0] == held else (s.pair.black, s.pair.red)
                key = f"{'b' if bare else 'j'}s{number}"
                data.append(probe(key, "s", other, mine, number, held))
                rows.append(_apart_row(key, s, other.pad, mine.pad, bare, s.pair.nets[s.pair.nets[0] == held]))
            html += f'<h3>Black on {e(held)}</h3><ol class="probes">{"".join(rows)}</ol>'
        title = f"Hear {listed_names([held for held, _ in group])} alone"
        found.append(Leaf(chapter, title, html + hint(), data[0]["b"]["s"], group[0][0], probes=data))
    return found


def _apart_row(key: str, s: Silence, red: str, black: str, bare: bool, net: str) -> str:
    other = s.expected
    if bare or other.verdict == "silent":
        return row(key, red, black, "Silent", "Beep", "should be silent", () if bare else other.remarks, net)
    if other.verdict == "no telling":
        return row(key, red, black, "Looks clear", "Bridge seen", "look", other.remarks, net)
    return row(key, red, black, "About right", "Too low", "read ohms", other.remarks, net)


def _walks(pairs: list[tuple[int, Silence]]) -> list[tuple[str, list[tuple[int, Silence]]]]:
    """Group pairs so that each leaf holds one net, taking the net with most pairs left first."""
    left = list(pairs)
    found = []
    while left:
        count: dict[str, int] = {}
        for _, s in left:
            for net in s.pair.nets:
                count[net] = count.get(net, 0) + 1
        held = max(sorted(count), key=lambda n: count[n])
        mine = [(n, s) for n, s in left if held in s.pair.nets]
        left = [(n, s) for n, s in left if held not in s.pair.nets]
        found += [(held, chunk) for chunk in chunks(mine)]
    return found


def build(step: BuildStep, done: tuple[str, ...], steps: int) -> Leaf:
    """One sort of part to solder."""
    facts = []
    for number, colours in enumerate(step.bands):
        name = "Bands" if number == 0 else "or"
        facts.append((name, f"{band_strip(colours)} {e(', '.join(colours))}"))
    if step.marking:
        facts.append(("Marked", e(step.marking)))
    if step.bend:
        facts.append(("Leads", e(step.bend)))
    for reference, words in step.polarity:
        facts.append((f"{reference} goes", f"<b>{e(words)}</b>"))
    facts.append(("Lay it on", f"the {step.side}; solder on the {step.solder}"))
    listed = "".join(f"<dt>{e(k)}</dt><dd>{v}</dd>" for k, v in facts)
    ticks = "".join(tick(f"p{ref}", f"{ref} is in and soldered") for ref in step.references)
    remarks = "".join(f'<p class="remark">{e(r)}</p>' for r in step.remarks)
    first, upto = step.done_before + 1, step.done_before + step.count
    which = f"part {first}" if first == upto else f"parts {first} to {upto}"
    html = (
        f'<p class="count">{step.count} {e(named(step.kind, step.count))} · {which} of {step.total}</p>'
        f'<dl>{listed}</dl>{remarks}<ul class="ticks">{ticks}</ul>'
    )
    return Leaf("Build", f"{step.title}: {', '.join(step.references)}", html, step.side, fit=step.references, done=done)


def power(step: PowerStep, number: int, done: tuple[str, ...], chapter: str = "Power") -> Leaf:
    """One rung of the ladder."""
    probes, entry = [], ""
    key = f"v{number}" if chapter == "Power" else "vf"
    if step.red and step.black:
        probes = [probe(key, "v", step.red, step.black, number)]
    if step.unit:
        entry = (
            f'<p class="entry"><label for="i{key}">Your reading</label> <input id="i{key}" data-k="{key}" '
            f'data-low="{"" if step.low is None else f"{step.low:g}"}" '
            f'data-high="{"" if step.high is None else f"{step.high:g}"}" inputmode="decimal" autocomplete="off"> '
            f'{e(step.unit)} <output for="i{key}"></output></p>'
        )
    side = step.red.side if step.red else "top"
    html = (
        f"<p>{e(step.action)}</p><dl><dt>Right</dt><dd><b>{e(step.expect)}</b></dd><dt>If not</dt>"
        f'<dd class="ifnot">{e(step.if_wrong)}</dd></dl>{entry}'
        f'<ul class="ticks">{tick(key, "It works" if step.rung == "function" else "Right; on to the next")}</ul>'
    )
    return Leaf(chapter, step.title, html, side, done=done, probes=probes)


def wires(sheet: BenchSheet, done: tuple[str, ...]) -> Leaf:
    """The wiring table, in the order of fitting."""
    rows = []
    for w in sheet.wires:
        length = f"{w.length:g} mm" if w.length else "measure, and add 15 mm"
        drop = f", loses {w.drop * 1000:.0f} mV" if w.drop else ""
        note = f'<br><span class="warn">{e(w.warning)}</span>' if w.warning else ""
        called = f" {e(w.name)}" if w.name else ""
        rows.append(
            f"<tr><td>{tick_box(f'w{w.pad}', f'wire {w.pad} is in')}</td><td>{wire_swatch(w.colour)} {e(w.colour)}</td>"
            f"<td><b>{e(w.pad)}</b>{called}</td><td>{e(w.host) or BLANK}</td>"
            f"<td>{e(length)}{e(drop)}<br>strip {w.strip_board:g} mm here, {w.strip_host:g} there; "
            f"{w.awg} AWG{note}</td></tr>"
        )
    data = [
        {
            "k": f"w{w.pad}",
            "t": "wire",
            "r": {"p": w.pad, "s": "top", "at": _at(sheet, w.pad)},
            "c": WIRE_COLOURS[w.colour],
        }
        for w in sheet.wires
    ]
    html = (
        "<p>Host unplugged, its capacitors measured empty. Fit them in this order; supply comes last.</p>"
        f'<div class="wide"><table class="wires"><tr><th></th><th>Colour</th><th>Board</th><th>Host</th>'
        f"<th>Cut</th></tr>{''.join(rows)}</table></div>"
    )
    return Leaf("Wires", "Wire it in", html, "top", done=done, probes=data)


def back(sheet: BenchSheet, done: tuple[str, ...]) -> Leaf:
    """What was touched on the host, and how to undo it."""
    cuts = [b for b in sheet.back if b.cut]
    rows = "".join(
        f"<tr{' class=cut' if b.cut else ''}><td>{e(b.what)}</td><td>{e(b.undo)}</td></tr>" for b in sheet.back
    )
    if cuts:
        say = (
            f'<p class="warn">This design cuts something on the host: {e("; ".join(b.what for b in cuts))}. '
            "Take photographs first.</p>"
        )
    else:
        say = "<p><b>Nothing on the host is cut.</b> Keep what came out in a labelled bag.</p>"
    html = f'{say}<div class="wide"><table><tr><th>Touched on the host</th><th>To undo it</th></tr>{rows}</table></div>'
    return Leaf("Way back", "And back again", html, "top", done=done)


def _at(sheet: BenchSheet, pad: str) -> list[float]:
    at = next(p.at for p in sheet.board.pads if f"{p.reference}.{p.number}" == pad)
    return [round(at[0], 3), round(at[1], 3)]
