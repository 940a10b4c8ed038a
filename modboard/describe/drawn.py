"""Copper that a person draws and areas that a person keeps free: checked where they are written, and as one."""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

import shapely

from modboard.describe import measures, polygons
from modboard.describe.model import Barred, DrawnTrack, DrawnVia, KeepOut, MountingHole, Net, Side
from modboard.describe.notation import expanded_words, listed
from modboard.describe.rules import Rules
from modboard.errors import CallSite, DesignError
from modboard.geometry import TOLERANCE, Position, Shape, circle

SIDES = ("top", "bottom")
COPPER: tuple[Barred, ...] = ("tracks", "vias", "pours", "lands")
WORDS = ("copper", *get_args(Barred))


@dataclass(frozen=True)
class TrackSaid:
    """One call of ``track``, its numbers checked, its net not yet looked up."""

    net: str
    points: tuple[Position, ...]
    width: float | None
    side: Side
    site: CallSite


@dataclass(frozen=True)
class ViaSaid:
    """One call of ``via``."""

    net: str
    at: Position
    site: CallSite


Said = TrackSaid | ViaSaid


def track_said(net: object, points: object, width: object, side: object, site: CallSite) -> TrackSaid:
    """Check one call of ``track`` as far as it can be without knowing the nets."""
    name = measures.word(net, "net of the track", site)
    what = f'track of "{name}"'
    if isinstance(points, str) or not isinstance(points, Sequence):
        raise DesignError(f"{what}: give its points as a list of (x, y) in mm, not {points!r}", site)
    found = tuple(measures.position(p, f"a point of the {what}", site) for p in points)
    if len(found) < 2:
        raise DesignError(f"{what} needs two points or more; it has {len(found)}", site)
    for a, b in itertools.pairwise(found):
        if math.dist(a, b) <= TOLERANCE:
            raise DesignError(f"{what} has a piece of no length at {_at(a)}; leave out one of the two points", site)
    wide = None if width is None else measures.length(width, f"width of the {what}", site)
    chosen = measures.choice(side, f"{what}: side", SIDES, site)
    return TrackSaid(name, found, wide, "top" if chosen == "top" else "bottom", site)


def via_said(net: object, at: object, site: CallSite) -> ViaSaid:
    """Check one call of ``via``."""
    name = measures.word(net, "net of the via", site)
    return ViaSaid(name, measures.position(at, f'place of the via of "{name}"', site), site)


def keep_out_said(
    area: object, bars: object, at: object, diameter: object, side: object, name: object, site: CallSite
) -> KeepOut:
    """Return the keep-out of one call; DesignError for what cannot be."""
    words = measures.text(name, "name of the keep-out", site)
    what = f'keep-out "{words}"' if words else "keep-out"
    barred: list[Barred] = []
    for word in expanded_words(bars, f"{what}: bars", site):
        chosen: Any = measures.choice(word, f"{what}: bars", WORDS, site)
        barred += COPPER if chosen == "copper" else (chosen,)
    if not barred:
        raise DesignError(f"{what}: bars nothing; say what stays out, of {listed(WORDS)}", site)
    on = measures.choice(side, f"{what}: side", (*SIDES, "both"), site)
    sides: tuple[Side, ...] = ("top", "bottom") if on == "both" else ("top",) if on == "top" else ("bottom",)
    if (area is None) == (at is None):
        raise DesignError(
            f"{what}: give either an area, (x0, y0, x1, y1) or a list of corners, or at=(x, y) with diameter=", site
        )
    if at is not None:
        if diameter is None:
            raise DesignError(f"{what}: at= needs diameter= with it", site)
        size = measures.length(diameter, f"diameter of the {what}", site)
        outline: Any = shapely.Point(measures.position(at, f"place of the {what}", site))
        return KeepOut(outline, size / 2, sides, tuple(dict.fromkeys(barred)), site, words)
    if diameter is not None:
        raise DesignError(f"{what}: diameter= goes with at=, not with an area", site)
    return KeepOut(_area(area, what, site), 0.0, sides, tuple(dict.fromkeys(barred)), site, words)


def _area(area: object, what: str, site: CallSite) -> Any:
    flat = isinstance(area, Sequence) and not isinstance(area, str) and len(area) == 4
    if flat and not any(isinstance(v, Sequence) for v in area):  # type: ignore[attr-defined]
        x0, y0, x1, y1 = (measures.number(v, f"a side of the {what}", site) for v in area)  # type: ignore[attr-defined]
        if x1 <= x0 or y1 <= y0:
            raise DesignError(f"{what}: a rectangle is (left, lower, right, upper); this one has no area", site)
        return shapely.box(x0, y0, x1, y1)
    return polygons.plan(area, what, site)


def drawn_copper(
    said: Sequence[Said],
    nets: Mapping[str, Net],
    rules: Rules,
    outline: Any,
    holes: Collection[MountingHole],
    keep_outs: Collection[KeepOut],
) -> tuple[tuple[DrawnTrack, ...], tuple[DrawnVia, ...]]:
    """Return the tracks and vias of all calls, proven against rules, board, keep-outs and one another."""
    tracks: list[DrawnTrack] = []
    vias: list[DrawnVia] = []
    laid: list[tuple[str, Side, Shape, Said]] = []
    for call in said:
        if call.net not in nets:
            kind = "track" if isinstance(call, TrackSaid) else "via"
            raise DesignError(f'{kind}: there is no net "{call.net}"{measures.suggestion(call.net, nets)}', call.site)
        if isinstance(call, TrackSaid):
            track = DrawnTrack(call.net, call.side, call.points, _width(call, nets[call.net], rules), call.site)
            tracks.append(track)
            pieces: list[tuple[Side, Shape]] = [(track.side, track.shape)]
        else:
            vias.append(DrawnVia(call.net, call.at, call.site))
            land = circle(call.at, rules.via_land)
            pieces = [("top", land), ("bottom", land)]
        _on_board(call, pieces[0][1], rules, outline)
        _off_holes(call, pieces[0][1], rules, holes)
        _off_keep_outs(call, pieces, keep_outs)
        for side, shape in pieces:
            _apart(call, side, shape, laid, nets, rules)
            laid.append((call.net, side, shape, call))
    _holes_apart(vias, rules)
    return tuple(tracks), tuple(vias)


def _width(call: TrackSaid, net: Net, rules: Rules) -> float:
    if call.width is None:
        return net.track_width
    if call.width < rules.track - TOLERANCE:
        raise DesignError(
            f"{_what(call)}: {call.width:g} mm is thinner than the {rules.track:g} mm that rules {rules.name} allow; "
            "leave width= out, widen it, or take finer rules",
            call.site,
        )
    return call.width


def _on_board(call: Said, shape: Shape, rules: Rules, outline: Any) -> None:
    inside = bool(shapely.covers(outline, shape.core))
    gap = float(shapely.distance(outline.boundary, shape.core)) - shape.radius if inside else -1.0
    if gap < rules.copper_to_edge - TOLERANCE:
        x0, y0, x1, y1 = outline.bounds
        found = f"comes {gap:.2f} mm near to the edge" if gap > 0 else "is not on the board"
        raise DesignError(
            f"{_what(call)} {found}; the board spans x {x0:g} to {x1:g} and y {y0:g} to {y1:g} mm, and copper keeps "
            f"{rules.copper_to_edge:g} mm from its edge",
            call.site,
        )


def _off_holes(call: Said, shape: Shape, rules: Rules, holes: Collection[MountingHole]) -> None:
    for hole in holes:
        across = max(hole.keep_out, hole.diameter + 2 * rules.bare_hole_to_copper)
        if shape.distance(circle(hole.at, across)) < -TOLERANCE:
            raise DesignError(
                f"{_what(call)} comes too near to the mounting hole at {_at(hole.at)}; lead it round the "
                f"{across:g} mm that stay free there",
                call.site,
            )


def _off_keep_outs(call: Said, pieces: list[tuple[Side, Shape]], keep_outs: Collection[KeepOut]) -> None:
    kind = "tracks" if isinstance(call, TrackSaid) else "vias"
    for area in keep_outs:
        if kind in area.bars and any(
            side in area.sides and shape.distance(area.shape) < -TOLERANCE for side, shape in pieces
        ):
            name = f' "{area.name}"' if area.name else ""
            raise DesignError(f"{_what(call)} enters the keep-out{name} ({area.site}), which bars {kind}", call.site)


def _apart(
    call: Said,
    side: Side,
    shape: Shape,
    laid: list[tuple[str, Side, Shape, Said]],
    nets: Mapping[str, Net],
    rules: Rules,
) -> None:
    for name, its_side, other, its_call in laid:
        if name == call.net or its_side != side:
            continue
        need = max(rules.gap, nets[name].gap, nets[call.net].gap)
        gap = shape.distance(other)
        if gap < need - TOLERANCE:
            found = "touches" if gap <= 0 else f"is {gap:.2f} mm from"
            raise DesignError(
                f'{_what(call)} {found} the {_kind(its_call)} of "{name}" ({its_call.site}) on the {side}; '
                f"the two nets keep {need:g} mm apart",
                call.site,
            )


def _holes_apart(vias: Sequence[DrawnVia], rules: Rules) -> None:
    least = rules.via_hole + rules.hole_to_hole
    for one, other in itertools.combinations(vias, 2):
        if math.dist(one.at, other.at) < least - TOLERANCE:
            raise DesignError(
                f'via of "{other.net}" at {_at(other.at)} is too near to that at {_at(one.at)} ({one.site}): '
                f"holes keep {rules.hole_to_hole:g} mm apart, so {least:g} from middle to middle",
                other.site,
            )


def _kind(call: Said) -> str:
    return "track" if isinstance(call, TrackSaid) else "via"


def _what(call: Said) -> str:
    return f'{_kind(call)} of "{call.net}"'


def _at(point: Position) -> str:
    return f"({point[0]:g}, {point[1]:g})"
