"""Checks: what is wrong or doubtful about a board, measured on the artwork and the board's geometry alone."""

from __future__ import annotations

from collections.abc import Sequence
from types import ModuleType

from modboard.artwork.model import Artwork
from modboard.check import (
    angles,
    circuit,
    connections,
    devices,
    drilling,
    drivers,
    edges,
    gaps,
    holes,
    keep_outs,
    leads,
    legend,
    limiting,
    marks,
    mask,
    parts,
    pours,
    quiet,
    supplies,
    values,
    vias,
    waivers,
    whole,
    widths,
)
from modboard.check.findings import Finding, Findings
from modboard.check.inspection import Inspection
from modboard.check.pause import collector_paused
from modboard.check.rule import Rule
from modboard.layout.board import Board

FAMILIES = (
    gaps, connections, widths, angles, holes, leads, keep_outs, drilling, vias, edges, mask, legend, marks, parts,
    pours, whole, quiet, circuit, drivers, supplies, devices, limiting, values,
)  # fmt: skip


def rules() -> tuple[Rule, ...]:
    """Return every rule there is, of the board, the circuit and the fit, by name."""
    from modboard import fit

    known = [rule for family in (*FAMILIES, waivers, fit) for rule in family.RULES]
    return tuple(sorted(known, key=lambda rule: rule.name))


def check(board: Board, artwork: Artwork) -> Findings:
    """Return everything that is wrong or doubtful about `board` as drawn in `artwork`, errors first.

    Includes the fit into the cavity.  Waivers of the design are applied: see `Finding.waived` and `Finding.stands`.
    """
    from modboard.fit import fit

    found = [*inspected(Inspection(board, artwork)), *fit(board)]
    return in_order(waivers.waived(board.description, list(dict.fromkeys(found))))


def inspected(seen: Inspection, families: Sequence[ModuleType] = FAMILIES) -> list[Finding]:
    """Return what the given families of rules find; what they measure in common is worked out once."""
    with collector_paused():
        return [finding for family in families for finding in family.inspect(seen)]


def in_order(findings: list[Finding]) -> Findings:
    """Return findings sorted: errors first, then by rule, place in words and position."""
    return tuple(
        sorted(findings, key=lambda f: (f.severity != "error", f.rule, f.where, f.at or (-1e9, -1e9), f.message))
    )


__all__ = ["FAMILIES", "Finding", "Findings", "Inspection", "Rule", "check", "in_order", "inspected", "rules"]
