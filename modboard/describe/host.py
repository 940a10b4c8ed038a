"""What a person says of the host machine: where wires go, and what must be cut there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from modboard.describe import measures
from modboard.describe.circuit import resolved
from modboard.describe.model import HostCut, HostWire, Part
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position

WIRE_COLOURS = (
    "red", "black", "yellow", "blue", "green", "white", "orange", "violet", "grey", "brown", "pink", "turquoise",
)  # fmt: skip  # names of IEC 60757, in the order the bench sheet gives them out


@dataclass(frozen=True)
class WireSaid:
    """One call of ``wire``, its pad not yet looked up."""

    pin: str
    host: str
    site: CallSite
    at: Position | None
    length: float | None
    colour: str
    undo: str


def wire_said(
    pin: object,
    host: object,
    at: Sequence[float] | None,
    length: float | None,
    colour: str | None,
    undo: str,
    site: CallSite,
) -> WireSaid:
    """Check one call of ``wire`` as far as it can be without knowing the parts; DesignError for what can't be."""
    pad = measures.word(pin, "pad of the wire", site)
    what = f"wire {pad}"
    return WireSaid(
        pad,
        measures.text(host, f"{what}: host", site, empty=False),
        site,
        None if at is None else measures.position(at, f"{what}: at", site),
        None if length is None else measures.length(length, f"{what}: length", site),
        "" if colour is None else measures.choice(colour, f"{what}: colour", WIRE_COLOURS, site),
        measures.text(undo, f"{what}: undo", site),
    )


def wires(said: Sequence[WireSaid], parts: Mapping[str, Part]) -> tuple[HostWire, ...]:
    """Return the wires with their pads; DesignError for unknown pads, and for a pad said twice."""
    found: list[HostWire] = []
    where: dict[tuple[str, str], CallSite] = {}
    for word in said:
        pads = resolved(word.pin, f"wire {word.pin}", parts, word.site)
        if len(pads) > 1:
            names = ", ".join(f"{ref}.{number}" for ref, number in pads)
            raise DesignError(f"wire {word.pin}: several pads bear that name; choose one of {names}", word.site)
        if pads[0] in where:
            raise DesignError(f"wire {word.pin}: its host point is given already ({where[pads[0]]})", word.site)
        where[pads[0]] = word.site
        found.append(HostWire(pads[0], word.host, word.site, word.at, word.length, word.colour, word.undo))
    return tuple(found)


def change_said(what: object, undo: object, call: str, site: CallSite) -> HostCut:
    """Check one call of ``cut`` or ``removes``; DesignError for words that are missing."""
    said = measures.text(what, f"{call}: what", site, empty=False)
    return HostCut(said, measures.text(undo, f'{call} "{said}": undo', site, empty=False), site)


def cut_cautions(cuts: Sequence[HostCut]) -> tuple[str, ...]:
    """Return a warning for each thing on the host that a design says must be cut."""
    return tuple(f"This design cuts the host: {c.what}. To undo it: {c.undo}." for c in cuts)
