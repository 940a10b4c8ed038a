"""Boards at the limit of a rule of mask, legend, parts or circuit, `d` mm on the good side, each worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from modboard.artwork import font
from modboard.artwork.model import Flash, Layer, Stroke
from modboard.describe.model import AtEdge
from modboard.geometry import Position
from modboard.library.model import Device, PadForm, Pin
from tests.check.build import (
    RULES,
    Scene,
    bare_hole,
    box_part,
    drill,
    net,
    opening,
    pad,
    round_land,
    scene,
    track,
)

A, B = net("A"), net("B")


def mask_web(d: float) -> Scene:
    """Lands 1.0 round, openings 1.2: 1.2 + 0.2 between centres."""
    lands = [pad("A", (10, 10), round_land(1.0)), pad("B", (11.4 + d, 10), round_land(1.0), name="X1.2")]
    return scene(top=lands, mask=[opening(land, 0.1) for land in lands], nets=[A, B])


def mask_and_track(d: float) -> Scene:
    """Opening 1.2 round, track 0.3: 0.6 + 0.1 + 0.15."""
    land = pad("A", (10, 10), round_land(1.0))
    return scene(top=[land, track("B", (10.85 + d, 5), (10.85 + d, 15))], mask=[opening(land, 0.1)], nets=[A, B])


def mask_over_land(d: float) -> Scene:
    """An opening just as large as its land."""
    land = pad("A", (10, 10), PadForm("rectangle", 1.0, 2.0))
    return scene(top=[land], mask=[opening(land, d)], nets=[A])


def ink(*points: Position, width: float = 0.15) -> Stroke:
    return Stroke(tuple(points), width, "legend")


def ink_at_land(d: float) -> Scene:
    """Land 1.0 round, line 0.2: 0.5 + 0.15 + 0.1."""
    land = pad("A", (10, 10), round_land(1.0))
    at = 10.75 + d
    return scene(top=[land], mask=[opening(land, 0.1)], legend=[ink((at, 5), (at, 15), width=0.2)], nets=[A])


def ink_at_opening(d: float) -> Scene:
    """The opening of a bare hole, 3.4 across, and a line 0.2: 1.7 + 0.1."""
    hole = Flash(round_land(3.4), (10, 10), 0.0, "mask-opening")
    return scene(mask=[hole], legend=[ink((11.8 + d, 5), (11.8 + d, 15), width=0.2)])


def ink_at_hole(d: float) -> Scene:
    """A hole 3.0 across and a line 0.2: 1.5 + 0.1."""
    return scene(drills=[bare_hole((10, 10), 3.0)], legend=[ink((11.6 + d, 5), (11.6 + d, 15), width=0.2)])


def ink_at_edge(d: float) -> Scene:
    """Edge at y 0, line 0.2 with its side on it."""
    return scene(legend=[ink((10, 0.1 + d), (20, 0.1 + d), width=0.2)])


def thin_ink(d: float) -> Scene:
    """The rules print lines from 0.15 mm."""
    return scene(legend=[ink((10, 10), (20, 10), width=0.15 + d)])


def two_parts(d: float) -> Scene:
    """Courtyards 4 wide, part gap 0.25: 4.25 between centres."""
    return scene(parts=[box_part("P1", (10, 10), (4, 4)), box_part("P2", (14.25 + d, 10), (4, 4))])


def courtyards_that_may_touch(d: float) -> Scene:
    """Courtyards 4 wide whose sides meet, where the rules ask no gap between them: IPC-7351 lets them touch."""
    parts = [box_part("P1", (10, 10), (4, 4)), box_part("P2", (14 + d, 11), (4, 4))]
    return scene(parts=parts, rules=replace(RULES, part_gap=0.0))


def courtyard_within_another(d: float) -> Scene:
    """A courtyard 4 wide, and one of 20 round it that ends where it begins."""
    parts = [box_part("P1", (10, 10), (4, 4)), box_part("P2", (22 + d, 10), (20, 20))]
    return scene(parts=parts, rules=replace(RULES, part_gap=0.0))


def leads_across_the_board(d: float) -> Scene:
    """A lead's land, 1.5 round, from the top beside a courtyard 4 wide on the bottom: 2.0 + 0.25 + 0.75."""
    leaded = box_part("P1", (13.0 + d, 10), (1, 1), leads=[("1", (0, 0))])
    return scene(parts=[leaded, box_part("P2", (10, 10), (4, 4), side="bottom")])


def wire_beside_body(d: float) -> Scene:
    """A bare wire 0.6 thick beside a body 4 wide: 0.3 + 0.25 + 2.0 to its middle, common practice."""
    wire = box_part("W1", (10, 10), (6, 0.6))
    wire = replace(wire, part=replace(wire.part, footprint=replace(wire.part.footprint, bridge=True)))
    return scene(parts=[wire, box_part("P1", (10, 12.55 + d), (4, 4))])


def part_near_edge(d: float) -> Scene:
    """Edge at x 0, courtyard 4 wide: 1.0 + 2.0."""
    return scene(parts=[box_part("P1", (3.0 + d, 10), (4, 4))])


def part_over_edge(d: float) -> Scene:
    """Edge at x 0, body 4 wide with its side on it."""
    return scene(parts=[box_part("P1", (2.0 + d, 10), (4, 4))])


def edge_part_over_another_edge(d: float) -> Scene:
    """A part asked to the right edge may overhang there, not at the bottom edge (y 0)."""
    return scene(parts=[box_part("P1", (39, 2.0 + d), (4, 4))], wishes={"P1": AtEdge("right", inset=-1.0)})


def far_capacitor(d: float) -> Scene:
    """The capacitor's near land is 10 mm from the supply pin."""
    chip = Device("chip", "Chip", (Pin("1", ("VCC",), "power-in"), Pin("2", ("GND",), "power-in")), "block")
    parts = [
        box_part("U1", (10, 10), (1, 1), leads=[("1", (0, 0)), ("2", (0, -4))], device=chip),
        box_part("C1", (20 - d, 10), (1, 1), leads=[("1", (0, 0)), ("2", (3, 0))], kind="capacitor"),
    ]
    nets = [net("VCC", [("U1", "1"), ("C1", "1")]), net("GND", [("U1", "2"), ("C1", "2")])]
    return scene(parts=parts, nets=nets)


def copper_at_groove(d: float) -> Scene:
    """0.8 mm from the middle of the groove: 0.8 + 0.15 to the middle of a track."""
    board, art = scene(top=[track("A", (10, 20.95 + d), (30, 20.95 + d))], nets=[A])
    groove = Stroke(((0, 20), (40, 20)), 0.4, "score")
    return board, replace(art, layers=(*art.layers, Layer("score", (groove,))))


def small_text(d: float) -> Scene:
    """Capitals are asked to be as high as the rules say."""
    lines = font.text("R1", (10.0, 10.0), RULES.legend_height + d)
    return scene(legend=[Stroke(tuple(line), 0.2, "legend", text="R1") for line in lines])


def gap_given_for_110_volts(d: float) -> Scene:
    """IPC-2221 table 6-1, B4, 101 to 150 V: 0.4 mm."""
    return scene(nets=[net("A", volts=110.0, gap=0.4 + d), net("B")])


def quiet_beside_noisy(d: float) -> Scene:
    """0.75 mm between the two: 0.75 + 0.3 between middles."""
    tracks = [track("Q", (10, 10), (20, 10)), track("N", (10, 11.05 + d), (20, 11.05 + d))]
    return scene(top=tracks, nets=[net("Q", quiet=True), net("N", noisy=True)])


def land_for_a_hand_drill(d: float) -> Scene:
    """The rules of the scene ask lands of 1.8 mm."""
    land = pad("A", (10, 10), round_land(1.8 + d), through=True)
    rules = replace(RULES, pad_land_min=1.8)
    return scene(top=[land], bottom=[land], drills=[drill("A", (10, 10), 0.8)], nets=[A], rules=rules)


def hole_halved_by_the_edge(d: float) -> Scene:
    """The edge, x 0, passes 0.05 mm beside the middle of the hole."""
    part = box_part("X1", (0.05 - d, 20), (1, 1), leads=[("1", (0, 0))])
    halved = replace(part, part=replace(part.part, footprint=replace(part.part.footprint, edge="halved")))
    return scene(parts=[halved], drills=[drill("A", (0.05 - d, 20), 0.8)], nets=[A])


CASES: list[tuple[str, Callable[[float], Scene]]] = [
    ("mask-web", mask_web),
    ("mask-to-copper", mask_and_track),
    ("mask-missing", mask_over_land),
    ("legend-on-pad", ink_at_land),
    ("legend-on-opening", ink_at_opening),
    ("legend-on-hole", ink_at_hole),
    ("legend-off-board", ink_at_edge),
    ("legend-line", thin_ink),
    ("courtyard-overlap", two_parts),
    ("courtyard-overlap", courtyards_that_may_touch),
    ("courtyard-overlap", courtyard_within_another),
    ("courtyard-overlap", leads_across_the_board),
    ("courtyard-overlap", wire_beside_body),
    ("part-to-edge", part_near_edge),
    ("part-off-board", part_over_edge),
    ("part-off-board", edge_part_over_another_edge),
    ("no-decoupling", far_capacitor),
    ("copper-to-score", copper_at_groove),
    ("legend-height", small_text),
    ("voltage-gap", gap_given_for_110_volts),
    ("quiet-near-noisy", quiet_beside_noisy),
    ("half-hole", hole_halved_by_the_edge),
    ("land-size", land_for_a_hand_drill),
]
