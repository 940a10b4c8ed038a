"""The order to fit parts in: flat before tall, robust before tender, nothing in the way of an iron yet to come.

Wire links come before everything, parts may cover them.  Each part's place is its height when soldered plus an
allowance for heat (`kinds.HEAT`), so that a board laid on its face holds the parts just put in, and what heat harms
waits.  Then access rules: a part that would cover a pad still to be soldered from the same side waits for it.  Wires
come after everything that is soldered, chips into sockets after the rails are known to be right.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import shapely

from modboard.bench.copper import pad_name, solder_side
from modboard.bench.handling import bend, marking, polarity
from modboard.bench.kinds import HEAT, SENSITIVE_TO_STATIC, Kind, kind_of, named, standing_height, value_of
from modboard.bench.values import resistor_bands
from modboard.describe.model import Part, Side
from modboard.fab.parts_list import natural
from modboard.geometry import Position, Shape
from modboard.layout.board import Board, PlacedPart

Stage = Literal["board", "wires", "chips"]
_STAGES: tuple[Stage, ...] = ("board", "wires", "chips")


@dataclass(frozen=True)
class BuildStep:
    """One thing to do with an iron in hand (or, for chips, without): parts alike, and all one needs to know of them."""

    number: int
    stage: Stage
    kind: Kind
    references: tuple[str, ...]
    title: str
    value: str
    bands: tuple[tuple[str, ...], ...]
    marking: str
    polarity: tuple[tuple[str, str], ...]  # (reference, words)
    bend: str
    side: Side  # side of the board the parts lie on
    solder: Literal["top", "bottom", "both sides"]
    remarks: tuple[str, ...]
    done_before: int
    total: int
    places: tuple[Position, ...] = ()  # of wire links through the board, which are no parts

    @property
    def count(self) -> int:
        """Return how many parts the step fits."""
        return len(self.references)


def build_order(board: Board) -> tuple[BuildStep, ...]:
    """Return the steps for every part that is fitted, in order."""
    placed = [p for p in board.parts if p.part.fitted and _soldered_or_plugged(p.part)]
    stages: dict[Stage, list[PlacedPart]] = {stage: [] for stage in _STAGES}
    for p in placed:
        stages["wires" if kind_of(p.part) == "wire pads" else "board"].append(p)
    stages["chips"] = [p for p in placed if kind_of(p.part) == "socket"]
    groups = [(stage, g) for stage in _STAGES for g in _grouped(board, stages[stage])]
    total = sum(len(g) for stage, g in groups if stage == "board")
    steps = _links_through(board, total)
    done = 0
    for number, (stage, group) in enumerate(groups, len(steps) + 1):
        steps.append(_step(board, number, stage, group, done if stage == "board" else 0, total))
        done += len(group) if stage == "board" else 0
    return tuple(steps)


def rank(placed: PlacedPart) -> tuple[float, ...]:
    """Return where a part comes in the order: links, surface-mount, then by height and heat."""
    part = placed.part
    if kind_of(part) == "link":
        return (-1.0, 0.0)
    flat = 0.0 if part.footprint.technology == "surface-mount" else 1.0
    return (flat, round(standing_height(part) + HEAT.get(kind_of(part), 0.0), 1))


def _soldered_or_plugged(part: Part) -> bool:
    return bool(part.footprint.lands)


def _grouped(board: Board, placed: Iterable[PlacedPart]) -> list[list[PlacedPart]]:
    """Return parts alike together, groups by rank, then moved so that none covers pads still to be soldered."""
    alike: dict[tuple[str, ...], list[PlacedPart]] = {}
    for p in sorted(placed, key=lambda p: natural(p.part.reference)):
        alike.setdefault((p.part.kind, p.part.value, p.part.footprint.name, p.side, p.part.note), []).append(p)
    waiting = sorted(alike.values(), key=lambda g: (rank(g[0]), natural(g[0].part.reference)))
    ordered: list[list[PlacedPart]] = []
    while waiting:
        free = [g for g in waiting if not any(_covers(board, g, h) for h in waiting if h is not g)]
        chosen = free[0] if free else waiting[0]
        waiting.remove(chosen)
        ordered.append(chosen)
    return ordered


def _covers(board: Board, upper: list[PlacedPart], lower: list[PlacedPart]) -> bool:
    """Tell whether a part of `upper` lies over a pad of `lower` on the side that pad is soldered from."""
    names = {p.part.reference for p in lower}
    pads = [(pad, solder_side(board, pad)) for pad in board.pads if pad.reference in names]
    for p in upper:
        for body in p.bodies():
            plan = shapely.Polygon(body.outline)
            if any(side == p.body_side and plan.distance(shapely.Point(pad.at)) < 0.5 for pad, side in pads):
                return True
    return False


def links_through(board: Board) -> tuple[Position, ...]:
    """Return where wires go through a board without plated holes, in the order of their numbers from 1."""
    if board.description.rules.layers_plated:
        return ()
    return tuple(sorted((via.at for via in board.vias), key=lambda at: (-at[1], at[0])))


def _links_through(board: Board, total: int) -> list[BuildStep]:
    """Return the step that fits wire links where a board without plated holes has vias, if there are any."""
    places = links_through(board)
    if not places:
        return []
    remarks = ("Holes are not plated: bare wire through each, soldered on both sides, clipped flush.",)
    title = f"Wire links through the board: {len(places)}"
    return [
        BuildStep(1, "board", "link", (), title, "", (), "", (), "", "top", "both sides", remarks, 0, total, places)
    ]


def _soldered_twice(board: Board, references: list[str], solder: Side) -> list[str]:
    """Return the pads that copper of their net also reaches on the side they are not soldered from."""
    other: Side = "top" if solder == "bottom" else "bottom"
    copper: dict[str, list[Shape]] = {}
    for track in board.tracks:
        if track.layer == other:
            copper.setdefault(track.net, []).append(track.shape)
    for pour in board.pours:
        if pour.layer == other:
            copper.setdefault(pour.net, []).append(Shape(pour.area, 0.0))
    return [
        pad_name(pad)
        for pad in board.pads
        if pad.reference in references
        and other in pad.layers
        and any(pad.shape.distance(shape) < 0 for shape in copper.get(pad.net or "", ()))
    ]


def _step(board: Board, number: int, stage: Stage, group: list[PlacedPart], done: int, total: int) -> BuildStep:
    first = group[0]
    part, kind = first.part, kind_of(first.part)
    ohms = value_of(part) if kind == "resistor" else None
    leaded = part.footprint.technology == "through-hole"
    side = first.side if not part.footprint.underside else first.body_side
    solder = solder_side(board, next(p for p in board.pads if p.reference == part.reference))
    if stage == "chips":
        title = f"Put {part.kind} into its socket" if len(group) == 1 else f"Put {len(group)} × {part.kind} in"
    elif stage == "wires":
        title = f"Solder the wires to {part.reference}"
    elif kind in ("connector", "button", "part"):
        title = part.kind.replace("-", " ").capitalize()
    else:
        what = part.value if part.value else part.kind
        title = f"{named(kind, len(group)).capitalize()} {'for ' if kind in ('socket', 'host plug') else ''}{what}"
    says = _REMARKS if leaded else _REMARKS | _FLAT_REMARKS
    remarks = [says[kind]] if kind in says and stage == "board" else []
    if stage == "chips" or (kind in SENSITIVE_TO_STATIC and kind != "socket"):
        remarks.append("Touch bare grounded metal first: static kills chips.")
    if part.note:
        remarks.append(part.note)
    if not board.description.rules.layers_plated and leaded:
        over = _soldered_twice(board, [p.part.reference for p in group], solder)
        if over:
            remarks.append(f"Holes are not plated: solder also on the {side}, where copper arrives: {', '.join(over)}.")
    return BuildStep(
        number,
        stage,
        kind,
        tuple(p.part.reference for p in group),
        title,
        part.value,
        resistor_bands(ohms) if ohms is not None and leaded else (),
        marking(part) if kind != "socket" or stage == "chips" else "",
        tuple((p.part.reference, words) for p in group if (words := polarity(p))) if stage != "wires" else (),
        bend(part) if stage == "board" else "",
        side,
        solder,
        tuple(remarks),
        done,
        total,
    )


_FLAT_REMARKS: dict[Kind, str] = dict.fromkeys(("diode", "transistor", "led"), "Three seconds of iron at most.")
_REMARKS: dict[Kind, str] = {
    "link": "Bare wire, straight and flat on the board: a clipped resistor lead does.",
    "socket": "Solder the socket only. Its chip waits until the rails are proven.",
    "host plug": "Pins point down into the host. Solder two opposite corners, check that it lies flat, then the rest.",
    "diode": "Bend the leads 2 mm from the body: glass cracks. Three seconds of iron at most.",
    "transistor": "Leave 3 mm of lead above the board. Three seconds of iron at most, then let it cool.",
    "electrolytic": "Check the polarity twice: reversed, it can burst.",
    "connector": "Solder one pin, check that it stands square, then the rest.",
    "chip": "Solder one corner, check, then the opposite one, then the rest with pauses.",
}
