"""Builders for surface-mount parts, centred on the body: two-terminal parts, gull wings, tab packages."""

from __future__ import annotations

import math

from modboard.errors import LibraryError
from modboard.geometry import Position
from modboard.library.drawing import Drawing, MarkKind, Sizing, centred_outline, closed
from modboard.library.families import Dimensions
from modboard.library.leaded import mark_kind
from modboard.library.model import Body, Land, PadForm
from modboard.library.sizing import GOALS, ROW_GAP, Goals, SurfaceLands, round_down, round_up, surface_lands

WEB_GAP = ROW_GAP["A"]  # mm
INNER_TRIM = 0.1  # mm that the inner ends of two lands may give up for a mask web: less than placement is out


def _goals(dims: Dimensions) -> dict[str, Goals]:
    table = dims.text("goals")
    if table not in GOALS:
        raise LibraryError(f'{dims.where}: goals should be one of {", ".join(GOALS)}, found "{table}"')
    return GOALS[table]


def _lands(dims: Dimensions, sizing: Sizing, width: str = "width") -> SurfaceLands:
    goals = _goals(dims)[sizing.level]
    return surface_lands(dims.pair("overall"), dims.pair("foot"), dims.pair(width), goals).rounded(goals.step)


def _surface_land(number: str, at: Position, width: float, height: float) -> Land:
    return Land(number, (round(at[0], 6), round(at[1], 6)), PadForm("rectangle", width, height))


def _excess(dims: Dimensions) -> dict[str, float]:
    return {level: goals.courtyard for level, goals in _goals(dims).items()}


def two_terminal(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a chip, melf, moulded or two-lead diode package: pad 1 left, pad 2 right."""
    lands = _lands(dims, sizing)
    if 0 < ROW_GAP[sizing.level] - lands.inner <= INNER_TRIM:
        lands = SurfaceLands(lands.outer, ROW_GAP[sizing.level], lands.width)
    half = lands.centres / 2
    pads = tuple(
        _surface_land(number, (x, 0.0), lands.length, lands.width) for number, x in (("1", -half), ("2", half))
    )
    return _with_body(dims, pads, mark_kind(dims))


def gull_wing(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a two-sided leaded package, upright: pin 1 top left, numbers down the left side and up the right."""
    pins, pitch = dims.count("pins"), dims.length("pitch")
    lands = narrowed(_lands(dims, sizing), pitch - ROW_GAP[sizing.level], dims)
    half = lands.centres / 2
    side = pins // 2
    top = (side - 1) * pitch / 2
    left = [(-half, top - k * pitch) for k in range(side)]
    right = [(half, -top + k * pitch) for k in range(side)]
    pads = tuple(_surface_land(str(k + 1), at, lands.length, lands.width) for k, at in enumerate(left + right))
    width, length = dims.pair("body")
    outline = centred_outline((0.0, 0.0), width, length)
    drawn = centred_outline((0.0, 0.0), min(width, lands.inner - 0.7), length)
    return Drawing(
        pads, (Body(outline, dims.length("height")),), (closed(drawn),), "dot", courtyard_excess=_excess(dims)
    )


def three_lead(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a SOT-23: pins 1 and 2 below (left, right), pin 3 above; lands computed, or the maker's if given."""
    lands = _maker_lands(dims, "maker_land") or _lands(dims, sizing)
    lands = trimmed_heel(lands, dims.length("pitch") - lands.width)
    half, e = lands.centres / 2, dims.length("pitch")
    at = {"1": (-e, -half), "2": (e, -half), "3": (0.0, half)}
    pads = tuple(_surface_land(n, p, lands.width, lands.length) for n, p in at.items())
    return _with_body(dims, pads)


def tab_package(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a SOT-223: pins 1 to 3 below from left to right, the tab above; the tab has the number `tab`."""
    lands = _maker_lands(dims, "maker_land") or _lands(dims, sizing)
    tab = _maker_lands(dims, "maker_tab") or _lands(dims, sizing, "tab_width")
    half, e = lands.centres / 2, dims.length("pitch")
    pads = [_surface_land(str(k + 1), ((k - 1) * e, -half), lands.width, lands.length) for k in range(3)]
    pads.append(_surface_land(dims.text("tab"), (0.0, half), tab.width, tab.length))
    return _with_body(dims, tuple(pads))


def five_lead(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a SOT-23-5: pins 1 to 3 below from left to right, 4 above right, 5 above left."""
    lands = trimmed_heel(_lands(dims, sizing), dims.length("pitch") - dims.pair("width")[1])
    lands = narrowed(lands, dims.length("pitch") - ROW_GAP[sizing.level], dims)
    half, e = lands.centres / 2, dims.length("pitch")
    at = [(-e, -half), (0.0, -half), (e, -half), (e, half), (-e, half)]
    pads = tuple(_surface_land(str(k + 1), p, lands.width, lands.length) for k, p in enumerate(at))
    return _with_body(dims, pads)


def narrowed(lands: SurfaceLands, width: float, dims: Dimensions) -> SurfaceLands:
    """Return the lands no wider than `width`, which leaves a mask web, if that still takes the widest lead."""
    width = round_down(width)
    return SurfaceLands(lands.outer, lands.inner, width) if dims.pair("width")[1] <= width < lands.width else lands


def trimmed_heel(lands: SurfaceLands, aside: float) -> SurfaceLands:
    """Return the lands shortened at the heel until pads `aside` mm apart along the row are a mask web apart.

    A web of 0.20 and two expansions of 0.10 make a gap of 0.40 (easy tier of published capability tables);
    IPC-7351B lets gull-wing lands be trimmed at the heel.
    """
    needed = math.sqrt(max(0.0, WEB_GAP**2 - max(0.0, aside) ** 2))
    return lands if lands.inner >= needed else SurfaceLands(lands.outer, round_up(needed), lands.width)


def _maker_lands(dims: Dimensions, key: str) -> SurfaceLands | None:
    """Return the lands [width, length] that makers print, `maker_rows` apart, or None if the file gives none."""
    if not dims.has(key):
        return None
    (width, length), rows = dims.pair(key), dims.length("maker_rows")
    return SurfaceLands(outer=rows + length, inner=rows - length, width=width)


def _with_body(dims: Dimensions, pads: tuple[Land, ...], mark: MarkKind = "dot") -> Drawing:
    outline = centred_outline((0.0, 0.0), *dims.pair("body"))
    body = Body(outline, dims.length("height"))
    return Drawing(pads, (body,), (closed(outline),), mark, courtyard_excess=_excess(dims))
