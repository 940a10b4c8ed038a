"""Cavities and boards for tests of the fit: a room of 50 × 40 mm, 20 mm high, a board of 40 × 30 in its middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import shapely

from modboard.check.findings import Finding
from modboard.describe.model import CavityModel, Obstacle, Opening
from modboard.fit import fit
from modboard.geometry import Position
from modboard.layout.board import Board, PlacedPart
from tests.check.build import RULES, scene

ROOM = shapely.box(0.0, 0.0, 50.0, 40.0)
PLATE = shapely.box(5.0, 5.0, 45.0, 35.0)
BOARD_AT, THICKNESS, MEASURED_TO, OUTLINE = 4.0, RULES.thickness, 0.3, RULES.outline_tolerance
LOOSE = MEASURED_TO + OUTLINE  # mm, what all tolerances in plan may take together: 0.55


def cavity(
    *,
    inside: Any = ROOM,
    height: float | None = 20.0,
    obstacles: Sequence[Obstacle] = (),
    openings: Sequence[Opening] = (),
    **values: Any,
) -> CavityModel:
    """Return the room; `values` are other fields of `CavityModel`."""
    fields = {"board_at": BOARD_AT, "measured_to": MEASURED_TO, "wall_gap": 0.5, **values}
    return CavityModel(inside, height, obstacles=tuple(obstacles), openings=tuple(openings), **fields)


def board(room: CavityModel, parts: Sequence[PlacedPart] = (), outline: Any = PLATE, **described: Any) -> Board:
    """Return a board in a room."""
    return scene(outline=outline, parts=parts, cavity=room, **described)[0]


def found(made: Board, rule: str = "") -> list[Finding]:
    """Return what does not fit, of one rule or of all."""
    return [f for f in fit(made) if not rule or f.rule == rule]


def post(at: Position, diameter: float, top: float | None = None, bottom: float = 0.0, gap: float = 0.5) -> Obstacle:
    """Return a round post; its polygon is drawn round it from outside, as the cavity builder does."""
    outline = shapely.Point(at).buffer(diameter / 2 / 0.9999247, quad_segs=64)
    return Obstacle("post", outline, bottom, top, gap, (at, diameter))


def block(x0: float, y0: float, x1: float, y1: float, bottom: float = 0.0, top: float | None = None) -> Obstacle:
    """Return a block that stands in the room."""
    return Obstacle("block", shapely.box(x0, y0, x1, y1), bottom, top)


def replaced(made: Board, room: CavityModel) -> Board:
    """Return the same board in another room."""
    return replace(made, description=replace(made.description, cavity=room))
