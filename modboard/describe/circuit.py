"""From what was said of each net to resolved nets: which pads, how wide, how far apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from modboard.describe import measures
from modboard.describe.model import Part, PinRef
from modboard.describe.notation import expanded, split_pin, words
from modboard.describe.parts import no_such_pin, pads_of, pin_words
from modboard.errors import CallSite, DesignError

MOST_AMPS = 35.0  # A, where the IPC-2221 charts for outer layers end
POURS = ("top", "bottom", "both")


@dataclass
class NetSaid:
    """What several calls said of one net, each with its line."""

    name: str
    site: CallSite
    pins: list[tuple[str, CallSite]] = field(default_factory=list)  # ("R1.1", where)
    facts: dict[str, tuple[Any, CallSite]] = field(default_factory=dict)  # volts, amps, width, gap, pour, quiet, noisy

    def add_facts(self, facts: Mapping[str, object], site: CallSite) -> None:
        """Take in what one call said; DesignError for what can't be or contradicts an earlier call."""
        for name, value in facts.items():
            if value is None:
                continue
            checked = _fact(self.name, name, value, site)
            if name in self.facts and self.facts[name][0] != checked:
                before, where = self.facts[name]
                raise DesignError(
                    f'net "{self.name}": {name} is {_plain(checked)} here but {_plain(before)} at {where}; '
                    "say it once, or the same both times",
                    site,
                )
            other = {"quiet": "noisy", "noisy": "quiet"}.get(name)
            if other and checked and self.fact(other):
                raise DesignError(f'net "{self.name}": it can\'t be both quiet and noisy; choose one', site)
            self.facts.setdefault(name, (checked, site))
        if "volts" in self.facts and "ac_volts" in self.facts:
            raise DesignError(
                f'net "{self.name}": volts and ac_volts contradict each other; give the one or the other', site
            )

    def fact(self, name: str) -> Any:
        """Return what was said of `name`, None if nothing."""
        return self.facts[name][0] if name in self.facts else None


def wires(name: str, pins: object, site: CallSite) -> dict[str, list[str]]:
    """Return the nets that a bus stands for, each with its pins: the first of every range, the second, and so on."""
    nets = expanded(name, site)
    if len(nets) < 2:
        raise DesignError(f'bus "{name}" needs a range of wires, for example "A[0..7]"', site)
    columns: list[list[str]] = []
    for word in words(pins, f'pins of bus "{name}"', site):
        column = expanded(word, site)
        if len(column) != len(nets):
            count = f"{len(column)} pin{'s' if len(column) > 1 else ''}"
            raise DesignError(f'bus "{name}" has {len(nets)} wires, but "{word}" is {count}', site)
        columns.append(column)
    return {net: [column[i] for column in columns] for i, net in enumerate(nets)}


def joined(nets: Mapping[str, NetSaid], parts: Mapping[str, Part]) -> dict[str, tuple[PinRef, ...]]:
    """Return the pads of each net.

    Raises DesignError for unknown parts and pins, a pad on two nets and a net that joins nothing.
    """
    owner: dict[PinRef, tuple[str, CallSite]] = {}
    found: dict[str, tuple[PinRef, ...]] = {}
    for net in nets.values():
        pads: list[PinRef] = []
        for word, site in net.pins:
            for ref in resolved(word, f'net "{net.name}"', parts, site):
                name, where = owner.setdefault(ref, (net.name, site))
                if name != net.name:
                    pin = pin_words(parts[ref[0]], ref[1])
                    raise DesignError(
                        f'net "{net.name}": pin {pin} of {ref[0]} is already on net "{name}" ({where}); '
                        "a pin can be on one net only",
                        site,
                    )
                pads.append(ref)
        found[net.name] = tuple(dict.fromkeys(pads))
        if not pads:
            raise DesignError(
                f'net "{net.name}" has no pins; name the pins it joins, for example "R1.1 C1.+"', net.site
            )
        if len(found[net.name]) == 1:
            only = ".".join(pads[0])
            raise DesignError(
                f'net "{net.name}" has one pin only, {only}; join it to another, or mark it with no_connect("{only}")',
                net.site,
            )
    return found


def left_open(
    marks: list[tuple[str, CallSite]], owner: Mapping[PinRef, str], parts: Mapping[str, Part]
) -> tuple[PinRef, ...]:
    """Return the pads marked as not connected; DesignError for one that is on a net as well."""
    found: list[PinRef] = []
    for word, site in marks:
        for ref in resolved(word, "no_connect", parts, site):
            if ref in owner:
                raise DesignError(
                    f'no_connect: pin {pin_words(parts[ref[0]], ref[1])} of {ref[0]} is on net "{owner[ref]}"; '
                    "take it off the net or drop the mark",
                    site,
                )
            found.append(ref)
    return tuple(dict.fromkeys(found))


def forgotten(parts: Mapping[str, Part], owner: Mapping[PinRef, str], marked: tuple[PinRef, ...]) -> tuple[str, ...]:
    """Return a remark on each part with pads that are on no net and not marked."""
    notes = []
    for part in parts.values():
        numbers = [p.number for p in part.device.pins] if part.device else list(part.footprint.numbers())
        idle = {p.number for p in part.device.pins if p.type == "no-connect"} if part.device else set()
        known = {number for reference, number in [*owner, *marked] if reference == part.reference}
        free = [n for n in numbers if n not in known | idle]
        if not free:
            continue
        if len(free) == len(numbers):
            notes.append(f"{part.reference}: no pin of it is on any net")
        else:
            names = ", ".join(pin_words(part, n) for n in free)
            notes.append(f"{part.reference}: nothing is joined to pin {names}; if so meant, mark it with no_connect")
    return tuple(notes)


def resolved(word: str, what: str, parts: Mapping[str, Part], site: CallSite) -> tuple[PinRef, ...]:
    """Return the pads that ``R1.1`` or ``U1.GND`` stands for; `what` begins the message if there are none."""
    reference, pin = split_pin(word, what, site)
    part = known_part(reference, what, parts, site)
    pads = pads_of(part, pin)
    if not pads:
        raise DesignError(f"{what}: {no_such_pin(part, pin)}", site)
    return tuple((reference, pad) for pad in pads)


def known_part(reference: str, what: str, parts: Mapping[str, Part], site: CallSite) -> Part:
    """Return the part called `reference`; DesignError with the nearest references if there is none."""
    if reference not in parts:
        hint = measures.suggestion(reference, parts) if parts else "; the design has no parts yet"
        raise DesignError(f'{what}: there is no part "{reference}"{hint}', site)
    return parts[reference]


def _fact(net: str, name: str, value: object, site: CallSite) -> object:
    what = f'{name} of net "{net}"'
    if name == "volts":
        return measures.number(value, what, site)
    if name == "ac_volts":
        effective = measures.number(value, what, site)
        if effective < 0:
            raise DesignError(f"{what} is an effective value and can't be negative; it is {effective:g} V", site)
        return effective
    if name == "pour":
        return measures.choice(value, f'net "{net}": pour', POURS, site)
    if name in ("quiet", "noisy"):
        return measures.flag(value, what, site)
    if name == "amps":
        amps = measures.number(value, what, site)
        if amps < 0:
            raise DesignError(f"{what} can't be negative; it is {amps:g} A", site)
        if amps > MOST_AMPS:
            raise DesignError(
                f"{what} is {amps:g} A; tracks are charted to {MOST_AMPS:g} A only (IPC-2221): use wire or a bus bar",
                site,
            )
        return amps
    return measures.length(value, what, site)


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return str(value)
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"
