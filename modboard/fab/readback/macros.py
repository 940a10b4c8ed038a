"""Aperture macros (GLFS 4.5): parameters and arithmetic in, one shapely geometry out."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

import shapely
from shapely import affinity

from modboard.fab.readback.limits import MOST_PRIMITIVES

DEEPEST = 50  # brackets inside brackets
LONGEST = 2000  # characters of an expression
LARGEST = 1e5  # of any parameter, in the file's unit
MOST_POINTS = 5000  # GLFS 4.5.1.6: corners of an outline
MOST_RINGS = 100  # of a moiré
LOOSEST_OUTLINE = 1e-4  # share of its size by which an outline may fail to close or cross itself: decimals cut off
_COMMENT = re.compile(r"0(?![\d.,]|$)|0$")
_TOKEN = re.compile(r"\s*(?:(\d{1,15}\.?\d{0,20}|\.\d{1,20})|\$(\d{1,9})|([-+xX/()]))")


class MacroError(ValueError):
    """A macro that breaks the format; the caller adds file and line."""


def macro_shape(
    blocks: Sequence[str], parameters: Sequence[float], quarter_segments: int, old: list[str] | None = None
) -> Any:
    """Return the image of a macro called with `parameters`, lengths in the file's unit.

    Names of deprecated primitives are added to `old`.
    Raises MacroError for a primitive that does not exist.
    """
    if len(blocks) > MOST_PRIMITIVES:
        raise MacroError(f"a macro has more than {MOST_PRIMITIVES} primitives")
    variables = dict(enumerate(parameters, start=1))
    given = set(variables)
    image: Any = shapely.Polygon()
    run: list[Any] = []  # exposed primitives not yet joined to the image
    for block in blocks:
        text = block.strip()
        if not text or _COMMENT.match(text):
            continue
        if found := re.fullmatch(r"\$(\d{1,9})=(.*)", text, re.DOTALL):
            number = int(found[1])
            if number in variables and number not in given and old is not None:
                old.append("a macro variable that is defined twice")
            variables[number] = value_of(found[2], variables)
            continue
        values = [value_of(word, variables) for word in text.split(",")]
        if not all(math.isfinite(v) and abs(v) <= LARGEST for v in values):
            raise MacroError(f"a macro parameter is larger than {LARGEST:g}")
        if old is not None and values[0] in (2.0, 6.0, 22.0):
            old.append(f"macro primitive {values[0]:.0f}")
        exposed, shape = _primitive(values, quarter_segments)
        if exposed:
            run.append(shape)
        else:
            image, run = shapely.union_all([image, *run]).difference(shape), []
    return shapely.union_all([image, *run]) if run else image


def _primitive(values: Sequence[float], quarter_segments: int) -> tuple[bool, Any]:
    code = int(values[0])
    if code == 7:
        return True, _thermal(values[1:], quarter_segments)
    if code == 6:
        return True, _moire(values[1:], quarter_segments)
    reader = {
        1: _circle, 2: _vector_line, 4: _outline, 5: _polygon, 20: _vector_line, 21: _centre_line, 22: _corner_line,
    }.get(code)  # fmt: skip
    if reader is None:
        raise MacroError(f"macro primitive {code} does not exist (1, 4 to 7, 20 and 21 do)")
    if len(values) < 2 or values[1] not in (0.0, 1.0):
        raise MacroError(f"macro primitive {code}: exposure must be 0 or 1")
    try:
        shape, turn = reader(values[2:], quarter_segments)
    except (IndexError, ValueError, shapely.errors.GEOSException) as error:
        if isinstance(error, MacroError):
            raise
        raise MacroError(f"macro primitive {code} has too few or wrong parameters") from error
    return values[1] == 1.0, affinity.rotate(shape, turn, origin=(0, 0)) if turn % 360 else shape


def _circle(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    if len(values) not in (3, 4):
        raise MacroError("macro circle takes diameter, centre and at most a rotation")
    diameter, x, y = values[:3]
    return shapely.Point(x, y).buffer(diameter / 2, quad_segs=quarter_segments), values[3] if len(values) > 3 else 0.0


def _vector_line(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    width, x0, y0, x1, y1, turn = values
    return shapely.LineString([(x0, y0), (x1, y1)]).buffer(width / 2, cap_style="flat"), turn


def _centre_line(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    width, height, x, y, turn = values
    return shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2), turn


def _corner_line(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    width, height, x, y, turn = values
    return shapely.box(x, y, x + width, y + height), turn


def _thermal(values: Sequence[float], quarter_segments: int) -> Any:
    """Return a ring parted by a cross (primitive 7, GLFS 4.5.1.9): centre, outer and inner diameter, gap, turn."""
    if len(values) != 6:
        raise MacroError("macro thermal takes centre, two diameters, gap and rotation")
    x, y, outer, inner, gap, turn = values
    if not (outer > inner >= 0 and 0 <= gap < outer / math.sqrt(2)):
        raise MacroError("macro thermal: the outer diameter must be above the inner one, the gap below outer/√2")
    centre = shapely.Point(x, y)
    ring = centre.buffer(outer / 2, quad_segs=quarter_segments)
    ring = ring.difference(centre.buffer(inner / 2, quad_segs=quarter_segments)) if inner else ring
    if gap:
        bars = shapely.box(x - outer, y - gap / 2, x + outer, y + gap / 2).union(
            shapely.box(x - gap / 2, y - outer, x + gap / 2, y + outer)
        )
        ring = ring.difference(bars)
    return affinity.rotate(ring, turn, origin=(0, 0)) if turn % 360 else ring


def _moire(values: Sequence[float], quarter_segments: int) -> Any:
    """Return rings inside one another and a cross over them (primitive 6, deprecated; older texts of the GLFS, 4.5.4).

    Centre, outer diameter, thickness of the rings, gap, most rings, thickness and length of the cross, rotation.
    """
    if len(values) != 9:
        raise MacroError("macro moiré takes centre, four figures of its rings, two of its cross, and rotation")
    x, y, outer, thickness, gap, most, bar, length, turn = values
    if not (outer > 0 and thickness > 0 and gap >= 0 and 0 <= most <= MOST_RINGS and bar >= 0 and length >= 0):
        raise MacroError(f"macro moiré: sizes must be above zero, and at most {MOST_RINGS} rings")
    centre = shapely.Point(x, y)
    rings: list[Any] = []
    while outer > 0 and len(rings) < most:
        disc = centre.buffer(outer / 2, quad_segs=quarter_segments)
        inner = outer / 2 - thickness
        rings.append(disc.difference(centre.buffer(inner, quad_segs=quarter_segments)) if inner > 0 else disc)
        outer -= 2 * (thickness + gap)
    cross = [shapely.box(x - w / 2, y - h / 2, x + w / 2, y + h / 2) for w, h in ((length, bar), (bar, length))]
    image = shapely.union_all([*rings, *(cross if bar and length else ())])
    return affinity.rotate(image, turn, origin=(0, 0)) if turn % 360 else image


def _outline(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    count = int(values[0])
    if not 3 <= count <= MOST_POINTS or len(values) != 2 * count + 4:
        raise MacroError(f"macro outline: {count} corners do not go with {len(values)} numbers")
    points = list(zip(values[1:-1:2], values[2:-1:2], strict=True))
    if math.dist(points[0], points[-1]) > LOOSEST_OUTLINE * math.dist((0, 0), points[0]) + 1e-9:
        raise MacroError("macro outline is not closed")
    shape = shapely.Polygon(points)
    if not shape.is_valid:
        repaired = shape.buffer(0)
        if repaired.is_empty or abs(repaired.area - shape.area) > LOOSEST_OUTLINE * shape.area:
            raise MacroError("macro outline crosses itself")
        return repaired, values[-1]
    return shape, values[-1]


def _polygon(values: Sequence[float], quarter_segments: int) -> tuple[Any, float]:
    vertices, x, y, diameter, turn = values
    return affinity.translate(regular_polygon(diameter, int(vertices), 0.0), x, y), turn


def regular_polygon(diameter: float, vertices: int, turn: float) -> Any:
    """Return a regular polygon of circumscribed `diameter`, a corner on +x before it is turned (GLFS 4.4.5)."""
    if not 3 <= vertices <= 12:
        raise MacroError(f"a regular polygon has 3 to 12 corners, not {vertices}")
    angles = [math.radians(turn + 360 * k / vertices) for k in range(vertices)]
    return shapely.Polygon([(diameter / 2 * math.cos(a), diameter / 2 * math.sin(a)) for a in angles])


def value_of(text: str, variables: dict[int, float]) -> float:
    """Return the value of a macro expression such as ``$1x2-($3/2)``; an undefined variable is 0 (GLFS 4.5.4)."""
    if len(text) > LONGEST:
        raise MacroError(f"a macro expression is longer than {LONGEST} characters")
    tokens: list[str | float] = []
    place = 0
    while place < len(text.rstrip()):
        found = _TOKEN.match(text, place)
        if not found:
            raise MacroError(f"macro expression {text.strip()!r} is not understood")
        number, variable, sign = found.groups()
        if number is not None:
            tokens.append(float(number))
        elif variable is not None:
            tokens.append(variables.get(int(variable), 0.0))
        else:
            tokens.append(sign.lower())
        place = found.end()
    value, rest = _sum(tokens, 0, 0)
    if rest != len(tokens):
        raise MacroError(f"macro expression {text.strip()!r} is not understood")
    return value


def _sum(tokens: list[str | float], at: int, depth: int) -> tuple[float, int]:
    if depth > DEEPEST:
        raise MacroError("macro expression has too many brackets inside one another")
    value, at = _product(tokens, at, depth)
    while at < len(tokens) and tokens[at] in ("+", "-"):
        sign = 1.0 if tokens[at] == "+" else -1.0
        term, at = _product(tokens, at + 1, depth)
        value += sign * term
    return value, at


def _product(tokens: list[str | float], at: int, depth: int) -> tuple[float, int]:
    value, at = _factor(tokens, at, depth)
    while at < len(tokens) and tokens[at] in ("x", "/"):
        divide = tokens[at] == "/"
        factor, at = _factor(tokens, at + 1, depth)
        if divide and factor == 0:
            raise MacroError("macro expression divides by zero")
        value = value / factor if divide else value * factor
    return value, at


def _factor(tokens: list[str | float], at: int, depth: int) -> tuple[float, int]:
    sign = 1.0
    while at < len(tokens) and tokens[at] in ("+", "-"):
        sign = -sign if tokens[at] == "-" else sign
        at += 1
    if at >= len(tokens):
        raise MacroError("macro expression ends too early")
    token = tokens[at]
    if isinstance(token, float):
        return sign * token, at + 1
    if token != "(":
        raise MacroError(f"macro expression has {token!r} where a number is due")
    value, at = _sum(tokens, at + 1, depth + 1)
    if at >= len(tokens) or tokens[at] != ")":
        raise MacroError("macro expression has a bracket without its partner")
    return sign * value, at + 1
