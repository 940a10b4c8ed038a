"""Waivers: findings the person accepts, with the reason; they end when what they accept changes.

A finding's fingerprint is eight letters made from its rule, place and figures.  A waiver that names a fingerprint
covers only findings that together still have it.  One that does not can't tell when they change: it covers warnings
that fit its words, with a warning of its own, and no error, for an error keeps a board from being made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from modboard.check.findings import Finding, fingerprint
from modboard.check.rule import Rule
from modboard.describe.model import Description, Waiver
from modboard.errors import either, nearest

WAIVER_UNUSED = Rule(
    "waiver-unused",
    "warning",
    "every waiver in the design fits a finding",
    "remove the waiver, or correct its rule and place",
    source="the design",
)
WAIVER_EXPIRED = Rule(
    "waiver-expired",
    "warning",
    "what a waiver accepts is still what it was when the waiver was written",
    "look at the finding again; if it is still acceptable, write the new fingerprint into the waiver",
    source="the design",
)
WAIVER_UNPINNED = Rule(
    "waiver-unpinned",
    "warning",
    "a waiver ends when what it accepts changes",
    "write the fingerprint into the waiver once you are content with what it covers",
    source="the design",
)
RULES = (WAIVER_UNUSED, WAIVER_EXPIRED, WAIVER_UNPINNED)


@dataclass(frozen=True)
class Use:
    """A waiver and the findings that fit its words; `fingerprint` is theirs together, `holds` that they are covered."""

    waiver: Waiver
    fitting: tuple[Finding, ...]

    @property
    def fingerprint(self) -> str:
        """Return the fingerprint of all findings that fit, "" if none does."""
        return fingerprint(self.fitting) if self.fitting else ""

    @property
    def holds(self) -> bool:
        """Tell whether the waiver covers anything: it fits, and what it fits is what it was written for."""
        if self.waiver.fingerprint:
            return bool(self.fitting) and self.waiver.fingerprint == self.fingerprint
        return bool(self.fitting) and all(f.severity == "warning" for f in self.fitting)


def fits(waiver: Waiver, finding: Finding) -> bool:
    """Tell whether a waiver's rule is the finding's and all its words occur in the finding's place."""
    place = finding.where.casefold()
    return waiver.rule == finding.rule and waiver.where.casefold() in place


def uses(description: Description, findings: Sequence[Finding]) -> tuple[Use, ...]:
    """Return what each waiver of a design fits, in the design's order."""
    return tuple(Use(w, tuple(f for f in findings if fits(w, f))) for w in description.waivers)


def unknown_rule(name: str) -> str:
    """Return what to say of a rule that there is none of, with the nearest that there are; "" of one that there is."""
    from modboard.check import rules

    names = [rule.name for rule in rules()]
    if name in names:
        return ""
    close = nearest(name, names)
    return f'there is no rule "{name}"{f"; did you mean {either(close)}?" if close else ""}'


def waived(description: Description, findings: Sequence[Finding]) -> list[Finding]:
    """Return the findings with waivers applied, and one more for each waiver that fits none or has expired."""
    known = uses(description, findings)
    holding = [use.waiver for use in known if use.holds]
    marked = []
    for finding in findings:
        fitting = [w for w in holding if fits(w, finding)]
        marked.append(replace(finding, waived=fitting[0].reason) if fitting else finding)
    for use in known:
        waiver = use.waiver
        where = f'the waiver of {waiver.rule} for "{waiver.where}" at {waiver.site}'
        if not use.fitting:
            message = unknown_rule(waiver.rule) or f'no finding of rule {waiver.rule} has "{waiver.where}" in its place'
            marked.append(WAIVER_UNUSED.finding(description.rules, None, where, message))
        elif not waiver.fingerprint:
            message = (
                f'it would cover whatever comes in place of this; it ends with fingerprint="{use.fingerprint}"'
                if use.holds
                else f'it covers no error before it says which: write fingerprint="{use.fingerprint}" into it'
            )
            marked.append(WAIVER_UNPINNED.finding(description.rules, use.fitting[0].at, where, message))
        elif not use.holds:
            message = f"what it fits has changed: the fingerprint was {waiver.fingerprint} and is now {use.fingerprint}"
            marked.append(WAIVER_EXPIRED.finding(description.rules, use.fitting[0].at, where, message))
    return marked
