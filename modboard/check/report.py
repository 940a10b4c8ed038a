"""Findings as text for a terminal and as plain data for other programs.

The data form is stable; `SCHEMA` is raised when a key changes its meaning or goes away:

- `schema`: number of this form
- `design`: name of the design
- `errors`, `warnings`, `waived`: how many findings of each kind; a waived one counts as waived only
- `findings`: a list in the order of `check`, each with
  `number` (from 1, as in pictures), `rule`, `severity` ("error" or "warning"), `at` ([x, y] in mm, or null),
  `where`, `message`, `measured`, `required` (numbers, or null), `unit`, `cure`, `source`,
  `waived` (the reason, "" if it is not)
"""

from __future__ import annotations

import json
from typing import Any

from modboard.check.findings import Finding, Findings

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


def lines(findings: Findings) -> list[str]:
    """Return the findings as numbered lines of text, and a last line that counts them."""
    return [line for number, f in enumerate(findings, 1) for line in described(number, f)] + [summary(findings)]


def described(number: int, finding: Finding) -> list[str]:
    """Return one finding as lines: what and where, the figures with their source, and the cure or the waiver."""
    kind = "waived" if finding.waived else finding.severity
    place = f" at {finding.at[0]:.2f}, {finding.at[1]:.2f} mm" if finding.at else ""
    found = [f"{number:>3}. {kind} {finding.rule}: {finding.where}{place}", f"     {finding.message}"]
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


def as_data(design: str, findings: Findings) -> dict[str, Any]:
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
            }
            for number, f in enumerate(findings, 1)
        ],
    }


def as_json(design: str, findings: Findings) -> str:
    """Return the findings as a JSON text with a newline at its end."""
    return json.dumps(as_data(design, findings), indent=2, ensure_ascii=False) + "\n"
