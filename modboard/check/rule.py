"""What a rule is: a name, what it demands, where the figure comes from, and what to do when it is broken."""

from __future__ import annotations

from dataclasses import dataclass

from modboard.check.findings import Finding, Severity
from modboard.describe.rules import Rules
from modboard.geometry import Position


@dataclass(frozen=True)
class Rule:
    """One rule of the board or of the circuit.

    `limit` is the field of `Rules` that holds its figure ("" where the limit is not a figure of the rule set);
    `source` says where the demand comes from when the rule set does not say it.
    """

    name: str
    severity: Severity
    demand: str
    cure: str
    limit: str = ""
    source: str = "common practice"

    def finding(
        self,
        rules: Rules,
        at: Position | None,
        where: str,
        message: str,
        measured: float | None = None,
        required: float | None = None,
        *,
        severity: Severity | None = None,
        cure: str = "",
        source: str = "",
        unit: str = "mm",
    ) -> Finding:
        """Return a finding of this rule; lengths are rounded to a nanometre so that turning a board changes nothing."""
        return Finding(
            self.name,
            severity or self.severity,
            None if at is None else (round(at[0], 6) + 0.0, round(at[1], 6) + 0.0),
            where,
            message,
            None if measured is None else round(measured, 6) + 0.0,
            None if required is None else round(required, 6) + 0.0,
            unit,
            cure or self.cure,
            source or (rules.source(self.limit) if self.limit else "") or self.source,
        )
