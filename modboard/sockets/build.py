"""An adapter in a design: the plug for the host's socket, the chip's own socket, and every net between them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from modboard.describe.design import Design
from modboard.describe.notation import expanded_words
from modboard.describe.parts import find_device
from modboard.errors import DesignError, ModboardError, caller
from modboard.library.model import Device
from modboard.library.rows import PITCH
from modboard.sockets.match import POWER, Row, Table, compare, rail

BETWEEN = 1.0  # mm between the courtyards of plug and socket


def adapter(
    board: Design,
    host: str,
    chip: str,
    *,
    plug: str = "P1",
    socket: str = "U1",
    wires: str = "J1",
    capacitor: str = "C1",
    hold: str | None = "10k",
    wishes: Mapping[str, str] | None = None,
    moves: Mapping[str, str] | None = None,
    apart: str | Sequence[str] = (),
    footprint: str | None = None,
    plug_footprint: str | None = None,
    at: Sequence[float] | None = None,
) -> Table:
    """Add to `board` what puts a `chip` into the socket of a `host` device; return the table of what goes where.

    Parts: `plug` (pins down into the host's socket), `socket` (the chip in a socket), `wires` (a wire pad for every pin
    that is new), a `capacitor` of 100 nF across the supply ("" for none), and for every new input a resistor `hold` to
    ground, or to the supply if the pin is active low, so that the machine works with no wire fitted (None for none).

    Nets are called as the chip's pins are, without "/".  Add to them as to any net: ``board.net("VCC", volts=5)``.
    `wishes`, `moves`: see `compare`; `apart` names pins of the chip that the design wires itself.  With `at` (x, y; mm)
    pin 1 of the plug stands there and the socket to its right, clear of it; else the tool places both.

    Raises DesignError, with the pins named, for what would do harm: a supply on another supply or on a signal.
    """
    site = caller()
    known_host, known_chip = find_device(host, f"host of adapter {plug}", site), find_device(chip, socket, site)
    if plug_footprint is None:
        if not known_host.footprint.startswith("dip-"):
            raise DesignError(
                f"adapter {host} to {chip}: a {known_host.name} sits in {known_host.footprint}, not in a DIP socket; "
                "name what plugs into its socket with plug_footprint=",
                site,
            )
        plug_footprint = known_host.footprint.replace("dip-", "host-plug-", 1)
    said = {**(wishes or {}), **dict.fromkeys(expanded_words(apart, "apart", site), "apart")}
    try:
        table = compare(known_host, known_chip, wishes=said, moves=moves)
    except ModboardError as error:
        raise DesignError(str(error), site) from None
    if table.conflicts:
        raise DesignError(f"adapter {host} to {chip}: {'; '.join(_harm(row, table) for row in table.conflicts)}", site)
    own = known_chip.footprint
    board.part(plug, host, footprint=plug_footprint)
    board.part(socket, chip, footprint=footprint or (f"{own}-socket" if own.startswith("dip-") else None))
    _nets(board, table, plug, socket, wires, capacitor, hold)
    if at is not None:
        _stand(board, plug, socket, at)
    return table


def _harm(row: Row, table: Table) -> str:
    where = f" on contact {row.host} ({row.host_name})" if row.host else ""
    return f"pin {row.chip} ({row.chip_name}) of {table.chip.name}{where}: {row.note}"


def _nets(board: Design, table: Table, plug: str, socket: str, wires: str, capacitor: str, hold: str | None) -> None:
    """Add the nets, and the wire pads, resistors and capacitor that stand on them."""
    names = _net_names(table)
    high, low = _supply(table, names)
    new = table.of("new")
    if new:
        board.part(wires, f"wire-pads-1x{len(new)}", pins=[names[row.chip] for row in new])
    for row in table.rows:
        pin, contact = f"{socket}.{row.chip}", f"{plug}.{row.host}"
        if row.kind in ("straight", "moved"):
            board.net(names[row.chip], [pin, contact])
        elif row.kind in ("tied high", "tied low"):
            board.net(high if row.kind == "tied high" else low, pin)
        elif row.kind == "open":
            board.no_connect(pin)
        elif row.kind == "unused":
            board.no_connect(contact)
        elif row.kind == "new":
            board.net(names[row.chip], [pin, f"{wires}.{names[row.chip]}"])
            found = table.chip.find(row.chip)
            if hold and found and found.type == "input":
                resistor = board.free_reference("R")
                board.part(resistor, "resistor", hold, footprint="resistor-axial-7.62")
                board.net(names[row.chip], f"{resistor}.1")
                board.net(high if row.chip_name.startswith("/") else low, f"{resistor}.2")
    if capacitor and high != low:
        board.part(capacitor, "capacitor", "100n", footprint="capacitor-disc-2.54")
        board.net(high, f"{capacitor}.1")
        board.net(low, f"{capacitor}.2")
        fed = next(p for p in table.chip.pins if names.get(p.number) == high and p.type in POWER)
        board.place(capacitor, near=f"{socket}.{fed.number}")


def _net_names(table: Table) -> dict[str, str]:
    """Return the net of each pin of the chip: its name without "/", or with n for "/" if another has it."""
    plain = {p.names[0] if p.names else p.number for p in table.chip.pins}
    named: dict[str, str] = {}
    for pin in table.chip.pins:
        name = pin.names[0] if pin.names else f"{table.chip.name}_{pin.number}"
        if pin.type in POWER and rail(table.chip, pin) == "GND":
            name = "GND"
        if name.startswith("/"):
            name = name[1:] if name[1:] not in plain else f"n{name[1:]}"
        named[pin.number] = name
    return named


def _supply(table: Table, names: Mapping[str, str]) -> tuple[str, str]:
    """Return the nets that high and low are: the chip's VCC, else its first supply, and its ground."""
    chip: Device = table.chip
    fed = [p for p in chip.pins if p.type == "power-in"]
    grounds = [names[p.number] for p in fed if rail(chip, p) == "GND"]
    rails = [names[p.number] for p in fed if rail(chip, p) == "VCC"] or [
        names[p.number] for p in fed if rail(chip, p) != "GND"
    ]
    low = grounds[0] if grounds else "GND"
    return (rails[0] if rails else low, low)


def _stand(board: Design, plug: str, socket: str, at: Sequence[float]) -> None:
    """Fix the plug at `at` and the socket to its right, pin rows upright, on a whole step of the 2.54 grid."""
    one, other = board.footprint_of(plug), board.footprint_of(socket)
    right = max(x for x, _ in one.courtyard)
    left = min(x for x, _ in other.courtyard)
    steps = math.ceil((right - left + BETWEEN) / PITCH - 1e-9)
    board.place(plug, at=at, turn=0)
    board.place(socket, at=(at[0] + steps * PITCH, at[1]), turn=0)
