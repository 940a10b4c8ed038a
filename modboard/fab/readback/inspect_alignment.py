"""Do the layers lie on one another, none mirrored or shifted?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

from modboard.fab.readback.connectivity import SOLDERED
from modboard.fab.readback.evidence import MASKS, PASTES, SIDES, Evidence, Place
from modboard.fab.readback.layer import ReadLayer

FLAT = ("Copper", "Soldermask", "Paste")  # layers that must lie within the board
OVERHANG = 0.2  # mm that an opening or a line may reach over the edge
MATCHED = 0.9  # share of holes or pads that must meet what belongs to them


def inspect_alignment(evidence: Evidence) -> None:
    """Look at profile, extent, common coordinates and mirroring."""
    package, board = evidence.package, evidence.board
    if not any(evidence.coppers):
        evidence.find("copper-missing", "error", "package", "no file is a copper layer")
    if board is None:
        evidence.find("profile", "error", "package", "no file shows a closed edge of the board")
    else:
        x0, y0, x1, y1 = board.bounds
        evidence.say("board", f"{x1 - x0:.2f} × {y1 - y0:.2f} mm")
        for layer in package.layers.values():
            if layer.objects and layer.function.startswith(FLAT):
                _extent(evidence, layer, board)
        for drills in package.drills:
            out = [h for h in drills.holes if not shapely.box(x0, y0, x1, y1).buffer(1e-3).intersects(h.core)]
            if out:
                where = f"{drills.name}:{out[0].line}"
                evidence.find("alignment", "error", where, f"{len(out)} holes lie off the board", out[0].path[0])
    said = [layer.attributes for layer in package.layers.values()] + [drills.attributes for drills in package.drills]
    marks = {attributes[".SameCoordinates"] for attributes in said if ".SameCoordinates" in attributes}
    if len(marks) > 1:
        evidence.find(
            "alignment", "error", "package", "files say that they have different coordinates (.SameCoordinates)"
        )
    if board is not None:
        _mirrored(evidence, (board.bounds[0] + board.bounds[2]) / 2)


def _extent(evidence: Evidence, layer: ReadLayer, board: Any) -> None:
    over = layer.image.difference(board.buffer(OVERHANG))
    if over.area > 0.01:
        point = over.representative_point()
        message = f"{over.area:.2f} mm² lie off the board: shifted, mirrored or in another unit?"
        evidence.find("alignment", "error", layer.name, message, (point.x, point.y))


def _mirrored(evidence: Evidence, middle: float) -> None:
    """Compare how well things meet as they are with how they would mirrored about the board's middle."""
    drilled = [h for plated in (True, False) for _, h in evidence.holes(plated) if plated or h.function in SOLDERED]
    holes = [hole.path[0] for hole in drilled]
    for side, layer in enumerate(evidence.coppers):
        if layer is None:
            continue
        _compare(evidence, layer, holes, middle, "holes with lands meet copper")
        pads = [o.at for _, o in evidence.pads(side) if o.at] if evidence.knows_functions(layer) else []
        for name, words in ((MASKS[side], "pads lie in openings"), (PASTES[side], "")):
            other = evidence.package.layer(name)
            if other and words and pads:
                _compare(evidence, other, pads, middle, words)
            elif other and not evidence.knows_functions(layer):
                _openings_meet(evidence, layer, other, middle)
    evidence.say(
        "alignment", f"{len(holes)} holes with lands and all pads tried against {' and '.join(SIDES)}, and mirrored"
    )


def _openings_meet(evidence: Evidence, copper: ReadLayer, other: ReadLayer, middle: float) -> None:
    """Where nothing says which flashes are pads, what is flashed on mask and paste must meet copper or a bare hole."""
    bare = [h.core.buffer(h.diameter / 2) for _, h in evidence.holes(plated=False)]
    places = [o.at for o in other.objects if o.at and o.dark]
    target = shapely.union_all([copper.image, *bare])
    _weigh(evidence, other, places, target, middle, f"openings of {other.name} meet copper or a bare hole")


def _compare(evidence: Evidence, layer: ReadLayer, points: Sequence[Place], middle: float, words: str) -> None:
    if not points or not layer.objects:
        return
    _weigh(evidence, layer, points, layer.image, middle, words)


def _weigh(
    evidence: Evidence, layer: ReadLayer, points: Sequence[Place], image: Any, middle: float, words: str
) -> None:
    if not points:
        return
    shapely.prepare(image)
    good = sum(map(bool, shapely.intersects(image, shapely.points(points))))
    if good >= MATCHED * len(points):
        return
    flipped = sum(map(bool, shapely.intersects(image, shapely.points([(2 * middle - x, y) for x, y in points]))))
    if flipped > good:
        message = f"only {good} of {len(points)} {words}; mirrored, {flipped} would: the layer is mirrored"
    else:
        message = f"only {good} of {len(points)} {words}: shifted, or of another board"
    evidence.find("alignment", "error", layer.name, message)
