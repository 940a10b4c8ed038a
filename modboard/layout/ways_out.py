"""What would help a board that could not be laid out: variants of the design, each really tried."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

import shapely
from shapely import affinity

from modboard import library
from modboard.describe.model import AtEdge, CavityModel, Description, Fixed, Free, Near, Part, Wish
from modboard.describe.one_sided import soldered_footprint, two_sided
from modboard.describe.rule_sets import NAMES
from modboard.describe.rules import Rules
from modboard.errors import LibraryError
from modboard.geometry import Position

STEP = 1.27  # mm, half of 0.1 inch
INSETS = (STEP, 2 * STEP, 3 * STEP)  # mm further from the edge: room for one to four tracks etched at home
PRACTISED = {"track": 0.3, "gap": 0.3, "pour_gap": 0.3, "pad_land_min": 1.6}  # mm; film and a steady hand, common
# practice: a track then passes between the pins of a DIP, 2.54 − 1.6 = 0.94 where 0.9 is asked for
WIDER = (1.0, 2.0, 3.0, 5.0, 8.0, 12.0)  # mm, in each direction
MOST_WISHES = 4  # wishes whose loss is tried one by one


@dataclass(frozen=True)
class WayOut:
    """A change to the design in words, and the design so changed."""

    words: str
    description: Description


Tries = Callable[[WayOut], bool]  # says whether a variant can be laid out


def ways_out(
    description: Description, lacking: frozenset[str], works: Tries, say: Callable[[str], None]
) -> tuple[str, ...]:
    """Return, cheapest first, the changes with which the board could be laid out when tried.

    `lacking` names the parts that found no place or have open connections.
    """

    def helps(way: WayOut) -> bool:
        say(f"trying a way out: {way.words}")
        return works(way)

    inwards = list(off_the_edge(description, lacking))
    found = [way.words for way in islice(filter(helps, inwards), 1)]
    for kind in (without_wishes(description, lacking), either_side(description), copper_on_both_sides(description)):
        found += [way.words for way in filter(helps, kind)]
    found += [way.words for way in filter(helps, finer_rules(description))]
    found += [way.words for way in least(list(wider(description)), helps)]
    if not found and inwards:  # neither is enough alone
        last = inwards[-1]
        both = [WayOut(f"{last.words} and {way.words}", way.description) for way in wider(last.description)]
        found += [way.words for way in least(both, helps)]
    return tuple(found)


def least(ways: Sequence[WayOut], helps: Callable[[WayOut], bool]) -> Sequence[WayOut]:
    """Return the least of ever greater changes that helps, found by halving; none if the greatest does not."""
    if not helps(ways[-1]):
        return ()
    first = bisect_left(ways[:-1], True, key=helps)
    return ways[first : first + 1]


def wider(description: Description) -> Iterator[WayOut]:
    """Yield the design on ever larger boards."""
    for more in WIDER:
        yield WayOut(f"a board {more:g} mm wider and deeper", stretched(description, more))


def off_the_edge(description: Description, lacking: frozenset[str]) -> Iterator[WayOut]:
    """Yield the design with the parts at an edge that lack something further in, so that tracks pass behind them."""
    wishes = description.wishes
    edged = {r: w for r, w in wishes.items() if r in lacking and isinstance(w, AtEdge) and w.inset >= 0}
    names = " and ".join(sorted(edged))
    for more in insets(description, edged) if edged else ():
        moved = {r: replace(w, inset=round(w.inset + more, 6)) for r, w in edged.items()}
        says = sorted({w.inset for w in moved.values()})
        words = f"{names} {more:g} mm in from the edge (place(…, inset={' or '.join(f'{i:g}' for i in says)}))"
        yield WayOut(words, replace(description, wishes={**wishes, **moved}))


def insets(description: Description, references: Collection[str]) -> tuple[float, ...]:
    """Return distances to try: `INSETS`, and that at which the outer row's tracks pass round both ends of the part."""
    rules = description.rules
    pins = max(len(p.footprint.lands) for p in description.parts if p.reference in references)
    tracks = math.ceil(pins / 4)  # half of the pins are in the outer row, half of those go each way
    room = STEP * math.ceil((tracks * (rules.track + rules.gap) + rules.gap) / STEP)
    return (*INSETS, room) if room > INSETS[-1] else INSETS


def without_wishes(description: Description, lacking: frozenset[str]) -> Iterator[WayOut]:
    """Yield the design without one wish each, for the parts that lack something first."""
    wished = [r for r, w in description.wishes.items() if isinstance(w, AtEdge | Near | Fixed)]
    wished = [r for r in wished if r in lacking] + [r for r in wished if r not in lacking]
    for reference in wished[:MOST_WISHES]:
        old = description.wishes[reference]
        kind = "near=" if isinstance(old, Near) else "edge=" if isinstance(old, AtEdge) else "at="
        free = Free(old.side, old.turn if isinstance(old, Near) else None)
        wishes: dict[str, Wish] = {**description.wishes, reference: free}
        yield WayOut(f"{reference} placed without {kind}", replace(description, wishes=wishes))


def either_side(description: Description) -> Iterator[WayOut]:
    """Yield the design with every part that has no given place allowed on both sides; none with copper on one only."""
    if description.rules.one_sided:
        return
    wishes = dict(description.wishes)
    for part in description.parts:
        wish = wishes.get(part.reference, Free())
        if isinstance(wish, Free | Near):
            wishes[part.reference] = replace(wish, either=True)
    if wishes != description.wishes:
        yield WayOut('parts on both sides (place(…, side="either"))', replace(description, wishes=wishes))


def copper_on_both_sides(description: Description) -> Iterator[WayOut]:
    """Yield a one-sided design made with copper on both sides."""
    if description.rules.one_sided:
        yield WayOut("copper on both sides (not one-sided)", two_sided(description))


def finer_rules(description: Description) -> Iterator[WayOut]:
    """Yield the design at every set of rules that has narrower tracks and gaps, the nearest first.

    For a board etched at home these are the same rules for a practised hand.
    """
    now = description.rules
    if not now.layers_plated:
        figures: dict[str, Any] = {
            name: figure for name, figure in PRACTISED.items() if figure < getattr(now, name) - 1e-9
        }
        if {"track", "gap"} & set(figures):
            said = ", ".join(f"{name}={figure:g}" for name, figure in figures.items())
            words = f'finer etching (rules=Rules.named("{now.name}", {said}))'
            yield WayOut(words, at_rules(description, replace(now, **figures)))
        return
    finer = [Rules.named(name) for name in NAMES]
    finer = [r for r in finer if r.track + r.gap < now.track + now.gap - 1e-9 and r.layers_plated]
    for rules in sorted(finer, key=lambda r: -(r.track + r.gap)):
        yield WayOut(f'rules="{rules.name}"', at_rules(description, rules))


def at_rules(description: Description, rules: Rules) -> Description:
    """Return the description with other rules: lands grow anew, and what had the old least figure gets the new."""
    old = description.rules

    def refitted(part: Part) -> Part:
        try:
            fresh = library.footprint(part.footprint.name, level=rules.level, land_min=rules.pad_land_min)
        except LibraryError:  # a part of the person's own keeps its lands
            return part
        fresh = soldered_footprint(fresh, rules)
        return replace(part, footprint=fresh) if fresh.numbers() == part.footprint.numbers() else part

    nets = tuple(
        replace(
            net,
            track_width=rules.track if net.track_width == old.track else max(net.track_width, rules.track),
            gap=rules.gap if net.gap == old.gap else max(net.gap, rules.gap),
        )
        for net in description.nets
    )
    return replace(description, rules=rules, nets=nets, parts=tuple(refitted(p) for p in description.parts))


def stretched(description: Description, by: float) -> Description:
    """Return the description on a board and in a cavity `by` mm wider and deeper: cut through the middle, pulled apart.

    What lies right of the middle or above it moves along whole: posts, holes, given places, openings.
    """
    x0, y0, x1, y1 = description.outline.bounds
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)

    def moved(at: Position) -> Position:
        return (at[0] + (by if at[0] > middle[0] else 0.0), at[1] + (by if at[1] > middle[1] else 0.0))

    def pulled(area: Any) -> Any:
        return shapely.transform(area, lambda points: points + by * (points > middle))

    def whole(area: Any) -> Any:
        at = area.centroid
        x, y = moved((at.x, at.y))
        return affinity.translate(area, x - at.x, y - at.y)

    wishes: dict[str, Wish] = {}
    for reference, wish in description.wishes.items():
        if isinstance(wish, Fixed):
            wishes[reference] = replace(wish, at=moved(wish.at))
        elif isinstance(wish, AtEdge) and wish.along is not None:
            axis = 1 if wish.wall in ("left", "right") else 0
            wishes[reference] = replace(wish, along=wish.along + (by if wish.along > middle[axis] else 0.0))
        else:
            wishes[reference] = wish

    def room(cavity: CavityModel) -> CavityModel:
        obstacles = tuple(replace(o, outline=whole(o.outline)) for o in cavity.obstacles)
        openings = []
        for opening in cavity.openings:
            axis = 1 if opening.wall in ("left", "right") else 0
            openings.append(replace(opening, centre=opening.centre + (by if opening.centre > middle[axis] else 0.0)))
        return replace(cavity, inside=pulled(cavity.inside), obstacles=obstacles, openings=tuple(openings))

    return replace(
        description,
        outline=notched(description, pulled(description.outline), by, whole),
        cavity=room(description.cavity) if description.cavity else None,
        holes=tuple(replace(h, at=moved(h.at)) for h in description.holes),
        wishes=wishes,
        keep_outs=tuple(replace(k, outline=whole(k.outline)) for k in description.keep_outs),
        drawn_tracks=(),
        drawn_vias=(),
    )


def notched(description: Description, outline: Any, by: float, whole: Callable[[Any], Any]) -> Any:
    """Return the stretched outline with the notches and holes for posts at their true size again.

    A notch that the middle cuts through was widened with the board: its room is given back, save what the post needs.
    """
    x0, y0, x1, y1 = description.outline.bounds
    gaps = shapely.box(x0, y0, x1, y1).difference(description.outline)
    kept = [whole(gap) for gap in shapely.get_parts(gaps) if gap.area > 0]
    full = shapely.box(x0, y0, x1 + by, y1 + by)
    found = full.difference(shapely.union_all(kept)) if kept else full
    largest = max(shapely.get_parts(found), key=lambda piece: piece.area, default=outline)
    return largest if largest.geom_type == "Polygon" else outline
