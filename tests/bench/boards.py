"""Hand-laid boards for the bench that the sample board does not cover."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely.geometry import Point

from modboard.describe.model import Net, Part
from modboard.layout.board import Board, PlacedPart, Track, Via
from modboard.library.model import Body, Footprint, Land, PadForm
from tests.sample import SITE, box, ground_pour, sample_board, sample_description

STRAIT = 0.5  # mm wide: the one way over each moat
SLIT = 0.03  # mm: what parts a second way over each moat, so that it is none
ISLANDS = {"J2.2": ((27.5, 10.0), 2.6, 3.3), "R2.2": ((18.16, 21.5), 2.2, 2.8)}  # with the moat's radii
TRACKED = "R2.2"  # a track of the net runs over this strait, within the pour


def straits_board() -> Board:
    """Return the sample board whose ground pour has two islands, a lead on each, that hang on a neck each."""
    made = sample_board()
    area = made.pours[0].area
    for (x, y), inner, outer in ISLANDS.values():
        moat = Point(x, y).buffer(outer).difference(Point(x, y).buffer(inner))
        middle = y + (inner + outer) / 2
        strait = shapely.box(x - 4, y - STRAIT / 2, x, y + STRAIT / 2)
        slit = shapely.box(x - 1, middle - SLIT / 2, x + 1, middle + SLIT / 2)
        over = shapely.box(x - STRAIT / 2, y, x + STRAIT / 2, y + 4).difference(slit)
        area = area.difference(moat.difference(shapely.union(strait, over)))
    x, y = ISLANDS[TRACKED][0]
    track = Track("GND", "bottom", ((x, y), (x - 5, y)), 0.25)
    return replace(made, pours=(replace(made.pours[0], area=area),), tracks=(*made.tracks, track))


def stairs_board() -> Board:
    """Return the sample board with the way of SIG on the bottom led in steps of 0.127 mm, shorter than it is wide."""
    made = sample_board()
    steps = [(8.0 + 0.127 * ((k + 1) // 2), 12.0 + 0.127 * k) for k in range(17)]  # aslant and straight in turn
    way = ((8.0, 9.08), (8.0, 12.0), *steps[1:], (9.016, 16.0), (8.0, 18.0))
    tracks = tuple(replace(t, points=way) if (t.net, t.layer) == ("SIG", "bottom") else t for t in made.tracks)
    return replace(made, tracks=tracks, pours=ground_pour(replace(made, tracks=tracks, pours=())))


WAYS, PITCH = 100, 0.65  # of a crossbar's connectors; mm


def across(way: int) -> int:
    """Return which way of the lower connector `way` of the left one goes to: 37 and 100 share no factor."""
    return way * 37 % WAYS


def crossbar_board() -> Board:
    """Return 200 pads, as crowded as they come: rows on top meet columns below in a via each, every net two lands.

    At this pitch lands are 0.3 and 0.95 mm from the next and the next but one, tracks 0.4 and 1.05 mm.
    """
    land = PadForm("rectangle", 1.0, PITCH - 0.3)
    lands = tuple(Land(str(k + 1), (0.0, PITCH * k), land) for k in range(WAYS))
    body = (Body(box(-1, -1, 1, PITCH * WAYS), 3.0),)
    size = PITCH * WAYS + 1
    comb = Footprint("comb", "header", "Comb", "surface-mount", lands, body, box(-1, -1, 1, size), (), ())
    left, lower = (Part(name, "header", None, "", comb, SITE) for name in ("J1", "J2"))
    placed = (PlacedPart(left, (0.0, 0.0), 0.0, "top"), PlacedPart(lower, (10.0, -5.0), 90.0, "bottom"))
    pads = {(p.part.reference, q.number): q.at for p in placed for q in p.pads({})}
    tracks, vias, nets = [], [], []
    for k in range(WAYS):
        net, ends = f"N{k}", (("J1", str(k + 1)), ("J2", str(across(k) + 1)))
        (x0, y0), (x1, y1) = (pads[end] for end in ends)
        nets.append(Net(net, ends, SITE, track_width=0.25, gap=0.25, volts=None, pour=None))
        tracks += [Track(net, "top", ((x0, y0), (x1, y0)), 0.25), Track(net, "bottom", ((x1, y0), (x1, y1)), 0.25)]
        vias.append(Via(net, (x1, y0), 0.45, 0.25))
    xs, ys = [x for x, _ in pads.values()], [y for _, y in pads.values()]
    outline = shapely.box(min(xs) - 2, min(ys) - 2, max(xs) + 2, max(ys) + 2)
    described = replace(
        sample_description(), parts=(left, lower), nets=tuple(nets), unconnected=(), holes=(), outline=outline
    )
    return Board(described, outline, placed, tuple(tracks), tuple(vias), ())
