"""Gerber job file: what the board is and what each Gerber file holds, as JSON.

Keys after Ucamco's Gerber Job Format Specification.  Only what is known is written: partial files are allowed there,
and an invented value is worse than none (so no finish, no colours, no laminate).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import modboard
from modboard.artwork.measure import Extreme, gaps_by_kind, smallest_track
from modboard.artwork.model import Artwork, LayerName
from modboard.fab.attributes import project_id
from modboard.fab.names import GERBER_FILES

_GAP_KEYS = {
    ("pad", "pad"): "PadToPad",
    ("pad", "track"): "PadToTrack",
    ("track", "track"): "TrackToTrack",
    ("region", "track"): "TrackToRegion",
    ("region", "region"): "RegionToRegion",
}
_STACK: tuple[tuple[str, LayerName | None], ...] = (
    ("Legend", "legend-top"),
    ("SolderMask", "mask-top"),
    ("Copper", "copper-top"),
    ("Dielectric", None),
    ("Copper", "copper-bottom"),
    ("SolderMask", "mask-bottom"),
    ("Legend", "legend-bottom"),
)


def job_file(
    artwork: Artwork,
    paths: Mapping[str, str],
    *,
    created: str | None = None,
    gaps: Mapping[tuple[str, str], Extreme] | None = None,
) -> str:
    """Return the job file; `paths` gives the file name of each Gerber file that was written.

    The sizes under DesignRules are the smallest really present, in mm; `gaps` saves measuring them again.
    """
    name, identity, revision = project_id(artwork)
    x0, y0, x1, y1 = artwork.board.outline.bounds
    software = {"Vendor": "modboard", "Application": "modboard", "Version": modboard.__version__}
    header: dict[str, Any] = {"GenerationSoftware": software}
    if created is not None:
        header["CreationDate"] = created
    job = {
        "Header": header,
        "GeneralSpecs": {
            "ProjectId": {"Name": name, "GUID": identity, "Revision": revision},
            "Size": {"X": round(x1 - x0, 3), "Y": round(y1 - y0, 3)},
            "LayerNumber": coppers(artwork),
            "BoardThickness": artwork.board.description.rules.thickness,
        },
        "DesignRules": [_design_rules(artwork, gaps_by_kind(artwork) if gaps is None else gaps)],
        "FilesAttributes": [
            {"Path": path, "FileFunction": GERBER_FILES[layer][0], "FilePolarity": GERBER_FILES[layer][1]}
            for layer, path in paths.items()
        ],
        "MaterialStackup": _stack_up(artwork, paths),
    }
    return json.dumps(job, indent=2) + "\n"


def coppers(artwork: Artwork) -> int:
    """Return how many sides of the board have copper."""
    return 1 if artwork.board.description.rules.one_sided else 2


def _design_rules(artwork: Artwork, gaps: Mapping[tuple[str, str], Extreme]) -> dict[str, Any]:
    rules: dict[str, Any] = {"Layers": "Outer"}
    rules |= {key: round(gaps[pair].value, 4) for pair, key in _GAP_KEYS.items() if pair in gaps}
    if track := smallest_track(artwork):
        rules["MinLineWidth"] = round(track.value, 4)
    return rules


def _stack_up(artwork: Artwork, paths: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the layers from top to bottom: those with a file, and the board between the coppers."""
    rules = artwork.board.description.rules
    thickness = {"Copper": rules.copper, "Dielectric": round(rules.thickness - coppers(artwork) * rules.copper, 4)}
    return [
        {"Type": kind} | ({"Thickness": thickness[kind]} if kind in thickness else {})
        for kind, layer in _STACK
        if layer is None or layer in paths
    ]
