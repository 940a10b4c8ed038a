"""Which pin of a chip goes to which contact of a host socket, by what the pins are called and what they do.

The host's socket is known by the device that was in it.  Pins meet by name first (`A3`, `/OE`), then by customary
other names, then by role: a chip's select goes to the host's, whatever each calls it.  What the host has not is brought
out to a wire or tied; what would do harm is a conflict, and names both pins.

Two in-line packages of different length sit bottom-aligned (JEDEC Standard 21-C 3.7.5): pin n of the shorter is over
pin n + d/2 of the longer, d being the difference of their pin counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from modboard.errors import ModboardError, nearest
from modboard.library.model import Device, Pin

Kind = Literal["straight", "moved", "new", "tied high", "tied low", "apart", "open", "unused", "conflict"]
Wish = Literal["high", "low", "wire", "open", "apart"]
WISHES = ("high", "low", "wire", "open", "apart")

DRIVES = ("output", "three-state", "bidirectional", "open-collector", "power-out")
POWER = ("power-in", "power-out")
GROUNDS = frozenset({"GND", "VSS"})
SELECT = frozenset({"/CS", "/CE", "/CS1", "/CE1", "/E", "PD"})
ENABLE = frozenset({"/OE", "/G"})
WRITE = frozenset({"/WE", "/W"})
MASKED = frozenset({"CS1", "CS2", "CS3"})  # selects of mask ROMs: which level is active was chosen by who ordered them
PROGRAMMING = frozenset({"VPP", "/PGM"})  # high for reading: 2764 and 27128 data sheets, from memory
SECOND_SELECT = "CE2"  # the customary other name of an active-high select


@dataclass(frozen=True)
class Row:
    """One pin of the chip with the contact of the host it goes to ("" where there is none), or a contact left over.

    `note` says what to know of it; for a conflict what would happen.
    """

    kind: Kind
    chip: str = ""  # pad number
    chip_name: str = ""
    host: str = ""
    host_name: str = ""
    note: str = ""


@dataclass(frozen=True)
class Table:
    """All pins of a chip, in order, then the host's contacts that nothing uses; `plugged` says what would happen if the
    chip were put into the host's socket as it is.
    """

    host: Device
    chip: Device
    rows: tuple[Row, ...]
    plugged: tuple[str, ...]

    def __str__(self) -> str:
        """Return the table as text, as the command line prints it."""
        from modboard.sockets.listing import text

        return text(self)

    @property
    def conflicts(self) -> tuple[Row, ...]:
        """The rows that must not be wired."""
        return tuple(row for row in self.rows if row.kind == "conflict")

    def of(self, kind: Kind) -> tuple[Row, ...]:
        """Return the rows of one kind."""
        return tuple(row for row in self.rows if row.kind == kind)


def compare(
    host: Device, chip: Device, *, wishes: Mapping[str, str] | None = None, moves: Mapping[str, str] | None = None
) -> Table:
    """Return how `chip` is wired to a socket made for `host`.

    `wishes` says of a chip's pin what to do with it: "high" or "low" ties it, "wire" brings it out, "open" leaves it,
    "apart" leaves it and its partner to the design.  `moves` gives a chip's pin a contact of the host.  Both name pins
    by number or name.  Raises ModboardError for names that are none.
    """
    wanted = {_pin(chip, name).number: _wish(chip, name, what) for name, what in (wishes or {}).items()}
    moved = {_pin(chip, name).number: _pin(host, contact) for name, contact in (moves or {}).items()}
    partners = _partners(host, chip, moved)
    aligned = _aligned(host, chip)
    rows = [_row(host, chip, pin, partners.get(pin.number), wanted.get(pin.number), aligned) for pin in chip.pins]
    used = {row.host for row in rows if row.host}
    rows += [
        Row("unused", host=pin.number, host_name=_name(pin), note=_left_over(pin))
        for pin in host.pins
        if pin.number not in used
    ]
    return Table(host, chip, tuple(rows), _if_plugged(host, chip, aligned))


def _wish(chip: Device, name: str, what: str) -> str:
    if what not in WISHES:
        raise ModboardError(f'adapter: pin {name} of {chip.name}: "{what}" is none of {", ".join(WISHES)}')
    return what


def _pin(device: Device, name: str) -> Pin:
    found = device.find(name)
    if found is None:
        names = [n for pin in device.pins for n in (pin.number, *pin.names)]
        close = nearest(name, names)
        hint = f"; did you mean {' or '.join(close)}?" if close else ""
        raise ModboardError(f'adapter: {device.name} has no pin "{name}"{hint}')
    return found


def _name(pin: Pin) -> str:
    return pin.names[0] if pin.names else pin.number


def _left_over(contact: Pin) -> str:
    """Say what to know of a contact of the host that nothing of the chip goes to."""
    if contact.type in POWER:
        return f"the host's supply {_name(contact)} goes nowhere"
    if role(contact) in ("select", "second select", "masked select"):
        return "the chip is selected without it"
    return "the chip has no such pin" if _works(contact) else ""


def _works(pin: Pin) -> bool:
    return pin.type != "no-connect"


def _aligned(host: Device, chip: Device) -> dict[str, Pin]:
    """Return for each pin of the chip the host's contact under it, bottom-aligned; none for other packages."""
    if not (host.footprint.startswith("dip-") and chip.footprint.startswith("dip-")):
        return {}
    shift = (len(host.pins) - len(chip.pins)) // 2
    contacts = {pin.number: pin for pin in host.pins}
    return {
        pin.number: contacts[str(int(pin.number) + shift)]
        for pin in chip.pins
        if pin.number.isdigit() and str(int(pin.number) + shift) in contacts
    }


def rail(device: Device, pin: Pin) -> str:
    """Return which supply a power pin is: grounds are one, and VDD is VCC in a device that has no VCC beside it."""
    name = _name(pin)
    if GROUNDS & set(pin.names):
        return "GND"
    if name == "VDD" and not any(_name(p) == "VCC" for p in device.pins):
        return "VCC"
    return name


def role(pin: Pin) -> str:
    """Return what a control pin does, "" for all others."""
    names = set(pin.names)
    if SECOND_SELECT in names:
        return "second select"
    for found, group in (("enable", ENABLE), ("write", WRITE), ("select", SELECT), ("masked select", MASKED)):
        if names & group:
            return found
    return ""


def _partners(host: Device, chip: Device, moved: Mapping[str, Pin]) -> dict[str, Pin]:
    """Pair the chip's pins with the host's contacts: as said, by rail, by name, by other name, by role."""
    found = dict(moved)
    taken = {pin.number for pin in found.values()}
    under = _aligned(host, chip)

    def pair(pin: Pin, contacts: list[Pin]) -> None:
        free = [c for c in contacts if c.number not in taken]
        if pin.number in found or not free:
            return
        place = under.get(pin.number)
        found[pin.number] = place if place in free else free[0]
        taken.add(found[pin.number].number)

    supplies = [p for p in host.pins if p.type in POWER]
    signals = [p for p in host.pins if p.type not in POWER and _works(p)]
    for pin in chip.pins:
        if pin.type in POWER:
            same = [c for c in supplies if rail(host, c) == rail(chip, pin)]
            pair(pin, same)
            if pin.number not in found and same:  # more supply pins than the host has contacts of that supply
                found[pin.number] = same[0]
    loose = [p for p in chip.pins if p.type not in POWER and _works(p)]
    for pin in loose:
        pair(pin, [c for c in signals if _name(c) == _name(pin)])
    for pin in loose:
        pair(pin, [c for c in signals if set(c.names) & set(pin.names)])
    for one, other in (
        ("select", "select"), ("enable", "enable"), ("write", "write"), ("second select", "second select"),
        ("select", "masked select"), ("masked select", "select"), ("enable", "masked select"),
        ("masked select", "enable"), ("masked select", "masked select"),
    ):  # fmt: skip
        for pin in loose:
            if role(pin) == one:
                pair(pin, [c for c in signals if role(c) == other])
    return found


def _row(
    host: Device, chip: Device, pin: Pin, partner: Pin | None, wish: str | None, aligned: Mapping[str, Pin]
) -> Row:
    """Say what becomes of one pin of the chip."""

    def row(kind: Kind, note: str = "", *, joined: bool = False) -> Row:
        there = (partner.number, _name(partner)) if joined and partner else ("", "")
        return Row(kind, pin.number, _name(pin), *there, note)

    if wish == "apart":
        return row("apart", "left to the design", joined=True)
    if wish in ("high", "low"):
        if harm := _tying_harm(chip, pin, wish):
            return row("conflict", harm)
        return row("tied high" if wish == "high" else "tied low", "as asked")
    if wish in ("wire", "open"):
        return row("new" if wish == "wire" else "open", "as asked")
    if partner is None:
        return row(*_without_partner(pin))
    if harm := clash(chip, pin, host, partner):
        return row("conflict", harm, joined=True)
    kind: Kind = "straight" if aligned.get(pin.number) == partner else "moved"
    masked = "masked select" in (role(pin), role(partner)) and role(pin) != role(partner)
    note = "which level selects a mask ROM differs: check" if masked else ""
    return row(kind, note, joined=True)


def _without_partner(pin: Pin) -> tuple[Kind, str]:
    """Say what becomes of a pin that the host has nothing for, and why."""
    names = set(pin.names)
    if pin.type == "no-connect":
        return "open", "no connection inside"
    if names & PROGRAMMING and not names & ENABLE:
        return "tied high", "for reading only"
    if pin.type in POWER:
        return "conflict", f"the host's socket has no {_name(pin)}"
    if names & WRITE:
        return "tied high", "never written: the host has no write line"
    if names & ENABLE:
        return "tied low", "always enabled when selected"
    if role(pin) == "second select":
        return "tied high", "always ready to be selected"
    if pin.type in DRIVES:
        return "open", "the host has nothing that listens"
    return "new", "brought to a wire pad"


def _tying_harm(chip: Device, pin: Pin, wish: str) -> str:
    """Say what is wrong with tying a pin, "" if nothing."""
    if pin.type in DRIVES:
        return f"it is an output; tied {wish} it would short the supply"
    if pin.type in POWER and _name(pin) not in PROGRAMMING:
        right = "low" if rail(chip, pin) == "GND" else "high"
        if wish != right or rail(chip, pin) not in ("GND", "VCC"):
            return f"it is the supply {_name(pin)}, which is not {wish}"
    return ""


def clash(chip: Device, pin: Pin, host: Device, contact: Pin) -> str:
    """Say what harm is done where a pin of the chip meets a contact of the host's socket, "" if none.

    The contact is typed as the pin of the device that was there: its inputs are driven by the host.
    """
    if pin.type in POWER or contact.type in POWER:
        return _supply_clash(chip, pin, host, contact)
    if pin.type in DRIVES and contact.type == "input":
        return f"an output would meet what the host drives onto its {_name(contact)}"
    return ""


def _supply_clash(chip: Device, pin: Pin, host: Device, contact: Pin) -> str:
    fed = rail(host, contact) if contact.type in POWER else ""
    if pin.type in POWER and fed:
        return (
            "" if rail(chip, pin) == fed else f"the supply {_name(pin)} would meet the host's supply {_name(contact)}"
        )
    if pin.type in POWER:
        if contact.type == "no-connect":
            return f"the supply {_name(pin)} would have nothing: the host's contact is not connected"
        return f"the supply {_name(pin)} would be fed by the host's signal {_name(contact)}"
    if pin.type in DRIVES:
        return f"an output would meet the host's supply {_name(contact)}"
    if pin.type == "input" and fed not in ("GND", *(rail(chip, p) for p in chip.pins if p.type in POWER)):
        return f"an input would meet the host's supply {_name(contact)}, which the chip does not have"
    return ""


def _if_plugged(host: Device, chip: Device, aligned: Mapping[str, Pin]) -> tuple[str, ...]:
    """Return what harm is done if the chip goes into the host's socket bottom-aligned, without any adapter."""
    if not aligned:
        return ()
    found = []
    for pin in chip.pins:
        contact = aligned.get(pin.number)
        if contact is None:
            if pin.type in POWER and _name(pin) not in PROGRAMMING:
                found.append(f"pin {pin.number} ({_name(pin)}) would hang over the socket's end")
        elif harm := clash(chip, pin, host, contact):
            found.append(f"pin {pin.number} ({_name(pin)}) on contact {contact.number} ({_name(contact)}): {harm}")
    return tuple(found)
