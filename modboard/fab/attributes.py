"""Gerber attributes of a whole file and of single objects, as plain tuples ready to be written.

Source of every name and field order: Ucamco, Gerber Layer Format Specification (GLFS), chapter 5.
"""

from __future__ import annotations

import hashlib
import uuid

import shapely

import modboard
from modboard.artwork.model import Artwork, Flash, Function, Owner
from modboard.describe.model import Part
from modboard.layout.board import PlacedPart

Attribute = tuple[str, tuple[str, ...]]  # (".N", ("GND",))
Attributes = tuple[Attribute, ...]

# GLFS 5.6.10, table of .AperFunction values.  Mask openings, paste and legend are "Material": the table does
# not allow pad values there.
APERTURE_FUNCTION: dict[Function, str] = {
    "component-pad": "ComponentPad",
    "surface-pad": "SMDPad,CuDef",
    "via-pad": "ViaPad",
    "washer-pad": "WasherPad",
    "conductor": "Conductor",
    "non-conductor": "NonConductor",
    "profile": "Profile",
    "mask-opening": "Material",
    "paste": "Material",
    "legend": "Material",
    "fiducial": "FiducialPad,Panel",
    "score": "Other,Score",
    "component-drill": "ComponentDrill",
    "via-drill": "ViaDrill",
    "mechanical-drill": "MechanicalDrill",
}
_PIN_FUNCTIONS = ("component-pad", "surface-pad")


def escaped(field: str) -> str:
    """Return `field` safe inside a Gerber attribute: printable ASCII, the rest as ``\\uXXXX`` (GLFS 3.4.3)."""
    return "".join(_escaped_character(c) for c in field)


def _escaped_character(character: str) -> str:
    code = ord(character)
    if 32 <= code < 127 and character not in "%*\\,":
        return character
    return f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}"


def command(kind: str, attribute: Attribute) -> str:
    """Return e.g. ``TO.P,U1,14,VCC``: what stands between ``%`` and ``*%``, and after ``; #@!`` in drill files."""
    name, fields = attribute
    return ",".join((f"{kind}{name}", *map(escaped, fields)))


def guid(*words: str) -> str:
    """Return a GUID (RFC 4122, version 4 layout) made from `words` alone: equal designs give equal files."""
    digest = bytearray(hashlib.sha256("\x1f".join(words).encode()).digest()[:16])
    return str(uuid.UUID(bytes=bytes(digest), version=4))


def project_id(artwork: Artwork) -> tuple[str, str, str]:
    """Return name, GUID and revision, as .ProjectId and the job file want them (GLFS 5.6.8)."""
    described = artwork.board.description
    return (described.name, guid("project", described.name), described.revision or "1")


def same_coordinates(artwork: Artwork) -> str:
    """Return the mark that all aligned files of this board share (GLFS 5.6.6)."""
    outline = shapely.to_wkb(artwork.board.outline, hex=True)
    return guid("coordinates", *project_id(artwork), outline)


def file_attributes(artwork: Artwork, function: str, polarity: str | None, created: str | None) -> Attributes:
    """Return the attributes of one file in the order in which they are written.

    `function` is the .FileFunction value, commas included.  `created` (ISO 8601 with zone) is written only if given,
    so that nothing depends on the day.
    """
    found: list[Attribute] = [(".GenerationSoftware", ("modboard", "modboard", modboard.__version__))]
    if created is not None:
        found.append((".CreationDate", (created,)))
    found.append((".ProjectId", project_id(artwork)))
    found.append((".Part", ("Array" if artwork.panel else "Single",)))
    found.append((".SameCoordinates", (same_coordinates(artwork),)))
    found.append((".FileFunction", tuple(function.split(","))))
    if polarity is not None:
        found.append((".FilePolarity", (polarity,)))
    return tuple(found)


def copper_attributes(owner: Owner, function: Function) -> Attributes:
    """Return .N and .P of an object on copper (GLFS 5.6.13 and 5.6.14).

    Copper without a net carries the empty name; the pad of a pin that is joined to nothing carries ``N/C``.
    """
    is_pin = function in _PIN_FUNCTIONS and bool(owner.reference)
    net = owner.net or ("N/C" if is_pin and owner.number else "")
    if not is_pin:
        return ((".N", (net,)),)
    pin = (owner.reference, owner.number) + ((owner.pin_name,) if owner.pin_name else ())
    return ((".N", (net,)), (".P", pin))


def component_attributes(placed: PlacedPart) -> Attributes:
    """Return .C and what is known of the part: turn, value, footprint, mounting, height (GLFS 5.6.15, 5.6.16)."""
    part = placed.part
    found: list[Attribute] = [(".C", (part.reference,)), (".CRot", (decimal(placed.turn % 360),))]
    if value := value_of(part):
        found.append((".CVal", (value,)))
    found.append((".CFtp", (part.footprint.name,)))
    mounting = {"through-hole": "TH", "surface-mount": "SMD"}.get(part.footprint.technology, "Other")
    found.append((".CMnt", (mounting,)))
    if part.tall > 0:
        found.append((".CHgt", (decimal(part.tall),)))
    return tuple(found)


def value_of(part: Part) -> str:
    """Return the value, or the device name for parts that have none (a 2N3904 is its own value)."""
    return part.value or part.kind


def decimal(value: float) -> str:
    """Return `value` with at most six decimals, never in exponent form and never minus zero."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def drill_function(function: Function, plated: bool) -> str:
    """Return the .AperFunction of a hole; a bare via is a hole for a wire (GLFS 5.6.10, ComponentDrill)."""
    return APERTURE_FUNCTION["component-drill" if function == "via-drill" and not plated else function]


def is_pad(feature: object) -> bool:
    """Tell whether a feature is a flashed pad of a part's pin."""
    return isinstance(feature, Flash) and feature.function in _PIN_FUNCTIONS
