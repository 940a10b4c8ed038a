"""The adapter as a picture: the chip within the host's socket, bottom-aligned, a line for every join."""

from __future__ import annotations

from shapely.geometry import box

from modboard.geometry import Position
from modboard.library.model import Device
from modboard.sockets.listing import counts
from modboard.sockets.match import Kind, Row, Table
from modboard.view import colours
from modboard.view.sheet import Sheet

STEP = 7.0  # mm on the sheet between pins
CHIP, LEG, SOCKET = 22.0, 3.0, 62.0  # mm from the middle to the chip's side, its legs' length, to the socket's contacts
EDGE, NAMES = 14.0, 26.0  # mm, margin and room for the contacts' names
LANE = 2.2  # mm between lines that pass over the chip's end
COLOUR: dict[Kind, str] = {
    "straight": colours.SOFT_INK,
    "moved": colours.BOTTOM_COPPER,
    "new": colours.TOP_COPPER,
    "tied high": colours.TOP_COPPER,
    "tied low": colours.TOP_COPPER,
    "apart": colours.INK,
    "conflict": colours.FINDING,
}
STUBS: dict[Kind, str] = {"new": "wire", "tied high": "high", "tied low": "low", "apart": "apart", "conflict": "harm"}


def picture(table: Table) -> str:
    """Return the SVG: straight joins grey, moved ones blue, new and tied pins orange stubs, conflicts vermilion."""
    middle = EDGE + NAMES + SOCKET
    crossing = [
        row for row in table.rows if _joined(row) and _side(table.chip, row.chip) != _side(table.host, row.host)
    ]
    top = EDGE + 16.0 + LANE * (len(crossing) + 1)
    sides = [(len(device.pins) + 1) // 2 for device in (table.host, table.chip)]
    bottom = top + (max(sides) - 1) * STEP
    sheet = Sheet(2 * middle, bottom + STEP + EDGE, f"{table.chip.name} in the socket of a {table.host.name}")
    sheet.text(f"{table.chip.name} in the socket of a {table.host.name}", (EDGE, EDGE - 2.0), colours.TITLE_LETTERS)
    sheet.text(counts(table), (EDGE, EDGE + 5.0), widest=2 * middle - 2 * EDGE)
    contacts = _pins(table.host, middle, bottom, SOCKET)
    legs = _pins(table.chip, middle, bottom, CHIP + LEG)
    for row in sorted(table.rows, key=lambda row: not row.host):  # stubs last, so that their words stay readable
        if row.kind not in ("unused", "open"):
            lane = LANE * (crossing.index(row) + 1) if row in crossing else None
            _join(sheet, row, legs[row.chip], contacts.get(row.host), top, middle, lane)
    _socket(sheet, table.host, contacts, middle)
    _chip(sheet, table.chip, legs, middle, bottom)
    return sheet.svg()


def _joined(row: Row) -> bool:
    return bool(row.chip and row.host)


def _side(device: Device, number: str) -> float:
    """Return -1 for a pin of the left row, 1 for one of the right."""
    place = [pin.number for pin in device.pins].index(number)
    return -1.0 if place < (len(device.pins) + 1) // 2 else 1.0


def _pins(device: Device, middle: float, bottom: float, out: float) -> dict[str, Position]:
    """Return where each pin is: down the left row and up the right, the last of the left row at `bottom`."""
    side = (len(device.pins) + 1) // 2
    found = {}
    for k, pin in enumerate(device.pins):
        row = k if k < side else len(device.pins) - 1 - k
        found[pin.number] = (middle + _side(device, pin.number) * out, bottom - (side - 1 - row) * STEP)
    return found


def _join(
    sheet: Sheet, row: Row, leg: Position, contact: Position | None, top: float, middle: float, lane: float | None
) -> None:
    """Draw one join: across the room between chip and socket, or round the chip's end in a lane of its own."""
    colour, weight = COLOUR[row.kind], colours.THIN if row.kind == "straight" else colours.THICK
    way = 1.0 if leg[0] > middle else -1.0
    if contact is None:
        tip = (leg[0] + way * 8.0, leg[1])
        sheet.line([leg, tip], weight, colour)
        at = (tip[0] + way * 1.5, tip[1])
        sheet.text(STUBS.get(row.kind, ""), at, align="left" if way > 0 else "right", colour=colour, halo=True)
        return
    dashes = "2 1.5" if row.kind == "apart" else ""
    if lane is None:
        sheet.line([leg, contact], weight, colour, dashes)
        return
    over, near, far = top - STEP / 2 - lane, leg[0] + way * (LEG + lane), contact[0] + way * (LEG + lane)
    sheet.line([leg, (near, leg[1]), (near, over), (far, over), (far, contact[1]), contact], weight, colour, dashes)


def _socket(sheet: Sheet, host: Device, contacts: dict[str, Position], middle: float) -> None:
    """Draw the socket's contacts with their names outside."""
    for pin in host.pins:
        x, y = contacts[pin.number]
        sheet.circle((x, y), 2.4, fill=colours.PAPER, colour=colours.INK)
        name = pin.names[0] if pin.names else ""
        if x < middle:
            sheet.text(f"{name} {pin.number}", (x - 3.0, y), align="right", widest=NAMES)
        else:
            sheet.text(f"{pin.number} {name}", (x + 3.0, y), widest=NAMES)


def _chip(sheet: Sheet, chip: Device, legs: dict[str, Position], middle: float, bottom: float) -> None:
    """Draw the chip from above with its legs and their names inside."""
    top = min(y for _, y in legs.values())
    outline = box(middle - CHIP, top - STEP / 2, middle + CHIP, bottom + STEP / 2)
    sheet.area(outline, fill=colours.BODY, colour=colours.INK, weight=colours.THICK)
    sheet.text(chip.name, (middle, (top + bottom) / 2), turn=90.0, align="centre", colour=colours.SOFT_INK)
    for pin in chip.pins:
        x, y = legs[pin.number]
        way = -1.0 if x < middle else 1.0
        sheet.line([(x, y), (x - way * LEG, y)], colours.THICK)
        name, inside = pin.names[0] if pin.names else "", x - way * (LEG + 2.0)
        if way < 0:
            sheet.text(f"{pin.number} {name}", (inside, y), widest=CHIP - 5.0)
        else:
            sheet.text(f"{name} {pin.number}", (inside, y), align="right", widest=CHIP - 5.0)
