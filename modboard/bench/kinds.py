"""What sort of thing a part is to somebody at a bench: how to hold it, which way round, how hot it may get."""

from __future__ import annotations

from typing import Literal

from modboard.describe.model import Part
from modboard.describe.values import Sort, read

Kind = Literal[
    "resistor", "inductor", "capacitor", "electrolytic", "diode", "led", "transistor", "regulator", "chip", "socket",
    "trimmer", "network", "crystal", "oscillator", "connector", "host plug", "wire pads", "button", "link", "part",
]  # fmt: skip

_BY_DEVICE: dict[str, Kind] = {
    "resistor": "resistor", "inductor": "inductor", "capacitor": "capacitor", "electrolytic": "electrolytic",
    "tantalum": "electrolytic", "led": "led", "trimmer": "trimmer", "crystal": "crystal",
    "oscillator": "oscillator", "oscillator-half": "oscillator",
}  # fmt: skip
_BY_FAMILY: dict[str, Kind] = {
    "host-plug": "host plug", "wire-pad": "wire pads", "wire-pads": "wire pads", "box-header": "connector",
    "header": "connector", "socket-strip": "connector", "screw-terminal": "connector", "dc-jack": "connector",
    "phono-jack": "connector", "push-button": "button", "resistor-network": "network", "oscillator": "oscillator",
    "resistor-axial": "resistor", "resistor-upright": "resistor", "capacitor-disc": "capacitor",
    "capacitor-film": "capacitor", "electrolytic": "electrolytic", "tantalum": "electrolytic", "crystal": "crystal",
    "trimmer": "trimmer", "inductor-radial": "inductor", "led": "led", "diode": "diode", "minimelf": "diode",
    "sma": "diode", "sod": "diode", "soic": "chip", "link": "link", "wire-link": "link",
}  # fmt: skip
_VALUED: dict[Kind, Sort] = {
    "resistor": "resistor", "trimmer": "resistor", "network": "resistor", "capacitor": "capacitor",
    "electrolytic": "electrolytic", "inductor": "inductor",
}  # fmt: skip
_PLURAL = {"chip": "chips", "host plug": "host plugs", "wire pads": "wire pads"}
# Extra mm of "height" in the build order for what heat harms: it waits until robust parts of like height are in
# (common practice: semiconductors and electrolytics last).
HEAT: dict[Kind, float] = {
    "diode": 0.6, "led": 3.0, "transistor": 3.0, "regulator": 3.0, "chip": 6.0, "crystal": 2.0, "oscillator": 3.0,
    "electrolytic": 3.0, "button": 1.0,
}  # fmt: skip
SENSITIVE_TO_STATIC: frozenset[Kind] = frozenset({"chip", "socket", "oscillator"})


def kind_of(part: Part) -> Kind:
    """Return the sort of part: by its device first, then by its package, then by what its pins are called."""
    family, device = part.footprint.family, part.device
    if part.kind == "link":
        return "link"
    if family == "dip":
        return "socket" if "socket" in part.footprint.name else "chip"
    if family in ("host-plug", "wire-pad", "wire-pads"):
        return _BY_FAMILY[family]
    if device is None:
        return _BY_FAMILY.get(family, "part")
    if device.name in _BY_DEVICE:
        return _BY_DEVICE[device.name]
    if {p.names[0] for p in device.pins if p.names} == {"K", "A"}:
        return "led" if family == "led" else "diode"
    if device.prefix == "Q":
        return "transistor"
    if device.prefix == "U":
        return "regulator" if "regulator" in device.title.lower() else "chip"
    return _BY_FAMILY.get(family, "diode" if device.prefix == "D" else "part")


def named(kind: Kind, count: int = 1) -> str:
    """Return "resistor", "resistors"."""
    return kind if count == 1 else _PLURAL.get(kind, f"{kind}s")


def value_of(part: Part) -> float | None:
    """Return how many Ω, F or H the part's value says; None if it says none, or the part has no such value."""
    sort = _VALUED.get(kind_of(part))
    found = read(part.value, sort) if sort else None
    return found.value if found else None


def standing_height(part: Part) -> float:
    """Return how high (mm) the part stands when it is soldered: a socket without its chip."""
    if kind_of(part) == "socket":
        above = [b.above for b in part.footprint.bodies if b.above > 0]
        return min(above) if above else part.tall
    return part.tall


def junctions(part: Part) -> tuple[tuple[str, str], ...]:
    """Return the junctions a meter can find, as (where red goes, where black goes) pad numbers for it to conduct.

    Diodes, and base-emitter and base-collector of transistors.  What is inside chips is not known here.
    """
    device = part.device
    if device is None:
        return ()
    by_name = {p.names[0]: p.number for p in device.pins if p.names}
    if device.name == "BAV99":  # two in series: A to COMMON to K
        return ((by_name["A"], by_name["COMMON"]), (by_name["COMMON"], by_name["K"]))
    if {"A", "K"} <= by_name.keys() and kind_of(part) in ("diode", "led"):
        return ((by_name["A"], by_name["K"]),)
    if {"B", "C", "E"} <= by_name.keys():
        base, others = by_name["B"], (by_name["E"], by_name["C"])
        return tuple((o, base) if "PNP" in device.title else (base, o) for o in others)
    if {"S", "D", "G"} <= by_name.keys() and "MOSFET" in device.title:  # the diode from source to drain
        return ((by_name["S"], by_name["D"]),)
    return ()
