"""Every rule at its limit: a micrometre less and it fires, a micrometre more and it does not.

The cases say by hand how their distances come about; none uses a distance that the checks worked out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
import shapely

import modboard.fit
from modboard.artwork.model import Feature
from modboard.check import rules
from modboard.library.model import PadForm
from tests.check import limits_copper, limits_making, limits_surface
from tests.check.build import (
    Scene,
    findings,
    net,
    pad,
    pour,
    round_land,
    scene,
    track,
    via,
)
from tests.check.limits_copper import neck_reach
from tests.check.limits_making import narrow_notch

MICROMETRE = 1e-3  # mm
LIMITS = [*limits_copper.CASES, *limits_surface.CASES, *limits_making.CASES]
A, B = net("A"), net("B")


# Each entry: half the extent along x at the middle height, and how to make the item centred on x, 20.
SHAPES: dict[str, tuple[float, Callable[[str, float], Feature]]] = {
    "round pad": (0.8, lambda n, x: pad(n, (x, 20.0), round_land(1.6), name=f"{n}.1")),
    "oval pad": (1.1, lambda n, x: pad(n, (x, 20.0), PadForm("oval", 2.2, 1.2), name=f"{n}.1")),
    "oval pad on end": (0.6, lambda n, x: pad(n, (x, 20.0), PadForm("oval", 2.2, 1.2), turn=90.0, name=f"{n}.1")),
    "rectangle": (0.5, lambda n, x: pad(n, (x, 20.0), PadForm("rectangle", 1.0, 0.6), name=f"{n}.1")),
    "square on its corner": (
        math.sqrt(0.5),
        lambda n, x: pad(n, (x, 20.0), PadForm("rectangle", 1.0, 1.0), turn=45.0, name=f"{n}.1"),
    ),
    "rounded pad": (0.65, lambda n, x: pad(n, (x, 20.0), PadForm("rounded", 1.3, 0.9, 0.15), name=f"{n}.1")),
    "polygon pad": (
        0.7,
        lambda n, x: pad(
            n, (x, 20.0), PadForm("polygon", 1.4, 1.0, points=((-0.7, 0), (0, -0.5), (0.7, 0), (0, 0.5))), name=f"{n}.1"
        ),
    ),
    "track across": (0.2, lambda n, x: track(n, (x, 18.0), (x, 22.0), width=0.4)),
    "track end on": (1.2, lambda n, x: track(n, (x - 1.0, 20.0), (x + 1.0, 20.0), width=0.4)),
    "pour": (1.0, lambda n, x: pour(n, shapely.box(x - 1.0, 18.0, x + 1.0, 22.0))),
    "via": (0.55, lambda n, x: via(n, (x, 20.0))[0]),
}


@pytest.mark.parametrize("left", SHAPES)
@pytest.mark.parametrize("right", SHAPES)
def test_copper_gap_between_every_pair_of_shapes(left: str, right: str) -> None:
    half_left, make_left = SHAPES[left]
    half_right, make_right = SHAPES[right]

    def gap(distance: float) -> int:
        one, other = make_left("A", 20.0), make_right("B", 20.0 + half_left + distance + half_right)
        return len(findings(scene(top=[one, other], nets=[A, B]), "copper-gap"))

    assert gap(0.25 - MICROMETRE) == 1
    assert gap(0.25 + MICROMETRE) == 0
    assert gap(0.25) == 0


NO_LENGTH = {  # rules of the board and circuit without a length to be short of: they ask whether, not how far
    "contact-open", "dangling-via", "floating-input", "host-cut", "kept-free", "lead-open", "led-resistor",
    "base-resistor", "mark-unplaced", "no-pull-up", "outputs-tied", "pad-missing", "pin-order", "pour-island",
    "power-pin-open", "profile", "single-pin-net", "supplies-tied", "supply-pin-net", "thermal-spokes", "undriven-net",
    "unrouted", "value-missing", "value-series",
    "value-unreadable", "volts-sign", "waiver-expired", "waiver-unpinned", "waiver-unused",
}  # fmt: skip
ELSEWHERE = {  # limits in volts or watts, each with tests of its own
    "capacitor-rating": "test_values", "resistor-rating": "test_values", "touch-voltage": "test_touch",
    "dissipation": "test_devices", "regulator-input": "test_devices", "regulator-head-room": "test_wiring",
    "regulator-current": "test_devices",
    "regulator-output": "test_wiring", "polarity": "test_wiring", "supply-volts": "test_wiring",
}  # fmt: skip


def test_every_rule_brings_its_limit_case() -> None:
    """A new rule fails here until it has a case at its limit, or is listed as one that has no length."""
    cased = {rule for rule, _ in LIMITS}
    own = {rule.name for rule in rules()} - {rule.name for rule in modboard.fit.RULES}
    assert own == cased | NO_LENGTH | set(ELSEWHERE)
    assert not cased & NO_LENGTH and not cased & set(ELSEWHERE)
    for rule, module in ELSEWHERE.items():
        text = (Path(__file__).parent / f"{module}.py").read_text(encoding="utf-8")
        assert rule in text or rule == "touch-voltage", f"{module} does not test {rule}"


@pytest.mark.parametrize(("rule", "case"), LIMITS, ids=[f"{r}-{c.__name__.strip('<>')}" for r, c in LIMITS])
def test_a_micrometre_decides(rule: str, case: Callable[[float], Scene]) -> None:
    below, above = findings(case(-MICROMETRE), rule), findings(case(MICROMETRE), rule)
    assert below, f"{rule} does not fire a micrometre below its limit"
    assert not above, f"{rule} fires a micrometre above its limit: {above[0].where}"


@pytest.mark.parametrize(("rule", "case"), LIMITS, ids=[f"{r}-{c.__name__.strip('<>')}" for r, c in LIMITS])
def test_findings_measure_what_was_made(rule: str, case: Callable[[float], Scene]) -> None:
    """`measured` differs from `required` by the micrometre that the case is short, wherever the rule measures."""
    exempt = {
        "short",
        "open",
        "dangling-track",
        "copper-off-board",
        "hole-off-board",
        "mask-missing",
        "legend-off-board",
        "test-access",
    }
    # One measures the width of the neck, not how far it reaches; the other leaves room for chords.
    if case in (neck_reach, narrow_notch):
        exempt.add(rule)
    for finding in findings(case(-MICROMETRE), rule):
        assert finding.cure and finding.where
        if rule in exempt or finding.measured is None or finding.required is None:
            assert rule in exempt or rule == "hole-size"
            continue
        if finding.unit != "mm":  # a share, a ratio or an angle: on the wrong side of its limit is all that is said
            assert finding.measured != finding.required
            continue
        assert abs(finding.measured - finding.required) == pytest.approx(
            MICROMETRE, abs=2.1e-4 if rule.startswith("pour") else 5e-5
        )
