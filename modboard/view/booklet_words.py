"""What the booklet says in the same words for every board."""

from __future__ import annotations

from collections.abc import Iterable

from modboard.bench.build import BuildStep
from modboard.bench.kinds import Kind, kind_of
from modboard.bench.wiring import Wire
from modboard.describe.model import Description
from modboard.view.booklet_pieces import listed_names

READING = (
    "Top is the side with the printed outlines. Pictures of the bottom are what you see when you turn the board over "
    "left to right. Left, right, upper and lower are as in the picture of the step.",
    "A net is copper that belongs together, such as GND, and what is soldered to it; pictures show one net in colour.",
    "R4.2 is pin 2 of R4. Pin 1 has the square land, where lands differ. Red and black rings are your two probes, "
    "numbered by row on paper. R4.2 top is touched from the top; a dashed ring is on the side you do not see.",
    "Beep: set the meter to continuity and touch its probes together first; it must sound.",
)
AT_HAND = (
    "Soldering iron and thin solder, side cutters, a meter that beeps, a bench supply with a current limit (or "
    "a resistor; the booklet says which), good light, a lens, and time."
)
ON_LANDS = "Put the probes on the lands (the bare copper rings) themselves."
LINKS = "Link 1, link 2 and so on are the holes that pieces of wire go through later."
ON_LEADS = "Touch the leads, not the lands: a lead that does not sit in its solder stays silent."
NO_LEAD = "{} can only be touched on the lands: the wires come later."
LEADED = (
    "How to solder a lead: through the hole, part flat on the board, leads bent apart a little so that it stays. Turn "
    "over. Iron to lead and land together, two seconds, then solder to the lead until it has flowed all round. Iron "
    "away, hold still until it has set: a small bright cone. Clip the lead just above it, a finger on what would fly."
)
PINNED = (
    "How to solder a pin: iron to pin and land together, two seconds, then solder to the pin until it has flowed all "
    "round. Iron away, hold still until it has set: a small bright cone. Pins are not bent and not clipped."
)
FLAT = (
    "How to solder a part that lies flat: a little solder on one land. Hold the part with tweezers, melt that solder "
    "and slide it in. Then the other lands, and the first once more with a touch of fresh solder."
)
WIRES_HEARD = "Every wire holds when tugged, and beeps from its land to its point on the host"
CLIPPED: frozenset[Kind] = frozenset(
    {"resistor", "inductor", "capacitor", "electrolytic", "diode", "led", "transistor", "crystal", "link"}
)  # what comes with leads longer than it needs
IN_PLACE = "The board sits in its place; no lead and no strand touches metal"


def on_lands(pads: Iterable[str]) -> str:
    """Return how to touch `pads` ("J1.2", "link 1") of a bare board."""
    return f"{ON_LANDS} {LINKS}" if any(pad.startswith("link ") for pad in pads) else ON_LANDS


def on_leads(description: Description, pads: Iterable[str]) -> str:
    """Return how to touch `pads` ("J1.2") of a fitted board; wires are not in yet."""
    empty = {p.reference for p in description.parts if kind_of(p) == "wire pads"}
    lands = sorted({pad.partition(".")[0] for pad in pads} & empty)
    return f"{ON_LEADS} {NO_LEAD.format(listed_names(lands))}" if lands else ON_LEADS


def how_to_solder(description: Description, steps: Iterable[BuildStep]) -> dict[int, str]:
    """Return what is said of soldering, by the number of the first step of each sort: leads, pins, flat parts."""
    found: dict[int, str] = {}
    said = set()
    for step in steps:
        for reference in step.references[:1]:
            through = description.part(reference).footprint.technology == "through-hole"
            text = FLAT if not through else LEADED if step.kind in CLIPPED else PINNED
            if text not in said:
                found[step.number] = text
                said.add(text)
    return found


def chips_to_keep(description: Description, steps: Iterable[BuildStep]) -> list[tuple[str, str, str]]:
    """Return the chips that go into sockets later, as rows of the first page."""
    return [
        (
            f"{s.count} ×",
            f"{description.part(s.references[0]).kind}, kept in foam or foil",
            f"into {', '.join(s.references)}",
        )
        for s in steps
        if s.stage == "chips"
    ]


def wire_to_buy(wires: Iterable[Wire]) -> list[tuple[str, str, str]]:
    """Return the wires by gauge: how many, how long together, and which colours."""
    by_gauge: dict[int, list[Wire]] = {}
    for wire in wires:
        by_gauge.setdefault(wire.awg, []).append(wire)
    rows = []
    for awg, alike in sorted(by_gauge.items()):
        long = sum(w.length or 0.0 for w in alike)
        unknown = sum(1 for w in alike if not w.length)
        words = [f"{long:g} mm"] if long else []
        words += [f"{unknown} to be measured"] if unknown else []
        what = f"{'Wire' if len(alike) == 1 else 'Wires'}, {awg} AWG: {' and '.join(words)}"
        rows.append((f"{len(alike)} ×", what, ", ".join(dict.fromkeys(w.colour for w in alike))))
    return rows
