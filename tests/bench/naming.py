"""Whether the hint for a break names the place: what the page's script reasons (`booklet_hints.js`), in Python.

One fault: it is among the breaks that every silent pair has in common and no beeping pair has (single-fault
dictionaries of digital test, e.g. Abramovici, Breuer & Friedman, Digital Systems Testing and Testable Design, ch. 12).
"""

from __future__ import annotations

from shapely.geometry import Point

from modboard.bench.continuity import Suspect
from modboard.bench.sheet import BenchSheet
from tests.bench.meter import Fault, Faulty, Meter

NEAR = 1e-3  # mm from a fault to the place a hint names, or to the copper whose break it names


def named(sheet: BenchSheet, faulty: Faulty, fault: Fault, meter: Meter) -> bool:
    """Tell whether one of the places that the bare board's answers leave over is that of `fault`, a break."""
    beeps = {p: meter.one(p.red, p.black) for p in sheet.bare.probes}
    silent = [set(p.suspects) for p, beep in beeps.items() if not beep]
    heard = {k for p, beep in beeps.items() if beep for k in p.suspects}
    left = set.intersection(*silent) - heard if silent else set()
    return any(_is_place(sheet, faulty, fault, sheet.bare.suspects[k]) for k in left)


def _is_place(sheet: BenchSheet, faulty: Faulty, fault: Fault, suspect: Suspect) -> bool:
    if fault.kind in ("via", "plating"):
        at = faulty.names[fault.thing].at if isinstance(fault.thing, str) else fault.thing.at  # type: ignore[union-attr]
        return suspect.what == "hole" and Point(suspect.at).distance(Point(at)) < NEAR
    if suspect.what != "track" or suspect.side != fault.layer or fault.net not in suspect.words:
        return False
    copper = [
        p.shape
        for p in sheet.copper[fault.net].pieces
        if p.breaks == "track" and p.shape and (p.at, p.layer) == (suspect.at, suspect.side)
    ]
    return fault.area.distance(Point(suspect.at)) < NEAR or any(
        s.core.distance(fault.area) < s.radius + NEAR for s in copper
    )
