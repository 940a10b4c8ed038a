"""The bench sheet as CSV tables, for those who keep their own notes; the same facts as the booklet."""

from __future__ import annotations

import math

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
    rows = [
        ["whole", p.net, "", p.red.pad, p.red.side, p.black.pad, p.black.side, "beep", "beep", "0", ""]
        for p in sheet.whole.probes
    ]
    for s in sheet.apart:
        red, black = s.pair.red, s.pair.black
        ohms = "" if math.isinf(s.expected.ohms) else f"{s.expected.ohms:.4g}"
        fitted = s.expected.verdict if s.by_iron else "not again"
        rows.append(
            ["apart", *s.pair.nets, red.pad, red.side, black.pad, black.side, "silent", fitted, ohms,
             "; ".join(s.expected.remarks)]
        )  # fmt: skip
    return csv_text(columns, rows)


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
