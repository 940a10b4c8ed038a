"""Boards at the limit of a rule of copper and holes, `d` mm on the good side; each says how it comes about."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import shapely

from modboard.artwork.model import Flash, Stroke
from modboard.describe.model import MountingHole
from modboard.geometry import Position
from modboard.library.model import PadForm
from tests.check.build import (
    SQUARE,
    Scene,
    bare_hole,
    box_part,
    drill,
    net,
    pad,
    pour,
    round_land,
    scene,
    track,
    via,
)

A, B = net("A"), net("B")


def gap_of_wide_net(d: float) -> Scene:
    """Net A asks 0.6 mm, B the rule's 0.25: the larger holds.  Tracks 0.3 wide, middles 0.3 + 0.6 apart."""
    tracks = [track("A", (10, 10), (20, 10)), track("B", (10, 10.9 + d), (20, 10.9 + d))]
    return scene(top=tracks, nets=[net("A", gap=0.6), B])


def gap_to_text(d: float) -> Scene:
    """Board text in copper belongs to no net but must keep off nets: stroke 0.2, track 0.3, 0.25 + 0.25 apart."""
    text = Stroke(((10, 10.5 + d), (20, 10.5 + d)), 0.2, "non-conductor")
    return scene(top=[track("A", (10, 10), (20, 10)), text], nets=[A])


def gap_to_hole_wall(d: float) -> Scene:
    """A plated hole of 0.8 with no land on this layer: 0.4 + 0.25 + 0.15 to the middle of a track."""
    return scene(top=[track("B", (10.8 + d, 8), (10.8 + d, 12))], drills=[drill("A", (10, 10), 0.8)], nets=[A, B])


def ring_centred(d: float) -> Scene:
    """Land 1.5, hole 0.8: (1.5 - 0.8) / 2 = 0.35."""
    return pad_with_hole(pad("A", (10, 10), round_land(1.5 + 2 * d), through=True), (10, 10), 0.8)


def ring_off_centre(d: float) -> Scene:
    """Land 1.7, hole 0.8 leaves 0.45 all round; 0.1 off centre leaves 0.35 on one side (3-4-5: 0.06, 0.08)."""
    off = 0.1 - d
    return pad_with_hole(pad("A", (10, 10), round_land(1.7), through=True), (10 + 0.6 * off, 10 - 0.8 * off), 0.8)


def ring_in_rectangle(d: float) -> Scene:
    """Rectangle 3.0 × 2.0, hole 0.8 at 0.25 above the middle: 1.0 - 0.25 - 0.4 = 0.35 upwards."""
    land = pad("A", (10, 10), PadForm("rectangle", 3.0, 2.0), through=True)
    return pad_with_hole(land, (10, 10.25 - d), 0.8)


def ring_at_rounded_corner(d: float) -> Scene:
    """Rounded land 2 × 2, corner 0.6: its corner arc is about (0.4, 0.4).  A hole of 0.4 there leaves 0.6 - 0.2 = 0.4;
    0.05 farther out towards the corner leaves 0.35."""
    land = pad("A", (10, 10), PadForm("rounded", 2.0, 2.0, 0.6), through=True)
    out = 0.4 + (0.05 - d) / math.sqrt(2)
    return pad_with_hole(land, (10 + out, 10 + out), 0.4)


def ring_of_slot(d: float) -> Scene:
    """Oval land 1.9 × 3.2 round a slot 1.2 × 2.2: (1.9 - 1.2) / 2 = 0.35 at the sides, 0.5 at the ends."""
    land = pad("A", (10, 10), PadForm("oval", 1.9 + 2 * d, 3.2), through=True)
    return pad_with_hole(land, (10, 9.5), 1.2, (10, 10.5))


def ring_of_via(d: float) -> Scene:
    """Via land 1.1, hole 0.6: 0.25."""
    land, hole = via("A", (10, 10), land=1.1 + 2 * d)
    return scene(top=[land], bottom=[land], drills=[hole], nets=[A])


def pad_with_hole(land: Flash, at: Position, diameter: float, to: Position | None = None) -> Scene:
    return scene(top=[land], bottom=[land], drills=[drill("A", at, diameter, to=to)], nets=[A])


def smallest_hole(d: float) -> Scene:
    """The rules drill from 0.6 mm."""
    return scene(drills=[bare_hole((10, 10), 0.6 + d)])


def largest_hole(d: float) -> Scene:
    """The rules drill up to 6.0 mm."""
    return scene(drills=[bare_hole((10, 10), 6.0 - d)])


def two_holes(d: float) -> Scene:
    """Holes 1.0 and 0.8, 3-4-5 apart: 0.5 + 0.6 + 0.4 = 1.5 between centres leaves a wall of 0.6."""
    far = 1.5 + d
    return scene(drills=[bare_hole((10, 10), 1.0), bare_hole((10 + 0.6 * far, 10 + 0.8 * far), 0.8)])


def hole_beside_slot(d: float) -> Scene:
    """Slot 1.0 wide from x 10 to 12, hole 0.8 above its middle: 0.5 + 0.6 + 0.4 = 1.5."""
    slot = replace(bare_hole((10, 10), 1.0), to=(12.0, 10.0))
    return scene(drills=[slot, bare_hole((11, 11.5 + d), 0.8)])


def bare_hole_and_track(d: float) -> Scene:
    """Hole 3.0, track 0.3: 1.5 + 0.4 + 0.15 = 2.05 between centre and middle line."""
    return scene(top=[track("A", (5, 12.05 + d), (15, 12.05 + d))], drills=[bare_hole((10, 10), 3.0)], nets=[A])


def copper_under_screw(d: float) -> Scene:
    """Keep-out 6.0, track 0.3: 3.0 + 0.15."""
    return scene(
        top=[track("A", (5, 13.15 + d), (15, 13.15 + d))], nets=[A], holes=[MountingHole((10, 10), 3.2, 6.0, "screw")]
    )


def body_under_screw(d: float) -> Scene:
    """Keep-out 6.0, body 4 wide: 3.0 + 2.0 between centres."""
    return scene(parts=[box_part("P1", (15 + d, 10), (4, 4))], holes=[MountingHole((10, 10), 3.2, 6.0, "screw")])


def track_at_edge(d: float) -> Scene:
    """Edge at x 0, track 0.3: 0.5 + 0.15."""
    return scene(top=[track("A", (0.65 + d, 10), (0.65 + d, 20))], nets=[A])


def track_at_cut_out(d: float) -> Scene:
    """A cut-out from x 20: the track ends 0.5 + 0.15 before it."""
    holed = SQUARE.difference(shapely.box(20, 15, 25, 20))
    return scene(top=[track("A", (10, 17), (19.35 - d, 17))], nets=[A], outline=holed)


def track_over_edge(d: float) -> Scene:
    """Edge at x 0, track 0.3 with its side on the edge."""
    return scene(top=[track("A", (0.15 + d, 10), (0.15 + d, 20))], nets=[A])


def hole_over_edge(d: float) -> Scene:
    """Hole 1.0 that touches the edge at y 40 from within."""
    return scene(drills=[bare_hole((10, 39.5 - d), 1.0)])


def pour_neck(d: float) -> Scene:
    """Two fields 4 mm square joined by a strip 0.25 wide."""
    half = 0.125 + d / 2
    area = shapely.union_all(
        [shapely.box(10, 10, 14, 14), shapely.box(16, 10, 20, 14), shapely.box(13, 12 - half, 17, 12 + half)]
    )
    return scene(bottom=[pour("A", area)], nets=[A])


def neck_between_rounds(d: float) -> Scene:
    """Two round cut-outs 2 mm across, 0.25 apart: a disc that comes from both sides fills the neck."""
    discs = [shapely.Point(15 + side * (1.125 + d / 2), 15).buffer(1.0, quad_segs=256) for side in (-1, 1)]
    return scene(bottom=[pour("A", shapely.box(5, 5, 25, 25).difference(shapely.union_all(discs)))], nets=[A])


def narrow_track(d: float) -> Scene:
    """The rules allow 0.25 mm."""
    return scene(top=[track("A", (10, 10), (20, 10), width=0.25 + d)], nets=[A])


def narrower_than_its_net(d: float) -> Scene:
    """The net asks 0.8 mm."""
    return scene(top=[track("A", (10, 10), (20, 10), width=0.8 + d)], nets=[net("A", track_width=0.8)])


def neck_reach(d: float) -> Scene:
    """From a land 0.7 wide, narrower than the 0.8 mm track, a neck may reach 3 mm: 0.35 + 3.0 from its centre."""
    part = box_part("X1", (10, 10), (1, 1), leads=[("1", (0, 0))])
    narrow = replace(part.part.footprint.lands[0], form=PadForm("round", 0.7, 0.7))
    placed = replace(part, part=replace(part.part, footprint=replace(part.part.footprint, lands=(narrow,))))
    asking = net("A", [("X1", "1")], track_width=0.8)
    return scene(top=[track("A", (10, 10), (13.35 - d, 10), width=0.3)], nets=[asking], parts=[placed])


def width_for_two_amps(d: float) -> Scene:
    """2 A at a rise of 10 K on 35 µm outside needs 0.7814 mm: IPC-2221 figure 6-4."""
    return scene(nets=[net("A", amps=2.0, track_width=0.7814 + d)])


def track_end_at_land(d: float) -> Scene:
    """A track, 0.3 wide, whose round end just reaches a land of radius 0.5: 20 - 0.5 - 0.15."""
    lands = [pad("A", (10, 10), round_land(1.0), name="X1.1"), pad("A", (20, 10), round_land(1.0), name="X1.2")]
    wire = track("A", (10, 10), (19.35 + d, 10))
    return scene(top=[*lands, wire], nets=[net("A", [("X1", "1"), ("X1", "2")])])


def touching_copper(d: float) -> Scene:
    """Two tracks 0.3 wide side by side: 0.3 between their middles."""
    return scene(top=[track("A", (10, 10), (20, 10)), track("B", (10, 10.3 + d), (20, 10.3 + d))], nets=[A, B])


CASES: list[tuple[str, Callable[[float], Scene]]] = [
    ("copper-gap", gap_of_wide_net),
    ("copper-gap", gap_to_text),
    ("copper-gap", gap_to_hole_wall),
    ("short", touching_copper),
    ("open", track_end_at_land),
    ("dangling-track", track_end_at_land),
    ("track-width", narrow_track),
    ("track-width", narrower_than_its_net),
    ("track-width", neck_reach),
    ("track-current", width_for_two_amps),
    ("annular-ring", ring_centred),
    ("annular-ring", ring_off_centre),
    ("annular-ring", ring_in_rectangle),
    ("annular-ring", ring_at_rounded_corner),
    ("annular-ring", ring_of_slot),
    ("annular-ring", ring_of_via),
    ("hole-size", smallest_hole),
    ("hole-size", largest_hole),
    ("hole-to-hole", two_holes),
    ("hole-to-hole", hole_beside_slot),
    ("bare-hole-to-copper", bare_hole_and_track),
    ("keep-out", copper_under_screw),
    ("keep-out", body_under_screw),
    ("copper-to-edge", track_at_edge),
    ("copper-to-edge", track_at_cut_out),
    ("copper-off-board", track_over_edge),
    ("hole-off-board", hole_over_edge),
    ("pour-neck", pour_neck),
    ("pour-neck", neck_between_rounds),
]
