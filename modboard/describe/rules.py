"""Rule sets: every number a board must keep to, each with its source."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, Literal

from modboard.describe import measures, rule_sets
from modboard.errors import CallSite, DesignError, caller
from modboard.geometry import TOLERANCE

LEVELS = ("A", "B", "C")
MAY_BE_ZERO = ("mask_expansion", "mask_web", "mask_to_copper", "tent_vias_up_to", "part_gap", "part_to_edge",
               "pad_land_min", "legend_to_copper")  # fmt: skip


@dataclass(frozen=True)
class Rules:
    """The limits of one way of making a board.  All lengths mm.

    `level` is the IPC-2221 producibility level (A easy, B standard, C reduced) that lands and holes are computed at.
    """

    name: str
    title: str
    level: Literal["A", "B", "C"]
    track: float  # default and least track width
    gap: float  # least copper gap between nets
    via_hole: float  # finished
    via_land: float
    ring_via: float  # least annular ring of a via
    ring_pad: float  # least annular ring of a component pad
    hole_min: float
    hole_max: float
    hole_to_hole: float  # wall to wall
    bare_hole_to_copper: float
    copper_to_edge: float
    mask_expansion: float  # per side; 0 with `mask` False
    mask_web: float
    mask_to_copper: float
    mask: bool
    legend: bool
    legend_line: float
    legend_height: float
    legend_to_copper: float
    thermal_spoke: float
    thermal_gap: float
    pour_gap: float
    pour_neck: float  # narrowest copper in a pour
    outline_tolerance: float
    cutter: float  # router bit diameter, for inside corners
    thickness: float  # board
    copper: float  # foil thickness, mm
    tent_vias_up_to: float  # finished hole
    part_gap: float  # courtyard to courtyard
    part_to_edge: float
    pad_land_min: float = 0.0  # least land of a plated or drilled pad (home etching)
    temperature_rise: float = 10.0  # K, for width from amps
    layers_plated: bool = True  # False: home etching, vias are wire links
    copper_to_score: float = 0.8  # from the middle of the groove
    quiet_gap: float = 0.75  # between quiet and noisy nets
    one_sided: bool = False  # all copper at the bottom, crossings are wire links on top; holes are not plated
    sources: tuple[tuple[str, str], ...] = ()  # (field, source)

    @staticmethod
    def named(name: str, **overrides: Any) -> Rules:
        """Return the rule set "pool" (the default of a design), "fine" or "home", with some figures changed.

        Raises DesignError for an unknown set or field, with the nearest names, and for figures that can't be.

        >>> Rules.named("pool", gap=0.3).gap
        0.3
        """
        site = caller()
        figures, sources = rule_sets.column(measures.choice(name, "rule set", rule_sets.NAMES, site))
        rules = Rules(name=name, title=rule_sets.TITLES[name], sources=sources, **figures)
        return rules._changed(overrides, site) if overrides else rules

    def but(self, **changes: Any) -> Rules:
        """Return a copy with some figures changed, e.g. ``rules.but(gap=0.3)``.

        A bigger via hole or ring brings its land along unless `via_land` is given too.
        Raises DesignError for an unknown field, with the nearest names, and for figures that can't be.
        """
        return self._changed(changes, caller())

    def source(self, field: str) -> str:
        """Return where the figure for `field` comes from."""
        return dict(self.sources).get(field, "")

    def _changed(self, changes: dict[str, Any], site: CallSite) -> Rules:
        for field, value in changes.items():
            measures.choice(field, "rule", figure_names(), site)
            changes[field] = _checked(field, value, getattr(self, field), site)
        sources = dict(self.sources) | dict.fromkeys(changes, f"set in the design, {site}")
        if changes.get("one_sided"):
            if changes.get("layers_plated"):
                raise DesignError("rule one_sided: such a board has no plated holes; leave out layers_plated", site)
            changes["layers_plated"] = False
        if {"via_hole", "ring_via"} & set(changes) and "via_land" not in changes:
            hole, ring = changes.get("via_hole", self.via_hole), changes.get("ring_via", self.ring_via)
            if hole + 2 * ring > self.via_land:
                changes["via_land"] = round(hole + 2 * ring, 6)
                sources["via_land"] = "hole + 2 × ring"
        changed = replace(self, **changes, sources=tuple(sources.items()))
        _agree(changed, site)
        return changed


def figure_names() -> tuple[str, ...]:
    """Return the names of all rules that can be changed."""
    return tuple(f.name for f in fields(Rules) if f.name not in ("name", "title", "sources"))


def _checked(field: str, value: object, default: object, site: CallSite) -> object:
    what = f"rule {field}"
    if isinstance(default, bool):
        return measures.flag(value, what, site)
    if field == "level":
        return measures.choice(value, "producibility level", LEVELS, site)
    if field in MAY_BE_ZERO:
        return measures.margin(value, what, site)
    if field == "temperature_rise":
        rise = measures.number(value, what, site)
        if not 10 <= rise <= 100:
            raise DesignError(f"rule {field} must be 10 to 100 K, the range of the IPC-2221 charts, not {rise:g}", site)
        return rise
    return measures.length(value, what, site)


def _agree(rules: Rules, site: CallSite) -> None:
    """Refuse figures that contradict one another."""
    ring = (rules.via_land - rules.via_hole) / 2
    if ring < rules.ring_via - TOLERANCE:
        raise DesignError(
            f"rule via_land {rules.via_land:g} leaves a ring of {ring:g} mm round a {rules.via_hole:g} hole; "
            f"ring_via asks {rules.ring_via:g}: make via_land at least {rules.via_hole + 2 * rules.ring_via:g}",
            site,
        )
    if rules.hole_min > rules.hole_max:
        raise DesignError(f"rule hole_min {rules.hole_min:g} is more than hole_max {rules.hole_max:g} mm", site)
    if not rules.hole_min <= rules.via_hole <= rules.hole_max:
        raise DesignError(
            f"rule via_hole {rules.via_hole:g} is outside hole_min to hole_max, "
            f"{rules.hole_min:g} to {rules.hole_max:g} mm",
            site,
        )
    if not 0.0175 <= rules.copper <= 0.105:
        raise DesignError(
            f"rule copper is the foil in mm: 0.0175 to 0.105 (0.5 to 3 oz, IPC-2221 charts), not {rules.copper:g}", site
        )
