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

_NC = (re.compile(r"^T\d{1,3}(?:[CFS][\d.]+)*\s*$", re.MULTILINE), re.compile(r"^[XY]-?[\d.]+\S*\s*$", re.MULTILINE))

_TOP = r"top|front|primary|upper|l1|side ?a|component side|comp side|f(?= (?:cu|copper|mask|silk|paste|legend))"
_BOTTOM = r"bottom|bot|back|secondary|lower|l2|side ?b|solder side|b(?= (?:cu|copper|mask|silk|paste|legend))"
_WHAT = (
    ("Drillmap", r"drill ?(?:map|drawing|guide|chart)"),
    ("AssemblyDrawing", r"assembly|assy"),
    ("Paste", r"paste|stencil|cream"),
    ("Soldermask", r"solder ?mask|mask|resist|stop"),
    ("Legend", r"legend|silk ?screen|silk|silks|overlay|ident|place|placement"),
    ("Copper", r"copper|cu|layer|sig|signal|etch|component side|comp side|solder side"),
)
_EDGE = r"profile|outline|edge|edges|contour|dimension|border|board ?shape"
_BARE = r"npth|bare|non ?plated|unplated"
_PLATED = r"pth|plated"
# Three-letter endings by which board houses ask for layers: G(erber), T(op) or B(ottom), then L(ayer), S(older mask),
# O(verlay) or P(aste); keep-out and mechanical 1 for the edge; and an older set for component and solder side.
_ENDINGS = {
    "gtl": "Copper,L1,Top", "gbl": "Copper,L2,Bot", "gts": "Soldermask,Top", "gbs": "Soldermask,Bot",
    "gto": "Legend,Top", "gbo": "Legend,Bot", "gtp": "Paste,Top", "gbp": "Paste,Bot", "gko": "Profile,NP",
    "gm1": "Profile,NP", "gml": "Profile,NP", "gdd": "Drillmap", "gd1": "Drillmap", "gg1": "Drillmap",
    "cmp": "Copper,L1,Top", "sol": "Copper,L2,Bot", "stc": "Soldermask,Top", "sts": "Soldermask,Bot",
    "plc": "Legend,Top", "pls": "Legend,Bot", "crc": "Paste,Top", "crs": "Paste,Bot", "oln": "Profile,NP",
    "smt": "Soldermask,Top", "smb": "Soldermask,Bot", "sst": "Legend,Top", "ssb": "Legend,Bot", "spt": "Paste,Top",
    "spb": "Paste,Bot",
}  # fmt: skip
# Words that names run together, longest first: "topsoldermask", "boardoutline".
_RUN_TOGETHER = (
    "component", "placement", "secondary", "dimension", "assembly", "primary", "profile", "outline", "contour",
    "drawing", "bottom", "copper", "legend", "solder", "screen", "signal", "border", "paste", "layer", "front", "upper",
    "lower", "board", "drill", "gerber", "plated", "mask", "silk", "stop", "side", "edge", "back", "npth", "place",
    "top", "bot", "pcb", "pth", "non", "map",
)  # fmt: skip
_RUN = re.compile(rf"(?:{'|'.join(_RUN_TOGETHER)})+")
_ONE = re.compile("|".join(_RUN_TOGETHER))


def kind_of(name: str, text: str) -> Kind:
    """Return what kind of file this is, by its content; a job file and nothing else goes by its ending."""
    start = text[:START].lstrip("\ufeff")
    if PurePosixPath(name).suffix.lower() == ".gbrjob":
        return "job"
    if "%FS" in start or (re.search(r"%(MO|TF|AD|AM|IN|LN)", start) and "*%" in start) or "%FS" in text:
        return "gerber"
    if re.match(r"(?:;[^\n]*\n|%|\s)*M48\s*$", start, re.MULTILINE) or PurePosixPath(name).suffix.lower() == ".drl":
        return "drill"
    # before the netlist: a checksum may well begin like one of its records
    if _MANIFEST.match(start) and "manifest" in name.lower():
        return "manifest"
    if _NETLIST.search(start) or PurePosixPath(name).suffix.lower() == ".ipc":
        return "netlist"
    if all(form.search(start) for form in _NC):
        return "drill"  # without a header, which the reader will say
    return "gerber" if PurePosixPath(name).suffix.lower() == ".gbr" else "other"


def layer_function(layer: ReadLayer) -> tuple[str, str]:
    """Return the .FileFunction of a layer and why it is thought to be that; ("", …) if it cannot be told."""
    if layer.function:
        return layer.function, ""
    words, ending = _words(layer.name), PurePosixPath(layer.name).suffix.lower()[1:]
    told = {f for f in (_told_by(words), _ENDINGS.get(ending, _told_by(f"{words} {ending}"))) if f}
    if len(told) > 1:
        return "", f"its name says both {' and '.join(sorted(told))}"
    if told:
        return told.pop(), "by its name"
    if _is_closed_line(layer):
        return "Profile,NP", "because it holds nothing but fine closed lines"
    return "", "neither attributes nor name nor content say which layer it is"


def _told_by(words: str) -> str:
    """Return the .FileFunction that words say, "" if they say none or two sides."""
    if re.search(rf"\b(?:{_EDGE})\b", words):
        return "Profile,NP"
    sides = [side for side, form in (("Top", _TOP), ("Bot", _BOTTOM)) if re.search(rf"\b(?:{form})\b", words)]
    what = next((kind for kind, form in _WHAT if re.search(rf"\b(?:{form})\b", words)), "")
    if what == "Drillmap":
        return what
    if len(sides) != 1:
        return ""
    what = what or "Copper"  # a side and nothing else; that it was taken so is said
    place = {"Top": "L1,Top", "Bot": "L2,Bot"}[sides[0]] if what == "Copper" else sides[0]
    return f"{what},{place}"


def plating(name: str) -> bool | None:
    """Return whether the name of a drill file says that its holes are plated; None if it does not say."""
    words = _words(name)
    if re.search(rf"\b(?:{_BARE})\b", words):
        return False
    return True if re.search(rf"\b(?:{_PLATED})\b", words) else None


def _words(name: str) -> str:
    """Return the words of a file's name without its ending: "Amp_TopSolderMask" and "amp topsoldermask" are alike."""
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", " ", PurePosixPath(name).stem)
    tokens = re.sub(r"[^a-z0-9]+", " ", parted.lower()).split()
    return " ".join(" ".join(_ONE.findall(t)) if _RUN.fullmatch(t) else t for t in tokens)


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
