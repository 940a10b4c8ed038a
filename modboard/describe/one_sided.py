"""Where a design has copper: on one side only, or round leads that no plating joins; all before parts are placed."""

from __future__ import annotations

from dataclasses import replace

from modboard import library
from modboard.describe.model import Description, Fixed, Free, Net, Part, Wish
from modboard.describe.rules import Rules
from modboard.errors import DesignError
from modboard.library.model import Footprint

SHORTEST_LINK = 5.08  # mm; two lands with room between them
LINK_STEP = 2.54  # mm
LINK_WIRE = 0.6  # mm, as the pattern of a link says
REACHABLE = ("resistor-axial", "diode", "wire", "inductor-axial")  # an iron gets to their leads on their own side
LINK_AIR = 0.25  # mm from a wire to a body and to the rim of a lead's hole; bodies insulate, common practice


def link_footprint(length: float, description: Description) -> Footprint:
    """Return the land pattern of a wire link of that length (mm), copper at the bottom only."""
    rules = description.rules
    found = library.footprint(f"wire-link-{length:.4g}", level=rules.level, land_min=rules.pad_land_min)
    return one_sided_footprint(found)


def link_air(description: Description) -> float:
    """Return how far (mm) wires keep from bodies and leads: more where volts ask for more between nets."""
    return max([LINK_AIR, *(net.gap for net in description.nets if net.gap > description.rules.gap)])


def as_soldered(description: Description) -> Description:
    """Return the description with lands only where leads can be soldered: all of it, where holes are plated.

    Without plating a land on the side of the part's body is one more that no iron gets to, and bars the way between
    leads; those of flat parts with leads to both sides stay.  Home etching limits, common practice.
    """
    rules = description.rules
    return replace(
        description,
        parts=tuple(replace(p, footprint=soldered_footprint(p.footprint, rules)) for p in description.parts),
    )


def soldered_footprint(footprint: Footprint, rules: Rules) -> Footprint:
    """Return the pattern with lands where a board of these rules needs them, and can have them soldered."""
    both = rules.layers_plated or (not rules.one_sided and footprint.name.startswith(REACHABLE))
    return footprint if both else one_sided_footprint(footprint)


def one_sided_footprint(footprint: Footprint) -> Footprint:
    """Return the pattern with the lands of its leads on the side away from the part only."""
    return replace(footprint, lands=tuple(replace(n, opposite=True) if n.through else n for n in footprint.lands))


def one_sided(description: Description) -> Description:
    """Return the description for a board with all copper at the bottom, parts with leads on top, others at the bottom.

    Raises DesignError, at the line of the part or track, for what can't be had so.
    """
    for part in description.parts:
        _possible(part, description.wishes.get(part.reference, Free()))
    for track in description.drawn_tracks:
        if track.side == "top":
            raise DesignError('track: a one-sided board has copper at the bottom only; say side="bottom"', track.site)
    for via in description.drawn_vias:
        raise DesignError("via: a one-sided board has none; leave it out, the tool puts wire links", via.site)
    wishes: dict[str, Wish] = {
        p.reference: replace(
            description.wishes.get(p.reference, Free()),
            side="bottom" if p.footprint.technology == "surface-mount" else "top",
        )
        for p in description.parts
    }
    land = link_footprint(SHORTEST_LINK, description).lands[0]
    assert land.hole is not None
    rules = replace(
        description.rules,
        title=f"{description.rules.name} rules, copper on one side",
        one_sided=True,
        layers_plated=False,
        via_land=max(description.rules.via_land, land.form.width),
        via_hole=land.hole.diameter,
    )
    nets = tuple(_poured_below(net) for net in description.nets)
    return as_soldered(replace(description, rules=rules, wishes=wishes, nets=nets))


def two_sided(description: Description) -> Description:
    """Return a one-sided description with copper on both sides, as far as that differs: lands, links, rules."""

    def turned(part: Part) -> Part:
        lands = tuple(replace(n, opposite=False) if n.through else n for n in part.footprint.lands)
        return replace(part, footprint=replace(part.footprint, lands=lands))

    plated = Rules.named(description.rules.name).layers_plated
    rules = replace(description.rules, title=description.rules.name, one_sided=False, layers_plated=plated)
    return as_soldered(replace(description, rules=rules, parts=tuple(turned(p) for p in description.parts)))


def _poured_below(net: Net) -> Net:
    return replace(net, pour="bottom") if net.pour else net


def _possible(part: Part, wish: Wish) -> None:
    footprint = part.footprint
    leaded = any(land.through for land in footprint.lands)
    if footprint.underside:
        raise DesignError(
            f"part {part.reference}: {footprint.name} hangs below the board, over the only side with copper; "
            "such a board needs two sides",
            part.site,
        )
    if leaded and any(not land.through for land in footprint.lands):
        raise DesignError(
            f"part {part.reference}: {footprint.name} has lands on both sides; such a board needs two sides", part.site
        )
    if leaded and wish.side == "bottom":
        raise DesignError(
            f"part {part.reference}: on a one-sided board parts with leads stand on top; leave side= out", part.site
        )
    if not leaded and footprint.lands and isinstance(wish, Fixed) and wish.side == "top":
        raise DesignError(
            f"part {part.reference}: {footprint.name} is soldered to copper, which a one-sided board has at the bottom "
            'only; say side="bottom"',
            part.site,
        )
