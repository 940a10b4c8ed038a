"""The footprint of a given name at a given producibility level."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from modboard.errors import LibraryError
from modboard.library import bare, contacts, leaded, quads, rows, surface
from modboard.library.drawing import Drawing, Sizing, finish
from modboard.library.families import Dimensions, all_names, family, family_of, family_stems
from modboard.library.model import Footprint
from modboard.library.sizing import Level

BUILDERS: dict[str, Callable[[Dimensions, Sizing], Drawing]] = {
    "axial": leaded.axial,
    "upright": leaded.upright,
    "radial": leaded.radial,
    "in-line": leaded.in_line,
    "placed": leaded.placed,
    "dual-row": rows.dual_row,
    "host-plug": rows.host_plug,
    "header": rows.header,
    "wire-pads": rows.wire_pads,
    "two-terminal": surface.two_terminal,
    "gull-wing": surface.gull_wing,
    "three-lead": surface.three_lead,
    "tab-package": surface.tab_package,
    "five-lead": surface.five_lead,
    "j-leaded": quads.j_leaded,
    "carrier-socket": quads.carrier_socket,
    "jack": contacts.jack,
    "three-contact-jack": contacts.three_contact_jack,
    "barrel-jack": contacts.barrel_jack,
    "d-connector": contacts.d_connector,
    "contact-rows": contacts.contact_rows,
    "card-edge": contacts.card_edge,
    "host-pins": contacts.host_pins,
    "link": leaded.link,
    "screw-hole": bare.screw_hole,
    "spot": bare.spot,
    "half-holes": bare.half_holes,
    "relieved-wire": bare.relieved_wire,
}
LEVELS: dict[str, Level] = {"A": "A", "B": "B", "C": "C"}


def footprint(name: str, *, level: str = "B", land_min: float = 0.0) -> Footprint:
    """Return the footprint called `name`, such as "resistor-axial-10.16", "dip-28-wide-socket" or "header-2x5".

    `level` is the IPC-2221 producibility level "A", "B" or "C"; `land_min` (mm) the least land of a hole.
    Raises LibraryError with the nearest names, and for parametric families what they accept.

    >>> footprint("dip-14").lands[0].hole.diameter
    0.9
    """
    if level not in LEVELS:
        raise LibraryError(f'producibility level must be "A", "B" or "C", not "{level}"')
    if not 0.0 <= land_min <= 5.0:
        raise LibraryError(f"least land must be 0 to 5 mm, not {land_min:g}")
    plain = name.strip().lower()
    try:
        return _footprint(plain, LEVELS[level], float(land_min))
    except LibraryError:
        same = [n for n in all_names() if n.replace("-", "") == plain.replace("-", "") and n != plain]
        if len(same) != 1:
            raise
        return _footprint(same[0], LEVELS[level], float(land_min))  # "TO-92", "DIP14"


@lru_cache(maxsize=1024)
def _footprint(name: str, level: Level, land_min: float) -> Footprint:
    source = family_of(name)
    try:
        dims, drawing = drawing_of(name, level, land_min)
        return finish(name, source.stem, dims, drawing, level)
    except LibraryError as error:
        text = str(error)
        raise LibraryError(text if name in text else f'footprint "{name}" at level {level}: {text}') from error


def drawing_of(name: str, level: Level = "B", land_min: float = 0.0) -> tuple[Dimensions, Drawing]:
    """Return a footprint's dimensions with its lands and bodies only: what a list needs, without legend and mark."""
    dims = family_of(name).member(name)
    builder = BUILDERS.get(dims.text("builder"))
    if builder is None:
        raise LibraryError(
            f'{dims.where}: builder should be one of {", ".join(BUILDERS)}, found "{dims.text("builder")}"'
        )
    return dims, builder(dims, Sizing(level, land_min))


def footprint_names() -> tuple[str, ...]:
    """Return every fixed name and representative names of each parametric family, sorted."""
    return all_names()


def footprint_families() -> tuple[tuple[str, str, str], ...]:
    """Return (family, title, names accepted) of every family, sorted; the last is empty if all names are fixed."""
    return tuple((s, str(family(s).contents.get("title", "")), family(s).accepts()) for s in sorted(family_stems()))
