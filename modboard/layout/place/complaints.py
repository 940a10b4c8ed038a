"""What to say, in one line, when parts cannot be placed: which part, how much is lacking, what to do."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from modboard.describe.model import AtEdge, Description, Part, Side
from modboard.errors import DesignError, ModboardError, either
from modboard.layout.board import PlacedPart
from modboard.layout.place.faults import Fault, board_faults, pair_faults
from modboard.layout.place.room import Room
from modboard.layout.place.sites import Lattice, edge_sites, open_sites
from modboard.layout.place.standing import Standing
from modboard.layout.place.wishes import sides_of, turns_of, wish_of

STEP = 0.635  # mm, lattice on which a place is looked for when saying what is in the way


def check_fixed(description: Description, fixed: Sequence[PlacedPart]) -> None:
    """Raise DesignError if the parts whose place is given cannot be there."""
    room = Room(description, ())
    found = [f for f in pair_faults(description, fixed) if overlapping(description, fixed, f)]
    for placed in fixed:
        found.extend(board_faults(room, placed))
    if found:
        worst = max(found, key=lambda f: f.lack)
        said = [getattr(description.wishes.get(reference), "site", None) for reference in worst.parts]
        site = next((s for s in reversed(said) if s), description.part(worst.parts[0]).site)
        raise DesignError(f"{worst}; give {either(worst.parts)} another place(), or leave it to the tool", site)


def overlapping(description: Description, fixed: Sequence[PlacedPart], fault: Fault) -> bool:
    """Tell whether two fixed parts are on the same side and truly overlap (closer than the gap is for the checks)."""
    a, b = (next(p for p in fixed if p.part.reference == r) for r in fault.parts)
    return a.side == b.side and fault.lack > description.rules.part_gap + 1e-6


def check_area(description: Description, room: Room, fixed: Sequence[PlacedPart | None]) -> None:
    """Raise ModboardError if the free parts together need more area than there is."""
    for side, need, free in areas(description, room, fixed):
        if need > free + 1e-6:
            raise ModboardError(
                f"{description.name}: the parts need {need:.0f} mm² on the {side} but only {free:.0f} mm² are free, "
                f"{need - free:.0f} mm² too few; use smaller parts, the other side, or a larger board"
            )


def areas(description: Description, room: Room, fixed: Sequence[PlacedPart | None]) -> list[tuple[Side, float, float]]:
    """Return (side, mm² of courtyards to place, mm² free) for each side with parts to place."""
    found: list[tuple[Side, float, float]] = []
    sides: tuple[Side, Side] = ("top", "bottom")
    for side in sides:
        free_parts = [
            p
            for p, f in zip(description.parts, fixed, strict=True)
            if f is None and sides_of(description, p) == (side,) and not isinstance(wish_of(description, p), AtEdge)
        ]
        if free_parts:
            need = sum(float(Standing(p, 0.0, side).courtyard.area) for p in free_parts)
            found.append((side, need, float(room.area(side).area)))
    return found


def fits_somewhere(description: Description, fixed: Sequence[PlacedPart], part: Part, smaller: float = 0.0) -> bool:
    """Tell whether a part, its courtyard made `smaller` mm less wide and deep, finds a place for itself alone."""
    room = Room(description, fixed)
    wish = wish_of(description, part)
    for side, turn in itertools.product(sides_of(description, part), turns_of(description, part)):
        standing = Standing(shrunk_part(part, smaller), turn, side)
        lattice = Lattice((0.0, 0.0), STEP)
        found = (
            edge_sites(room, standing, wish, lattice)
            if isinstance(wish, AtEdge)
            else open_sites(room, standing, lattice)
        )
        if len(found):
            return True
    return False


def shrunk_part(part: Part, by: float) -> Part:
    """Return the part with courtyard and bodies `by` mm less across, its lands nearer together; itself for 0."""
    if by == 0.0:
        return part
    footprint = part.footprint
    yard = np.array(footprint.courtyard)
    low, high = yard.min(axis=0), yard.max(axis=0)
    middle = (low + high) / 2
    scale = np.maximum(0.02, 1.0 - by / np.maximum(high - low, 1e-6))

    def pulled(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((float(x), float(y)) for x, y in middle + (np.array(points) - middle) * scale)

    bodies = tuple(replace(b, outline=pulled(b.outline)) for b in footprint.bodies)
    lands = tuple(replace(land, at=pulled((land.at,))[0]) for land in footprint.lands)
    shrunk = replace(footprint, courtyard=pulled(footprint.courtyard), bodies=bodies, lands=lands)
    return replace(part, footprint=shrunk)


def lacking_size(description: Description, fixed: Sequence[PlacedPart], part: Part) -> float:
    """Return by how many mm (to 0.1) a part is too wide or deep for every place, by halving."""
    box = Standing(part, 0.0, "top").box
    low, high = 0.0, max(box[2] - box[0], box[3] - box[1])
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (low, middle) if fits_somewhere(description, fixed, part, middle) else (middle, high)
    return high


def nowhere_message(description: Description, fixed: Sequence[PlacedPart], part: Part) -> str:
    """Say that a part fits nowhere, what is in the way, and by how much."""
    box = Standing(part, 0.0, "top").box
    wish = wish_of(description, part)
    where = f"at the {wish.wall} edge" if isinstance(wish, AtEdge) else f"on the {wish.side} of the board"
    lack = lacking_size(description, fixed, part)
    told = (
        f"{part.reference} ({part.footprint.name}, courtyard {box[2] - box[0]:.1f} x {box[3] - box[1]:.1f} mm) "
        f"fits nowhere {where}, {lack:.1f} mm too large"
    )
    cavity = description.cavity
    if cavity is not None and cavity.obstacles:
        open_air = replace(description, cavity=replace(cavity, obstacles=()))
        if fits_somewhere(open_air, fixed, part):
            names = " and ".join(
                f'"{o.name}"'
                for k, o in enumerate(cavity.obstacles)
                if fits_somewhere(without_obstacle(description, k), fixed, part)
            )
            names = names or "the obstacles of the cavity"
            return f"{told} beside {names}; use a lower or smaller part, or another edge or side"
    if fixed and fits_somewhere(description, (), part):
        others = ", ".join(p.part.reference for p in fixed)
        return f"{told} beside the parts whose place is given ({others}); move one of them or use a smaller part"
    if description.holes and fits_somewhere(replace(description, holes=()), fixed, part):
        return f"{told} beside the mounting holes; move a hole or use a smaller part"
    bare = replace(description, keep_outs=(), drawn_tracks=(), drawn_vias=())
    if bare != description and fits_somewhere(bare, fixed, part):
        return f"{told} beside the keep-outs and the copper drawn by hand; move one of these or use a smaller part"
    return f"{told}; use a smaller part or a larger board"


def without_obstacle(description: Description, index: int) -> Description:
    """Return the description with one cavity obstacle taken away."""
    cavity = description.cavity
    assert cavity is not None
    rest = tuple(o for k, o in enumerate(cavity.obstacles) if k != index)
    return replace(description, cavity=replace(cavity, obstacles=rest))


def no_room_message(description: Description, fixed: Sequence[PlacedPart | None], left: Sequence[Fault]) -> str:
    """Say in one line what could not be placed, and the areas."""
    figures = "; ".join(
        f"{need:.0f} mm² of parts on {free:.0f} mm² free on the {side}"
        for side, need, free in areas(description, Room(description, [p for p in fixed if p is not None]), fixed)
    )
    return (
        f"{description.name}: no legal placement found: {left[0]}, {len(left)} such faults in all; {figures}; "
        "use smaller parts, allow the other side, or enlarge the board"
    )
