"""What to do about a misfit: how much too big the board is, and which parts to lay down, swap, turn over or move."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from modboard.check.findings import Findings
from modboard.describe.model import AtEdge, Description, Fixed, Free, Near, Part, Side, Wish
from modboard.describe.outline import board_outline
from modboard.errors import ModboardError
from modboard.fit import fit
from modboard.fit.heights import OVER_FLOOR, UNDER_LID
from modboard.fit.margins import tightest
from modboard.fit.plan import PART_TO_OBSTACLE, PART_TO_WALL
from modboard.layout.board import Board
from modboard.library import footprint
from modboard.library.model import Footprint

LYING = "-lying"
Layer = Callable[[Description], "Laid"]  # places and routes a description, within a limit
Change = Callable[[Description], Description]


@dataclass(frozen=True)
class Laid:
    """What became of a try to lay a board out: the board (without tracks if it could not be routed), or why not."""

    board: Board | None
    routed: bool = False
    why: str = ""


@dataclass(frozen=True)
class Remedy:
    """One thing to do, in `words`, the line to write for it, how it changes a description, and the part it is about."""

    words: str
    line: str
    change: Change
    reference: str = ""


@dataclass(frozen=True)
class Tried:
    """How a try ended, in words: whether all fits and is routed, and whether the remedy's own part fits at least."""

    words: str
    fits: bool
    cures: bool


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
    outline = largest.polygon
    return [
        Remedy("take the largest outline that fits", "leave outline= out", lambda now: replace(now, outline=outline))
    ]


def _lower(described: Description, part: Part) -> list[Remedy]:
    """Return the lower footprints for a part, the lowest last: itself lying down, and what else its device comes in."""
    own = part.footprint.name
    lies = f"{own}{LYING}"
    others = part.device.alternatives if part.device is not None else ()
    # A can of another size lying down is no help that the part's own can is not: its size follows from its value.
    names = [lies, *(name for name in others if not name.endswith(LYING) or not own.startswith("electrolytic"))]
    found = []
    for name in dict.fromkeys(names):
        try:
            other = footprint(name, level=described.rules.level, land_min=described.rules.pad_land_min)
        except ModboardError:
            continue
        if other.height < part.tall - 1e-6 and set(other.numbers()) >= set(part.footprint.numbers()):
            lying = name.endswith((LYING, "-flat"))
            verb, unsure = ("lay down", "") if lying else ("swap", ", if yours comes in it")
            words = f"{verb} {part.reference}: {name} is {other.height:g} mm high instead of {part.tall:g}{unsure}"
            remedy = Remedy(words, f'footprint="{name}"', _with(part.reference, other), part.reference)
            found.append((not lying, -other.height, remedy))
    return [remedy for _, _, remedy in sorted(found, key=lambda f: f[:2])]


def _turned_over(described: Description, part: Part) -> list[Remedy]:
    side: Side = "bottom" if _wish(described, part.reference).side == "top" else "top"

    def change(now: Description) -> Description:
        wish = replace(_wish(now, part.reference), side=side)
        return replace(now, wishes={**now.wishes, part.reference: wish})

    words, line = f"move {part.reference} to the {side}", f'board.place("{part.reference}", side="{side}")'
    return [Remedy(words, line, change, part.reference)]


def _freed(described: Description, part: Part) -> list[Remedy]:
    if not isinstance(_wish(described, part.reference), Fixed | AtEdge | Near):
        return []

    def change(now: Description) -> Description:
        return replace(now, wishes={**now.wishes, part.reference: Free(_wish(now, part.reference).side)})

    words = f"move {part.reference}: let the tool choose its place"
    return [Remedy(words, f'take the line board.place("{part.reference}", ...) out', change, part.reference)]


def _wish(described: Description, reference: str) -> Wish:
    return described.wishes.get(reference, Free())


def _with(reference: str, other: Footprint) -> Change:
    def change(now: Description) -> Description:
        parts = (replace(p, footprint=other, height=None) if p.reference == reference else p for p in now.parts)
        return replace(now, parts=tuple(parts))

    return change


def tried(described: Description, chosen: Sequence[Remedy], lay: Layer) -> Tried:
    """Lay the board out anew with remedies done, and say whether it is routed and all fits, or what still does not."""
    changed = described
    for remedy in chosen:
        changed = remedy.change(changed)
    laid = lay(changed)
    if laid.board is None:
        return Tried(f"tried: {laid.why}", False, False)
    left = [f for f in fit(laid.board) if f.severity == "error" and f.stands]
    routes = "" if laid.routed else ", but not all tracks found a way in the time given"
    if not left:
        least = tightest(laid.board, 1)
        spare = f" with {least[0].worst:.2f} mm to spare at worst ({least[0].between})" if least else ""
        return Tried(f"tried: fits{spare}{routes}", laid.routed, laid.routed)
    own = [f for f in left if {r.reference for r in chosen} & set(f.where.split(" "))]
    others = len(left) - len(own)
    if own:
        more = f", and {others} other misfit{'s' * (others != 1)}" if others else ""
        return Tried(f"tried: still {own[0].message}{more}{routes}", False, False)
    names = ", ".join(dict.fromkeys(r.reference for r in chosen if r.reference)) or "the board"
    verb = "fits" if "," not in names else "fit"
    stay = f"{others} other misfit{'s stay' if others != 1 else ' stays'}, such as: {left[0].message}"
    return Tried(f"tried: {names} {verb} then; {stay}{routes}", False, laid.routed)


def together(described: Description, cures: Sequence[Remedy], lay: Layer) -> tuple[tuple[Remedy, ...], Tried] | None:
    """Lay the board out with the first cure of every part at once; None if they are not of two parts or more."""
    first: dict[str, Remedy] = {}
    for remedy in cures:
        first.setdefault(remedy.reference, remedy)
    chosen = tuple(first.values())
    return (chosen, tried(described, chosen, lay)) if len(chosen) > 1 else None
