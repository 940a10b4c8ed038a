"""Pins that no track can get to: by the sum pitch − land < gap + track + gap, and by free area alone."""

from __future__ import annotations

import pytest
import shapely

from modboard.describe.design import Design
from modboard.describe.model import Description
from modboard.describe.rules import Rules
from modboard.layout.board import PlacedPart
from modboard.layout.place.wishes import fixed_part
from modboard.layout.route.router import PITCH, walled_in
from modboard.layout.route.walled import in_words


def header_at_edge(inset: float, rules: Rules) -> tuple[Description, tuple[PlacedPart, ...]]:
    """Return a header of two rows, the outer one `inset` mm from the left edge, each pin wired to one of its own."""
    design = Design("edge", outline=(40, 30), rules=rules)
    design.part("J1", "header-2x5", pins="A0 B0 A1 B1 A2 B2 A3 B3 A4 B4")
    design.part("J2", "header-1x10", pins="A0 A1 A2 A3 A4 B0 B1 B2 B3 B4")
    for row in "AB":
        for n in range(5):
            design.net(f"{row}{n}", f"J1.{row}{n} J2.{row}{n}")
    design.place("J1", at=(inset, 20.0), turn=270)
    design.place("J2", at=(30.0, 26.0), turn=270)
    description = design.described()
    parts = tuple(fixed_part(description, part) for part in description.parts)
    return description, tuple(p for p in parts if p is not None)


def shut_in(description: Description, parts: tuple[PlacedPart, ...], net: str) -> bool:
    """Tell by the free area alone whether the pads of a net lie in pieces apart: track centres as shapely areas."""
    rules = description.rules
    pads = [pad for placed in parts for pad in placed.pads(description.net_of())]
    free = description.outline.buffer(-rules.copper_to_edge - rules.track / 2)
    for pad in pads:
        if pad.net != net:
            free = free.difference(pad.shape.grown(rules.gap + rules.track / 2).polygon())
    pieces = list(shapely.get_parts(free))
    return (
        len({next(k for k, p in enumerate(pieces) if p.covers(shapely.Point(d.at))) for d in pads if d.net == net}) > 1
    )


@pytest.mark.parametrize(("inset", "rules", "shut"), [
    (2.1, Rules.named("home"), 3),  # 2.54 − 2.0 = 0.54 between lands, 0.4 + 0.4 + 0.4 = 1.2 asked for
    (4.0, Rules.named("home"), 0),  # from land to edge 3.0: 0.4 + 0.4 + 1.0 = 1.8 asked for, one track at a time
    (2.1, Rules.named("pool"), 0),  # 0.25 + 0.25 + 0.25 = 0.75 passes between lands
])  # fmt: skip
def test_pins_are_walled_in_where_the_sum_of_land_gap_and_track_says_so(inset: float, rules: Rules, shut: int) -> None:
    """The outer row at a board's edge; its end pins can always leave along the edge."""
    description, parts = header_at_edge(inset, rules)
    found = walled_in(description, parts, 1, PITCH)
    nets = {pin.net for pin in found}
    assert nets == {net.name for net in description.nets if shut_in(description, parts, net.name)}
    assert len(nets) == shut and {pin.pin[0] for pin in found} <= {"J1"}
    said = in_words(found)
    assert bool(said) == bool(shut) and (not shut or "1.20 mm needed" in said)
