"""The adapter as a picture: the host's socket on the left, the chip on the right, a line for every join."""

from __future__ import annotations

from shapely.geometry import box

from modboard.geometry import Position
from modboard.library.model import Device
from modboard.sockets.listing import counts
from modboard.sockets.match import Kind, Table
from modboard.view import colours
from modboard.view.sheet import Sheet

STEP = 7.0  # mm on the sheet between pins
WIDE = 44.0  # mm, a chip
APART = 150.0  # mm between the middles of socket and chip
EDGE = 16.0  # mm
COLOUR: dict[Kind, str] = {
    "straight": colours.SOFT_INK,
    "moved": colours.BOTTOM_COPPER,
    "new": colours.TOP_COPPER,
    "tied high": colours.TOP_COPPER,
    "tied low": colours.TOP_COPPER,
    "apart": colours.INK,
    "conflict": colours.FINDING,
}


def picture(table: Table) -> str:
    """Return the SVG: straight joins grey, moved ones blue, new and tied pins orange stubs, conflicts vermilion."""
    side = max((len(d.pins) + 1) // 2 for d in (table.host, table.chip))
    width, height = APART + 2 * (EDGE + WIDE / 2 + 30.0), side * STEP + 2 * EDGE + 22.0
    sheet = Sheet(width, height, f"{table.chip.name} in the socket of a {table.host.name}")
    sheet.text(f"{table.chip.name} in the socket of a {table.host.name}", (EDGE, EDGE - 4.0), colours.TITLE_LETTERS)
    sheet.text(counts(table), (EDGE, EDGE + 3.0), widest=width - 2 * EDGE)
    left, right, top = EDGE + 30.0 + WIDE / 2, EDGE + 30.0 + WIDE / 2 + APART, EDGE + 18.0
    contacts = _chip(sheet, table.host, "socket", left, top)
    pins = _chip(sheet, table.chip, "chip", right, top)
    for row in table.rows:
        if row.kind in ("unused", "open"):
            continue
        colour = COLOUR[row.kind]
        end, outwards = pins[row.chip]
        if row.host:
            start, out = contacts[row.host]
            dashes = "2 1.5" if row.kind == "apart" else ""
            bent = [start, (start[0] + out * 8.0, start[1]), (end[0] + outwards * 8.0, end[1]), end]
            sheet.line(bent, colours.THICK if row.kind != "straight" else colours.THIN, colour, dashes)
            continue
        tip = (end[0] + outwards * 9.0, end[1])
        sheet.line([end, tip], colours.THICK, colour)
        said = {"new": "wire", "tied high": "high", "tied low": "low", "conflict": "!"}.get(row.kind, "")
        at = (tip[0] + outwards * 1.5, tip[1])
        sheet.text(said, at, align="left" if outwards > 0 else "right", colour=colour, halo=True)
    return sheet.svg()


def _chip(sheet: Sheet, device: Device, what: str, x: float, top: float) -> dict[str, tuple[Position, float]]:
    """Draw a package from above; return where each pin's line begins, and to which side (-1 left, 1 right)."""
    count = len(device.pins)
    side = (count + 1) // 2
    sheet.area(
        box(x - WIDE / 2, top - STEP / 2, x + WIDE / 2, top + (side - 0.5) * STEP),
        fill=colours.BODY,
        colour=colours.INK,
        weight=colours.THICK,
    )
    sheet.text(f"{device.name} {what}", (x, top - STEP / 2 - 3.0), align="centre")
    found: dict[str, tuple[Position, float]] = {}
    for k, pin in enumerate(device.pins):
        row, way = (k, -1.0) if k < side else (count - 1 - k, 1.0)
        y = top + row * STEP
        edge = x + way * WIDE / 2
        sheet.line([(edge, y), (edge + way * 3.0, y)], colours.THICK)
        name = pin.names[0] if pin.names else ""
        said = f"{pin.number} {name}" if way < 0 else f"{name} {pin.number}"
        sheet.text(said, (edge - way * 2.0, y), align="left" if way < 0 else "right", widest=WIDE / 2 - 4.0)
        found[pin.number] = ((edge + way * 3.0, y), way)
    return found
