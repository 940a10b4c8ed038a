"""What netlist, net names and job file claim, against what copper and holes show."""

from __future__ import annotations

import shapely

from modboard.fab.readback.evidence import SLACK, Evidence, spot
from modboard.fab.readback.inspect_copper import gap_below, smallest_line
from modboard.fab.readback.verify_lists import job_differences, manifest_differences
from modboard.fab.readback.verify_nets import netlist_differences


def inspect_nets(evidence: Evidence) -> None:
    """Compare what is joined with the test netlist and with the net names on the copper (.N)."""
    package, joined = evidence.package, evidence.joined
    pieces: dict[str, int] = {}
    for copper in joined.nets:
        names = sorted(copper.names - {"", "N/C"})
        if len(names) > 1:
            evidence.find("short", "error", "copper", f"nets {', '.join(names)} are joined (.N)")
        for name in names:
            pieces[name] = pieces.get(name, 0) + bool(copper.pins)
    for name, count in sorted(pieces.items()):
        if count > 1:
            evidence.find("open", "error", f"net {name}", f"its pins lie on {count} separate pieces of copper (.N)")
    named = bool(pieces)
    if package.netlist is None:
        evidence.say(
            "nets", "no test netlist (IPC-D-356A) to compare with" + (f"; {len(pieces)} by .N" if named else "")
        )
        if not named:
            evidence.find(
                "nets", "warning", "package", "neither netlist nor net names: opens and shorts cannot be told"
            )
        return
    lands = named and all(evidence.knows_functions(layer) for layer in evidence.coppers if layer)
    for words in netlist_differences(package, joined):
        if lands or "test points for" not in words:
            evidence.find("netlist", "error", package.netlist.name, words.removeprefix(f"{package.netlist.name}: "))
    _netlist_holes(evidence)
    nets = {r.net for r in package.netlist.records if r.net != "N/C"}
    evidence.say("nets", f"{len(nets)} in the test netlist, {len(pieces)} named on the copper")


def _netlist_holes(evidence: Evidence) -> None:
    """Compare the holes of the test netlist with those of the drill files, to 1 µm."""
    netlist = evidence.package.netlist
    if netlist is None or not evidence.package.drills:
        return
    drilled = [(h, plated) for plated in (True, False) for _, h in evidence.holes(plated)]
    tree = shapely.STRtree([h.core for h, _ in drilled])
    for record in netlist.records:
        if record.hole is None:
            continue
        near = tree.query(shapely.Point(record.at), predicate="dwithin", distance=0.0011)
        size, plated = record.hole
        fits = [k for k in near if size > 9.9985 or abs(drilled[k][0].diameter - size) <= 0.0006]
        if not any(drilled[k][1] is plated for k in fits):
            words = f"no {'plated' if plated else 'bare'} hole of {size:.3f} mm at {spot(record.at)} in the drill files"
            evidence.find("netlist", "error", f"{netlist.name}:{record.line}", words, record.at)
    edge = [
        p
        for outline in netlist.outlines
        if outline.name in ("BOARD_EDGE", "PANEL_EDGE")
        for chain in outline.chains
        for p in chain
    ]
    if edge and evidence.board is not None:
        off = max(abs(a - b) for a, b in zip(shapely.MultiPoint(edge).bounds, evidence.board.bounds, strict=True))
        if off > 0.0015:
            evidence.find("netlist", "error", netlist.name, f"its board edge differs by {off:.3f} mm from the profile")


def inspect_job(evidence: Evidence) -> None:
    """Compare the size and rules of the job file with what the files show."""
    job = evidence.package.job
    if job is None:
        return
    specs = job.get("GeneralSpecs")
    size = specs.get("Size") if isinstance(specs, dict) else None
    if isinstance(size, dict) and evidence.board is not None:
        x0, y0, x1, y1 = evidence.board.bounds
        for axis, measured in (("X", x1 - x0), ("Y", y1 - y0)):
            _agree(evidence, f"board size {axis}", size.get(axis), measured)
    if isinstance(specs, dict) and specs.get("LayerNumber") not in (None, sum(1 for c in evidence.coppers if c)):
        evidence.find("job-file", "error", "job file", f"says {specs['LayerNumber']} copper layers")
    rules = job.get("DesignRules")
    rule = rules[0] if isinstance(rules, list) and rules and isinstance(rules[0], dict) else {}
    if (line := smallest_line(evidence)) is not None and "MinLineWidth" in rule:
        _agree(evidence, "MinLineWidth", rule["MinLineWidth"], line)
    keys = ("PadToPad", "PadToTrack", "TrackToTrack", "TrackToRegion", "RegionToRegion")
    said = [rule[key] for key in keys if isinstance(rule.get(key), int | float)]
    if said and (gap := gap_below(evidence, min(said) - SLACK)) is not None:
        evidence.find("job-file", "error", "job file", "promises wider gaps than there are", None, gap, min(said))


def _agree(evidence: Evidence, what: str, said: object, measured: float) -> None:
    if not isinstance(said, int | float) or abs(said - measured) > 0.0015:
        evidence.find("job-file", "error", "job file", f"{what} is said to be {said!r}, it is {measured:.3f} mm")


def inspect_own_files(evidence: Evidence) -> None:
    """Compare checksums, the manifest and the job file's list with the files that are there."""
    package = evidence.package
    for layer in package.layers.values():
        if layer.checksum_holds is False:
            evidence.find("checksum", "error", layer.name, "the checksum (.MD5) is wrong")
    if package.job is not None:
        for words in job_differences(package):
            evidence.find("job-file", "error", "job file", words.removeprefix("job file: "))
    if package.manifest is not None:
        for words in manifest_differences(package):
            evidence.find("manifest", "error", package.manifest[0], words.removeprefix(f"{package.manifest[0]}: "))
