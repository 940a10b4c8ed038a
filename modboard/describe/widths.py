"""Track width from amps, gap from volts, and cautions where the volts can hurt."""

from __future__ import annotations

import math
from collections.abc import Mapping

from modboard.calc.current import track_width
from modboard.calc.spacing import Column, spacing
from modboard.describe.circuit import NetSaid
from modboard.describe.model import Net, PinRef
from modboard.describe.rules import Rules
from modboard.errors import CallSite, DesignError
from modboard.geometry import TOLERANCE

WARN_PEAK = 42.4  # V peak: IEC 62368-1 ES1, IEC 60335-1 clause 8.1.4
WARN_DC = 60.0  # V: IEC 62368-1 ES1
REFUSE_DC = 120.0  # V, ripple-free: IEC 61140 extra-low voltage
REFUSE_PEAK = 70.7  # V peak, 50 V rms: IEC 61140 extra-low voltage
STEP = 0.01  # mm, widths are rounded up to this


def resolve(said: NetSaid, pins: tuple[PinRef, ...], rules: Rules, spread: float) -> tuple[Net, tuple[str, ...]]:
    """Return the net with its width and gap, and remarks where what was asked for is less than what it needs.

    `spread` is the greatest voltage (V) between this net and any other.
    """
    width, width_reason, width_note = _width(said, rules)
    gap, gap_reason, gap_note = _gap(said, rules, spread)
    net = Net(
        said.name,
        pins,
        said.site,
        width,
        gap,
        said.fact("volts"),
        said.fact("amps"),
        said.fact("pour"),
        width_reason,
        gap_reason,
        bool(said.fact("quiet")),
        bool(said.fact("noisy")),
    )
    return net, tuple(n for n in (width_note, gap_note) if n)


def spreads(nets: Mapping[str, NetSaid]) -> dict[str, float]:
    """Return for each net the greatest voltage between it and the others; what is not said counts as 0 V."""
    volts = {name: float(said.fact("volts") or 0.0) for name, said in nets.items()}
    low, high = min([0.0, *volts.values()]), max([0.0, *volts.values()])
    known = {name for name, said in nets.items() if said.fact("volts") is not None}
    return {name: max(v - low, high - v) if name in known else 0.0 for name, v in volts.items()}


def cautions(nets: Mapping[str, NetSaid], acknowledged: bool, site: CallSite) -> tuple[str, ...]:
    """Return the safety remarks that follow from the volts of the nets.

    Raises DesignError above the limit of extra-low voltage unless the design acknowledges it.
    """
    spread = spreads(nets)
    found = []
    for name, said in nets.items():
        volts = spread[name]
        if volts > REFUSE_DC:
            if not acknowledged:
                raise DesignError(
                    f'net "{name}": {volts:g} V to other nets is above extra-low voltage ({REFUSE_DC:g} V DC or '
                    f"{REFUSE_PEAK:g} V peak, IEC 61140), where a touch can kill; if a qualified person has charge of "
                    "it, say Design(..., acknowledge_high_voltage=True)",
                    said.facts["volts"][1] if "volts" in said.facts else site,
                )
            found.append(
                f"DANGER: net {name} has {volts:g} V to other nets, above extra-low voltage (IEC 61140). A touch can "
                "kill, charged capacitors after switching off too. The gaps here are functional spacing, not mains "
                "insulation. Let a qualified person build and test it; local electrical codes come first."
            )
        elif volts > WARN_PEAK:
            kind = f"{WARN_PEAK:g} V peak" if volts <= WARN_DC else f"{WARN_PEAK:g} V peak and {WARN_DC:g} V DC"
            found.append(
                f"CAUTION: net {name} has {volts:g} V to other nets, above the touch limit of {kind} (IEC 62368-1). "
                "Cover bare metal, work with the power off and capacitors discharged; if in doubt ask a qualified "
                "person. Local electrical codes come first."
            )
    return tuple(found)


def _width(said: NetSaid, rules: Rules) -> tuple[float, str, str]:
    amps, asked = said.fact("amps"), said.fact("width")
    needed, reason = rules.track, f"rule {rules.name}"
    if amps:
        try:
            by_current = math.ceil(track_width(amps, rules.copper, rules.temperature_rise) / STEP - 1e-9) * STEP
        except ValueError as error:
            if asked is None:
                raise DesignError(
                    f'net "{said.name}": {error}; use wire, thicker copper (rules copper=0.07) or give width=',
                    said.facts["amps"][1],
                ) from None
            return asked, "asked for", f"net {said.name}: width {asked:g} mm was asked for, but {error}"
        if by_current > needed:
            needed, reason = round(by_current, 6), f"{amps:g} A, IPC-2221"
    if asked is None:
        return needed, reason, ""
    note = ""
    if asked < needed - TOLERANCE:
        note = f"net {said.name}: width {asked:g} mm was asked for, less than the {needed:g} mm it needs ({reason})"
    return asked, "asked for", note


def _gap(said: NetSaid, rules: Rules, spread: float) -> tuple[float, str, str]:
    asked = said.fact("gap")
    column: Column = "B4" if rules.mask else "B2"
    needed, reason = rules.gap, f"rule {rules.name}"
    by_volts = math.ceil(spacing(spread, column) / STEP - 1e-9) * STEP
    if by_volts > needed + TOLERANCE:
        needed, reason = round(by_volts, 6), f"{spread:g} V, IPC-2221 table 6-1 {column}"
    if asked is None:
        return needed, reason, ""
    note = ""
    if asked < needed - TOLERANCE:
        note = f"net {said.name}: gap {asked:g} mm was asked for, less than the {needed:g} mm it needs ({reason})"
    return asked, "asked for", note
