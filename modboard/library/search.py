"""The drawer as a list: devices and footprints whose names, titles or pins hold the words looked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from modboard.errors import LibraryError, nearest
from modboard.library.devices import all_devices, device
from modboard.library.families import all_names, family_of
from modboard.library.footprints import drawing_of, footprint
from modboard.library.model import Device, Land

T = TypeVar("T")
INSIDE = " found inside other words only:"


@dataclass(frozen=True)
class PatternLine:
    """What the list says of a footprint: sizes in mm at producibility level B."""

    name: str
    title: str
    pads: int
    width: float  # over lands and bodies
    depth: float
    height: float  # above the board
    hole: float | None  # largest hole of a lead
    varies: str  # what to measure on yours
    source: str
    below: float = 0.0  # how far leads reach below the board
    remarks: tuple[str, ...] = ()  # on bending the leads, and on limits that it cannot keep


def devices(words: Sequence[str] = ()) -> tuple[Device, ...]:
    """Return the devices in whose name, title, pin names, footprint or other names every word occurs, case aside.

    Those in which a word is found inside another only ("led" in "right-angled") come last.
    """
    found = [d for d in all_devices() if _holds(words, device_texts(d))]
    return tuple(sorted(found, key=lambda d: inside(words, device_texts(d))))


def patterns(words: Sequence[str] = ()) -> tuple[PatternLine, ...]:
    """Return the footprints in whose name, title or other names every word occurs, case aside, with their sizes.

    They are ordered as devices are.
    """
    return tuple(sorted(_patterns(words), key=lambda p: inside(words, pattern_texts(p.name))))


def _patterns(words: Sequence[str]) -> Iterator[PatternLine]:
    for name in all_names():
        if _holds(words, pattern_texts(name)):
            yield pattern_line(name)


def device_texts(device: Device) -> tuple[str, ...]:
    """Return what a device is looked for in."""
    return (device.name, device.title, device.footprint, device.words, *_pin_names(device))


def pattern_texts(name: str) -> tuple[str, ...]:
    """Return what a footprint is looked for in."""
    dims = family_of(name).member(name)
    return (name, dims.text("title"), dims.text("words", ""))


def pattern_line(name: str) -> PatternLine:
    """Return the line of one footprint; LibraryError if there is none of that name."""
    dims, drawing = drawing_of(name)
    boxes = [land_box(land) for land in drawing.lands]
    for body in drawing.bodies:
        xs, ys = zip(*body.outline, strict=True)
        boxes.append((min(xs), min(ys), max(xs), max(ys)))
    x0, y0, x1, y1 = (f(b[k] for b in boxes) for k, f in ((0, min), (1, min), (2, max), (3, max)))
    holes = [land.hole.diameter for land in drawing.lands if land.hole]
    return PatternLine(
        name,
        dims.text("title"),
        len({land.number for land in drawing.lands}),
        round(x1 - x0, 2),
        round(y1 - y0, 2),
        max((b.height for b in drawing.bodies), default=0.0),
        max(holes, default=None),
        dims.text("varies", ""),
        dims.text("source"),
        dims.length("lead_below", 0.0),
        tuple(dims.text(key) for key in ("bend_note", "exception") if dims.has(key)),
    )


def land_box(land: Land) -> tuple[float, float, float, float]:
    """Return the box round a land without building its outline."""
    x, y, w, h = *land.at, land.form.width / 2, land.form.height / 2
    return (x - w, y - h, x + w, y + h)


def _pin_names(device: Device) -> tuple[str, ...]:
    return tuple(pin.names[0] for pin in device.pins if pin.names)


def _holds(words: Sequence[str], texts: Sequence[str]) -> bool:
    """Tell whether every word occurs; "op-amp" is found as "opamp" and "SOT-23" as "sot23"."""
    folded = " ".join(texts).casefold()
    joined = folded.replace("-", "")
    return all(word.casefold() in folded or word.casefold().replace("-", "") in joined for word in words)


def inside(words: Sequence[str], texts: Sequence[str]) -> bool:
    """Tell whether some word is found only in the middle of another ("tin" in "switching"), not where one begins."""
    folded = " ".join(texts).casefold()
    both = (folded, folded.replace("-", ""))
    sought = [
        [re.compile(rf"(?<![^\W\d_]){re.escape(w)}" if w[0].isalpha() else re.escape(w)) for w in ways]
        for word in words
        if word and (ways := (word.casefold(), word.casefold().replace("-", "") or word))
    ]
    return not all(any(way.search(text) for way, text in zip(ways, both, strict=True)) for ways in sought)


def drawn_names(words: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the footprints that hold the words, and those that the devices which hold them stand on."""
    found, drawn = _found(words)
    return tuple(sorted({p.name for p in drawn} | {d.footprint for d in found}))


def _found(words: Sequence[str]) -> tuple[tuple[Device, ...], tuple[PatternLine, ...]]:
    """Return what holds the words, and for a single word what it names itself: "BC547B", "header-1x7"."""
    found, drawn = devices(words), patterns(words)
    if len(words) == 1:
        named = _named(lambda name: pattern_line(footprint(name).name), words[0])
        drawn = tuple(dict.fromkeys((*named, *drawn))) if named else drawn
        found = found if found or drawn else _named(device, words[0])
    return found, drawn


def _named(look_up: Callable[[str], T], name: str) -> tuple[T, ...]:
    try:
        return (look_up(name),)
    except LibraryError:
        return ()


def listing(words: Sequence[str] = ()) -> str:
    """Return the list as text, devices first; LibraryError with what else to try if nothing holds the words."""
    found, drawn = _found(words)
    if not found and not drawn:
        raise LibraryError(_nothing(words))
    plain = sum(not inside(words, device_texts(d)) for d in found)
    plain_drawn = sum(not inside(words, pattern_texts(p.name)) for p in drawn)
    if not plain and not plain_drawn:  # nothing that they would have to be told from
        plain, plain_drawn = len(found), len(drawn)
    lines = [*_device_lines(found, plain), *_pattern_lines(drawn, plain_drawn)]
    alone = next((d for d in found if [d.name.casefold()] == [w.casefold() for w in words]), None)
    if len(found) == 1 or alone:
        lines += _particulars(alone or found[0])
    if len(drawn) == 1:
        lines += _pattern_particulars(drawn[0])
    return "\n".join(lines) + "\n"


def _nothing(words: Sequence[str]) -> str:
    said = " ".join(words)
    close = nearest(said, [*(d.name for d in all_devices()), *all_names()])
    hint = f"; nearest: {', '.join(close)}" if close else ""
    return f'nothing in the drawer holds "{said}"{hint}; try fewer words, or "modboard parts" for all of it'


def _device_lines(found: Sequence[Device], plain: int) -> list[str]:
    """Return the lines of devices; after the first `plain` the words are found inside other words only."""
    if not found:
        return []
    lines = [
        f"devices ({len(found)}): [supply, greatest dissipation without a heat sink, rated current], pins in pad order"
    ]
    wide = max(len(d.name) for d in found)
    room = max(len(d.footprint) for d in found)
    for d in found:
        figures = [f"{d.supply[0]:g}-{d.supply[1]:g} V"] if d.supply else []
        figures += [f"{d.watts:g} W"] if d.watts else []
        figures += [f"{d.amps:g} A"] if d.amps else []
        said = f" [{', '.join(figures)}]" if figures else ""
        pins = " ".join(p.names[0] if p.names else p.number for p in d.pins)
        others = " or ".join(" ".join(order) for order in d.orders if " ".join(order) != pins)
        pins += f" (or {others}: look at yours)" if others else ""
        lines.append(f"  {d.name:<{wide}}  {d.footprint:<{room}}  {d.title}{said}: {pins}")
    return _parted(lines, plain)


def _pattern_lines(drawn: Sequence[PatternLine], plain: int) -> list[str]:
    """Return the lines of footprints, as `_device_lines` does."""
    if not drawn:
        return []
    lines = [f"footprints ({len(drawn)}): pads, width x depth x height in mm, hole; * varies by maker, measure yours"]
    wide = max(len(p.name) for p in drawn)
    for p in drawn:
        hole = f"{p.hole:.2f}" if p.hole else "-"
        size = f"{p.width:g} x {p.depth:g} x {p.height:g}"
        star = "*" if p.varies else " "
        note = " (see its remarks)" if p.remarks else ""
        lines.append(f"  {p.name:<{wide}} {star} {p.pads:>3}  {size:<22} {hole:>5}  {p.title}{note}")
    return _parted(lines, plain)


def _parted(lines: list[str], plain: int) -> list[str]:
    """Return a heading and its lines with one between that says where findings inside other words begin."""
    return [*lines[: plain + 1], *([INSIDE, *lines[plain + 1 :]] if plain + 1 < len(lines) else ())]


def _particulars(found: Device) -> list[str]:
    """Return what to know of one device: each pin with its type, where it fits, and how it is known."""
    lines = [f"{found.name}: {found.title}"]
    for pin in found.pins:
        names = ", ".join(pin.names) or "-"
        lines.append(f"  {pin.number:>5}  {pin.type:<14} {names}")
    lines.append(f"fits: {', '.join((found.footprint, *found.alternatives))}")
    if len(found.orders) > 1:
        orders = " and as ".join(" ".join(order) for order in found.orders)
        lines.append(f'sold as {orders}: say which yours is, as in pins="{" ".join(found.orders[0])}"')
    lines += [f"note: {found.notes}"] if found.notes else []
    return [*lines, f"source: {found.source}"]


def _pattern_particulars(drawn: PatternLine) -> list[str]:
    lines = [f"source of {drawn.name}: {drawn.source}"]
    lines += [f"measure yours: {drawn.varies}"] if drawn.varies else []
    lines += [f"note: {remark}" for remark in drawn.remarks]
    lines += [f"leads reach {drawn.below:g} mm below a 1.6 mm board"] if drawn.below else []
    return lines
