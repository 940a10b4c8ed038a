"""Read a plain grid problem from a file: JSON with columns, rows, layers, pins, blocked nodes and missing edges.

Columns and rows count from 1, rows downwards, layers from 0; ``pins`` are [net, column, row, layer, side], where a
layer of null or "either" means a pin that goes through both.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from modboard.errors import ModboardError
from modboard.layout.route.plain import EITHER, Node, PlainProblem

PIN_THROUGH_BOTH = (None, "either", "both", "any", EITHER)


def read(path: Path) -> PlainProblem:
    """Return the problem a file states; raises ModboardError, naming file and place, where it states none."""
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ModboardError(f"{path}: cannot be read: {error.strerror}") from error
    except ValueError as error:
        raise ModboardError(f"{path}: is not JSON: {error}") from error
    if not isinstance(said, dict):
        raise ModboardError(f"{path}: must hold one object with columns, rows and pins")
    try:
        return problem(said)
    except ModboardError as error:
        raise ModboardError(f"{path}: {error}") from error


def problem(said: dict[str, Any]) -> PlainProblem:
    """Return the problem stated by a file's content."""
    columns, rows = _whole(said, "columns"), _whole(said, "rows")
    layers = _whole(said, "layers", 2)
    if layers not in (1, 2):
        raise ModboardError(f"{layers} layers; the router has one or two")
    pins: dict[str, list[Node]] = {}
    for k, pin in enumerate(_list(said, "pins", required=True)):
        if not isinstance(pin, list) or len(pin) < 4:
            raise ModboardError(f"pin {k + 1} must be [net, column, row, layer], not {pin}")
        net, x, y, layer = pin[:4]
        layer = EITHER if layer in PIN_THROUGH_BOTH else layer
        if layers == 1 and layer == EITHER:
            layer = 0
        pins.setdefault(str(net), []).append(_node([x, y, layer], f"pin {k + 1}"))
    blocked = {_inside(_node(node, "blocked"), columns, rows, "blocked") for node in _list(said, "blocked")}
    if layers == 1:
        blocked |= {(x, y, 1) for x in range(columns) for y in range(rows)}
    missing = set()
    for edge in _list(said, "missing_edges"):
        if not isinstance(edge, list) or len(edge) != 6:
            raise ModboardError(f"missing edge {edge} must be [column, row, layer, column, row, layer]")
        ends = [_inside(_node(half, "missing edge"), columns, rows, "missing edge") for half in (edge[:3], edge[3:])]
        missing.add((ends[0], ends[1]))
    return PlainProblem(
        columns, rows, {net: tuple(ends) for net, ends in pins.items()}, frozenset(blocked), frozenset(missing),
        _whole(said, "via_cost", 1),
    )  # fmt: skip


def _whole(said: dict[str, Any], key: str, default: int | None = None) -> int:
    value = said.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise ModboardError(f"{key} must be a whole number above 0, not {value}")
    return value


def _list(said: dict[str, Any], key: str, required: bool = False) -> list[Any]:
    value = said.get(key)
    if value is None and not required:
        return []
    if not isinstance(value, list):
        raise ModboardError(f"{key} must be a list, not {value}")
    return value


def _node(said: Any, what: str) -> Node:
    """Return a node of the file, counted from 0."""
    if not isinstance(said, list) or len(said) != 3 or not all(isinstance(v, int) for v in said):
        raise ModboardError(f"{what}: {said} must be three whole numbers: column, row, layer")
    return (said[0] - 1, said[1] - 1, said[2])


def _inside(node: Node, columns: int, rows: int, what: str) -> Node:
    if not (0 <= node[0] < columns and 0 <= node[1] < rows and node[2] in (0, 1)):
        raise ModboardError(f"{what}: column {node[0] + 1}, row {node[1] + 1}, layer {node[2]} is outside the grid")
    return node
