"""What to do about a misfit: how much too big the board is, and which parts to lay down, swap, turn over or move."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from modboard.check.findings import Findings
from modboard.describe.model import AtEdge, Description, Fixed, Free, Near, Part, Side
from modboard.describe.outline import board_outline
from modboard.errors import ModboardError
from modboard.fit import fit
from modboard.fit.heights import OVER_FLOOR, UNDER_LID
from modboard.fit.plan import PART_TO_OBSTACLE, PART_TO_WALL
from modboard.layout.board import Board, PlacedPart
from modboard.library import footprint

Placer = Callable[[Description], tuple[PlacedPart, ...]]


@dataclass(frozen=True)
class Remedy:
    """One thing to do, in `words`, the line to write for it, and the description with it done."""

    words: str
    line: str
    changed: Description


def too_big(board: Board) -> tuple[str, ...]:
    """Return by how much the board is wider or deeper than the largest that fits, in words; nothing if it is not."""
    described = board.description
    cavity = described.cavity
    if cavity is None:
        return ()
    try:
        largest = board_outline(cavity, described.rules.thickness, described.rules.cutter, described.site).polygon
    except ModboardError as error:
        return (str(error),)
    if board.outline.difference(largest.buffer(1e-3)).area < 1e-3:
        return ()
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = board.outline.bounds, largest.bounds
    size = f"the largest board that fits is {bx1 - bx0:.2f} × {by1 - by0:.2f} mm"
    over = [
        f"{by:.2f} mm too far {side}"
        for by, side in ((bx0 - ax0, "left"), (ax1 - bx1, "right"), (by0 - ay0, "down"), (ay1 - by1, "up"))
        if by > 1e-3
    ]
    wide, deep = (ax1 - ax0) - (bx1 - bx0), (ay1 - ay0) - (by1 - by0)
    much = [f"{by:.2f} mm too {word}" for by, word in ((wide, "wide"), (deep, "deep")) if by > 1e-3]
    if much:
        return (f"the board is {' and '.join(much)}: {size}",)
    if over:
        return (f"the board reaches {' and '.join(over)}: {size}, and yours would fit if moved",)
    return (f"the board has the size but not the shape: {size}, notched; leave outline= out to get it",)


def remedies(board: Board, findings: Findings) -> tuple[Remedy, ...]:
    """Return what could be done for each part that does not fit: lay it down, swap it, turn it over, move it."""
    found: list[Remedy] = []
    described = board.description
    rules = {r.name for r in (UNDER_LID, OVER_FLOOR, PART_TO_WALL, PART_TO_OBSTACLE)}
    blamed: dict[str, set[str]] = {}
    for finding in findings:
        if finding.rule in rules and finding.severity == "error":
            for part in described.parts:
                if part.reference in finding.where.replace("the leads of ", "").split(" ")[:1]:
                    blamed.setdefault(part.reference, set()).add(finding.rule)
    if any(f.rule in ("board-to-wall", "board-to-obstacle") and f.severity == "error" for f in findings):
        found += _resized(described)
    for reference, why in sorted(blamed.items()):
        part = described.part(reference)
        found += _lower(described, part)
        if UNDER_LID.name in why or OVER_FLOOR.name in why:
            found += _turned_over(described, part)
        found += _freed(described, part)
    return tuple(found)


def _resized(described: Description) -> list[Remedy]:
    if described.cavity is None:
        return []
    try:
        largest = board_outline(described.cavity, described.rules.thickness, described.rules.cutter, described.site)
    except ModboardError:
        return []
    return [
        Remedy("take the largest outline that fits", "leave outline= out", replace(described, outline=largest.polygon))
    ]


def _lower(described: Description, part: Part) -> list[Remedy]:
    """Return the footprints the device can also have that are lower, the lowest last."""
    if part.device is None:
        return []
    found = []
    for name in part.device.alternatives:
        try:
            other = footprint(name, level=described.rules.level, land_min=described.rules.pad_land_min)
        except ModboardError:
            continue
        if other.height < part.tall - 1e-6 and set(other.numbers()) >= set(part.footprint.numbers()):
            lying = "lying" in other.title or "flat" in name
            verb = "lay down" if lying else "swap"
            changed = replace(part, footprint=other, height=None)
            words = f"{verb} {part.reference}: {name} is {other.height:g} mm high instead of {part.tall:g}"
            found.append((other.height, Remedy(words, f'footprint="{name}"', _with(described, changed))))
    return [remedy for _, remedy in sorted(found, key=lambda f: -f[0])]


def _turned_over(described: Description, part: Part) -> list[Remedy]:
    wish = described.wishes.get(part.reference, Free())
    side: Side = "bottom" if wish.side == "top" else "top"
    words = f"move {part.reference} to the {side}"
    changed = replace(wish, side=side)
    line = f'board.place("{part.reference}", side="{side}")'
    return [Remedy(words, line, replace(described, wishes={**described.wishes, part.reference: changed}))]


def _freed(described: Description, part: Part) -> list[Remedy]:
    wish = described.wishes.get(part.reference, Free())
    if not isinstance(wish, Fixed | AtEdge | Near):
        return []
    words = f"move {part.reference}: let the tool choose its place"
    free = replace(described, wishes={**described.wishes, part.reference: Free(wish.side)})
    return [Remedy(words, f'take the line board.place("{part.reference}", ...) out', free)]


def _with(described: Description, part: Part) -> Description:
    return replace(described, parts=tuple(part if p.reference == part.reference else p for p in described.parts))


def tried(remedy: Remedy, place: Placer) -> tuple[bool, str]:
    """Place the parts anew with a remedy done, and say whether all then fits, before any track is laid."""
    try:
        parts = place(remedy.changed)
    except ModboardError as error:
        return False, f"can't be placed: {error}"
    board = Board(remedy.changed, remedy.changed.outline, parts, (), (), ())
    left = [f for f in fit(board) if f.stands]
    if not left:
        return True, "fits"
    return False, f"still {len(left)} misfit{'s' if len(left) > 1 else ''}, such as: {left[0].message}"
