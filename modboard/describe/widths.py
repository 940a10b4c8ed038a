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
WARN_EFFECTIVE = 42.43  # V peak, 30 V rms rounded up: IEC 62368-1 ES1
WARN_DC = 60.0  # V: IEC 62368-1 ES1
REFUSE_DC = 120.0  # V, ripple-free: IEC 61140 extra-low voltage
REFUSE_PEAK = 70.72  # V peak, 50 V rms rounded up: IEC 61140 extra-low voltage
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
        _peak(said),
        said.fact("amps"),
        said.fact("pour"),
        width_reason,
        gap_reason,
        bool(said.fact("quiet")),
        bool(said.fact("noisy")),
        said.fact("ac_volts") is not None,
        gap_reason not in (f"rule {rules.name}", "asked for"),
    )
    return net, tuple(n for n in (width_note, gap_note) if n)


def spreads(nets: Mapping[str, NetSaid]) -> dict[str, float]:
    """Return for each net the greatest voltage between it and the others; what is not said counts as 0 V."""
    swings = {name: _swing(said) for name, said in nets.items()}
    spread = dict.fromkeys(nets, 0.0)
    for name, said in nets.items():
        if _peak(said) is not None:
            low, high = swings[name]
            others = [(0.0, 0.0), *(swing for other, swing in swings.items() if other != name)]
            spread[name] = max(max(high - other[0], other[1] - low) for other in others)
    return spread


def cautions(nets: Mapping[str, NetSaid], acknowledged: bool, site: CallSite) -> tuple[str, ...]:
    """Return the safety remarks that follow from the volts of the nets.

    Raises DesignError above the limit of extra-low voltage unless the design acknowledges it.
    """
    spread = spreads(nets)
    alternating = {name: said for name, said in nets.items() if said.fact("ac_volts") is not None}
    dangers: list[str] = []
    hot: dict[str, list[str]] = {}  # nets above a limit to touch, by the limit
    for name, said in nets.items():
        volts = spread[name]
        if volts > REFUSE_DC or spreads(alternating).get(name, 0.0) > REFUSE_PEAK:
            if not acknowledged:
                raise DesignError(
                    f'net "{name}": {volts:g} V to other nets is above extra-low voltage ({REFUSE_DC:g} V DC or '
                    f"{REFUSE_PEAK:.1f} V peak, IEC 61140), where a touch can kill; if a qualified person has charge "
                    "of it, say Design(..., acknowledge_high_voltage=True)",
                    next((said.facts[fact][1] for fact in ("volts", "ac_volts") if fact in said.facts), site),
                )
            dangers.append(name)
        elif volts > (WARN_EFFECTIVE if name in alternating else WARN_PEAK):
            kind = f"{WARN_PEAK:g} V peak" if volts <= WARN_DC else f"{WARN_PEAK:g} V peak and {WARN_DC:g} V DC"
            hot.setdefault(kind, []).append(name)
    found = []
    if dangers:
        found.append(
            f"DANGER: {_standing(dangers, spread)}, above extra-low voltage (IEC 61140). A touch can "
            "kill, charged capacitors after switching off too. The gaps here are functional spacing, not mains "
            "insulation. Let a qualified person build and test it; local electrical codes come first."
        )
    found += [
        f"CAUTION: {_standing(names, spread)}, above the touch limit of {kind} (IEC 62368-1). "
        "Cover bare metal, work with the power off and capacitors discharged; if in doubt ask a qualified "
        "person. Local electrical codes come first."
        for kind, names in hot.items()
    ]
    return tuple(found)


def _standing(names: list[str], spread: Mapping[str, float]) -> str:
    """Return 'net A has 50 V to other nets', or 'nets A (50 V) and B (60 V) have these volts to other nets'."""
    if len(names) == 1:
        return f"net {names[0]} has {spread[names[0]]:g} V to other nets"
    each = [f"{name} ({spread[name]:.4g} V)" for name in names]
    return f"nets {', '.join(each[:-1])} and {each[-1]} have these volts to other nets"


def _peak(said: NetSaid) -> float | None:
    """Return the volts of a net as they are, or the peak of what alternates; None if nothing is said."""
    alternating = said.fact("ac_volts")
    volts: float | None = said.fact("volts")
    return volts if alternating is None else round(abs(alternating) * math.sqrt(2), 6)


def _swing(said: NetSaid) -> tuple[float, float]:
    """Return between which volts to ground a net is; what is not said counts as 0."""
    volts = _peak(said) or 0.0
    return (volts, volts) if said.fact("ac_volts") is None else (-volts, volts)


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
    return _settled(said, "width", needed, reason)


def _gap(said: NetSaid, rules: Rules, spread: float) -> tuple[float, str, str]:
    column: Column = "B4" if rules.mask else "B2"
    needed, reason = rules.gap, f"rule {rules.name}"
    by_volts = math.ceil(spacing(spread, column) / STEP - 1e-9) * STEP
    if by_volts > needed + TOLERANCE:
        needed, reason = round(by_volts, 6), f"{spread:g} V, IPC-2221 table 6-1 {column}"
    return _settled(said, "gap", needed, reason)


def _settled(said: NetSaid, fact: str, needed: float, reason: str) -> tuple[float, str, str]:
    """Return a net's width or gap (mm), asked for or else needed, the reason, and a note if too little is asked for."""
    asked = said.fact(fact)
    if asked is None:
        return needed, reason, ""
    note = ""
    if asked < needed - TOLERANCE:
        note = f"net {said.name}: {fact} {asked:g} mm was asked for, less than the {needed:g} mm it needs ({reason})"
    return asked, "asked for", note
