"""Findings as text for a terminal and as plain data for other programs.

The data form is stable; `SCHEMA` is raised when a key changes its meaning or goes away, new keys may come at any time:

- `schema`: number of this form
- `design`: name of the design
- `errors`, `warnings`, `waived`: how many findings of each kind; a waived one counts as waived only
- `findings`: a list in the order of `check`, each with
  `number` (from 1, as in pictures), `rule`, `severity` ("error" or "warning"), `at` ([x, y] in mm, or null),
  `where`, `message`, `measured`, `required` (numbers, or null), `unit`, `cure`, `source`,
  `waived` (the reason, "" if it is not), `fingerprint` (eight letters that change when rule, place or figures do)
- `waivers`: a list in the order of the design, each with `rule`, `where`, `reason`, `site` ("file:line"),
  `fingerprint` (as given in the design, or ""), `now` (that of the findings it fits, "" if none) and
  `covers` (the numbers of the findings it covers)
"""

from __future__ import annotations

import json
import re
from typing import Any

from modboard.check.findings import Finding, Findings
from modboard.check.waivers import fits, uses
from modboard.check.words import spot
from modboard.describe.model import Description

SCHEMA = 1


def counts(findings: Findings) -> dict[str, int]:
    """Return how many errors and warnings stand, and how many findings are waived."""
    standing = [f for f in findings if not f.waived]
    return {
        "errors": sum(f.severity == "error" for f in standing),
        "warnings": sum(f.severity == "warning" for f in standing),
        "waived": len(findings) - len(standing),
    }


def summary(findings: Findings) -> str:
    """Return one line: '2 errors, 1 warning, 1 waived' or 'no findings'."""
    found = [
        f"{count} {word if count == 1 or word == 'waived' else word + 's'}"
        for (count, word) in zip(counts(findings).values(), ("error", "warning", "waived"), strict=True)
        if count
    ]
    return ", ".join(found) or "no findings"


def lines(findings: Findings, description: Description | None = None) -> list[str]:
    """Return the findings as numbered lines of text, the waivers of the design if given, and a line that counts."""
    found = [line for number, f in enumerate(findings, 1) for line in described(number, f)]
    return [*found, *(waiver_lines(findings, description) if description else ()), summary(findings)]


def waiver_lines(findings: Findings, description: Description) -> list[str]:
    """Return one line for each waiver of the design: what it accepts and why, what it covers, and its fingerprint."""
    told = []
    for waiver in waivers(findings, description):
        numbers = ", ".join(str(n) for n in waiver["covers"])
        state = f"covers finding {numbers}" if numbers else "expired" if waiver["now"] else "fits nothing"
        pinned = (
            f"holds while the fingerprint is {waiver['fingerprint']}"
            if waiver["fingerprint"]
            else (f'give it fingerprint="{waiver["now"]}" to end it when that changes' if waiver["now"] else "")
        )
        told.append(
            f'waiver {waiver["rule"]} "{waiver["where"]}" ({waiver["site"]}): {waiver["reason"]}; '
            + "; ".join(filter(None, (state, pinned)))
        )
    return told


def waivers(findings: Findings, description: Description) -> list[dict[str, Any]]:
    """Return the waivers of a design as plain values, in the form described above."""
    plain = [f for f in findings if not f.rule.startswith("waiver-")]
    return [
        {
            "rule": use.waiver.rule,
            "where": use.waiver.where,
            "reason": use.waiver.reason,
            "site": str(use.waiver.site),
            "fingerprint": use.waiver.fingerprint,
            "now": use.fingerprint,
            "covers": [n for n, f in enumerate(findings, 1) if use.holds and f.waived and fits(use.waiver, f)],
        }
        for use in uses(description, plain)
    ]


def described(number: int, finding: Finding) -> list[str]:
    """Return one finding as lines: what and where, the figures with their source, and the cure or the waiver."""
    kind = "waived" if finding.waived else finding.severity
    found = [f"{number:>3}. {kind} {finding.rule}: {placed(finding)}", f"     {finding.message}"]
    figures = [
        f"{word} {value:.3f} {finding.unit}" if finding.unit == "mm" else f"{word} {value:g} {finding.unit}"
        for word, value in (("measured", finding.measured), ("required", finding.required))
        if value is not None
    ]
    if finding.source:
        figures.append(f"source: {finding.source}")
    if figures:
        found.append(f"     {'; '.join(figures)}")
    if finding.waived:
        found.append(f"     waived: {finding.waived}")
    elif finding.cure:
        found.append(f"     cure: {finding.cure}")
    return found


def placed(finding: Finding) -> str:
    """Return the place of a finding in words and figures; figures that its words give already are not repeated."""
    if finding.at is None:
        return finding.where
    at = spot(finding.at)
    told, count = re.subn(rf"(?<![\d.-]){re.escape(at)}(?!\d)", f"{at} mm", finding.where, count=1)
    return told if count else f"{finding.where} at {at} mm"


def as_data(design: str, findings: Findings, description: Description | None = None) -> dict[str, Any]:
    """Return the findings as plain values, in the form described above."""
    return {
        "schema": SCHEMA,
        "design": design,
        **counts(findings),
        "findings": [
            {
                "number": number,
                "rule": f.rule,
                "severity": f.severity,
                "at": list(f.at) if f.at else None,
                "where": f.where,
                "message": f.message,
                "measured": f.measured,
                "required": f.required,
                "unit": f.unit,
                "cure": f.cure,
                "source": f.source,
                "waived": f.waived,
                "fingerprint": f.fingerprint,
            }
            for number, f in enumerate(findings, 1)
        ],
        "waivers": waivers(findings, description) if description else [],
    }


def as_json(design: str, findings: Findings, description: Description | None = None) -> str:
    """Return the findings as a JSON text with a newline at its end."""
    return json.dumps(as_data(design, findings, description), indent=2, ensure_ascii=False) + "\n"
