"""What a file is, and which layer: from what it says of itself, else from its name, else from what is in it.

Nothing is guessed in silence: whatever was not said by the file itself comes back with the reason.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Literal

from modboard.fab.readback.layer import ReadLayer

Kind = Literal["gerber", "drill", "netlist", "job", "manifest", "other"]
START = 4000  # characters that are looked at
FINE_PEN = 0.3  # mm; an edge is drawn with a pen no wider
_NETLIST = re.compile(r"^(?:P  (?:JOB|UNITS|CODE|TITLE|VER)|[30][1-6]7)", re.MULTILINE)
_MANIFEST = re.compile(r"[0-9a-f]{64}  \S")

_TOP = r"top|front|primary|upper|l1|side ?a"
_BOTTOM = r"bottom|bot|back|secondary|lower|l2|side ?b"
_WHAT = (
    ("Paste", r"paste|stencil"),
    ("Soldermask", r"solder ?mask|mask|resist"),
    ("Legend", r"legend|silk ?screen|silk|overlay|ident"),
    ("Copper", r"copper|cu|layer|sig|signal"),
)
_EDGE = r"profile|outline|edge|edges|contour|board ?outline|dimension"
_BARE = r"npth|bare|non ?plated|unplated"
_PLATED = r"pth|plated"


def kind_of(name: str, text: str) -> Kind:
    """Return what kind of file this is, by its content; a job file and nothing else goes by its ending."""
    start = text[:START].lstrip("\ufeff")
    if PurePosixPath(name).suffix.lower() == ".gbrjob":
        return "job"
    if "%FS" in start or (re.search(r"%(MO|TF|AD|AM|IN|LN)", start) and "*%" in start) or "%FS" in text:
        return "gerber"
    if re.match(r"(?:;[^\n]*\n|\s)*M48\s*$", start, re.MULTILINE) or PurePosixPath(name).suffix.lower() == ".drl":
        return "drill"
    if _NETLIST.search(start) or PurePosixPath(name).suffix.lower() == ".ipc":
        return "netlist"
    if _MANIFEST.match(start) and "manifest" in name.lower():
        return "manifest"
    return "gerber" if PurePosixPath(name).suffix.lower() == ".gbr" else "other"


def layer_function(layer: ReadLayer) -> tuple[str, str]:
    """Return the .FileFunction of a layer and why it is thought to be that; ("", …) if it cannot be told."""
    if layer.function:
        return layer.function, ""
    words = _words(layer.name)
    if re.search(rf"\b(?:{_EDGE})\b", words):
        return "Profile,NP", "by its name"
    sides = [side for side, form in (("Top", _TOP), ("Bot", _BOTTOM)) if re.search(rf"\b(?:{form})\b", words)]
    what = next((kind for kind, form in _WHAT if re.search(rf"\b(?:{form})\b", words)), "")
    if len(sides) == 1 and what:
        place = {"Top": "L1,Top", "Bot": "L2,Bot"}[sides[0]] if what == "Copper" else sides[0]
        return f"{what},{place}", "by its name"
    if _is_closed_line(layer):
        return "Profile,NP", "because it holds nothing but fine closed lines"
    return "", "neither attributes nor name nor content say which layer it is"


def plating(name: str) -> bool | None:
    """Return whether the name of a drill file says that its holes are plated; None if it does not say."""
    words = _words(name)
    if re.search(rf"\b(?:{_BARE})\b", words):
        return False
    return True if re.search(rf"\b(?:{_PLATED})\b", words) else None


def _words(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", " ", PurePosixPath(name).stem.lower())


def _is_closed_line(layer: ReadLayer) -> bool:
    """Tell whether a layer is one or more closed lines and nothing else."""
    if not layer.objects or any(o.kind != "draw" or o.radius * 2 > FINE_PEN for o in layer.objects):
        return False
    ends: dict[tuple[float, float], int] = {}
    for item in layer.objects:
        points: Sequence[tuple[float, float]] = item.core.coords
        for x, y in (points[0], points[-1]):
            key = (round(x, 3), round(y, 3))
            ends[key] = ends.get(key, 0) + 1
    return all(count == 2 for count in ends.values())
