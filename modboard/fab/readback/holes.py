"""What a drill file turned out to hold: holes and slots with their tools."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import shapely

from modboard.fab.readback.layer import Fields
from modboard.fab.readback.trouble import ReadError

PLATINGS = {"Plated": True, "NonPlated": False}  # first field of .FileFunction


class UnsaidZeros(ReadError):
    """A drill file that does not say which zeros it leaves out, and has coordinates for which that matters."""


@dataclass(frozen=True)
class ReadHole:
    """A hole at `path[0]`, or a slot along `path`; all mm.

    `function` is the tool's .AperFunction, "" if not said; `plated` only where the file says it of single tools.
    """

    path: tuple[tuple[float, float], ...]
    diameter: float
    function: str
    line: int
    plated: bool | None = None

    @property
    def core(self) -> Any:
        """The centre, or the centre line of a slot."""
        return shapely.Point(self.path[0]) if len(self.path) == 1 else shapely.LineString(self.path)


@dataclass(frozen=True)
class ReadDrills:
    """One drill file: its attributes, tools (number → diameter in mm) and holes in order."""

    name: str
    attributes: dict[str, Fields]
    tools: dict[int, float]
    holes: tuple[ReadHole, ...]
    warnings: tuple[str, ...] = ()  # what XNC does not have but was read, each with file and line

    @property
    def plated(self) -> bool | None:
        """Tell whether the holes are plated; None if the file does not say, or says it of its tools."""
        return PLATINGS.get(self.attributes.get(".FileFunction", ("",))[0])
