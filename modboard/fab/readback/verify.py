"""Compares a written package with the artwork it should show.  An empty list means that they are the same board."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import shapely

from modboard.artwork.model import Artwork, Drill, LayerName
from modboard.fab.readback.connectivity import Connectivity, PinName, connectivity
from modboard.fab.readback.package import ReadPackage, read_package

FUNCTIONS: dict[LayerName, str] = {
    "copper-top": "Copper,L1,Top",
    "copper-bottom": "Copper,L2,Bot",
    "mask-top": "Soldermask,Top",
    "mask-bottom": "Soldermask,Bot",
    "legend-top": "Legend,Top",
    "legend-bottom": "Legend,Bot",
    "paste-top": "Paste,Top",
    "paste-bottom": "Paste,Bot",
    "profile": "Profile,NP",
}
AREA_SHARE = 1e-6  # of the layer's area
EDGE_SHIFT = 2e-6  # mm; files are on a grid of 1 nm, so an edge may lie up to 0.7 nm from where it was drawn
PLACE = 1e-5  # mm


def verify(source: Path, artwork: Artwork) -> list[str]:
    """Return every difference between the package at `source` (folder or zip) and `artwork`, in words.

    Compared: every layer's area and outline, every hole with size, plating and function, the nets that copper and holes
    make against those of the design, net names on the copper, the test netlist, the job file and the checksums.
    Raises ReadError if a file cannot be read at all.
    """
    package = read_package(source)
    joined = connectivity(package)
    return [
        *_layers(package, artwork),
        *_holes(package, artwork),
        *_nets(joined, artwork),
        *_netlist(package, joined),
        *_job(package),
    ]


def _layers(package: ReadPackage, artwork: Artwork) -> list[str]:
    found = []
    for layer in artwork.layers:
        read = package.layer(FUNCTIONS[layer.name])
        if read is None:
            found.append(f"{layer.name}: no file says that it is {FUNCTIONS[layer.name]}")
            continue
        if read.checksum_holds is False:
            found.append(f"{read.name}: the checksum (.MD5) is wrong")
        drawn: Any = layer.area()
        if abs(read.image.area - drawn.area) > AREA_SHARE * drawn.area + 1e-9:
            found.append(f"{read.name}: area {read.image.area:.6f} mm², drawn {drawn.area:.6f} mm²")
        elif (off := _off(read.image, drawn)) > EDGE_SHIFT * drawn.length + 1e-9:
            found.append(f"{read.name}: the image differs from what was drawn in {off:.6f} mm²")
    extra = set(package.layers) - {FUNCTIONS[layer.name] for layer in artwork.layers}
    return found + [
        f"{package.layers[f].name}: nothing was drawn for {f or 'a layer without function'}" for f in sorted(extra)
    ]


def _off(one: Any, other: Any) -> float:
    return float(shapely.symmetric_difference(one, other).area)


def _holes(package: ReadPackage, artwork: Artwork) -> list[str]:
    """Return holes that only the files have or only the drawing has (a hole drawn twice counts once)."""
    drawn = {_drawn_hole(d) for d in artwork.drills}
    read: Counter[tuple[Any, ...]] = Counter()
    found = []
    for drills in package.drills:
        if drills.plated is None:
            found.append(f"{drills.name}: does not say whether its holes are plated")
        for hole in drills.holes:
            ends = tuple(sorted(_place(p) for p in hole.path))
            read[(ends, _micro(hole.diameter), drills.plated, hole.function)] += 1
    found += [f"drill files: no hole of {_hole_words(h)}" for h in sorted(drawn - read.keys())]
    found += [f"drill files: a hole that was not drawn, {_hole_words(h)}" for h in sorted(read.keys() - drawn)]
    return found + [f"drill files: drilled {n} times, {_hole_words(h)}" for h, n in sorted(read.items()) if n > 1]


def _drawn_hole(drill: Drill) -> tuple[Any, ...]:
    function = {"component-drill": "ComponentDrill", "via-drill": "ViaDrill", "mechanical-drill": "MechanicalDrill"}
    ends = {_place(drill.at), _place(drill.to or drill.at)}
    return (tuple(sorted(ends)), _micro(drill.diameter), drill.plated, function[drill.function])


def _place(point: tuple[float, float]) -> tuple[float, float]:
    return (_micro(point[0]), _micro(point[1]))


def _micro(value: float) -> float:
    return round(value / PLACE) * PLACE + 0.0


def _hole_words(hole: tuple[Any, ...]) -> str:
    ends, diameter, plated, function = hole
    where = " to ".join(f"({x:.3f}, {y:.3f})" for x, y in ends)
    return f"{diameter:.3f} mm at {where}, {'plated' if plated else 'bare'}, {function or 'no function'}"


def _nets(joined: Connectivity, artwork: Artwork) -> list[str]:
    """Return opens and shorts against the design, and copper whose net names do not agree with what it joins."""
    net_of = artwork.board.description.net_of()
    expected: dict[str, set[PinName]] = {}
    for pad in artwork.board.pads:
        net = net_of.get((pad.reference, pad.number)) or f"no net ({pad.reference}.{pad.number})"
        expected.setdefault(net, set()).add((pad.reference, pad.number))
    groups: dict[PinName, set[int]] = {}
    for number, net_found in enumerate(joined.nets):
        for pin in net_found.pins:
            groups.setdefault(pin, set()).add(number)
    found = []
    owner: dict[int, str] = {}
    for net, pins in sorted(expected.items()):
        here = set().union(*(groups.get(p, set()) for p in pins))
        missing = sorted(p for p in pins if p not in groups)
        found += [f"net {net}: pin {r}.{n} has no copper" for r, n in missing]
        if len(here) > 1:
            found.append(f"net {net}: its pins lie on {len(here)} separate pieces of copper")
        for number in sorted(here):
            if number in owner:
                found.append(f"nets {owner[number]} and {net} are joined")
            owner.setdefault(number, net)
    strangers = sorted(set(groups) - {p for pins in expected.values() for p in pins})
    found += [f"pin {r}.{n} is in the files but not in the design" for r, n in strangers]
    for number, net_found in enumerate(joined.nets):
        wanted = owner.get(number)
        names = net_found.names - {"", "N/C"}
        if len(names) > 1 or (names and wanted and wanted not in names):
            found.append(f"copper of {wanted or 'no pin'} is marked {', '.join(sorted(names))}")
    return found


def _netlist(package: ReadPackage, joined: Connectivity) -> list[str]:
    """Return test points that lie on no copper, and nets of the test netlist that the copper does not bear out."""
    if package.netlist is None:
        return ["no test netlist (.ipc)"]
    found = []
    groups: dict[str, set[int]] = {}
    names: dict[int, set[str]] = {}
    lands = 0
    for record in package.netlist.records:
        if record.code not in ("317", "327"):
            continue
        lands += 1
        layer = 1 if record.side == "02" else 0
        group = joined.group_at(layer, record.at)
        if group is None:
            found.append(f"{package.netlist.name}:{record.line}: {record.reference}-{record.pin} lies on no copper")
        elif record.net != "N/C":
            groups.setdefault(record.net, set()).add(group)
            names.setdefault(group, set()).add(record.net)
    found += [f"{package.netlist.name}: net {n} is in {len(g)} pieces" for n, g in sorted(groups.items()) if len(g) > 1]
    found += [f"{package.netlist.name}: nets {', '.join(sorted(n))} are joined" for n in names.values() if len(n) > 1]
    flashed = {
        (o.at if o.at else (0.0, 0.0), o.attributes.get(".P", ("", ""))[:2], o.field(".N"), "" if _through(o) else name)
        for name, layer in package.layers.items()
        if name.startswith("Copper")
        for o in layer.objects
        if o.kind == "flash" and o.field(".AperFunction") in ("ComponentPad", "SMDPad", "ViaPad")
    }
    if lands != len(flashed):
        found.append(f"{package.netlist.name}: {lands} test points for {len(flashed)} lands")
    return found


def _through(item: Any) -> bool:
    return item.field(".AperFunction") in ("ComponentPad", "ViaPad")


def _job(package: ReadPackage) -> list[str]:
    """Return files that the job file names wrongly, describes wrongly or leaves out."""
    if package.job is None:
        return ["no job file (.gbrjob)"]
    found = []
    listed = {}
    for entry in package.job.get("FilesAttributes", []):
        listed[entry.get("Path")] = (entry.get("FileFunction"), entry.get("FilePolarity"))
    for layer in package.layers.values():
        own = (layer.function, ",".join(layer.attributes.get(".FilePolarity", ())))
        if listed.pop(layer.name, None) != own:
            found.append(f"job file: does not list {layer.name} as {', '.join(own)}")
    return found + [f"job file: lists {path}, which is not there" for path in sorted(map(str, listed))]
