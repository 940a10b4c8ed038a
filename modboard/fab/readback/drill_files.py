"""The drill files of a package, whatever form they come in, as sets of holes that are plated or bare."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import shapely

from modboard.fab.readback import recognise
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.drill_notation import USUAL_DIGITS
from modboard.fab.readback.holes import PLATINGS, ReadDrills, ReadHole, UnsaidZeros
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.trouble import ReadError

MEETING = 0.9  # share of the holes that must lie in copper for a reading of the coordinates to be believed
ROUND = 64  # chords, at least, of what may be called a circle
_FUNCTION = {True: ("Plated", "1", "2", "PTH"), False: ("NonPlated", "1", "2", "NPTH")}
Reading = tuple[str, tuple[int, int]]  # which zeros are kept, and the digits


def drills_of(texts: dict[str, str], copper: Callable[[], Any], warnings: list[str]) -> list[ReadDrills]:
    """Return the holes of drill files by name; `copper` gives the copper of both sides together.

    A file that does not say which zeros it leaves out is read in the one way that puts its holes into copper, or as
    another file of the package had to be read; that it was is among the `warnings`.
    Raises ReadError for a file that cannot be read, or in more than one way.
    """
    found: dict[str, ReadDrills] = {}
    unsure: dict[str, UnsaidZeros] = {}
    for name, text in texts.items():
        try:
            found[name] = read_drill(text, name)
        except UnsaidZeros as error:
            unsure[name] = error
    settled: Reading | None = None
    for name, unsaid in sorted(unsure.items(), key=lambda item: recognise.plating(item[0]) is False):
        ways = _ways(texts[name], name, copper())
        if len(ways) != 1 and settled is not None:
            ways = {settled: read_drill(texts[name], name, *settled)}
        if len(ways) != 1:
            why = (
                "no way of reading puts its holes into copper" if not ways else "several ways put its holes into copper"
            )
            raise ReadError(name, unsaid.line, f"{unsaid.args[0].split(': ', 1)[-1]}; {why}") from unsaid
        settled, found[name] = next(iter(ways.items()))
        zeros, (whole, decimals) = settled
        kept = "leading" if zeros == "LZ" else "trailing"
        warnings.append(
            f"{name}:{unsaid.line}: does not say which zeros are left out; taken as {whole}.{decimals} digits with the "
            f"{kept} zeros kept, which puts the holes into copper"
        )
    return [part for name in texts for part in _parted(found[name], warnings)]


def _ways(text: str, name: str, copper: Any) -> dict[Reading, ReadDrills]:
    """Return the readings that put nearly all holes into copper; of those that agree, one."""
    found: dict[Reading, ReadDrills] = {}
    seen: set[tuple[tuple[float, float], ...]] = set()
    shapely.prepare(copper)
    for zeros in ("TZ", "LZ"):
        for digits in {d: None for usual in USUAL_DIGITS.values() for d in usual}:
            try:
                read = read_drill(text, name, zeros, digits)
            except ReadError:
                continue
            places = tuple((round(x, 4), round(y, 4)) for h in read.holes for x, y in h.path[:1])
            if not places or places in seen:
                continue
            meeting = shapely.intersects(copper, shapely.points(places)).sum()
            if len(set(places)) > 1 and meeting >= MEETING * len(places):
                seen.add(places)
                found[(zeros, digits)] = read
    return found


def _parted(drills: ReadDrills, warnings: list[str]) -> list[ReadDrills]:
    """Return the file as it is, or as two where it says of single tools whether they plate."""
    warnings += drills.warnings
    if any(hole.plated is not None for hole in drills.holes):
        rest = drills.plated
        warnings.append(f"{drills.name}:1: holds plated and bare holes together; GLFS 6.6 asks for two files")
        parts = []
        for plated in (True, False):
            holes = tuple(h for h in drills.holes if (h.plated if h.plated is not None else rest) is plated)
            parts.append(_called(replace(drills, holes=holes, warnings=()), plated))
        left = [h for h in drills.holes if h.plated is None and rest is None]
        if left:
            raise ReadError(drills.name, left[0].line, "does not say whether this hole is plated, but does of others")
        return [part for part in parts if part.holes]
    if drills.plated is not None:
        return [drills]
    by_name = recognise.plating(drills.name)
    if by_name is None:
        warnings.append(f"{drills.name}:1: does not say whether its holes are plated; they are taken to be")
    else:
        warnings.append(f"{drills.name}:1: holes taken to be {'plated' if by_name else 'bare'} by the file's name")
    return [_called(drills, by_name is not False)]


def _called(drills: ReadDrills, plated: bool) -> ReadDrills:
    return replace(drills, attributes={**drills.attributes, ".FileFunction": _FUNCTION[plated]})


def is_drill_layer(layer: ReadLayer) -> bool:
    """Tell whether a Gerber file says that it holds holes (GLFS 6.6)."""
    return layer.function.split(",")[0] in PLATINGS


def drills_of_layer(layer: ReadLayer) -> ReadDrills:
    """Return the holes of a Gerber drill layer: flashes of circles are holes, draws slots (GLFS 6.6).

    Raises ReadError for anything else.
    """
    holes = []
    for item in layer.objects:
        function = ",".join(item.attributes.get(".AperFunction", ()))
        if not item.dark or item.radius <= 0 or item.core.geom_type not in ("Point", "LineString"):
            raise ReadError(layer.name, item.line, "a drill layer holds flashes and draws of circles only")
        path = tuple((float(x), float(y)) for x, y in item.core.coords)
        holes.append(ReadHole(path, 2 * item.radius, function, item.line))
    return ReadDrills(layer.name, dict(layer.attributes), _tools(holes), tuple(holes))


def _tools(holes: Sequence[ReadHole]) -> dict[int, float]:
    return dict(enumerate(sorted({h.diameter for h in holes}), start=1))
