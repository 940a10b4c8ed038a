"""What each file of a package is called, what it says of itself, and which groups of files can be chosen.

Every name is ``<design>-<what>.<ending>``: Gerber files end in ``.gbr``, drill files in ``.drl``, the test netlist in
``.ipc``, the job file in ``.gbrjob``.  The zip of them all is ``<design>-fab.zip``.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from modboard.artwork.model import LayerName
from modboard.errors import ModboardError, nearest
from modboard.layout.board import CopperLayer

# Layer, .FileFunction and .FilePolarity (GLFS 5.6.3 and 5.6.4: a mask is drawn by its openings, hence negative).
LAYER_FILES: dict[LayerName, tuple[str, str]] = {
    "copper-top": ("Copper,L1,Top", "Positive"),
    "copper-bottom": ("Copper,L2,Bot", "Positive"),
    "mask-top": ("Soldermask,Top", "Negative"),
    "mask-bottom": ("Soldermask,Bot", "Negative"),
    "legend-top": ("Legend,Top", "Positive"),
    "legend-bottom": ("Legend,Bot", "Positive"),
    "paste-top": ("Paste,Top", "Positive"),
    "paste-bottom": ("Paste,Bot", "Positive"),
    "profile": ("Profile,NP", "Positive"),
    "score": ("Vcut", "Positive"),
}
# GLFS 6.9 (X3 component layers) and table of .FileFunction values, drawing layers.
COMPONENT_FILES: dict[CopperLayer, tuple[str, str, str]] = {
    "top": ("components-top", "Component,L1,Top", "Positive"),
    "bottom": ("components-bottom", "Component,L2,Bot", "Positive"),
}
ASSEMBLY_FILES: dict[CopperLayer, tuple[str, str, str]] = {
    "top": ("assembly-top", "AssemblyDrawing,Top", "Positive"),
    "bottom": ("assembly-bottom", "AssemblyDrawing,Bot", "Positive"),
}
DRILL_DRAWING = ("drill-drawing", "Drillmap", "Positive")
GERBER_FILES: dict[str, tuple[str, str]] = {**LAYER_FILES} | {
    name: (function, polarity)
    for name, function, polarity in (*COMPONENT_FILES.values(), *ASSEMBLY_FILES.values(), DRILL_DRAWING)
}
DRILL_FUNCTION = {True: "Plated,1,2,PTH", False: "NonPlated,1,2,NPTH"}
DRILL_NAME = {True: "holes-plated.drl", False: "holes-bare.drl"}
ENDINGS: tuple[str, ...] = (
    *(f"{layer}.gbr" for layer in GERBER_FILES),
    *DRILL_NAME.values(),
    "netlist.ipc",
    "parts.csv",
    "positions.csv",
    "order.txt",
    "job.gbrjob",
    "manifest.txt",
    "fab.zip",
)
GROUPS = (
    "layers", "holes", "components", "drawings", "netlist", "parts", "positions", "order", "job", "manifest",
)  # fmt: skip


def chosen(words: Collection[str]) -> frozenset[str]:
    """Return the groups of files named by `words`; all of them if there are none.

    Raises ModboardError for a word that is no group, with the nearest names.
    """
    for word in words:
        if word not in GROUPS:
            near = nearest(word, GROUPS) or GROUPS
            raise ModboardError(f'there is no group of files "{word}"; did you mean {" or ".join(near)}?')
    return frozenset(words or GROUPS)


def stem(design: str) -> str:
    """Return the design's name as it stands in file names: lower case letters, digits and hyphens only."""
    return re.sub(r"[^a-z0-9]+", "-", design.casefold()).strip("-") or "board"


def is_ours(name: str) -> bool:
    """Tell whether a file name follows the pattern, whatever the design."""
    return any(name.endswith(f"-{ending}") for ending in ENDINGS)
