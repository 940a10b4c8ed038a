"""The leaves of the booklet: what each says, as blocks that know nothing of HTML or paper, and what is shown beside."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from modboard.bench.build import BuildStep
from modboard.bench.colours import WIRE_COLOURS
from modboard.bench.continuity import Probe, Spot
from modboard.bench.kinds import kind_of, named
from modboard.bench.power import PowerStep
from modboard.bench.sheet import BenchSheet, Silence
from modboard.bench.wiring import Wire, area
from modboard.view.booklet_blocks import (
    Block,
    Cell,
    Entry,
    Fact,
    Facts,
    Figures,
    Hint,
    Pair,
    Pairs,
    Table,
    Ticks,
    Words,
)  # fmt: skip
from modboard.view.booklet_pieces import chunks, listed_names, packed, probe
from modboard.view.booklet_words import (
    AT_HAND,
    IN_PLACE,
    READING,
    WIRES_HEARD,
    chips_to_keep,
    how_to_solder,
    on_lands,
    on_leads,
    wire_to_buy,
)  # fmt: skip

CHAPTERS = ("Start", "Bare board", "Build", "Joints", "Power", "Wires", "Way back")


@dataclass
class Leaf:
    """One page: its chapter, title and blocks, and what is shown on the board beside it."""

    chapter: str
    title: str
    blocks: tuple[Block, ...]
    side: str = "bottom"
    net: str | None = None
    fit: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    probes: list[dict[str, Any]] = field(default_factory=list)
    places: tuple[tuple[float, float], ...] = ()  # wire links to show, numbered


def leaves(sheet: BenchSheet) -> list[Leaf]:
    """Return all leaves in order."""
    found = [cover(sheet), cautions(sheet)]
    found += whole(sheet, "Bare board") + apart(sheet, "Bare board")
    steps = [s for s in sheet.build if s.stage == "board"]
    done: tuple[str, ...] = ()
    soldering = how_to_solder(sheet.board.description, steps)
    for step in steps:
        found.append(build(step, done, len(steps), soldering.get(step.number, "")))
        done += step.references
    fitted = whole(sheet, "Joints") + apart(sheet, "Joints")
    for leaf in fitted:
        leaf.done = done
    found += fitted
    function = [s for s in sheet.power if s.rung == "function"]
    for number, rung in enumerate((s for s in sheet.power if s.rung not in ("caution", "function")), 1):
        found.append(power(rung, number, done))
    found += room(sheet, done)
    if sheet.wires:
        found.append(wires(sheet, done))
    found += [power(rung, 0, done, "Wires") for rung in function]
    found.append(back(sheet, done))
    return found


def cover(sheet: BenchSheet) -> Leaf:
    """The first leaf: what this is, how long the way is, what to have at hand."""
    d = sheet.board.description
    steps = [s for s in sheet.build if s.stage == "board"]
    total = sum(s.count for s in steps)
    figures = (
        (total, "part" if total == 1 else "parts"),
        (len(sheet.whole.probes), "lines to hear"),
        (len(sheet.apart), "silences to hear"),
        (len(sheet.wires), "wires"),
    )
    parts = tuple(
        (Cell(f"{s.count} ×" if s.count else ""), Cell(s.title), Cell(", ".join(s.references))) for s in steps
    )
    more = [*chips_to_keep(d, sheet.build), *wire_to_buy(sheet.wires)]
    parts += tuple((Cell(count), Cell(what), Cell(which)) for count, what, which in more)
    blocks: list[Block] = [
        Words("From bare board to working machine, one small step at a time, and a way back.", "lead"),
        Figures(figures),
        Words("How to read it", "heading"),
        *(Words(text) for text in READING),
        Words("Have at hand", "heading"),
        Words(AT_HAND),
        Words("Lay out the parts", "heading"),
        Table(("", "", ""), parts, (0.1, 0.45, 0.45), sort="parts"),
    ]
    spare = [p.reference for p in d.parts if not p.fitted]
    if spare:
        blocks.append(Words(f"Left empty: {', '.join(spare)}."))
    return Leaf("Start", d.title, tuple(blocks), side="top", fit=tuple(p.reference for p in d.parts if p.fitted))


def cautions(sheet: BenchSheet) -> Leaf:
    """What can hurt, before anything else."""
    rows = tuple((f"c{n}", s.action) for n, s in enumerate(r for r in sheet.power if r.rung == "caution"))
    return Leaf("Start", "First, stay whole", (Ticks(rows),), side="top")


def whole(sheet: BenchSheet, chapter: str) -> list[Leaf]:
    """Continuity: the pairs of each net under its name, lone pairs first and named in their row."""
    bare = chapter == "Bare board"
    own = bare and sheet.bare is not sheet.whole  # numbered after those of the fitted board
    count = len(sheet.whole.probes)
    by_net: dict[str, list[tuple[int, Probe]]] = {}
    for number, pair in enumerate(sheet.all_probes):
        if (number >= count) == own:
            by_net.setdefault(pair.net, []).append((number, pair))
    found = []
    parts = [(net, chunk) for net, probes in by_net.items() for chunk in chunks(probes)]
    for group in packed(sorted(parts, key=lambda part: len(part[1]) > 1), loose=True):
        touched = [spot.pad for _, chunk in group for _, p in chunk for spot in (p.red, p.black)]
        how = on_lands(touched) if bare else on_leads(sheet.board.description, touched)
        blocks: list[Block] = [Words(f"Every pair must beep. {how}")]
        data = []
        side = _most_seen([spot for _, chunk in group for _, p in chunk for spot in (p.red, p.black)])
        seen = None if own else side
        loose = [chunk[0] for _, chunk in group if len(chunk) == 1]
        for net, chunk in [("", loose), *((net, chunk) for net, chunk in group if len(chunk) > 1)]:
            rows = []
            for number, p in chunk:
                key = f"{'b' if bare else 'j'}w{number}"
                data.append(probe(key, "w", p.red, p.black, number, p.net))
                red, black, named = _point(p.red, seen), _point(p.black, seen), "" if net else p.net
                rows.append(Pair(key, red, black, "Beep", "Silent", "should beep", (), named))
            blocks += [Words(net, "heading")] if net else []
            blocks += [Pairs(tuple(rows))] if rows else []
        title = f"Hear {listed_names([net for net, _ in group])} whole"
        lit = None if len(loose) > 1 else group[0][0]  # on paper one net is lit; of many lone pairs, none
        found.append(Leaf(chapter, title, (*blocks, Hint()), side, lit, probes=data))
    return found


def _most_seen(spots: list[Spot]) -> str:
    """Return the side from which more of the points are touched: what a picture on paper shows."""
    return "top" if 2 * sum(spot.side == "top" for spot in spots) > len(spots) else "bottom"


def _point(spot: Spot, seen: str | None) -> str:
    """A pad's name, and its side unless that is the one `seen`; None where the side is the point, and said of all."""
    return spot.pad if spot.side == seen else f"{spot.pad} {spot.side}"


def apart(sheet: BenchSheet, chapter: str) -> list[Leaf]:
    """Shorts: hold one probe still and walk the other round; after soldering only what an iron can bridge."""
    bare = chapter == "Bare board"
    own = bare and sheet.bare_apart is not sheet.apart
    count = len(sheet.apart)
    pairs = [(n, s) for n, s in enumerate(sheet.all_apart) if (n >= count) == own and (bare or s.by_iron)]
    say = "Black stays on one net: the nearest point is named. Walk red round; every touch must stay silent."
    if not bare:
        say = "Once more, after the iron. Silence is right; where parts make it beep, the remark says what is right."
    found = []
    for group in packed(_walks(pairs)):
        blocks: list[Block] = [Words(say)]
        data = []
        side = _most_seen([spot for _, chunk in group for _, s in chunk for spot in (s.pair.red, s.pair.black)])
        seen = None if own else side
        for held, chunk in group:
            rows = []
            for number, s in chunk:
                mine, other = (s.pair.red, s.pair.black) if s.pair.nets[0] == held else (s.pair.black, s.pair.red)
                key = f"{'b' if bare else 'j'}s{number}"
                data.append(probe(key, "s", other, mine, number, held))
                net = s.pair.nets[s.pair.nets[0] == held]
                rows.append(_apart_row(key, s, _point(other, seen), _point(mine, seen), bare, net))
            blocks += [Words(f"Black on {held}", "heading"), Pairs(tuple(rows))]
        title = f"Hear {listed_names([held for held, _ in group])} alone"
        found.append(Leaf(chapter, title, (*blocks, Hint()), side, group[0][0], probes=data))
    return found


def _apart_row(key: str, s: Silence, red: str, black: str, bare: bool, net: str) -> Pair:
    other = s.expected
    if bare or other.verdict == "silent":
        return Pair(key, red, black, "Silent", "Beep", "should be silent", () if bare else other.remarks, net)
    if other.verdict == "no telling":
        places = tuple(f"look here: {site.words}" for site in s.pair.sites if site.bare == 2)
        return Pair(key, red, black, "Looks clear", "Bridge seen", "look", (*other.remarks, *places), net)
    what = "read millivolts" if other.verdict == "millivolts" else "read ohms"
    return Pair(key, red, black, "About right", "Too low", what, other.remarks, net)


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


def build(step: BuildStep, done: tuple[str, ...], steps: int, how: str = "") -> Leaf:
    """One sort of part to solder; `how` is said of soldering once."""
    facts = [
        Fact("Bands" if number == 0 else "or", ", ".join(colours), bands=colours)
        for number, colours in enumerate(step.bands)
    ]
    if step.marking:
        code = step.kind == "capacitor" and step.marking.isdigit()
        after = " (a letter after it is the tolerance)" if code else ""  # IEC 60062
        facts.append(Fact("Marked", step.marking + after))
    if step.bend:
        facts.append(Fact("Leads", step.bend))
    facts += [Fact(f"{reference} goes", words, strong=True) for reference, words in step.polarity]
    where = "both sides" if step.solder == "both sides" else f"the {step.solder}"
    facts.append(Fact("Lay it on", f"the {step.side}; solder on {where}"))
    ticks = [(f"p{ref}", f"{ref} is in and soldered") for ref in step.references]
    ticks += [(f"k{n}", f"link {n} is in and soldered on both sides") for n in range(1, len(step.places) + 1)]
    first, upto = step.done_before + 1, step.done_before + step.count
    which = f"part {first}" if first == upto else f"parts {first} to {upto}"
    count = f"{step.count} {named(step.kind, step.count)} · {which} of {step.total}"
    if step.places:
        count = f"{len(step.places)} pieces of wire, not in the parts list"
    remarks = [*step.remarks, *([how] if how else [])]
    blocks: list[Block] = [Words(count, "count"), Facts(tuple(facts)), *(Words(r, "remark") for r in remarks)]
    title = f"{step.title}: {', '.join(step.references)}" if step.references else step.title
    return Leaf(
        "Build", title, (*blocks, Ticks(tuple(ticks))), step.side, fit=step.references, done=done, places=step.places
    )


def power(step: PowerStep, number: int, done: tuple[str, ...], chapter: str = "Power") -> Leaf:
    """One rung of the ladder."""
    key = f"v{number}" if chapter == "Power" else "vf"
    probes = [probe(key, "v", step.red, step.black, number)] if step.red and step.black else []
    facts = (Fact("Right", step.expect, strong=True), Fact("If not", step.if_wrong, sort="ifnot"))
    blocks: list[Block] = [Words(step.action), Facts(facts)]
    if step.unit:
        blocks.append(Entry(key, step.low, step.high, step.unit))
    blocks.append(Ticks(((key, "It works" if step.rung == "function" else "Right; on to the next"),)))
    side = step.red.side if step.red else "top"
    return Leaf(chapter, step.title, tuple(blocks), side, done=done, probes=probes)


def room(sheet: BenchSheet, done: tuple[str, ...]) -> list[Leaf]:
    """What is done to the host before the board goes in, in that order; no leaf if nothing is."""
    d = sheet.board.description
    rows = [f"Out, into a labelled bag: {r.what}" for r in d.removals]
    rows += [
        f"The host's socket for {ref} is empty: lever its chip evenly from both ends, note where its notch points, "
        "keep it in black foam or foil"
        for ref in _plugs(sheet)
    ]
    rows += [f"Cut, and nothing beside it: {c.what}" for c in d.cuts]
    if not rows:
        return []
    rows = ["The place is photographed as it was found, wires and all", *rows, *([] if sheet.wires else plugged(sheet))]
    say = Words("Host unplugged, its capacitors measured empty. Everything here is undone on the last page.")
    ticks = Ticks(tuple((f"r{n}", text) for n, text in enumerate(rows)))
    return [Leaf("Wires", "Make room in the host", (say, ticks), "top", done=done)]


def _plugs(sheet: BenchSheet) -> list[str]:
    return [p.reference for p in sheet.board.description.parts if kind_of(p) == "host plug"]


def plugged(sheet: BenchSheet) -> list[str]:
    """Return the lines that say how the board goes into the host's sockets."""
    home = "is pressed home in the host's socket, pin 1 where the chip's was, no pin bent"
    return [f"{ref} {home}" for ref in _plugs(sheet)]


def wires(sheet: BenchSheet, done: tuple[str, ...]) -> Leaf:
    """The wiring table, in the order of fitting."""
    rows = tuple(
        (
            Cell(f"wire {w.pad} is in", key=f"w{w.pad}"),
            Cell(f"{w.order} {w.colour}", colour=w.colour),
            Cell(f"{w.pad} {w.name}".strip() if w.name != w.pad.rpartition(".")[2] else w.pad, strong=True),
            Cell(w.host, blank=not w.host),
            Cell(cut_words(w)),
        )
        for w in sheet.wires
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
    blocks = (
        Words("Bench supply off and unclipped. Host unplugged, its capacitors measured empty."),
        Words(f"Fit them in this order, supply last: {_through(sheet)}"),
        Table(("", "Colour", "Board", "Host", "Cut"), rows, (0.06, 0.16, 0.17, 0.26, 0.35), sort="wires"),
        Ticks(tuple((f"wt{n}", text) for n, text in enumerate((WIRES_HEARD, *plugged(sheet), IN_PLACE)))),
    )
    return Leaf("Wires", "Wire it in", blocks, "top", done=done, probes=data)


def _through(sheet: BenchSheet) -> str:
    """How a wire goes into the board: through the hole from the side of the legend, or flat onto a land."""
    fits = {p.reference for p in sheet.board.description.parts if p.footprint.technology == "through-hole"}
    holes = [w.pad.rpartition(".")[0] in fits for w in sheet.wires]
    through = (
        "strip, twist and tin the strands, put them through the hole, solder on the other side, clip what stands out."
    )
    flat = "strip, twist and tin the strands, lay them on the land, heat both."
    return through if all(holes) else flat if not any(holes) else f"{through} Where there is no hole: {flat}"


def cut_words(w: Wire) -> str:
    """Return how to cut and strip a wire, a line each."""
    length = f"{w.length:g} mm" if w.length else "measure, and add 15 mm"
    drop = f", loses {w.drop * 1000:.0f} mV" if w.drop and w.drop >= 0.001 else ""
    lines = [
        f"{length}{drop}",
        f"strip {w.strip_board:g} mm here, {w.strip_host:g} there",
        f"{w.awg} AWG, {area(w.awg):.2g} mm²",
    ]
    return "\n".join([*lines, w.warning] if w.warning else lines)


def back(sheet: BenchSheet, done: tuple[str, ...]) -> Leaf:
    """What was touched on the host, and how to undo it."""
    cuts = [b for b in sheet.back if b.cut]
    rows = tuple((Cell(b.what), Cell(b.undo)) for b in sheet.back)
    if cuts:
        what = "; ".join(b.what for b in cuts)
        say = Words(f"This design cuts something on the host: {what}. Take photographs first.", "warn")
    else:
        say = Words("Nothing on the host is cut. Keep what came out in a labelled bag.", "strong")
    marked = tuple(n for n, b in enumerate(sheet.back) if b.cut)
    table = Table(("Touched on the host", "To undo it"), rows, (0.45, 0.55), marked)
    return Leaf("Way back", "And back again", (say, table), "top", done=done)


def _at(sheet: BenchSheet, pad: str) -> list[float]:
    at = next(p.at for p in sheet.board.pads if f"{p.reference}.{p.number}" == pad)
    return [round(at[0], 3), round(at[1], 3)]
