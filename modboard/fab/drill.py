"""Holes → XNC drill text, plated and bare holes in a file each.

The commands are those of the XNC subset of IPC-NC-349: finished diameters, coordinates in mm with a written decimal
point, one tool for each function and size in rising order, slots as routed moves.  Attributes go in comments, as in
Gerber (GLFS 5.6; 6.6 asks for two files).
"""

from __future__ import annotations

from modboard.artwork.model import Artwork, Drill, Function
from modboard.errors import ModboardError
from modboard.fab.attributes import command, drill_function, file_attributes
from modboard.fab.names import DRILL_FUNCTION
from modboard.geometry import Position

_ORDER: dict[Function, int] = {"via-drill": 0, "component-drill": 1, "mechanical-drill": 2}
MOST_TOOLS = 99  # two-digit tool numbers


def drill_file(artwork: Artwork, plated: bool, *, created: str | None = None) -> str | None:
    """Return the drill file of the plated or of the bare holes, or None if there is no such hole.

    Raises ModboardError if more than 99 different tools are needed.
    """
    tools = tools_of([d for d in artwork.drills if d.plated is plated])
    if not tools:
        return None
    if len(tools) > MOST_TOOLS:
        raise ModboardError(f"drill file: {len(tools)} different tools; use at most {MOST_TOOLS} hole sizes")
    attributes = file_attributes(artwork, DRILL_FUNCTION[plated], None, created)
    lines = ["M48"]
    lines += [f"; #@! {command('TF', a)}" for a in attributes]
    lines.append("METRIC")
    function = None
    for number, (diameter, drills) in enumerate(tools, start=1):
        if drills[0].function != function:
            function = drills[0].function
            lines.append(f"; #@! TA.AperFunction,{drill_function(function, plated)}")
        lines.append(f"T{number:02d}C{length(diameter)}")
    lines += ["; #@! TD", "%", "G05"]
    for number, (_, drills) in enumerate(tools, start=1):
        lines.append(f"T{number:02d}")
        lines += [place(d.at) for d in drills if d.to is None]
        for slot in (d for d in drills if d.to is not None):
            lines += [f"G00{place(slot.at)}", "M15", f"G01{place(slot.to or slot.at)}", "M16", "G05"]
    lines.append("M30")
    return "\n".join(lines) + "\n"


def tools_of(drills: list[Drill]) -> list[tuple[float, list[Drill]]]:
    """Return the tools in rising order, each with its hits in order of place.

    Holes of one size and different function get a tool each (GLFS 5.6.10); a hole given twice is drilled once, for a
    second hit breaks bits; a slot without length is a hole.
    """
    tools: dict[tuple[float, int], dict[tuple[str, str], Drill]] = {}
    for drill in drills:
        plain = drill if drill.to is not None and place(drill.to) != place(drill.at) else without_end(drill)
        key = (round(plain.diameter, 4), _ORDER[plain.function])
        ends = sorted((place(plain.at), place(plain.to))) if plain.to else [place(plain.at), ""]
        tools.setdefault(key, {}).setdefault((ends[0], ends[1]), plain)
    return [
        (diameter, sorted(hits.values(), key=lambda d: (d.at, d.to or d.at)))
        for (diameter, _), hits in sorted(tools.items())
    ]


def without_end(drill: Drill) -> Drill:
    """Return the drill as a plain hole."""
    return Drill(drill.at, drill.diameter, drill.plated, drill.function, drill.owner)


def place(point: Position) -> str:
    """Return ``X..Y..`` in mm."""
    return f"X{length(point[0])}Y{length(point[1])}"


def length(value: float) -> str:
    """Return mm with a decimal point, three to six decimals."""
    whole, _, decimals = f"{value:.6f}".partition(".")
    text = f"{whole}.{decimals.rstrip('0').ljust(3, '0')}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text
