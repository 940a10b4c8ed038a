"""The circuit as its rules see it: every pin with its type, the pins of each net, and what sort of net that is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from modboard.describe.model import Description, Net, Part
from modboard.library.model import Pin

GROUND = re.compile(r"(?:[ADPS]?GND|0V|VSS|EARTH|COMMON)\d*", re.IGNORECASE)
SUPPLY = re.compile(
    r"[+-]?\d+V\d*|[+-]\d+(?:\.\d+)?|V\d+(?:V\d+)?|V(?:CC|DD|EE|IN|BAT|BUS|REG|AA|PP|[+-])\w*", re.IGNORECASE
)
NEGATIVE = re.compile(r"-.*|VN\d*|V?NEG\w*|V?MINUS\w*|V-\d*|VEE\d*", re.IGNORECASE)
NEGATIVE_REGULATOR = re.compile(r"79L?\d\d|LM337L?", re.IGNORECASE)
DRIVING = ("output", "power-out")
SWITCHING = ("Q", "S", "SW", "K", "RL")  # customary reference letters of what opens and closes
CONNECTORS = ("J", "P", "X", "TP", "W")  # customary reference letters of what leads off the board


@dataclass(frozen=True)
class Contact:
    """One pin of a part on a net, or on none (`net` "")."""

    part: Part
    pin: Pin
    net: str

    @property
    def words(self) -> str:
        """Return 'U1 pin 14 (VCC)', or without the name where it is the number."""
        names = self.pin.names
        named = f" ({names[0]})" if names and names[0] != self.pin.number else ""
        return f"{self.part.reference} pin {self.pin.number}{named}"

    @property
    def name(self) -> str:
        """Return the pin's preferred name, else its number."""
        return self.pin.names[0] if self.pin.names else self.pin.number


class Wiring:
    """Every contact of a description, by net and by part."""

    def __init__(self, description: Description) -> None:
        self.description = description
        self.nets: dict[str, Net] = {net.name: net for net in description.nets}

    @cached_property
    def by_net(self) -> dict[str, list[Contact]]:
        """The contacts on each net, in the order of the parts."""
        found: dict[str, list[Contact]] = {name: [] for name in self.nets}
        for contacts in self.by_part.values():
            for contact in contacts:
                if contact.net:
                    found[contact.net].append(contact)
        return found

    @cached_property
    def by_part(self) -> dict[str, list[Contact]]:
        """The contacts of each part; a part without a device has plain pins by number."""
        nets = self.description.net_of()
        found: dict[str, list[Contact]] = {}
        for part in self.description.parts:
            pins = part.device.pins if part.device else tuple(Pin(n, ()) for n in part.footprint.numbers())
            found[part.reference] = [Contact(part, pin, nets.get((part.reference, pin.number), "")) for pin in pins]
        return found

    def volts(self, net: str) -> float | None:
        """Return the net's voltage to ground; 0 for a ground that says none; None if nobody knows or it alternates.

        What is plainly a negative rail counts as one even if the design gives its volts without the sign.
        """
        if net in self.nets and self.nets[net].ac:
            return None
        said = self.nets[net].volts if net in self.nets else None
        if said is None:
            return 0.0 if self.is_ground(net) else None
        return -abs(said) if self.is_negative(net) else said

    def swing(self, net: str) -> tuple[float, float] | None:
        """Return between which voltages to ground (V) a net may be; None if nobody knows.

        A supply, or a net with nothing on it that switches, is at its volts.  Any other is anywhere between them and
        ground, and one of alternating voltage as far below ground as above.
        """
        if net in self.nets and self.nets[net].ac:
            peak = abs(self.nets[net].volts or 0.0)
            return (-peak, peak)
        volts = self.volts(net)
        if volts is None:
            return None
        if self.is_supply(net) or not any(switches(c) for c in self.by_net.get(net, [])):
            return (volts, volts)
        return (min(0.0, volts), max(0.0, volts))

    def between(self, one: str, other: str) -> float | None:
        """Return the greatest voltage (V) that can be between two nets; None if nobody knows.

        Where nets swing, that may be either net's volts or, if their signs differ, both together.
        """
        a, b = self.swing(one), self.swing(other)
        return None if a is None or b is None else max(a[1] - b[0], b[1] - a[0])

    def is_negative(self, net: str) -> bool:
        """Tell whether a net is a negative rail, by its name or because a negative regulator stands on it."""
        if self.is_ground(net):
            return False
        standing = [c for c in self.by_net.get(net, []) if c.part.device and c.name in ("IN", "OUT")]
        return bool(NEGATIVE.fullmatch(net)) or any(
            NEGATIVE_REGULATOR.fullmatch(c.part.device.name) for c in standing if c.part.device
        )

    def is_ground(self, net: str) -> bool:
        """Tell whether a net is a ground by its name, or by feeding more ground pins than others."""
        if GROUND.fullmatch(net) or SUPPLY.fullmatch(net):
            return bool(GROUND.fullmatch(net))
        fed = [c for c in self.by_net.get(net, []) if c.pin.type == "power-in"]
        return bool(fed) and all(GROUND.fullmatch(c.name) for c in fed)

    def is_supply(self, net: str) -> bool:
        """Tell whether a net is stiff: a ground, or one that feeds supply pins or is named as a supply."""
        if self.is_ground(net) or SUPPLY.fullmatch(net):
            return True
        return any(c.pin.type in ("power-in", "power-out") for c in self.by_net.get(net, []))

    def others(self, net: str, reference: str) -> list[Contact]:
        """Return the contacts of a net that do not belong to the part `reference`."""
        return [c for c in self.by_net.get(net, []) if c.part.reference != reference]


def kind_of(part: Part) -> str:
    """Return what a part is, in small letters: its device's name and title, or its kind where it has no device."""
    return f"{part.kind} {part.device.name} {part.device.title}".casefold() if part.device else part.kind.casefold()


def letter_of(part: Part) -> str:
    """Return the letters of a part's reference: "R" of R12."""
    return part.reference.rstrip("0123456789").upper()


def is_connector(part: Part) -> bool:
    """Tell whether a part leads off the board, so that what is beyond it is not known."""
    return letter_of(part) in CONNECTORS


def switches(contact: Contact) -> bool:
    """Tell whether a pin may take a net to another level: outputs, transistors, switches, and what leads off."""
    driving = contact.pin.type in (*DRIVING, "three-state", "open-collector", "bidirectional")
    return driving or is_connector(contact.part) or letter_of(contact.part) in SWITCHING


def is_resistor(part: Part) -> bool:
    """Tell whether a part limits current: resistors, networks of them and trimmers do."""
    return part.reference[:1] == "R" or "resistor" in kind_of(part) or "trimm" in kind_of(part)


def is_led(part: Part) -> bool:
    """Tell whether a part is a light-emitting diode."""
    return part.footprint.family == "led" or "light-emitting" in kind_of(part)


def is_bipolar(part: Part) -> bool:
    """Tell whether a part is a bipolar transistor."""
    words = kind_of(part)
    return "npn" in words or "pnp" in words
