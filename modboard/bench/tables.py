"""The bench sheet as CSV tables, for those who keep their own notes; the same facts as the booklet."""

from __future__ import annotations

import math

from modboard.bench.continuity import Spot
from modboard.bench.sheet import BenchSheet
from modboard.fab.parts_list import csv_text


def tables(sheet: BenchSheet) -> dict[str, str]:
    """Return the tables by file name: build, probes, power, wires and way back (RFC 4180, UTF-8)."""
    return {
        "build.csv": _build(sheet),
        "power.csv": _power(sheet),
        "probes.csv": _probes(sheet),
        "way-back.csv": csv_text(
            ("touched on the host", "to undo it", "cut"),
            [[b.what, b.undo, "yes" if b.cut else "no"] for b in sheet.back],
        ),
        "wires.csv": _wires(sheet),
    }


def _build(sheet: BenchSheet) -> str:
    columns = ("step", "stage", "what", "references", "bands", "marking", "polarity", "leads", "lay on", "solder on")
    rows = [
        [
            str(s.number),
            s.stage,
            s.title,
            ", ".join(s.references),
            " or ".join("-".join(b) for b in s.bands),
            s.marking,
            "; ".join(f"{r}: {words}" for r, words in s.polarity),
            s.bend,
            s.side,
            s.solder,
        ]
        for s in sheet.build
    ]
    return csv_text(columns, rows)


def _probes(sheet: BenchSheet) -> str:
    columns = (
        "when",
        "net",
        "other net",
        "red",
        "red side",
        "black",
        "black side",
        "bare",
        "fitted",
        "ohms",
        "remarks",
    )
    same = sheet.bare is sheet.whole  # one plan for both; else each has rows of its own
    rows: list[list[str]] = []
    for probes, bare, fitted in (
        [(sheet.whole.probes, "beep", "beep")]
        if same
        else [(sheet.bare.probes, "beep", "not again"), (sheet.whole.probes, "not yet", "beep")]
    ):
        rows += [["whole", p.net, "", *_points(p.red, p.black), bare, fitted, "0", ""] for p in probes]
    if not same:
        rows += [
            ["apart", *s.pair.nets, *_points(s.pair.red, s.pair.black), "silent", "not again", "", ""]
            for s in sheet.bare_apart
        ]
    for s in sheet.apart if same else [s for s in sheet.apart if s.by_iron]:
        ohms = "" if math.isinf(s.expected.ohms) else f"{s.expected.ohms:.4g}"
        bare = "silent" if same else "not yet"
        fitted = s.expected.verdict if s.by_iron else "not again"
        points = _points(s.pair.red, s.pair.black)
        rows.append(["apart", *s.pair.nets, *points, bare, fitted, ohms, "; ".join(s.expected.remarks)])
    return csv_text(columns, rows)


def _points(red: Spot, black: Spot) -> tuple[str, str, str, str]:
    return (red.pad, red.side, black.pad, black.side)


def _power(sheet: BenchSheet) -> str:
    rows = [
        [
            str(n),
            s.rung,
            s.title,
            s.action,
            s.expect,
            "" if s.low is None else f"{s.low:g}",
            "" if s.high is None else f"{s.high:g}",
            s.unit,
            s.if_wrong,
        ]
        for n, s in enumerate(sheet.power, 1)
    ]
    return csv_text(("step", "rung", "title", "do", "right", "least", "most", "unit", "if not"), rows)


def _wires(sheet: BenchSheet) -> str:
    columns = (
        "order",
        "pad",
        "name",
        "net",
        "host",
        "colour",
        "cut mm",
        "strip board mm",
        "strip host mm",
        "AWG",
        "note",
    )
    rows = [
        [
            str(w.order),
            w.pad,
            w.name,
            w.net,
            w.host,
            w.colour,
            f"{w.length:g}" if w.length else "",
            f"{w.strip_board:g}",
            f"{w.strip_host:g}",
            str(w.awg),
            w.warning,
        ]
        for w in sheet.wires
    ]
    return csv_text(columns, rows)
