"""Patterns that a design can't have as it stands: lands the rules can't be kept with, edge contacts off the edge.

Said where the part is named, before anything is laid out.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from modboard.describe.model import AtEdge, Fixed, Part, Waiver, Wish
from modboard.describe.rules import Rules
from modboard.errors import DesignError
from modboard.geometry import TOLERANCE
from modboard.library.model import Footprint, Land

WAIVABLE = ("annular-ring", "mask-web", "copper-gap", "hole-to-hole", "land-size")  # rules that cramped lands break


def refuse_cramped(part: Part, rules: Rules, waivers: Sequence[Waiver]) -> None:
    """Raise DesignError, at the part's own line, if its pattern states a limit and the rules ask for more than it has.

    A waiver of one of the rules concerned that names the part lets it through: the person knows.
    """
    found = part.footprint
    if not found.exception:
        return
    lacking = _lacking(found, rules)
    known = any(w.rule in WAIVABLE and part.reference in re.findall(r"\w+", w.where) for w in waivers)
    if lacking and not known:
        finer = ', rules="fine"' if rules.name != "fine" and not _lacking_at(found, "fine") else ""
        raise DesignError(
            f'part {part.reference}: {found.name} can\'t be made by rules "{rules.name}" ({lacking}): '
            f"{found.exception}; take another footprint{finer}, or waive {WAIVABLE[0]} or {WAIVABLE[1]} at "
            f'"{part.reference}"',
            part.site,
        )


def refuse_off_edge(part: Part, wish: Wish | None, rules: Rules) -> None:
    """Raise DesignError for half-holes and card-edge fingers that no wish brings to an edge, or that can't be made."""
    kind = part.footprint.edge
    what = "half-holes" if kind == "halved" else "contact fingers"
    if kind and not isinstance(wish, AtEdge | Fixed):
        raise DesignError(
            f"part {part.reference}: its {what} belong on an edge of the board; say which, as in "
            f'place("{part.reference}", edge="bottom")',
            part.site,
        )
    if kind == "halved" and not rules.layers_plated:
        raise DesignError(
            f'part {part.reference}: half-holes are plated, and rules "{rules.name}" plate nothing; take pads for '
            'wires (wire-pads-1x4), or rules="pool"',
            part.site,
        )


def _lacking_at(found: Footprint, named: str) -> str:
    from modboard.errors import LibraryError
    from modboard.library import footprint

    rules = Rules.named(named)
    try:
        return _lacking(footprint(found.name, level=rules.level, land_min=rules.pad_land_min), rules)
    except LibraryError:
        return "no such pattern"


def _lacking(found: Footprint, rules: Rules) -> str:
    """Say what a pattern lacks by the rules, in words; "" if nothing."""
    rings = [ring for land in found.lands if (ring := _ring(land)) is not None]
    if rings and min(rings) < rules.ring_pad - TOLERANCE:
        return f"rings of {min(rings):.2f} mm, {rules.ring_pad:g} is asked"
    apart = _gap(found.lands)
    if apart is not None and apart < rules.gap - TOLERANCE:
        return f"lands {apart:.2f} mm apart, {rules.gap:g} is asked"
    web = rules.mask_web + 2 * rules.mask_expansion
    if rules.mask and apart is not None and apart < web - TOLERANCE:
        return f"lands {apart:.2f} mm apart, mask between them needs {web:g}"
    return ""


def _ring(land: Land) -> float | None:
    """Return the narrowest ring round a land's hole, None if it has none."""
    if land.hole is None:
        return None
    copper, opening = land.form.shape(land.at).bounds(), land.hole.shape().bounds()
    return min(o - c if k < 2 else c - o for k, (c, o) in enumerate(zip(copper, opening, strict=True)))


def _gap(lands: Sequence[Land]) -> float | None:
    """Return the least gap between lands of two numbers, None if there is only one."""
    shapes = [(land, land.form.shape(land.at)) for land in lands]
    pairs = ((a, b) for i, a in enumerate(shapes) for b in shapes[i + 1 :])
    return min((a.distance(b) for (one, a), (other, b) in pairs if one.number != other.number and one.meets(other)),
               default=None)  # fmt: skip
