"""From ``place(...)`` to the wish the layout must grant."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from modboard.describe import measures
from modboard.describe.cavity import wall_named
from modboard.describe.circuit import known_part, resolved
from modboard.describe.model import AtEdge, CavityModel, Fixed, Free, Near, Part, Side, Wall, Wish
from modboard.describe.notation import expanded_words
from modboard.describe.parts import no_such_pin, pads_of
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position

SIDES = ("top", "bottom")
EITHER = "either"


@dataclass(frozen=True)
class WishSaid:
    """One call of ``place``, its numbers checked, its names not yet looked up."""

    references: tuple[str, ...]
    site: CallSite
    at: Position | None
    turn: float | None
    side: Side
    edge: Wall | None
    along: float | None
    opening: str | None
    inset: float
    near: str | None
    anchor: str
    either: bool = False


def places_near(
    references: tuple[str, ...], near: str | None, site: CallSite
) -> list[tuple[tuple[str, ...], str | None]]:
    """Return which parts go near what: all near one, or each near its own.

    Raises DesignError if `near` names some other number of places.
    """
    places = expanded_words(near, "near", site) if isinstance(near, str) else []
    if len(places) <= 1:
        return [(references, places[0] if places else near)]
    if len(places) != len(references):
        raise DesignError(
            f'place {" ".join(references)}: near="{near}" names {len(places)} places for {len(references)} '
            f"part{'s' * (len(references) != 1)}; name one, or one for each part",
            site,
        )
    return [((reference,), place) for reference, place in zip(references, places, strict=True)]


def said(references: tuple[str, ...], site: CallSite, **words: Any) -> WishSaid:
    """Check one call of ``place`` as far as it can be without knowing the other calls."""
    what = f"place {' '.join(references)}"
    at = _place(words["at"], words["x"], words["y"], what, site)
    edge = None if words["edge"] is None else wall_named(words["edge"], site)
    opening = None if words["opening"] is None else measures.text(words["opening"], f"{what}: opening", site)
    near = None if words["near"] is None else measures.word(words["near"], f"{what}: near", site)
    ways = {"at": at, "edge": edge, "opening": opening, "near": near}
    given = [f"{name}=" for name, value in ways.items() if value is not None]
    if len(given) > 1:
        raise DesignError(f"{what}: {' and '.join(given)} can't be had together; choose one", site)
    along = None if words["along"] is None else measures.number(words["along"], f"{what}: along", site)
    if along is not None and edge is None:
        raise DesignError(f"{what}: along= says where on an edge; give edge= with it", site)
    inset = measures.margin(words["inset"], f"{what}: inset", site)
    overhang = measures.margin(words["overhang"], f"{what}: overhang", site)
    if inset and overhang:
        raise DesignError(f"{what}: inset= and overhang= are opposites; give one", site)
    if (inset or overhang) and edge is None and opening is None:
        raise DesignError(f"{what}: inset= and overhang= are measured from an edge; give edge= or opening=", site)
    side: Side = "top"
    either = False
    if words["side"] is not None:
        chosen = measures.choice(words["side"], f"{what}: side", (*SIDES, EITHER), site)
        side, either = ("bottom" if chosen == "bottom" else "top"), chosen == EITHER
        if either and (at is not None or edge is not None or opening is not None):
            raise DesignError(f'{what}: side="{EITHER}" leaves the place to the tool; say top or bottom here', site)
    turn = None if words["turn"] is None else measures.number(words["turn"], f"{what}: turn", site) % 360.0
    anchor = measures.text(words["anchor"], f"{what}: anchor", site, empty=False)
    if anchor != "origin" and at is None:
        raise DesignError(f"{what}: anchor= says which point of the part is put at a place; give at= with it", site)
    if len(references) > 1 and (at is not None or along is not None or opening is not None):
        raise DesignError(f"{what}: {len(references)} parts can't all be at one point; place them one by one", site)
    if not given and words["side"] is None and turn is None:
        raise DesignError(f"{what}: say where: at=, edge=, opening= or near=, or at least side= or turn=", site)
    return WishSaid(references, site, at, turn, side, edge, along, opening, inset - overhang, near, anchor, either)


def wishes(
    calls: list[WishSaid], parts: Mapping[str, Part], cavity: CavityModel | None, outline: Any
) -> dict[str, Wish]:
    """Return the wish for every part; what nothing was said of is free.

    Raises DesignError for unknown parts, pins and openings, and for two wishes for one part.
    """
    found: dict[str, Wish] = {}
    where: dict[str, CallSite] = {}
    for call in calls:
        for reference in call.references:
            part = known_part(reference, "place", parts, call.site)
            if reference in found:
                raise DesignError(
                    f"place {reference}: it has a place already ({where[reference]}); say all of it in one call",
                    call.site,
                )
            found[reference] = _wish(call, part, parts, cavity, outline)
            where[reference] = call.site
    return {reference: found.get(reference, Free()) for reference in parts}


def _wish(call: WishSaid, part: Part, parts: Mapping[str, Part], cavity: CavityModel | None, outline: Any) -> Wish:
    if call.at is not None:
        _at(call, call.at, part, outline)
        return Fixed(call.at, call.turn or 0.0, call.side, _anchor(call, part), call.site)
    if call.near is not None:
        return _near(call, part, parts)
    if call.opening is not None:
        wall, along = _opening(call, part, cavity)
        return AtEdge(wall, along, call.inset, call.turn, call.side)
    if call.edge is not None:
        if call.along is not None:
            _on_edge(call, call.edge, call.along, part, outline)
        return AtEdge(call.edge, call.along, call.inset, call.turn, call.side)
    return Free(call.side, call.turn, call.either)


def _place(at: object, x: object, y: object, what: str, site: CallSite) -> Position | None:
    if at is not None:
        if x is not None or y is not None:
            raise DesignError(f"{what}: give either at=(x, y) or x= and y=, not both", site)
        return measures.position(at, f"{what}: at", site)
    if x is None and y is None:
        return None
    if x is None or y is None:
        raise DesignError(f"{what}: {'x' if x is None else 'y'}= is missing; a place needs both x= and y=", site)
    return (measures.number(x, f"{what}: x", site), measures.number(y, f"{what}: y", site))


def _anchor(call: WishSaid, part: Part) -> str:
    if call.anchor in ("origin", "centre"):
        return call.anchor
    pads = pads_of(part, call.anchor)
    if not pads:
        raise DesignError(
            f'place {part.reference}: anchor is "origin", "centre" or a pin, but {no_such_pin(part, call.anchor)}',
            call.site,
        )
    return pads[0]


def _near(call: WishSaid, part: Part, parts: Mapping[str, Part]) -> Near:
    assert call.near is not None
    what = f"place {part.reference}: near"
    reference, pin = call.near.partition(".")[0], None
    known_part(reference, what, parts, call.site)
    if reference == part.reference:
        raise DesignError(f"{what}: {reference} can't be near itself; name another part", call.site)
    if "." in call.near:
        pin = resolved(call.near, what, parts, call.site)[0][1]
    return Near(reference, pin, call.side, call.turn, call.either)


def _opening(call: WishSaid, part: Part, cavity: CavityModel | None) -> tuple[Wall, float]:
    what = f"place {part.reference}: opening"
    if cavity is None:
        raise DesignError(f"{what}= needs a cavity with openings; this design has none", call.site)
    for opening in cavity.openings:
        if opening.name == call.opening:
            return opening.wall, opening.centre
    names = [o.name for o in cavity.openings]
    hint = measures.suggestion(str(call.opening), names) if names else "; the cavity has no openings"
    raise DesignError(f'{what} "{call.opening}" is not known{hint}', call.site)


def _at(call: WishSaid, at: Position, part: Part, outline: Any) -> None:
    """Refuse a place so far from the board that no part of this size could touch it."""
    x0, y0, x1, y1 = outline.bounds
    reach = 2 * max((math.hypot(*corner) for corner in part.footprint.courtyard), default=0.0)
    if not (x0 - reach <= at[0] <= x1 + reach and y0 - reach <= at[1] <= y1 + reach):
        raise DesignError(
            f"place {part.reference}: ({at[0]:g}, {at[1]:g}) is outside the board, which spans "
            f"x {x0:g} to {x1:g} and y {y0:g} to {y1:g} mm; x runs to the right, y up",
            call.site,
        )


def _on_edge(call: WishSaid, wall: Wall, along: float, part: Part, outline: Any) -> None:
    x0, y0, x1, y1 = outline.bounds
    low, high = (y0, y1) if wall in ("left", "right") else (x0, x1)
    if not low <= along <= high:
        raise DesignError(
            f"place {part.reference}: along={along:g} is beyond the {wall} edge of the board, "
            f"which runs from {low:g} to {high:g} mm",
            call.site,
        )
