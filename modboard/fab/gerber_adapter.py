"""The one place that knows gerber-writer: shapes go in with attributes, strict Gerber X2 text comes out.

gerber-writer 0.4 keeps the order of objects and numbers apertures well, but it writes attributes as comments only,
stamps the wall clock, and has defects that were measured on version 0.4.3.3.  Each is met by one named function, here
or in `gerber_text`:

- two polygons with equal function share one aperture, so the second pad gets the wrong shape: `separate_key`;
- an oval turned by a quarter is written unturned: `quarter_turned`; at other turns its macro has sides of no
  length: `turned_oval_macro`;
- coordinates are cut off, not rounded, at the nanometre: `safe_point`;
- sizes go out as raw floats (``1e-05`` is illegal, ``0.30000000000000004`` a second aperture), and numpy's float32
  is refused: `size`, `without_exponents`;
- an open contour before a closed one is accepted: `checked_contour`;
- the number format grows with the board, and the header has no zone in its date: `LayerWriter._header`;
- after a region the pen's place is taken as known, which GLFS 4.10 does not promise: `Rewriter.operation`.

Section numbers are of Ucamco's Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from itertools import pairwise

import gerber_writer
import shapely

from modboard.errors import ModboardError
from modboard.fab.attributes import Attributes, command
from modboard.fab.gerber_text import KEY, Rewriter
from modboard.geometry import Position, exact_cos_sin
from modboard.library.model import PadForm

SMALLEST_SIZE = 0.001  # mm; GLFS 4.14: details under 1 µm may be lost by a reader


class GerberError(ModboardError):
    """A shape that cannot be written as legal Gerber."""


def safe_point(point: Position) -> Position:
    """Return `point` (mm) on the 1 nm grid, a tenth of that further out, so that cutting off gives the grid point."""
    return (_safe(float(point[0])), _safe(float(point[1])))


def _safe(value: float) -> float:
    steps = round(value * 1_000_000)
    return (steps + (0.1 if steps >= 0 else -0.1)) / 1_000_000


def size(value: float) -> float:
    """Return a length (mm) as a Python float with six decimals at most.

    Raises GerberError below 1 µm, which readers may drop (GLFS 4.14).
    """
    rounded = round(float(value), 6)
    if rounded < SMALLEST_SIZE:
        raise GerberError(f"Gerber layer: a size of {value:g} mm is too small to make; sizes start at 0.001 mm")
    return rounded


def quarter_turned(width: float, height: float, turn: float) -> tuple[float, float, float]:
    """Return width, height and turn with the quarter turns worked into the sizes; other turns stay in 0 to 180."""
    turn = round(turn % 180.0, 6) % 180.0
    return (height, width, 0.0) if turn == 90.0 else (width, height, turn)


def separate_key(function: str, number: int) -> str:
    """Return a function text that differs for every polygon, so that no two share an aperture; cut off again later."""
    return f"{function}{KEY}{number}"


def checked_contour(points: Sequence[Position]) -> list[Position]:
    """Return a closed ring on the 1 nm grid, points nearer than 1 µm to the one before left out (GLFS 4.10.3, 4.14).

    Raises GerberError if nothing is left or the ring crosses or touches itself.
    """
    ring: list[tuple[int, int]] = []
    for x, y in points:
        at = (round(float(x) * 1_000_000), round(float(y) * 1_000_000))
        if not ring or max(abs(at[0] - ring[-1][0]), abs(at[1] - ring[-1][1])) >= 1000:
            ring.append(at)
    while len(ring) > 1 and max(abs(ring[0][0] - ring[-1][0]), abs(ring[0][1] - ring[-1][1])) < 1000:
        ring.pop()
    if len(ring) < 3:
        raise GerberError("Gerber layer: a region has fewer than three corners; leave it out or draw it larger")
    ring.append(ring[0])
    if not shapely.is_simple(shapely.LinearRing(ring)):
        x, y = ring[0]
        raise GerberError(
            f"Gerber layer: the region that starts at ({x / 1e6:.3f}, {y / 1e6:.3f}) mm crosses itself; "
            "give its corners in order"
        )
    return [(x / 1_000_000, y / 1_000_000) for x, y in ring]


class LayerWriter:
    """One Gerber layer in the making: objects appear in the order in which they are added.

    `file_attributes` are written as they come, with .MD5 added at the end.
    """

    def __init__(self, file_attributes: Attributes) -> None:
        self._file_attributes = file_attributes
        self._layer = gerber_writer.DataLayer("", negative=False)
        self._commands: list[list[str]] = []
        self._current: dict[str, tuple[str, ...]] = {}
        self._polygons: dict[tuple[Position, ...], int] = {}
        self._ovals: dict[int, tuple[float, float, float]] = {}

    def flash(
        self,
        form: PadForm,
        at: Position,
        turn: float,
        function: str,
        attributes: Attributes = (),
        mirrored: bool = False,
    ) -> None:
        """Put down a pad of `form` (mm), mirrored left to right first if said, then turned by `turn` degrees."""
        self._attach(attributes, clear=False)
        master, angle = self._master(form, turn, function, mirrored)
        self._layer.add_pad(master, safe_point(at), angle)

    def key_pin(self, at: Position, across: float, function: str, attributes: Attributes = ()) -> None:
        """Put down the mark of a part's key pin: a square standing on a corner, `across` mm over its corners."""
        self._attach(attributes, clear=False)
        self._layer.add_pad(gerber_writer.RegularPolygon(size(across), 4, function), safe_point(at), 0.0)

    def draw(self, points: Sequence[Position], width: float, function: str, attributes: Attributes = ()) -> None:
        """Draw a polyline with a round pen of `width` mm; steps of less than 1 nm are left out."""
        self._attach(attributes, clear=False)
        path = gerber_writer.Path()
        grid = [safe_point(point) for point in points]
        path.moveto(grid[0])
        for point in [b for a, b in pairwise(grid) if a != b] or grid[:1]:
            path.lineto(point)
        self._layer.add_traces_path(path, size(width), function)

    def region(
        self, contour: Sequence[Position], function: str, attributes: Attributes = (), clear: bool = False
    ) -> None:
        """Fill the inside of `contour`, or erase it from everything added before if `clear`."""
        ring = checked_contour(contour)
        self._attach(() if clear else attributes, clear)
        path = gerber_writer.Path()
        path.moveto(safe_point(ring[0]))
        for point in ring[1:]:
            path.lineto(safe_point(point))
        self._layer.add_region(path, "" if clear else function, clear)

    def text(self) -> str:
        """Return the file."""
        rewriter = Rewriter(self._commands, self._ovals)
        lines = rewriter.rewritten(self._layer.dumps_gerber())
        body = "\n".join([*self._header(), *lines])
        digest = hashlib.md5(body.replace("\n", "").encode(), usedforsecurity=False).hexdigest()
        return f"{body}\n%TF.MD5,{digest}*%\nM02*\n"

    def _header(self) -> list[str]:
        return [f"%{command('TF', a)}*%" for a in self._file_attributes] + ["%FSLAX46Y46*%", "%MOMM*%", "G75*"]

    def _master(self, form: PadForm, turn: float, function: str, mirrored: bool) -> tuple[object, float]:
        if form.form == "polygon":
            return self._polygon(tuple(baked(form.points, turn, mirrored)), function), 0.0
        if form.form == "round":
            return gerber_writer.Circle(size(form.width), function), 0.0
        width, height, turn = quarter_turned(size(form.width), size(form.height), turn)
        corner = {"oval": min(width, height) / 2, "rounded": float(form.corner)}.get(form.form, 0.0)
        if min(width, height) - 2 * corner < SMALLEST_SIZE:
            return self._oval(width, height, turn, function)
        if corner < SMALLEST_SIZE:
            return gerber_writer.Rectangle(width, height, function), turn
        return gerber_writer.RoundedRectangle(width, height, round(corner, 6), function), turn

    def _oval(self, width: float, height: float, turn: float, function: str) -> tuple[object, float]:
        if abs(width - height) < SMALLEST_SIZE:
            return gerber_writer.Circle(max(width, height), function), 0.0
        if turn == 0.0:
            return gerber_writer.RoundedRectangle(width, height, min(width, height) / 2, function), 0.0
        corners = [
            (-width / 2, -height / 2),
            (width / 2, -height / 2),
            (width / 2, height / 2),
            (-width / 2, height / 2),
        ]
        # gerber-writer has no such shape: it is given the box round the oval, whose macro `Rewriter` then replaces.
        # The sizes stand in for the corners' place in the table, so that a rectangular polygon is never taken for it.
        stand_in = (*baked(corners, turn, False), (width, height))
        number = self._polygons.setdefault(stand_in, len(self._polygons) + 1)
        self._ovals[number] = (width, height, turn)
        return self._polygon(stand_in, function), 0.0

    def _polygon(self, points: tuple[Position, ...], function: str) -> object:
        number = self._polygons.setdefault(points, len(self._polygons) + 1)
        return gerber_writer.UserPolygon((*points, points[0]), separate_key(function, number))

    def _attach(self, attributes: Attributes, clear: bool) -> None:
        """Bring the object attributes to what the next object needs, by a marker that `Rewriter` writes out."""
        wanted = dict(attributes)
        lines = [f"%TD{name}*%" for name in self._current if name not in wanted]
        lines += [f"%{command('TO', a)}*%" for a in attributes if self._current.get(a[0]) != a[1]]
        self._current = wanted
        if lines:
            marker = gerber_writer.Path()
            marker.contour = True
            self._layer.add_region(marker, f"{KEY}{len(self._commands)}", clear)
            self._commands.append(lines)


def baked(points: Sequence[Position], turn: float, mirrored: bool) -> list[Position]:
    """Return the corners of a pad, mirrored and turned, on the 1 nm grid."""
    cos, sin = exact_cos_sin(turn)
    flip = -1.0 if mirrored else 1.0
    ring = checked_contour([(flip * x * cos - y * sin, flip * x * sin + y * cos) for x, y in points])
    return [(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in ring[:-1]]  # + 0.0 makes -0.0 plain
