"""Builders for connectors to the outside: jacks by measured sizes, D connectors, card edges, pins for host sockets.

Jacks lie with their mouth down in the drawing (`front` 270).
"""

from __future__ import annotations

from modboard.geometry import Position
from modboard.library.drawing import (
    Drawing,
    Lead,
    Sizing,
    centred_outline,
    closed,
    rectangle_outline,
)
from modboard.library.families import Dimensions
from modboard.library.leaded import lead_size, mark_kind
from modboard.library.model import Body, Hole, Land, PadForm

PITCH = 2.54  # mm


def jack(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a right-angled phono jack: pad 1 (tip) at the origin, the shell `spacing` nearer to the mouth.

    With `width` the shell has two pins that far apart, both pad 2.  `lead` is their diagonal or diameter, `behind` how
    far the housing reaches behind pad 1, `housing` its [width, depth, height], `barrel` [diameter, length].
    """
    spacing, size = dims.length("spacing"), lead_size(dims)
    aside = dims.length("width", 0.0) / 2
    shell: list[Position] = [(-aside, -spacing), (aside, -spacing)] if aside else [(0.0, -spacing)]
    leads = [Lead("1", (0.0, 0.0), size, square=True), *(Lead("2", at, size) for at in shell)]
    wide, deep, tall = dims.numbers("housing", 3)
    diameter, length = dims.pair("barrel")
    back = dims.length("behind")
    front = back - max(deep, spacing + back + size / 2)
    wide = max(wide, 2 * aside + size)
    bodies = (
        Body(rectangle_outline(-wide / 2, front, wide / 2, back), tall),
        Body(rectangle_outline(-diameter / 2, front - length, diameter / 2, front), tall - 2.0, 2.0),
    )
    legend = tuple(closed(body.outline) for body in bodies)
    return Drawing(sizing.lands(leads), bodies, legend, front=270.0)


def three_contact_jack(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a right-angled jack plug's socket: pad 1 (sleeve) at the origin, 2 (tip) and 3 (ring) `back` behind it.

    Those two are `aside` apart, tip to the left; housing and barrel as for `jack`.
    """
    back, aside, size = dims.length("back"), dims.length("aside") / 2, lead_size(dims)
    leads = [
        Lead("1", (0.0, 0.0), size, square=True),
        Lead("2", (-aside, back), size),
        Lead("3", (aside, back), size),
    ]
    wide, deep, tall = dims.numbers("housing", 3)
    wide, rear = max(wide, 2 * aside + size), max(dims.length("behind"), back + size / 2)
    diameter, length = dims.pair("barrel")
    front = rear - max(deep, rear + size / 2)
    bodies = (
        Body(rectangle_outline(-wide / 2, front, wide / 2, rear), tall),
        Body(rectangle_outline(-diameter / 2, front - length, diameter / 2, front), tall),
    )
    return Drawing(sizing.lands(leads), bodies, tuple(closed(b.outline) for b in bodies), front=270.0)


def barrel_jack(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a right-angled barrel jack: pad 1 (centre pin) at the back, 2 (sleeve) `spacing` before it, 3 beside them.

    `blade` is a contact's [width, thickness], `slot` its slot [width, length], `aside` how far pad 3 is off the line of
    the others; it stands half way between them.
    """
    spacing, aside = dims.length("spacing"), dims.length("aside")
    size = lead_size(dims, "blade")
    slot = dims.pair("slot")
    first = (slot[0], slot[1] + dims.length("longer", 0.0))
    leads = [
        Lead("1", (0.0, 0.0), size, square=True, slot=first, upright=False),
        Lead("2", (0.0, -spacing), size, slot=slot, upright=False),
        Lead("3", (aside, -spacing / 2), size, slot=slot),
    ]
    wide, deep, tall = dims.numbers("housing", 3)
    back = dims.length("behind")
    body = Body(rectangle_outline(-wide / 2, back - deep, wide / 2, back), tall)
    return Drawing(sizing.lands(leads), (body,), (closed(body.outline),), front=270.0)


def d_connector(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a right-angled D connector: the longer row, 1 upwards, behind; sockets count from the right, plugs not.

    `columns` and `row` are the distances of contacts and of the two rows, `screws` between the bare holes,
    `screws_before` how far those are before the front row, `reach` how far the shell reaches beyond them.
    """
    pins, columns, row = dims.count("pins"), dims.length("columns"), dims.length("row")
    longer = (pins + 1) // 2
    turn = 1.0 if dims.flag("plug") else -1.0
    size = lead_size(dims)
    middle = turn * (longer - 1) * columns / 2
    leads = []
    for k in range(pins):
        behind = k < longer
        along = k * columns if behind else (k - longer + 0.5) * columns
        leads.append(Lead(str(k + 1), (round(turn * along, 4), 0.0 if behind else -row), size, square=k == 0))
    screws, before = dims.length("screws"), row + dims.length("screws_before")
    size_of_hole, clear = dims.length("screw_hole"), dims.length("screw_clear")
    holes = tuple(
        Hole((middle + side * screws / 2, -before), size_of_hole, plated=False, clear=clear) for side in (-1, 1)
    )
    wide, tall, reach = dims.length("flange"), dims.length("height"), dims.length("reach")
    body = Body(rectangle_outline(middle - wide / 2, -before - reach, middle + wide / 2, 1.5), tall)
    return Drawing(sizing.lands(leads), (body,), (closed(body.outline),), "dot", holes=holes, front=270.0)


def card_edge(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw `count` contact fingers of a card edge, pad 1 at the left, tips down in the drawing.

    With `sides` 2 there are as many on the back, each behind one of the front: A1, A2 ... on the side of the part and
    B1, B2 ... on the other.
    """
    pitch, (width, length) = dims.length("pitch"), dims.pair("finger")
    form, sides = PadForm("rectangle", width, length), ("A", "B") if dims.length("sides", 1) == 2 else ("",)
    lands = tuple(
        Land(f"{side}{k + 1}", (round(k * pitch, 6), 0.0), form, opposite=side == "B")
        for side in sides
        for k in range(dims.count("count"))
    )
    middle = (lands[-1].at[0] / 2, 0.0)
    body = Body(centred_outline(middle, lands[-1].at[0] + width, length), dims.length("height"))
    return Drawing(lands, (body,), (), "dot" if len(lands) > 1 else "none", front=270.0, edge="fingers")


def host_pins(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a row of pins that hang from the underside into contacts of a host socket, pad 1 at the left."""
    count, size = int(dims.length("count", 1)), lead_size(dims)
    lands = sizing.lands([Lead(str(k + 1), (k * PITCH, 0.0), size, square=k == 0 < count - 1) for k in range(count)])
    across, along = (max(land.form.width for land in lands), max(land.form.height for land in lands))
    span = (count - 1) * PITCH
    body = Body(centred_outline((span / 2, 0.0), span + across, along), dims.length("height"))
    return Drawing(lands, (body,), (), "dot" if count > 1 else "none", underside=True)


def contact_rows(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a round connector (DIN, mini-DIN) by `contacts` [[x, y], ...] in pin order and `shell` lugs likewise.

    The lugs all bear the number `shell_number`; `lug` is the size their holes must pass.
    """
    size, lug, number = lead_size(dims), lead_size(dims, "lug"), dims.text("shell_number")
    contacts, shell = dims.positions("contacts"), dims.positions("shell")
    leads = [Lead(str(k + 1), at, size, square=k == 0) for k, at in enumerate(contacts)]
    leads += [Lead(number, at, lug) for at in shell]
    wide, deep, tall = dims.numbers("housing", 3)
    back = dims.length("behind")
    body = Body(rectangle_outline(-wide / 2, back - deep, wide / 2, back), tall)
    return Drawing(sizing.lands(leads), (body,), (closed(body.outline),), mark_kind(dims), front=270.0)
