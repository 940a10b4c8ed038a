"""The largest board a room allows before there is a circuit: outline, holes, area, clear heights over and under it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import shapely

from modboard.describe.cavity import Cavity
from modboard.describe.faces import obstacle_to
from modboard.describe.model import CavityModel, MountingHole, Obstacle
from modboard.describe.outline import THICKNESS_TO, board_outline
from modboard.describe.rules import Rules
from modboard.errors import CallSite, DesignError
from modboard.fit.room import LID_MARGIN
from modboard.fit.supports import HOLE_TO

LEAST_GROUND = 0.5  # mm²; smaller zones are rounding


@dataclass(frozen=True)
class Height:
    """Clear height in mm as measured, and what parts may have of it: every ± and the margin of air taken off."""

    nominal: float
    usable: float


@dataclass(frozen=True)
class Zone:
    """Ground of the board (shapely) with the clear height over and under it; None where nothing was measured."""

    name: str
    ground: Any
    above: Height | None
    below: Height | None

    @property
    def words(self) -> str:
        """Return 'at coil: 6.30 mm above (7.40 as measured) and 2.20 mm below (3.00 as measured)'."""
        sides = ((self.above, "above"), (self.below, "below"))
        heights = [f"{h.usable:.2f} mm {side} ({h.nominal:.2f} as measured)" for h, side in sides if h is not None]
        return f"{self.name}: {' and '.join(heights) or 'not measured'}"


@dataclass(frozen=True)
class Blank:
    """The largest board: `outline` (shapely, mm, in the room's frame), remarks, zones that share it, and holes."""

    cavity: CavityModel
    rules: Rules
    outline: Any
    notes: tuple[str, ...]
    zones: tuple[Zone, ...]
    holes: tuple[MountingHole, ...] = ()

    @property
    def area(self) -> float:
        """Return the area in mm²."""
        return float(self.outline.area)

    @property
    def words(self) -> tuple[str, ...]:
        """Return size, area, clear heights and holes in lines."""
        x0, y0, x1, y1 = self.outline.bounds
        lines = [f"largest board: {x1 - x0:.2f} × {y1 - y0:.2f} mm, {self.area:.0f} mm², from ({x0:.2f}, {y0:.2f}) mm"]
        lines += [f"clear height for parts, {zone.words}" for zone in self.zones]
        lines += [f"hole for {h.name}: {h.diameter:g} mm at ({h.at[0]:g}, {h.at[1]:g})" for h in self.holes]
        if self.cavity.metal or any(o.metal for o in self.cavity.obstacles):
            lines.append("caution: bare metal near the board; insulate it, or keep 1 mm of air to leads and copper")
        return (*lines, *self.notes)


def blank(cavity: Cavity, rules: Rules | None = None) -> Blank:
    """Return the largest board for a room, under the rule set "pool" unless another is given.

    Raises DesignError if no useful board is left, or if it falls apart.
    """
    return blank_of(cavity.model(), rules or Rules.named("pool"), cavity.site)


def blank_of(model: CavityModel, rules: Rules, site: CallSite) -> Blank:
    """Return the same for a frozen room; DesignError also for a board that would stand over the lid."""
    over = model.board_at + rules.thickness - model.height if model.height is not None else 0.0
    if over > 0:
        raise DesignError(
            f"a board {rules.thickness:g} mm thick, {model.board_at:g} mm above the floor, is {over:.2f} mm over the "
            f"lid at {model.height:g} mm; give board_at= a smaller figure",
            site,
        )
    found = board_outline(model, rules.thickness, rules.cutter, site)
    return Blank(model, rules, found.polygon, found.notes, _zones(model, rules, found.polygon), _holes(model))


def _zones(model: CavityModel, rules: Rules, outline: Any) -> tuple[Zone, ...]:
    """Return the ground parted by what stands over and under it, the general zone first, then the largest."""
    above, below = _general(model, rules)
    zones = [Zone("everywhere", outline, above, below)]
    for obstacle in model.obstacles:
        if obstacle.through:
            continue
        parted: list[Zone] = []
        for zone in zones:
            within, rest = zone.ground.intersection(obstacle.outline), zone.ground.difference(obstacle.outline)
            if within.area <= LEAST_GROUND:
                parted.append(zone)
                continue
            under = _under(obstacle, replace(zone, ground=within), model, rules)
            if (under.above, under.below) == (zone.above, zone.below):  # it takes nothing of the height there is
                parted.append(zone)
                continue
            if rest.area > LEAST_GROUND:
                parted.append(replace(zone, ground=rest))
            parted.append(under)
        zones = parted
    general = [z for z in zones if z.name == "everywhere"]
    others = sorted((z for z in zones if z.name != "everywhere"), key=lambda z: (-round(z.ground.area, 3), z.name))
    return (*(replace(z, name="everywhere else" if others else z.name) for z in general), *others)


def _general(model: CavityModel, rules: Rules) -> tuple[Height | None, Height | None]:
    """Return the clear heights above and below the board where nothing stands in the way."""
    above: list[Height] = []
    if model.clear_above is not None:
        above.append(_height(model.clear_above, model.within(model.clear_above_to)))
    if model.height is not None:
        loose = model.within(model.height_to) + model.board_at_to + THICKNESS_TO * rules.thickness
        above.append(_height(model.height - model.board_at - rules.thickness, loose))
    below = [_height(model.board_at, model.board_at_to or model.measured_to)]
    if model.clear_below is not None:
        below.append(_height(model.clear_below, model.within(model.clear_below_to)))
    return _least(above), _least(below)


def _height(nominal: float, loose: float) -> Height:
    return Height(max(0.0, nominal), max(0.0, nominal - loose - LID_MARGIN))


def _least(heights: Iterable[Height | None]) -> Height | None:
    known = [h for h in heights if h is not None]
    return min(known, key=lambda h: h.usable) if known else None


def _under(obstacle: Obstacle, zone: Zone, model: CavityModel, rules: Rules) -> Zone:
    """Return the zone that an obstacle over or under the board leaves."""
    name = f"at {obstacle.name}" if zone.name == "everywhere" else f"{zone.name} and {obstacle.name}"
    if obstacle.bottom >= model.board_at + rules.thickness:
        loose = model.within(obstacle.bottom_to) + model.board_at_to + THICKNESS_TO * rules.thickness
        clear = _height(obstacle.bottom - model.board_at - rules.thickness, loose)
        return replace(zone, name=name, above=_least((clear, zone.above)))
    clear = _height(model.board_at - (obstacle.top or 0.0), model.within(obstacle.top_to) + model.board_at_to)
    return replace(zone, name=name, below=_least((clear, zone.below)))


def _holes(model: CavityModel) -> tuple[MountingHole, ...]:
    """Return a hole for every screw, peg and tab of the host, as small as passes it at worst, to a tenth of a mm."""
    found = []
    for fixing in model.fixings:
        wide = fixing.diameter + 2 * (model.within(fixing.at_to) + HOLE_TO)
        found.append(MountingHole(fixing.at, _tenths(wide), _tenths(wide), fixing.name))
    for tab in model.obstacles:
        if tab.through:
            x, y = tab.outline.centroid.coords[0]
            reach = float(shapely.hausdorff_distance(shapely.Point(x, y), tab.outline))
            wide = 2 * (reach + max(obstacle_to(tab, model)) + HOLE_TO)
            found.append(MountingHole((round(x, 6), round(y, 6)), _tenths(wide), _tenths(wide), tab.name))
    return tuple(found)


def _tenths(value: float) -> float:
    return math.ceil(value * 10 - 1e-6) / 10
