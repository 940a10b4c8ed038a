"""What a package shows by itself, gathered once for all inspections: images, board area, holes and connectivity."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

from modboard.check.findings import Finding
from modboard.fab.readback.connectivity import Connectivity, connectivity
from modboard.fab.readback.holes import ReadHole
from modboard.fab.readback.layer import ReadLayer, ReadObject
from modboard.fab.readback.package import COPPERS, ReadPackage
from modboard.fab.readback.profile import board_area

Place = tuple[float, float]
SIDES = ("top", "bottom")
MASKS = ("Soldermask,Top", "Soldermask,Bot")
LEGENDS = ("Legend,Top", "Legend,Bot")
PASTES = ("Paste,Top", "Paste,Bot")
PADS = ("ComponentPad", "SMDPad", "BGAPad", "ConnectorPad", "TestPad", "HeatsinkPad", "CastellatedPad")
SLACK = 0.002  # mm; chords stand for curves and files are on a grid


@dataclass
class Evidence:
    """A package and what has been found out about it: `figures` in words, `findings` with places in mm."""

    package: ReadPackage
    figures: list[tuple[str, str]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def say(self, name: str, words: str) -> None:
        """Note a figure."""
        self.figures.append((name, words))

    def find(
        self,
        rule: str,
        severity: Literal["error", "warning"],
        where: str,
        message: str,
        at: Place | None = None,
        measured: float | None = None,
        required: float | None = None,
    ) -> None:
        """Note what is wrong or doubtful."""
        self.findings.append(Finding(rule, severity, at, where, message, measured, required))

    @cached_property
    def coppers(self) -> tuple[ReadLayer | None, ReadLayer | None]:
        """The copper layers, top and bottom."""
        return (self.package.layer(COPPERS[0]), self.package.layer(COPPERS[1]))

    @cached_property
    def joined(self) -> Connectivity:
        """Which copper hangs together."""
        return connectivity(self.package)

    @cached_property
    def board(self) -> Any:
        """The area inside the profile, openings left out; None if there is no closed profile."""
        return board_area(self.package.layer("Profile,NP") or self.package.layer("Profile,P"))

    def holes(self, plated: bool) -> Iterator[tuple[str, ReadHole]]:
        """Walk the holes with the name of their file."""
        for drills in self.package.drills:
            if drills.plated is plated:
                yield from ((drills.name, hole) for hole in drills.holes)

    def pads(self, side: int) -> list[tuple[int, ReadObject]]:
        """Return the lands of one side that are to be soldered, with their numbers in the layer.

        Files without .AperFunction do not tell lands from vias: there every flash counts.
        """
        layer = self.coppers[side]
        if layer is None:
            return []
        flashes = [(k, o) for k, o in enumerate(layer.objects) if o.kind == "flash" and o.dark]
        if not self.knows_functions(layer):
            return flashes
        return [(k, o) for k, o in flashes if o.field(".AperFunction") in PADS]

    def knows_functions(self, layer: ReadLayer) -> bool:
        """Tell whether the file says what its apertures are for."""
        return any(".AperFunction" in o.attributes for o in layer.objects)


def spot(at: Place) -> str:
    """Return a place in words."""
    return f"({at[0]:.3f}, {at[1]:.3f}) mm"


def inside(shape: Any) -> Place:
    """Return a point inside a shape."""
    point = shape.representative_point()
    return (point.x, point.y)
