"""Drawn sheets as a PDF at true size: the same lines and areas as the SVG, one page for each sheet.

Reads what `sheet.Sheet` writes: rectangles, circles, polylines and paths of straight lines, without transforms.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import Any
from xml.etree import ElementTree

from modboard.geometry import Position

_STEP = re.compile(r"([MLZ])\s*(?:(-?[\d.]+)[ ,](-?[\d.]+))?")
_JOINS = {"butt": 0, "round": 1, "miter": 0, "bevel": 2}


def pdf(sheets: Sequence[str], title: str) -> bytes:
    """Return the sheets (SVG texts, sizes in mm) as pages marked not to be scaled; equal sheets give equal bytes."""
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    page = Canvas(target, invariant=1, pageCompression=1)
    page.setTitle(title)
    page.setViewerPreference("PrintScaling", "None")
    for sheet in sheets:
        _page(page, ElementTree.fromstring(sheet))
        page.showPage()
    page.save()
    return target.getvalue()


def _page(page: Any, root: ElementTree.Element) -> None:
    from reportlab.lib.units import mm

    width, height = (float((root.get(key) or "0").removesuffix("mm")) for key in ("width", "height"))
    page.setPageSize((width * mm, height * mm))
    page.transform(mm, 0, 0, -mm, 0, height * mm)  # from here on: mm, y down, as in the SVG
    for element in root.iter():
        kind = element.tag.rpartition("}")[2]
        if kind in ("rect", "circle", "polyline", "path"):
            _shape(page, kind, element)


def _shape(page: Any, kind: str, element: ElementTree.Element) -> None:
    """Draw one element with its fill and stroke."""
    fill, stroke = (_colour(element.get(key)) for key in ("fill", "stroke"))
    if fill:
        page.setFillColorRGB(*fill)
    if stroke:
        page.setStrokeColorRGB(*stroke)
        page.setLineWidth(_number(element, "stroke-width", 1.0))
        page.setLineCap(_JOINS[element.get("stroke-linecap", "butt")])
        page.setLineJoin(_JOINS[element.get("stroke-linejoin", "miter")])
        page.setDash([float(v) for v in re.findall(r"[\d.]+", element.get("stroke-dasharray", ""))])
    painted = {"stroke": int(bool(stroke)), "fill": int(bool(fill))}
    if kind == "rect":
        page.rect(*(_number(element, key) for key in ("x", "y", "width", "height")), **painted)
    elif kind == "circle":
        page.circle(*(_number(element, key) for key in ("cx", "cy", "r")), **painted)
    else:
        path = page.beginPath()
        for letter, point in _steps(kind, element):
            if point is None:
                path.close()
            else:
                (path.moveTo if letter == "M" else path.lineTo)(*point)
        page.drawPath(path, fillMode=0, **painted)  # 0: even-odd, so that holes stay open


def _steps(kind: str, element: ElementTree.Element) -> list[tuple[str, Position | None]]:
    if kind == "polyline":
        figures = [float(v) for v in re.findall(r"-?[\d.]+", element.get("points", ""))]
        points = list(zip(figures[::2], figures[1::2], strict=True))
        return [("L" if number else "M", point) for number, point in enumerate(points)]
    found = _STEP.findall(element.get("d", ""))
    return [(letter, None if letter == "Z" else (float(x), float(y))) for letter, x, y in found]


def _number(element: ElementTree.Element, key: str, default: float = 0.0) -> float:
    return float(element.get(key, default))


def _colour(said: str | None) -> tuple[float, float, float] | None:
    """Return red, green and blue of "#rrggbb" from 0 to 1, None for no colour."""
    if not said or said == "none":
        return None
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", said):
        raise ValueError(f"colour {said} is not written #rrggbb")
    return (int(said[1:3], 16) / 255, int(said[3:5], 16) / 255, int(said[5:7], 16) / 255)
