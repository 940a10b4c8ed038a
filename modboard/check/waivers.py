"""Waivers: findings the person accepts, with the reason; one that fits nothing is itself a finding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from modboard.check.findings import Finding
from modboard.check.rule import Rule
from modboard.describe.model import Description, Waiver

WAIVER_UNUSED = Rule(
    "waiver-unused",
    "warning",
    "every waiver in the design fits a finding",
    "remove the waiver, or correct its rule and place",
    source="the design",
)
RULES = (WAIVER_UNUSED,)


def fits(waiver: Waiver, finding: Finding) -> bool:
    """Tell whether a waiver's rule is the finding's and all its words occur in the finding's place."""
    place = finding.where.casefold()
    return waiver.rule == finding.rule and waiver.where.casefold() in place


def waived(description: Description, findings: Sequence[Finding]) -> list[Finding]:
    """Return the findings with waivers applied, and one more for each waiver that fits none."""
    unused = list(description.waivers)
    marked: list[Finding] = []
    for finding in findings:
        fitting = [w for w in description.waivers if fits(w, finding)]
        unused = [w for w in unused if w not in fitting]
        marked.append(replace(finding, waived=fitting[0].reason) if fitting else finding)
    for waiver in unused:
        where = f'the waiver of {waiver.rule} for "{waiver.where}" at {waiver.site}'
        message = f'no finding of rule {waiver.rule} has "{waiver.where}" in its place'
        marked.append(WAIVER_UNUSED.finding(description.rules, None, where, message))
    return marked
