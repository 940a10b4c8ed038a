"""Reads an SVG back with the standard library's XML parser, knowing nothing of the code that wrote it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

SVG = "{http://www.w3.org/2000/svg}"
Matrix = tuple[float, float, float, float, float, float]


def parsed(svg: str) -> ET.Element:
    """Return the root element."""
    return ET.fromstring(svg)


def texts(svg: str) -> list[str]:
    """Return every text lettered on the sheet."""
    return [e.attrib["aria-label"] for e in parsed(svg).iter(f"{SVG}path") if "aria-label" in e.attrib]


def matrix(element: ET.Element) -> Matrix:
    """Return the transform of a group as six numbers, the identity if it has none."""
    numbers = re.fullmatch(r"matrix\(([^)]*)\)", element.get("transform", "matrix(1 0 0 1 0 0)"))
    assert numbers
    a, b, c, d, e, f = (float(n) for n in numbers[1].split())
    return (a, b, c, d, e, f)


def centres(svg: str, part: str, pin: str) -> list[tuple[float, float]]:
    """Return where, in sheet mm, round lands of a pad are drawn."""
    found = []
    for group in parsed(svg).iter(f"{SVG}g"):
        a, b, c, d, e, f = matrix(group)
        for circle in group.findall(f"{SVG}circle"):
            if circle.get("data-part") == part and circle.get("data-pin") == pin:
                x, y = float(circle.attrib["cx"]), float(circle.attrib["cy"])
                found.append((a * x + c * y + e, b * x + d * y + f))
    return found


def label_box(svg: str, text: str) -> tuple[float, float, float, float]:
    """Return the bounds in sheet mm of the first text that reads `text`."""
    path = next(e for e in parsed(svg).iter(f"{SVG}path") if e.get("aria-label") == text)
    points = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.attrib["d"])]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys), max(xs), max(ys))


def sizes(svg: str) -> tuple[float, float]:
    """Return width and height of the sheet in mm."""
    root = parsed(svg)
    width, height = root.attrib["width"], root.attrib["height"]
    assert width.endswith("mm") and height.endswith("mm")
    return float(width[:-2]), float(height[:-2])


def colours_used(svg: str) -> set[str]:
    """Return every fill and stroke colour, upper case."""
    return {c for e in parsed(svg).iter() for c in _colours(e)}


def _colours(element: ET.Element) -> Iterator[str]:
    for name in ("fill", "stroke"):
        if element.get(name, "none") != "none":
            yield element.attrib[name].upper()


def all_label_boxes(svg: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Return every text with its bounds in sheet mm."""
    found = []
    for path in parsed(svg).iter(f"{SVG}path"):
        if "aria-label" in path.attrib:
            points = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.attrib["d"])]
            xs, ys = [x for x, _ in points], [y for _, y in points]
            found.append((path.attrib["aria-label"], (min(xs), min(ys), max(xs), max(ys))))
    return found
