"""Order note: what an order form asks, answered from the finished artwork, in plain text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from modboard.artwork.measure import Extreme, gaps_by_kind, smallest_hole, smallest_ring, smallest_track
from modboard.artwork.model import Artwork, Drill
from modboard.check.findings import Finding, Findings
from modboard.fab.panel import figures
from modboard.fab.parts_list import cost
from modboard.fab.prices import Prices

# Hot-air level leaves uneven pads: avoid it below a pitch of 0.5 mm (common practice, no published source).
FINEST_HOT_AIR_PITCH = 0.5  # mm
PRICE_STEP = 100.0  # mm; outlines up to 100 × 100 are the usual small-board price (common practice)
SMALLEST_BOARD = 20.0  # mm; smaller ones are often refused singly (common practice)
PURPOSES = {
    "-copper-top.gbr": "copper, top", "-copper-bottom.gbr": "copper, bottom",
    "-mask-top.gbr": "solder mask, top (its openings)", "-mask-bottom.gbr": "solder mask, bottom (its openings)",
    "-legend-top.gbr": "legend, top", "-legend-bottom.gbr": "legend, bottom",
    "-paste-top.gbr": "paste stencil, top", "-paste-bottom.gbr": "paste stencil, bottom",
    "-profile.gbr": "the board's edge", "-score.gbr": "lines to score", "-holes-plated.drl": "plated holes and slots",
    "-holes-bare.drl": "holes and slots that stay bare", "-components-top.gbr": "parts on top, for assembly machines",
    "-components-bottom.gbr": "parts on the bottom, for assembly machines",
    "-assembly-top.gbr": "drawing: parts on top", "-assembly-bottom.gbr": "drawing: parts on the bottom",
    "-drill-drawing.gbr": "drawing: holes and their sizes", "-netlist.ipc": "nets, for the electrical test",
    "-parts.csv": "what to buy", "-positions.csv": "where each part goes", "-job.gbrjob": "stack-up and rules",
    "-manifest.txt": "SHA-256 of every file",
}  # fmt: skip


def order_note(
    artwork: Artwork,
    findings: Findings,
    *,
    gaps: Mapping[tuple[str, str], Extreme] | None = None,
    files: Sequence[str] = (),
    prices: Prices | None = None,
) -> str:
    """Return the order note; figures are the smallest really present on the artwork, in mm.

    `files` are the names of the package's other files, which are listed with what each is for.
    """
    described = artwork.board.description
    measured = gaps_by_kind(artwork) if gaps is None else gaps
    title = f"Order note: {described.title or described.name}"
    lines = [title, "=" * len(title), ""]
    lines += ["What to enter in the order form", *_form(artwork), ""]
    lines += [
        "Smallest figures really present, and what the board house must be able to do",
        *_least(artwork, measured),
        "",
    ]
    lines += ["Holes (finished diameter)", *_holes(artwork), ""]
    lines += ["Finish and colours", *_finish(artwork), ""]
    if described.cautions:
        lines += ["Cautions", *(f"  - {c}" for c in described.cautions), ""]
    if described.notes:
        lines += ["Notes", *(f"  - {note}" for note in described.notes), ""]
    lines += ["Findings", *_findings(findings), ""]
    if prices is not None:
        lines += ["Parts", *_parts(artwork, prices), ""]
    if files:
        lines += ["Files", *_table([(name, _purpose(name)) for name in files]), ""]
    lines += ["How to order", *_how(artwork)]
    return "\n".join(lines) + "\n"


def _form(artwork: Artwork) -> list[str]:
    described, rules = artwork.board.description, artwork.board.description.rules
    x0, y0, x1, y1 = artwork.board.outline.bounds
    rows = [
        ("design", f"{described.name}, revision {described.revision or '1'}"),
        ("size", f"{x1 - x0:.2f} × {y1 - y0:.2f} mm"),
        ("layers", "1, at the bottom" if rules.one_sided else "2"),
        ("thickness", f"{rules.thickness:g} mm"),
        ("copper", f"{rules.copper * 1000:g} µm{'' if rules.one_sided else ' on each side'}"),
        ("rules", f"{rules.title} ({rules.name})"),
    ]
    rows += _edges(artwork)
    if artwork.panel:
        rows.append(("panel", artwork.panel))
    elif min(x1 - x0, y1 - y0) < SMALLEST_BOARD:
        rows.append(("small board", f"under {SMALLEST_BOARD:g} mm, which many refuse to make: order it in a frame"))
        rows.append(("", _frame(x1 - x0, y1 - y0)))
    return _table(rows)


def _edges(artwork: Artwork) -> Iterator[tuple[str, str]]:
    """Say what the edge of the board needs that an ordinary order leaves out."""
    parts = [placed.part.footprint for placed in artwork.board.parts]
    if halved := sum(len(found.lands) for found in parts if found.edge == "halved"):
        yield ("half-holes", f"yes: {halved} plated holes that the edge cuts in half (castellated); ask for them")
    if any(found.edge == "fingers" for found in parts):
        yield ("card edge", "yes: fingers of gold (hard gold for many matings), edge chamfered 20 to 45 degrees")


def _frame(width: float, height: float) -> str:
    """Return the commands that put a small board into a frame, alone and with as many as the usual price step holds."""
    side = 2 * (figures.RAIL + figures.SLOT)
    counts = [int((PRICE_STEP - side + figures.SLOT) // (size + figures.SLOT)) for size in (width, height)]
    alone = f"modboard panel --rows 1 --columns 1: {width + side:.1f} × {height + side:.1f} mm"
    return f"{alone}; --fill {PRICE_STEP:g},{PRICE_STEP:g}: {counts[0]} × {counts[1]} boards"


def _least(artwork: Artwork, gaps: Mapping[tuple[str, str], Extreme]) -> list[str]:
    rules = artwork.board.description.rules
    gap = min(gaps.values(), key=lambda e: e.value, default=None)
    rows = [
        ("track", smallest_track(artwork), rules.track),
        ("gap", gap, rules.gap),
        ("ring", smallest_ring(artwork), min(rules.ring_pad, rules.ring_via)),
        ("plated hole", smallest_hole(artwork, plated=True), rules.hole_min),
        ("bare hole", smallest_hole(artwork, plated=False), rules.hole_min),
    ]
    return _table(
        [(n, f"{e.value:.3f} mm ({e.what}); rules ask {least:g} mm" if e else "none") for n, e, least in rows]
    )


def _holes(artwork: Artwork) -> list[str]:
    lines = []
    for plated, word in ((True, "plated"), (False, "bare")):
        drills = [d for d in artwork.drills if d.plated is plated]
        counted = sorted(Counter(_hole_size(d) for d in drills).items())
        lines += [
            f"  {n:4d} × {size:.2f} mm {word}{f', slot {long:.2f} mm long' if long else ''}"
            for (size, long), n in counted
        ]
        lines.append(f"  {len(drills):4d} {word} in all")
    return lines


def _hole_size(drill: Drill) -> tuple[float, float]:
    """Return diameter and overall length of a slot, 0 for a round hole."""
    length = drill.shape.core.length + drill.diameter if drill.to else 0.0
    return (round(drill.diameter, 3), round(length, 3))


def _finish(artwork: Artwork) -> list[str]:
    rules = artwork.board.description.rules
    pitch = min(_pitches(artwork), default=None)
    if not rules.layers_plated:
        rows = [("finish", "bare copper: clean, solder soon, or coat with flux lacquer")]
    elif pitch is not None and pitch < FINEST_HOT_AIR_PITCH:
        rows = [("finish", f"gold over nickel (ENIG): the finest pitch is {pitch:.2f} mm, too fine for hot-air level")]
    else:
        rows = [("finish", "lead-free hot-air level is enough; gold over nickel (ENIG) where pads must be flat")]
    rows.append(
        ("mask", "green, which holds the narrowest webs; other colours need wider ones" if rules.mask else "none")
    )
    rows.append(("legend", "white" if rules.mask and rules.legend else "none"))
    return _table(rows)


def _pitches(artwork: Artwork) -> Iterator[float]:
    """Yield the distances between the surface-mount lands of each part, which is what a finish must be flat for."""
    for placed in artwork.board.parts:
        lands = [land.at for land in placed.part.footprint.lands if not land.through]
        for (x0, y0), (x1, y1) in combinations(lands, 2):
            if (distance := ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5) > 0:
                yield distance


def _findings(findings: Findings) -> list[str]:
    waived = [f for f in findings if f.waived]
    warnings = [f for f in findings if not f.waived and f.severity == "warning"]
    if not waived and not warnings:
        return ["  none"]
    lines = [f"  - waived: {_said(f)}; reason given: {f.waived}" for f in waived]
    return lines + [f"  - warning: {_said(f)}" for f in warnings]


def _parts(artwork: Artwork, prices: Prices) -> list[str]:
    total, missing = cost(artwork, prices)
    lines = [f"  all fitted parts of one board: {total}{f' {prices.currency}' if prices.currency else ''}"]
    return lines + ([f"  not counted, for want of a price: {', '.join(missing)}"] if missing else [])


def _purpose(name: str) -> str:
    """Return what a file of the package is for."""
    return next((words for ending, words in PURPOSES.items() if name.endswith(ending)), "Gerber layer")


def _said(finding: Finding) -> str:
    return f"{finding.rule}, {finding.where}: {finding.message}"


def _how(artwork: Artwork) -> list[str]:
    if artwork.board.description.rules.one_sided:
        links = any(placed.part.footprint.bridge for placed in artwork.board.parts)
        crossings = "tracks cross by wire links (see the parts list)" if links else "no tracks cross"
        return [
            f"  All copper is at the bottom and no hole is plated; {crossings}.",
            '  To etch it at home, "modboard etch" draws the copper and a drill template at true size.',
        ]
    if not artwork.board.description.rules.layers_plated:
        return ["  These rules are for etching at home; the holes are not plated, so vias are wire links."]
    return [
        "  Send the zip as it is. Choose two layers and the thickness and copper above; leave every other choice",
        "  at its usual value. Ask for the bare-board electrical test: the test netlist (.ipc) is in the zip.",
        "  Compare the picture the board house shows with the pictures beside this package before you pay.",
    ]


def _table(rows: list[tuple[str, str]]) -> list[str]:
    width = max(len(name) for name, _ in rows)
    return [f"  {name:<{width}}  {text}" for name, text in rows]
