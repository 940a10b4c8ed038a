"""What changed from one package to another, by their files alone: parts, nets, copper, holes and outline."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Any

import shapely

from modboard.fab.readback.evidence import SIDES, Evidence
from modboard.fab.readback.package import COPPERS, ReadPackage

MOVED = 0.001  # mm
SEEN = 0.001  # mm², and half a micrometre thick
Part = tuple[str, tuple[float, float], str, str]


@dataclass(frozen=True)
class Changes:
    """Differences in words, and for each copper side the areas that were taken away and added."""

    lines: tuple[str, ...]
    removed: tuple[Any, Any]
    added: tuple[Any, Any]
    outline: Any  # of the newer board, None if there is none


def package_changes(old: ReadPackage, new: ReadPackage) -> Changes:
    """Return what is different in `new`; no lines if the boards are the same."""
    before, after = Evidence(old), Evidence(new)
    copper = [_copper(before, after, side) for side in (0, 1)]
    lines = [
        *_outline(before, after),
        *_parts(old, new),
        *_nets(old, new),
        *_holes(before, after),
        *(line for side in (0, 1) for line in _copper_words(side, *copper[side])),
    ]
    return Changes(tuple(lines), (copper[0][0], copper[1][0]), (copper[0][1], copper[1][1]), after.board)


def _outline(before: Evidence, after: Evidence) -> list[str]:
    one, other = before.board, after.board
    if one is None or other is None or one.symmetric_difference(other).buffer(-0.0005).is_empty:
        return []
    sizes = [f"{b[2] - b[0]:.2f} × {b[3] - b[1]:.2f} mm" for b in (one.bounds, other.bounds)]
    return [f"outline: {sizes[0]} before, {sizes[1]} now; {one.symmetric_difference(other).area:.2f} mm² differ"]


def _parts(old: ReadPackage, new: ReadPackage) -> list[str]:
    was, now = _placed(old), _placed(new)
    if not was or not now:
        return []  # a package without component layers does not say where its parts are
    lines = [f"part {r}: taken out" for r in sorted(was.keys() - now.keys())]
    lines += [f"part {r}: new, {now[r][3] or 'no value'}" for r in sorted(now.keys() - was.keys())]
    for reference in sorted(was.keys() & now.keys()):
        (side, at, turn, value), (side2, at2, turn2, value2) = was[reference], now[reference]
        said = [f"moved by {math.dist(at, at2):.2f} mm"] if math.dist(at, at2) > MOVED else []
        said += [f"turned from {turn} to {turn2}"] if turn != turn2 else []
        said += [f"from the {side} to the {side2}"] if side != side2 else []
        said += [f"{value or 'no value'} became {value2 or 'no value'}"] if value != value2 else []
        lines += [f"part {reference}: {', '.join(said)}"] if said else []
    return lines


def _placed(package: ReadPackage) -> dict[str, Part]:
    """Return side, middle, turn and value of each part, from the component layers."""
    found: dict[str, Part] = {}
    for side, function in zip(SIDES, ("Component,L1,Top", "Component,L2,Bot"), strict=True):
        layer = package.layer(function)
        for item in layer.objects if layer else ():
            if item.field(".AperFunction") == "ComponentMain" and item.at:
                found[item.field(".C")] = (side, item.at, item.field(".CRot"), item.field(".CVal"))
    return found


def _nets(old: ReadPackage, new: ReadPackage) -> list[str]:
    was, now = _pins(old), _pins(new)
    if not was or not now:
        return []
    lines = [f"net {n}: gone" for n in sorted(was.keys() - now.keys())]
    lines += [f"net {n}: new, {' '.join(sorted(now[n]))}" for n in sorted(now.keys() - was.keys())]
    for name in sorted(was.keys() & now.keys()):
        lost, won = sorted(was[name] - now[name]), sorted(now[name] - was[name])
        said = ([f"without {' '.join(lost)}"] if lost else []) + ([f"with {' '.join(won)}"] if won else [])
        lines += [f"net {name}: now {', '.join(said)}"] if said else []
    return lines


def _pins(package: ReadPackage) -> dict[str, set[str]]:
    """Return the pins of each net: from the test netlist, else from the copper's own names."""
    found: dict[str, set[str]] = {}
    for record in package.netlist.records if package.netlist else ():
        if record.code in ("317", "327") and record.pin and record.net != "N/C":
            found.setdefault(record.net, set()).add(f"{record.reference}.{record.pin}")
    if package.netlist:
        return found
    for layer in (package.layer(function) for function in COPPERS):
        for item in layer.objects if layer else ():
            pin = item.attributes.get(".P", ())
            if len(pin) >= 2 and item.field(".N") not in ("", "N/C"):
                found.setdefault(item.field(".N"), set()).add(f"{pin[0]}.{pin[1]}")
    return found


def _holes(before: Evidence, after: Evidence) -> list[str]:
    was, now = _counted(before), _counted(after)
    lines = []
    for words, holes in (("taken out", was - now), ("new", now - was)):
        for (plated, size), count in sorted(Counter((p, s) for p, s, _ in holes.elements()).items()):
            lines.append(f"holes: {count} × {size:.2f} mm {'plated' if plated else 'bare'} {words} or moved")
    return lines


def _counted(evidence: Evidence) -> Counter[tuple[bool, float, frozenset[tuple[float, float]]]]:
    return Counter(
        (plated, round(hole.diameter, 3), frozenset((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in hole.path))
        for plated in (True, False)
        for _, hole in evidence.holes(plated)
    )


def _copper(before: Evidence, after: Evidence, side: int) -> tuple[Any, Any]:
    """Return the copper of one side that was taken away and that was added."""
    images = [layer.image if layer else shapely.Polygon() for layer in (before.coppers[side], after.coppers[side])]
    apart = (images[0].difference(images[1]), images[1].difference(images[0]))
    kept = [shapely.union_all([p for p in shapely.get_parts(a) if not p.buffer(-0.0005).is_empty]) for a in apart]
    return (kept[0], kept[1])


def _copper_words(side: int, removed: Any, added: Any) -> list[str]:
    if removed.area < SEEN and added.area < SEEN:
        return []
    return [f"copper {SIDES[side]}: {removed.area:.2f} mm² taken away, {added.area:.2f} mm² added"]
