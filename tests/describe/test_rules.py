"""Every figure has a source, and the rule sets can be met by the library's own lands and by one another."""

from __future__ import annotations

import math
from typing import get_type_hints

import pytest

from modboard import Rules, library
from modboard.describe import rule_sets
from modboard.describe.rules import figure_names
from modboard.errors import LibraryError

SETS = [Rules.named(name) for name in rule_sets.NAMES]


@pytest.mark.parametrize("rules", SETS, ids=lambda r: r.name)
def test_every_figure_has_a_source(rules: Rules) -> None:
    assert set(rule_sets.TABLE) == set(figure_names())
    assert all(rules.source(field) for field in figure_names())


# Capability tables of pooled fabrication, easy tier and standard tier; home etching limits (common practice).
PUBLISHED = {
    "track": (0.25, 0.20, 0.40),
    "gap": (0.25, 0.20, 0.40),
    "via_hole": (0.6, 0.3, 0.8),
    "via_land": (1.1, 0.7, 2.0),
    # pool: between the easy tier's 0.35 and the standard tier's 0.25, so that a track passes between header lands
    "ring_pad": (0.30, 0.25, 0.35),
    "hole_to_hole": (0.60, 0.45, 1.0),
    "copper_to_edge": (0.50, 0.30, 1.0),
    "mask_web": (0.20, 0.15, 0.0),
    "legend_line": (0.15, 0.15, 0.25),
    "thermal_gap": (0.40, 0.35, 0.40),
    "outline_tolerance": (0.25, 0.20, 0.50),
}


@pytest.mark.parametrize(("field", "figures"), PUBLISHED.items())
def test_figures(field: str, figures: tuple[float, ...]) -> None:
    assert tuple(getattr(rules, field) for rules in SETS) == figures


def test_home_etching_is_what_a_kitchen_can_do() -> None:
    home = Rules.named("home")
    assert not (home.mask or home.legend or home.layers_plated)
    assert (home.level, home.pad_land_min) == ("A", 2.0)


# leads at 1.27, 1.5, thick ones at 2.29, and 1.80 across a corner
CLOSE_LEADS = ("to92-inline-1.27", "electrolytic-4x7-1.5", "to126", "to18-circle",
               "plcc-socket-28", "plcc-socket-32", "plcc-socket-44")  # fmt: skip


@pytest.mark.parametrize("rules", SETS, ids=lambda r: r.name)
def test_the_lands_of_the_library_meet_the_rings_of_the_rules(rules: Rules) -> None:
    """IPC-2221: ring = 0.05 + half the allowance of the level, so 0.35 at level A and 0.30 at level B."""
    tried, too_close = 0, set()
    for name in library.footprint_names():
        try:
            lands = library.footprint(name, level=rules.level, land_min=rules.pad_land_min).lands
        except LibraryError:
            too_close.add(name)  # the library refuses what leaves no ring at all
            continue
        for land in lands:
            if land.hole is None or land.hole.to is not None or land.lead is None:
                continue
            pitch = min((math.dist(land.at, other.at) for other in lands if other is not land), default=math.inf)
            if pitch < land.hole.diameter + 2 * rules.ring_pad + rules.gap:
                too_close.add(name)  # no land could keep both the ring and the gap
                continue
            tried += 1
            ring = (land.form.short_side() - land.hole.diameter) / 2
            assert ring >= rules.ring_pad - 1e-6, f"{name} pad {land.number}: ring {ring:.3f}"
    assert tried > 100
    assert too_close <= set(CLOSE_LEADS)


@pytest.mark.parametrize("rules", SETS, ids=lambda r: r.name)
def test_figures_agree_with_one_another(rules: Rules) -> None:
    assert (rules.via_land - rules.via_hole) / 2 >= rules.ring_via - 1e-9
    assert rules.hole_min <= rules.via_hole <= rules.hole_max
    assert rules.pour_neck >= rules.track
    assert rules.pour_gap >= rules.gap
    assert rules.mask_expansion <= rules.mask_to_copper + rules.gap
    assert rules.thickness / rules.via_hole <= 8  # aspect ratio, capability tables, standard tier


def test_a_wider_via_hole_brings_its_land() -> None:
    rules = Rules.named("pool", via_hole=0.8)
    assert rules.via_land == pytest.approx(1.3)
    assert rules.source("via_land") == "hole + 2 × ring"


def test_types_survive_overriding() -> None:
    rules = Rules.named("pool").but(gap=1, mask=False, level="C")
    hints = get_type_hints(Rules)
    assert hints["gap"] is float
    assert isinstance(rules.gap, float)
    assert rules.mask is False
    assert rules.level == "C"
