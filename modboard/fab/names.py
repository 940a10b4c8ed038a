"""What each file of a package is called and what it says of itself.

Every name is ``<design>-<what>.<ending>``: Gerber layers end in ``.gbr``, drill files in ``.drl``, the test netlist in
``.ipc``, the job file in ``.gbrjob``.  The zip of them all is ``<design>-fab.zip``.
"""

from __future__ import annotations

import re

from modboard.artwork.model import LayerName

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
}
DRILL_FUNCTION = {True: "Plated,1,2,PTH", False: "NonPlated,1,2,NPTH"}
DRILL_NAME = {True: "holes-plated.drl", False: "holes-bare.drl"}
ENDINGS: tuple[str, ...] = (
    *(f"{layer}.gbr" for layer in LAYER_FILES),
    *DRILL_NAME.values(),
    "netlist.ipc",
    "parts.csv",
    "positions.csv",
    "order.txt",
    "job.gbrjob",
    "fab.zip",
)


def stem(design: str) -> str:
    """Return the design's name as it stands in file names: lower case letters, digits and hyphens only."""
    return re.sub(r"[^a-z0-9]+", "-", design.casefold()).strip("-") or "board"


def is_ours(name: str) -> bool:
    """Tell whether a file name follows the pattern, whatever the design."""
    return any(name.endswith(f"-{ending}") for ending in ENDINGS)
