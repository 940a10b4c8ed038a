"""The largest board a room allows before there is a circuit: outline, area, clear heights over and under it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from modboard.describe.cavity import Cavity
from modboard.describe.model import CavityModel, Obstacle
from modboard.describe.outline import board_outline
from modboard.describe.rules import Rules
from modboard.fit.room import LID_MARGIN


@dataclass(frozen=True)
class Zone:
    """Ground of the board (shapely) with the height in mm that parts may have there, over and under it.

    The margin to lid and floor and the measuring tolerance are taken off; None where nothing was measured.
    """

    name: str
    ground: Any
    above: float | None
    below: float | None

    @property
    def words(self) -> str:
        """Return 'at coil: 6.30 mm above and 2.20 mm below'."""
        sides = ((self.above, "above"), (self.below, "below"))
        heights = [f"{height:.2f} mm {side}" for height, side in sides if height is not None]
        return f"{self.name}: {' and '.join(heights) or 'not measured'}"


@dataclass(frozen=True)
class Blank:
    """The largest board: `outline` (shapely, mm, in the room's frame), remarks, and zones, the whole board first."""

    cavity: CavityModel
    rules: Rules
    outline: Any
    notes: tuple[str, ...]
    zones: tuple[Zone, ...]

    @property
    def area(self) -> float:
        """Return the area in mm²."""
        return float(self.outline.area)

    @property
    def words(self) -> tuple[str, ...]:
        """Return size, area and clear heights in lines."""
        x0, y0, x1, y1 = self.outline.bounds
        lines = [f"largest board: {x1 - x0:.2f} × {y1 - y0:.2f} mm, {self.area:.0f} mm², from ({x0:.2f}, {y0:.2f}) mm"]
        for zone in self.zones:
            lines.append(f"clear height for parts, {zone.words}")
        return (*lines, *self.notes)


def blank(cavity: Cavity, rules: Rules | None = None) -> Blank:
    """Return the largest board for a room, under the rule set "pool" unless another is given.

    Raises DesignError if no useful board is left, or if it falls apart.
    """
    chosen = rules or Rules.named("pool")
    model = cavity.model()
    found = board_outline(model, chosen.thickness, chosen.cutter, cavity.site)
    above, below = _general(model, chosen)
    zones = [Zone("everywhere else" if model.obstacles else "everywhere", found.polygon, above, below)]
    for obstacle in model.obstacles:
        ground = obstacle.outline.intersection(found.polygon)
        if ground.area > 0:
            zones.append(_under(obstacle, ground, model, chosen, above, below))
    if len(zones) == 1:
        zones = [Zone("everywhere", found.polygon, above, below)]
    return Blank(model, chosen, found.polygon, found.notes, tuple(zones))


def _general(model: CavityModel, rules: Rules) -> tuple[float | None, float | None]:
    """Return the clear heights above and below the board where nothing stands in the way."""
    less = LID_MARGIN + model.measured_to
    above = [model.clear_above] if model.clear_above is not None else []
    if model.height is not None:
        above.append(model.height - model.board_at - rules.thickness)
    below = min([model.board_at, *([model.clear_below] if model.clear_below is not None else [])])
    return (max(0.0, min(above) - less) if above else None, max(0.0, below - less))


def _under(
    obstacle: Obstacle, ground: Any, model: CavityModel, rules: Rules, above: float | None, below: float | None
) -> Zone:
    """Return the zone that an obstacle over or under the board leaves; both its figures may be out."""
    less = LID_MARGIN + 2 * model.measured_to
    name = f"at {obstacle.name}"
    if obstacle.bottom >= model.board_at + rules.thickness:
        clear = max(0.0, obstacle.bottom - model.board_at - rules.thickness - less)
        return Zone(name, ground, clear if above is None else min(clear, above), below)
    clear = max(0.0, model.board_at - (obstacle.top or 0.0) - less)
    return Zone(name, ground, above, clear if below is None else min(clear, below))
