"""Does a convex outline, put down at many places, stay inside (or outside) an area?"""

from __future__ import annotations

from typing import Any

import numpy as np

from modboard.layout.place.kernels import compiled

CONTACT = 5e-7  # mm; touching is not crossing


@compiled
def crosses(hull: Any, x: float, y: float, a: float, b: float, c: float, d: float) -> bool:
    """Tell whether the segment (a, b)-(c, d) meets the inside of `hull` moved by (x, y).

    Clips the segment by each side in turn (Cyrus and Beck, IEEE Trans. Computers 27, 1978).
    """
    start, end = 0.0, 1.0
    count = hull.shape[0]
    for k in range(count):
        n = k + 1 if k + 1 < count else 0
        px, py = hull[k, 0] + x, hull[k, 1] + y
        ex, ey = hull[n, 0] - hull[k, 0], hull[n, 1] - hull[k, 1]
        size = np.sqrt(ex * ex + ey * ey)
        from_start = (ex * (b - py) - ey * (a - px)) / size - CONTACT  # depth of each end inside this side
        from_end = (ex * (d - py) - ey * (c - px)) / size - CONTACT
        if from_start <= 0.0 and from_end <= 0.0:
            return False
        if from_start < 0.0:
            start = max(start, from_start / (from_start - from_end))
        elif from_end < 0.0:
            end = min(end, from_start / (from_start - from_end))
        if start >= end:
            return False
    return True


def fits(xs: Any, ys: Any, hull: Any, edges: Any, inside: bool) -> Any:
    """Tell for each place whether `hull` ((n, 2), counter-clockwise) put there is wholly in the area of `edges`
    (`inside` True) or wholly out of it (False).
    """
    (x0, y0), (x1, y1) = hull.min(axis=0), hull.max(axis=0)
    cx, cy = hull.mean(axis=0)
    ok = np.ones(len(xs), dtype=np.bool_)
    mark_fits(ok, xs, ys, hull, edges, inside, (x0, y0, x1, y1, cx, cy), np.zeros(len(edges), dtype=np.int64))
    return ok


@compiled
def mark_fits(ok: Any, xs: Any, ys: Any, hull: Any, edges: Any, inside: bool, frame: Any, level: Any) -> None:
    """Clear `ok` where the outline does not fit; `frame` is its box and a point in it, `level` scratch.

    Places are expected row by row, so that edges above and below a row are passed over once.
    """
    x0, y0, x1, y1, cx, cy = frame
    count, row = 0, np.nan
    for k in range(xs.shape[0]):
        x, y = xs[k], ys[k]
        if y != row:
            row, count = y, 0
            for e in range(edges.shape[0]):
                if max(edges[e, 1], edges[e, 3]) > y + y0 and min(edges[e, 1], edges[e, 3]) < y + y1:
                    level[count] = e
                    count += 1
        odd = False
        px, py = x + cx, y + cy
        for n in range(count):
            e = level[n]
            a, b, c, d = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]
            if (b > py) != (d > py) and px < a + (py - b) * (c - a) / (d - b):
                odd = not odd
            if max(a, c) <= x + x0 or min(a, c) >= x + x1:
                continue
            if crosses(hull, x, y, a, b, c, d):
                ok[k] = False
                break
        if ok[k]:
            ok[k] = odd == inside


def way_out(xs: Any, ys: Any, dx: float, dy: float, edges: Any) -> Any:
    """Return how far each place is from the nearest edge met going in direction (dx, dy), one of the four axes."""
    found = np.full(len(xs), 1e9)
    mark_way_out(found, xs, ys, dx, dy, edges)
    return found


@compiled
def mark_way_out(found: Any, xs: Any, ys: Any, dx: float, dy: float, edges: Any) -> None:
    """Lower `found` to the distance of the nearest edge in direction (dx, dy)."""
    for k in range(xs.shape[0]):
        for e in range(edges.shape[0]):
            if dx != 0.0:
                a, b, c, d, at, level = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3], xs[k], ys[k]
                sign = dx
            else:
                a, b, c, d, at, level = edges[e, 1], edges[e, 0], edges[e, 3], edges[e, 2], ys[k], xs[k]
                sign = dy
            if (b > level) == (d > level):
                continue
            away = (a + (level - b) * (c - a) / (d - b) - at) * sign
            if away > -1e-6 and away < found[k]:
                found[k] = max(away, 0.0)
