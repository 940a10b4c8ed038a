"""What every rule is given: the board, its artwork, and what is worked out from them once for all rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from modboard.artwork.model import Artwork, Drill, Feature
from modboard.check.copper import Copper, drawn, has_land
from modboard.check.shapeset import ShapeSet
from modboard.check.wiring import Wiring
from modboard.describe.model import Description, Net, PinRef
from modboard.describe.rules import Rules
from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer


@dataclass(frozen=True, eq=False)
class Inspection:
    """A board under inspection."""

    board: Board
    artwork: Artwork

    @property
    def description(self) -> Description:
        """What was asked for."""
        return self.board.description

    @property
    def rules(self) -> Rules:
        """The rule set of the design."""
        return self.board.description.rules

    @cached_property
    def nets(self) -> dict[str, Net]:
        """Every net by name."""
        return {net.name: net for net in self.description.nets}

    @cached_property
    def wiring(self) -> Wiring:
        """The circuit: pins with their types, net by net."""
        return Wiring(self.description)

    @cached_property
    def pad_places(self) -> dict[PinRef, Position]:
        """Where each pin's land is; the last of them where there are several."""
        return {(p.reference, p.number): p.at for p in self.board.pads}

    @cached_property
    def copper(self) -> Copper:
        """The copper of both layers."""
        return Copper(self.artwork)

    @cached_property
    def drills(self) -> ShapeSet:
        """Every hole, in the order of `artwork.drills`."""
        return ShapeSet([d.shape for d in self.artwork.drills])

    @cached_property
    def openings(self) -> dict[CopperLayer, tuple[tuple[Feature, ...], ShapeSet]]:
        """The openings in the mask of each side, and their shapes."""
        found = {side: drawn(self.artwork, "mask", side) for side in COPPER_LAYERS}
        return {side: (features, ShapeSet([f.shape for f in features])) for side, features in found.items()}

    @cached_property
    def bare_drills(self) -> tuple[Drill, ...]:
        """The holes that join nothing: screws, pegs."""
        return tuple(d for d in self.artwork.drills if not has_land(d))

    @cached_property
    def pad_drills(self) -> tuple[Drill, ...]:
        """The holes that need copper round them: leads and vias."""
        return tuple(d for d in self.artwork.drills if has_land(d))
