"""All pictures of a board at once, by file name."""

from __future__ import annotations

from modboard.artwork.model import Artwork
from modboard.check.findings import Findings
from modboard.view.assembly import assembly_view
from modboard.view.board import board_view
from modboard.view.crowding import crowding_view
from modboard.view.png import png as as_png


def pictures(artwork: Artwork, findings: Findings = (), *, png: bool = False) -> dict[str, bytes]:
    """Return the contents of `top.svg`, `bottom.svg` and `assembly.svg`, and of the same as PNG if asked for.

    A board with open connections gets `crowding.svg` too.

    The bottom is drawn as seen from below.  Findings are ringed on all three, with the same numbers.
    """
    drawn = {
        "top": board_view(artwork, "top", findings),
        "bottom": board_view(artwork, "bottom", findings),
        "assembly": assembly_view(artwork, findings),
    }
    if artwork.board.unrouted:
        drawn["crowding"] = crowding_view(artwork)
    files = {f"{name}.svg": svg.encode("utf-8") for name, svg in drawn.items()}
    if png:
        files |= {f"{name}.png": as_png(svg) for name, svg in drawn.items()}
    return files
