"""The drawer as a list: devices and footprints whose names, titles or pins hold the words looked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from modboard.errors import LibraryError
from modboard.library.devices import all_devices
from modboard.library.families import all_names, family_of
from modboard.library.footprints import drawing_of
from modboard.library.model import Device, Land


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


def devices(words: Sequence[str] = ()) -> tuple[Device, ...]:
    """Return the devices in whose name, title, pin names or footprint every word occurs, case aside."""
    return tuple(d for d in all_devices() if _holds(words, (d.name, d.title, d.footprint, *_pin_names(d))))


def patterns(words: Sequence[str] = ()) -> tuple[PatternLine, ...]:
    """Return the footprints in whose name or title every word occurs, case aside, with their sizes."""
    return tuple(_patterns(words))


def _patterns(words: Sequence[str]) -> Iterator[PatternLine]:
    for name in all_names():
        family = family_of(name)
        title = family.member(name).text("title")
        if _holds(words, (name, title)):
            yield pattern_line(name)


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
    )


def land_box(land: Land) -> tuple[float, float, float, float]:
    """Return the box round a land without building its outline."""
    x, y, w, h = *land.at, land.form.width / 2, land.form.height / 2
    return (x - w, y - h, x + w, y + h)


def _pin_names(device: Device) -> tuple[str, ...]:
    return tuple(pin.names[0] for pin in device.pins if pin.names)


def _holds(words: Sequence[str], texts: Sequence[str]) -> bool:
    folded = " ".join(texts).casefold()
    return all(word.casefold() in folded for word in words)


def drawn_names(words: Sequence[str] = ()) -> tuple[str, ...]:
    """Return the footprints that hold the words, and those that the devices which hold them stand on."""
    found = {p.name for p in patterns(words)} | {d.footprint for d in devices(words)}
    if not found and len(words) == 1:
        found = {p.name for p in _unlisted(words[0].strip().lower())}
    return tuple(sorted(found))


def _unlisted(name: str) -> tuple[PatternLine, ...]:
    """Return the line of a parametric footprint that is not among the examples ("header-1x7"), if `name` is one."""
    try:
        return (pattern_line(name),)
    except LibraryError:
        return ()


def listing(words: Sequence[str] = ()) -> str:
    """Return the list as text, devices first; LibraryError with what else to try if nothing holds the words."""
    found, drawn = devices(words), patterns(words)
    if not found and not drawn and len(words) == 1:
        drawn = _unlisted(words[0].strip().lower())
    if not found and not drawn:
        said = " ".join(words)
        raise LibraryError(f'nothing in the drawer holds "{said}"; try fewer words, or "modboard parts" for all of it')
    lines = []
    if found:
        lines.append(f"devices ({len(found)}): pins in pad order")
        wide = max(len(d.name) for d in found)
        room = max(len(d.footprint) for d in found)
        for d in found:
            volts = f" [{d.supply[0]:g}-{d.supply[1]:g} V]" if d.supply else ""
            pins = " ".join(p.names[0] if p.names else p.number for p in d.pins)
            lines.append(f"  {d.name:<{wide}}  {d.footprint:<{room}}  {d.title}{volts}: {pins}")
    if drawn:
        lines.append(
            f"footprints ({len(drawn)}): pads, width x depth x height in mm, hole; * varies by maker, measure yours"
        )
        wide = max(len(p.name) for p in drawn)
        for p in drawn:
            hole = f"{p.hole:.2f}" if p.hole else "-"
            size = f"{p.width:g} x {p.depth:g} x {p.height:g}"
            star = "*" if p.varies else " "
            lines.append(f"  {p.name:<{wide}} {star} {p.pads:>3}  {size:<22} {hole:>5}  {p.title}")
    if len(found) == 1 and found[0].notes:
        lines.append(f"note: {found[0].notes}")
    if len(drawn) == 1:
        lines += [f"source: {drawn[0].source}", *([f"measure yours: {drawn[0].varies}"] if drawn[0].varies else [])]
    return "\n".join(lines) + "\n"
