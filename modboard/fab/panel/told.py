"""What the order note of a panel must say: the findings of its boards, and what parting the boards may break."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely

from modboard.artwork.model import Artwork
from modboard.check.findings import Finding, Findings
from modboard.fab.panel import figures
from modboard.geometry import TOLERANCE


def panel_findings(findings: Sequence[Findings], artworks: Sequence[Artwork], made: Artwork) -> Findings:
    """Return the findings of the designs for the order note, nets of waived ones by their names on the panel too."""
    told: list[Finding] = []
    for own, artwork in zip(findings, artworks, strict=True):
        nets = {n.name for n in artwork.board.description.nets}
        for finding in own:
            said = f"{finding.where} {finding.message}".replace(",", " ").split()
            copies = [
                n.name for n in made.board.description.nets if (b := n.name.rpartition("-")[0]) in nets and b in said
            ]
            more = f" (on the panel: {', '.join(copies)})" if finding.waived and copies else ""
            told.append(replace(finding, message=finding.message + more))
    return (*told, *_overhangs(artworks, made), *_ceramics(made))


def _overhangs(artworks: Sequence[Artwork], made: Artwork) -> list[Finding]:
    """Find parts that reach over their board's edge as far as the next board or the rail."""
    free = 0.0 if made.layer("score").features else figures.SLOT
    found = []
    for artwork in artworks:
        outline = artwork.board.outline
        for placed in artwork.board.parts:
            over = [shapely.Polygon(body.outline).difference(outline) for body in placed.bodies()]
            reach = max((outline.hausdorff_distance(outline.union(o)) for o in over if o.area > 1e-3), default=0.0)
            if reach > free + TOLERANCE:
                where = f"part {placed.part.reference} of {artwork.board.description.name}"
                words = f"reaches {reach:.1f} mm over the board's edge; fit it after the boards are parted"
                found.append(Finding("panel-overhang", "warning", None, where, words, reach, free))
    return found


def _ceramics(made: Artwork) -> list[Finding]:
    """Find ceramic chip capacitors that parting may crack: too near a row of breaking holes or a score."""
    bites = [d.shape.core for d in made.drills if d.diameter == figures.BITE and not d.owner.reference and not d.plated]
    scores = [f.shape.core for f in made.layer("score").features]
    found: dict[str, Finding] = {}
    for placed in made.board.parts:
        part = placed.part
        if part.footprint.technology != "surface-mount" or part.kind != "capacitor" or part.footprint.family != "chip":
            continue
        bodies = shapely.union_all([shapely.Polygon(body.outline) for body in placed.bodies()])
        for lines, least, what in (
            (bites, figures.CERAMIC_TO_BITE, "holes along which a tab breaks"),
            (scores, figures.CERAMIC_TO_SCORE, "a score"),
        ):
            near = float(bodies.distance(shapely.GeometryCollection(lines))) if lines else least
            name = part.reference.rpartition("-")[0]
            if near < least - TOLERANCE and name not in found:
                words = f"ceramic capacitor {near:.1f} mm from {what}; it may crack: fit it after parting, or saw"
                found[name] = Finding("panel-ceramic", "warning", placed.at, f"part {name}", words, near, least)
    return list(found.values())
