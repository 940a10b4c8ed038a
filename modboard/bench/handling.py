"""What to look for on a part in the hand: its marking, which way round it goes, how to bend its leads."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import shapely

from modboard.bench.kinds import kind_of, value_of
from modboard.bench.values import capacitor_code, chip_code, coil_code, four_figure_code
from modboard.describe.model import Part
from modboard.geometry import Position
from modboard.layout.board import PlacedPart

_WAYS = ("right", "upper right", "upper edge", "upper left", "left", "lower left", "lower edge", "lower right")
METAL_BEHIND = ("to220", "to126")  # drawn with the metal face up the page, their family files say
SMD_WITH_CODE = ("chip-0603-r", "chip-0805-r", "chip-1206-r")


def marking(part: Part) -> str:
    """Return what is printed on the part, "" where nothing certain is (IEC 60062 codes for resistors and ceramics)."""
    kind, value = kind_of(part), value_of(part)
    if kind == "resistor":
        if value is None or part.footprint.name not in SMD_WITH_CODE:
            return ""
        return " or ".join(dict.fromkeys(c for c in (chip_code(value), four_figure_code(value)) if c))
    if kind in ("trimmer", "network") and value:
        return chip_code(value)
    if kind == "inductor" and value:
        return coil_code(value)
    if kind == "capacitor":
        if part.footprint.technology == "surface-mount":
            return "nothing: keep it in its labelled strip"
        return capacitor_code(value) if value else ""
    if kind in ("diode", "transistor") and part.footprint.technology == "surface-mount":
        return "a short code of its maker's, if anything: keep it in its labelled strip"
    if kind in ("diode", "transistor", "regulator", "chip", "socket") and part.device:
        plain = part.device.name in (part.footprint.name, kind)  # says no type
        return part.value or part.device.name if plain else part.device.name
    if kind == "electrolytic" and value:
        return f"{value * 1e6:g} µF"
    return ""


def bend(part: Part) -> str:
    """Return how to bend or spread the leads, and what its pattern says of it; "" where they come ready."""
    return "; ".join(words for words in (_pitch_in_words(part), part.footprint.bend_note) if words)


def _pitch_in_words(part: Part) -> str:
    lands = part.footprint.lands
    kinds = ("resistor", "diode", "capacitor", "inductor", "electrolytic", "led", "link")
    if kind_of(part) not in kinds or len(lands) != 2:
        return ""
    if part.footprint.technology != "through-hole":
        return ""
    pitch = math.dist(lands[0].at, lands[1].at)
    name = part.footprint.name
    if "upright" in name:
        return f"stand it up: bend one lead back down beside the body, {pitch:.2f} mm from the other"
    if kind_of(part) in ("capacitor", "electrolytic", "led") or "radial" in name:
        return f"leads {pitch:.2f} mm apart"
    return f"bend both leads down {pitch:.2f} mm apart"


def polarity(placed: PlacedPart) -> str:
    """Return which way round the part goes, as seen from its own side of the board; "" if it does not matter."""
    part, kind = placed.part, kind_of(placed.part)
    pads = {pad.number: pad for pad in placed.pads({})}
    names = {pad.pin_name: pad for pad in pads.values() if pad.pin_name}
    centre = _middle([pad.at for pad in pads.values()])
    mirrored = placed.body_side == "bottom"

    def way(at: Position) -> str:
        return towards(at, centre, mirrored)

    if kind == "electrolytic" and {"+", "-"} <= names.keys():
        if part.footprint.technology == "surface-mount":
            return f"bar (+) to the {way(names['+'].at)}"
        hole = way(names["+"].at).removesuffix(" edge")
        return f"long lead (+) in the {hole} hole, stripe (-) to the {way(names['-'].at)}"
    if kind == "led" and {"K", "A"} <= names.keys():
        return f"short lead and flat (cathode) to the {way(names['K'].at)}"
    if kind == "diode" and {"K", "A"} <= names.keys() and len(pads) == 2:
        return f"band (cathode) to the {way(names['K'].at)}"
    if part.footprint.family in ("dip", "soic", "host-plug") and "1" in pads:
        last = pads[part.footprint.lands[-1].number]
        end = way(_middle([pads["1"].at, last.at]))
        return f"notch to the {end}, pin 1 at the {end_of(way(pads['1'].at))}"
    if kind in ("chip", "network", "oscillator") and "1" in pads:
        return f"pin 1 (dot or corner mark) at the {end_of(way(pads['1'].at))}"
    if kind in ("transistor", "regulator", "diode") and len(pads) == 3 and _flat(part):
        lone = min(pads.values(), key=lambda p: _uneven(p.at, [q.at for q in pads.values() if q is not p]))
        return f"the lone lead ({lone.pin_name or lone.number}) to the {way(lone.at)}"
    if kind in ("transistor", "regulator") and len(pads) == 3:
        row = sorted(pads.values(), key=lambda p: (p.at[0] * (-1 if mirrored else 1), -p.at[1]))
        across = max(p.at[0] for p in row) - min(p.at[0] for p in row) > 0.5
        if not across:
            row = sorted(row, key=lambda p: -p.at[1])
        order = ", ".join(p.pin_name or p.number for p in row)
        return f"{_face(placed, way)}; {order} {'from left to right' if across else 'going down'}"
    if part.footprint.polarised and "1" in pads and len(pads) > 1 and kind != "wire pads":
        return f"pin 1 at the {end_of(way(pads['1'].at))}"
    return ""


def _face(placed: PlacedPart, way: Callable[[Position], str]) -> str:
    """Return which way the part looks: its flat side, its metal tab, or the outline where neither is known."""
    footprint = placed.part.footprint
    outline = footprint.bodies[0].outline if footprint.bodies else ()
    origin, up = placed.to_board((0.0, 0.0)), placed.to_board((0.0, 1.0))
    centre = _middle([p.at for p in placed.pads({})])
    back = (centre[0] + up[0] - origin[0], centre[1] + up[1] - origin[1])
    if footprint.family in METAL_BEHIND and len(footprint.bodies) == 1:
        return f"metal face to the {way(back)}"
    if footprint.family in METAL_BEHIND:
        return f"metal face down, its hole to the {way(back)}"
    if len(outline) > 8:  # round but for one flat: the longest straight
        corners = list(shapely.Polygon(outline).simplify(0.01).exterior.coords)
        edges = list(itertools.pairwise(corners))
        a, b = max(edges, key=lambda ab: math.dist(*ab))
        typical = sorted(math.dist(*ab) for ab in edges)[len(edges) // 2]
        if math.dist(a, b) > 2 * typical:
            middle = placed.to_board(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
            return f"flat face to the {way(middle)}"
    return "as the outline shows"


def _flat(part: Part) -> bool:
    """Tell whether a part lies flat with its lands within a thumbnail: one lead on one side, two on the other."""
    ends = [land.at for land in part.footprint.lands]
    return part.footprint.technology == "surface-mount" and max(math.dist(a, b) for a in ends for b in ends) < 4.0


def _uneven(at: Position, others: list[Position]) -> float:
    """Return how unlike the ways (mm) to two points are: nothing for the lone lead of three."""
    return abs(math.dist(at, others[0]) - math.dist(at, others[1]))


def towards(at: Position, centre: Position, mirrored: bool) -> str:
    """Return the direction of a point from a centre as one of eight words; `mirrored` for a view from below."""
    dx, dy = (centre[0] - at[0] if mirrored else at[0] - centre[0]), at[1] - centre[1]
    return _WAYS[round(math.degrees(math.atan2(dy, dx)) / 45.0) % 8]


def end_of(way: str) -> str:
    """Return the place on a part that lies a way from its middle: "upper end"."""
    return way.replace("edge", "end")


def _middle(points: list[Position]) -> Position:
    return (sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points))
