"""Compares a written package with the artwork it should show.  An empty list means that they are the same board."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any

from modboard.artwork.model import Artwork, Drill, Flash, Function, Layer, LayerName
from modboard.check.findings import Findings
from modboard.fab.readback.compare import layer_difference
from modboard.fab.readback.connectivity import connectivity
from modboard.fab.readback.holes import ReadDrills
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.package import ReadPackage, read_package
from modboard.fab.readback.verify_lists import (
    component_differences,
    drawing_differences,
    job_differences,
    manifest_differences,
)
from modboard.fab.readback.verify_netlist import figure_differences, record_differences
from modboard.fab.readback.verify_nets import net_differences, netlist_differences

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
    "score": "Vcut",
}
EXTRAS = ("Component,", "AssemblyDrawing,", "Drillmap")  # compared by what they say, not by their image
# GLFS 5.6.10: what the objects of each kind must say they are for.
APERTURES: dict[Function, str] = {
    "component-pad": "ComponentPad", "surface-pad": "SMDPad,CuDef", "via-pad": "ViaPad", "washer-pad": "WasherPad",
    "conductor": "Conductor", "non-conductor": "NonConductor", "profile": "Profile", "mask-opening": "Material",
    "paste": "Material", "legend": "Material", "fiducial": "FiducialPad,Panel", "score": "Other,Score",
}  # fmt: skip
PLACE = 1e-5  # mm


GROUPS = frozenset({"layers", "holes", "components", "drawings", "netlist", "parts", "positions", "job", "manifest"})


def verify(source: Path, artwork: Artwork, findings: Findings = (), groups: Collection[str] = GROUPS) -> list[str]:
    """Return every difference between the package at `source` (folder or zip) and `artwork`, in words.

    Compared: every layer's area and outline, every hole with size, plating and function, the nets that copper and
    holes make against those of the design, net names on the copper, the test netlist, the job file and the checksums.
    An open or a short is passed over only where one of `findings` names it and has been waived.
    `groups` are the groups of files that the package was to have; the others are not missed.
    Raises ReadError if a file cannot be read at all.
    """
    return differences(read_package(source), artwork, findings, groups)


def differences(
    package: ReadPackage, artwork: Artwork, findings: Findings = (), groups: Collection[str] = GROUPS
) -> list[str]:
    """Return every difference between a package that has been read and `artwork`; see `verify`."""
    found = list(package.warnings)
    if "layers" in groups:
        found += _layers(package, artwork)
    if "holes" in groups:
        found += hole_differences(package.drills, artwork)
    if {"layers", "holes"} <= set(groups):
        joined = connectivity(package)
        found += net_differences(joined, artwork, findings)
        if "netlist" in groups:
            found += netlist_differences(package, joined, findings)
    if "netlist" in groups:
        found += record_differences(package, artwork)
    if "components" in groups:
        found += component_differences(package, artwork)
    if "drawings" in groups:
        found += drawing_differences(package, artwork)
    if "job" in groups:
        found += job_differences(package) + figure_differences(package, artwork)
    if "manifest" in groups:
        found += manifest_differences(package)
    return found


def _layers(package: ReadPackage, artwork: Artwork) -> list[str]:
    found = []
    for layer in artwork.layers:
        read = package.layer(FUNCTIONS[layer.name])
        if read is None:
            found.append(f"{layer.name}: no file says that it is {FUNCTIONS[layer.name]}")
            continue
        if read.checksum_holds is False:
            found.append(f"{read.name}: the checksum (.MD5) is wrong")
        if words := layer_difference(read, layer):
            found.append(f"{read.name}: {words}")
        if words := function_difference(read, layer):
            found.append(f"{read.name}: {words}")
    known = {FUNCTIONS[layer.name] for layer in artwork.layers}
    extra = [f for f in package.layers if f not in known and not f.startswith(EXTRAS)]
    return found + [
        f"{package.layers[f].name}: nothing was drawn for {f or 'a layer without function'}" for f in sorted(extra)
    ]


def function_difference(read: ReadLayer, layer: Layer) -> str:
    """Return in words where pads, lines and areas say that they are for something else, or of another part."""
    part = not layer.name.startswith(("copper", "profile"))  # copper names its pins by .P, which the nets look at
    said = [
        (o.kind == "flash", ",".join(o.attributes.get(".AperFunction", ())), o.field(".C") if part else "")
        for o in read.objects
        if o.dark
    ]
    drawn = [(isinstance(f, Flash), APERTURES[f.function], f.owner.reference if part else "") for f in layer.features]
    strange = Counter(row for row in said if row[0]) - Counter(row for row in drawn if row[0])
    others = {row for row in said if not row[0]} ^ {row for row in drawn if not row[0]}
    for _, function, reference in sorted([*strange, *others]):
        of = f" of part {reference}" if reference else ""
        return f"what is {function or 'of no function'}{of} in the file or in the drawing is not so in the other"
    return ""


def hole_differences(read_drills: Sequence[ReadDrills], artwork: Artwork) -> list[str]:
    """Return holes that only the files have or only the drawing has (a hole drawn twice counts once)."""
    drawn = {_drawn_hole(d) for d in artwork.drills}
    read: Counter[tuple[Any, ...]] = Counter()
    found = []
    for drills in read_drills:
        if drills.plated is None:
            found.append(f"{drills.name}: does not say whether its holes are plated")
        for hole in drills.holes:
            ends = tuple(sorted(_place(p) for p in hole.path))
            read[(ends, _micro(hole.diameter), drills.plated, hole.function)] += 1
    found += [f"drill files: no hole of {_hole_words(h)}" for h in sorted(drawn - read.keys())]
    found += [f"drill files: a hole that was not drawn, {_hole_words(h)}" for h in sorted(read.keys() - drawn)]
    return found + [f"drill files: drilled {n} times, {_hole_words(h)}" for h, n in sorted(read.items()) if n > 1]


def _drawn_hole(drill: Drill) -> tuple[Any, ...]:
    via = "ViaDrill" if drill.plated else "ComponentDrill"  # GLFS 5.6.10: a bare one takes a wire
    function = {"component-drill": "ComponentDrill", "via-drill": via, "mechanical-drill": "MechanicalDrill"}
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
