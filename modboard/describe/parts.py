"""From what a person calls a part to its device, footprint and pads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import cast, get_args

from modboard import library
from modboard.describe import measures
from modboard.describe.model import Part
from modboard.describe.notation import expanded_words, listed
from modboard.describe.rules import Rules
from modboard.describe.values import tidied
from modboard.errors import CallSite, DesignError, LibraryError, either, nearest
from modboard.library.model import Device, Footprint, Pin, PinType
from modboard.library.own import OwnPart, own_part

PART_FILE = ".toml"  # a kind that ends so is a file of the person's own
_MOST_LISTED = 16  # pins an error message lists in full


def find_part(
    reference: str,
    kind: object,
    value: object,
    footprint: object,
    pins: object,
    rules: Rules,
    site: CallSite,
    types: object = None,
) -> Part:
    """Return the part `reference` of `kind`: a device's name, else a footprint's, or a part file ("my-part.toml").

    A part file's name counts from the design's own folder.  `footprint` overrides the device's own, or makes a part
    of a type the library has not; `pins` names its contacts in pad order, `types` says what they are electrically.
    Raises DesignError, with the nearest names, for what the library has not and for a footprint that lacks a pad.
    """
    name = measures.word(kind, f"kind of part {reference}", site)
    words = measures.text(value, f"value of part {reference}", site)
    own = _own_part(name, reference, site) if name.endswith(PART_FILE) else None
    device = own.device if own else _device(name)
    name = device.name if own and device else name
    if footprint is not None:
        pattern = measures.word(footprint, f"footprint of part {reference}", site)
    elif device is not None:
        pattern = device.footprint
    elif _has_footprint(name, rules):
        pattern = name
    else:
        raise DesignError(f"part {reference}: {_no_such_kind(name, rules)}", site)
    if own and footprint is None:
        land_pattern = _own_footprint(own, reference, rules, site)
    else:
        land_pattern = _footprint(pattern, reference, rules, site)
    if device is None:  # a part known by its footprint alone, or a type the library has not
        contacts = tuple(Pin(number, ()) for number in land_pattern.numbers())
        device = Device(name, land_pattern.title if pattern == name else name, contacts, pattern)
    if pins is not None:
        device = _named_pins(device, pins, reference, site)
    if types is not None:
        device = _typed_pins(device, types, reference, site)
    pads = land_pattern.numbers()
    missing = [pin.number for pin in device.pins if pin.number not in pads]
    if missing:
        raise DesignError(
            f"part {reference}: footprint {pattern} has no pad for pin {listed(missing)} of {name}; "
            f"its pads are {listed(pads) if len(pads) <= _MOST_LISTED else f'{pads[0]} to {pads[-1]}'}",
            site,
        )
    return Part(reference, name, device, tidied(words, device.name), land_pattern, site, pins_said=pins is not None)


def find_device(kind: object, what: str, site: CallSite) -> Device:
    """Return the device of that name, or of a part file beside the design; DesignError with the nearest names."""
    name = measures.word(kind, f"kind of {what}", site)
    try:
        return own_part(Path(site.file).parent / name).device if name.endswith(PART_FILE) else library.device(name)
    except LibraryError as error:
        raise DesignError(f"{what}: {error}", site) from None


def pads_of(part: Part, pin: str) -> tuple[str, ...]:
    """Return the pad numbers that `pin`, a number or a name, stands for; empty if the part has none such."""
    found = tuple(p.number for p in part.device.find_all(pin)) if part.device else ()
    if not found and pin in part.footprint.numbers():
        found = (pin,)
    return tuple(dict.fromkeys(found))


def no_such_pin(part: Part, pin: str) -> str:
    """Return the end of a message about a pin that a part has not, with the pins it has."""
    names = pin_names(part)
    close = [n for n in nearest(pin, _all_names(part)) if n.isdigit() == pin.isdigit()]
    meant = f"; did you mean {either(close)}?" if close else ";"
    if len(names) <= _MOST_LISTED:
        has = f"its {'pin is' if len(names) == 1 else 'pins are'} {listed(names)}" if names else "it has no pins"
    else:
        has = f"it has {len(names)} pins, {names[0]} to {names[-1]}"
    if names and not pin.isdigit() and all(n.isdigit() for n in names):
        has += '; give them names with pins="..." where the part is made'
    return f'part {part.reference} has no pin "{pin}"{meant} {has}'


def pin_names(part: Part) -> list[str]:
    """Return what each pin is best called, once each, in pad order."""
    if part.device is None:
        return list(part.footprint.numbers())
    return list(dict.fromkeys(p.names[0] if p.names else p.number for p in part.device.pins))


def pin_words(part: Part, pad: str) -> str:
    """Return a pad as one would say it: its number, with the name where it has one."""
    pin = part.device.find(pad) if part.device else None
    return f"{pad} ({pin.names[0]})" if pin and pin.names and pin.names[0] != pad else pad


def _all_names(part: Part) -> list[str]:
    names = list(part.footprint.numbers())
    for pin in part.device.pins if part.device else ():
        names += [pin.number, *pin.names]
    return list(dict.fromkeys(names))


def _device(name: str) -> Device | None:
    try:
        return library.device(name)
    except LibraryError:
        if name in library.device_names():
            raise  # it exists, but its file is wrong
        return None


def _own_part(name: str, reference: str, site: CallSite) -> OwnPart:
    try:
        return own_part(Path(site.file).parent / name)
    except LibraryError as error:
        raise DesignError(f"part {reference}: {error}", site) from None


def _own_footprint(own: OwnPart, reference: str, rules: Rules, site: CallSite) -> Footprint:
    try:
        return own.footprint(level=rules.level, land_min=rules.pad_land_min)
    except LibraryError as error:
        raise DesignError(f"part {reference}: {error}", site) from None


def _has_footprint(name: str, rules: Rules) -> bool:
    try:
        library.footprint(name, level=rules.level, land_min=rules.pad_land_min)
    except LibraryError:
        return False
    return True


def _footprint(name: str, reference: str, rules: Rules, site: CallSite) -> Footprint:
    try:
        return library.footprint(name, level=rules.level, land_min=rules.pad_land_min)
    except LibraryError as error:
        raise DesignError(f"part {reference}: {error}", site) from None


def _no_such_kind(name: str, rules: Rules) -> str:
    devices, patterns = library.device_names(), library.footprint_names()
    close = nearest(name, [*devices, *patterns])
    if close and set(close) <= set(patterns):
        try:  # the library knows best what is wrong with a footprint's name
            library.footprint(name, level=rules.level, land_min=rules.pad_land_min)
        except LibraryError as error:
            return str(error)
    meant = f"; did you mean {either(close)}?" if close else '; "modboard parts" lists what there is'
    return f'there is no device or footprint "{name}"{meant}'


def _typed_pins(device: Device, types: object, reference: str, site: CallSite) -> Device:
    """Return the device with types as said: {"VCC GND": "power-in", "Y*": "output"}, by number, name or pattern."""
    what = f"types of part {reference}"
    if not isinstance(types, Mapping):
        raise DesignError(f'{what} must be a dict such as {{"VCC GND": "power-in"}}, not {types!r}', site)
    pins = list(device.pins)
    for said, kind in types.items():
        chosen = measures.choice(kind, f"{what}: type", get_args(PinType), site)
        for word in expanded_words(said, what, site):
            hit = [i for i, p in enumerate(pins) if any(fnmatchcase(n, word) for n in (p.number, *p.names))]
            if not hit:
                names = [p.names[0] if p.names else p.number for p in pins]
                raise DesignError(f'{what}: {device.name} has no pin "{word}"{measures.suggestion(word, names)}', site)
            for i in hit:
                pins[i] = replace(pins[i], type=cast(PinType, chosen))
    return replace(device, pins=tuple(pins))


def _named_pins(device: Device, pins: object, reference: str, site: CallSite) -> Device:
    what = f"pins of part {reference}"
    numbers = [p.number for p in device.pins]
    if isinstance(pins, Mapping):
        given: dict[str, str] = {}
        for number, name in pins.items():
            if str(number) not in numbers:
                raise DesignError(
                    f'{what}: {device.name} has no pad "{number}"{measures.suggestion(str(number), numbers)}', site
                )
            given[str(number)] = measures.word(name, what, site)
    else:
        names = expanded_words(pins, what, site)
        if len(names) != len(numbers):
            raise DesignError(
                f"{what}: {len(names)} {'name' if len(names) == 1 else 'names'} for the {len(numbers)} pads of "
                f"{device.name}; give one for each pad, in order",
                site,
            )
        if device.orders and set(names) != set(device.orders[0]):
            sold = " and as ".join(f'"{" ".join(order)}"' for order in device.orders)
            raise DesignError(f"{what}: {device.name} has other pins: it is sold as {sold}; give one of these", site)
        given = dict(zip(numbers, names, strict=True))
    for name in given.values():
        if name in numbers and given.get(name) != name:
            raise DesignError(f'{what}: the name "{name}" is also the number of another pad; choose another name', site)
    return replace(device, pins=tuple(_renamed(pin, given, device) for pin in device.pins))


def _renamed(pin: Pin, given: Mapping[str, str], device: Device) -> Pin:
    """Return the pin with the name given to its pad first; a name that is the device's own brings its type along.

    Names that another pad is given are lost, so that an order of pins ("E B C" for "C B E") moves them whole.
    """
    name = given.get(pin.number)
    lost = {other for number, other in given.items() if number != pin.number}
    if name is None:
        return replace(pin, names=tuple(n for n in pin.names if n not in lost))
    meant = next((p for p in device.pins if name in p.names), pin)
    moved = any(n in lost for n in pin.names)  # its old names belong to another pad now
    names = meant.names if meant is not pin else () if moved else pin.names
    names = (name, *(n for n in names if n != name and n not in lost))
    return replace(meant, number=pin.number, names=names)
