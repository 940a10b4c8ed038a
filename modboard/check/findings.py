"""What a check says: findings are data, never exceptions."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from modboard.geometry import Position

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong or doubtful.

    `rule` is a stable name ("copper-gap"); `at` is in board coordinates, mm; `where` says the place in words;
    `measured` and `required` are in mm unless `unit` says otherwise, None where there is nothing to measure;
    `cure` says what to do.  `waived` holds the reason given in the design file.
    """

    rule: str
    severity: Severity
    at: Position | None
    where: str
    message: str
    measured: float | None = None
    required: float | None = None
    unit: str = "mm"
    cure: str = ""
    source: str = ""
    waived: str = ""

    @property
    def stands(self) -> bool:
        """Tell whether this is an error nobody has waived: nothing may be made while it stands."""
        return self.severity == "error" and not self.waived

    @property
    def fingerprint(self) -> str:
        """Return eight letters that change when rule, place or figures (to a micrometre) do."""
        return fingerprint((self,))


Findings = tuple[Finding, ...]


def fingerprint(findings: Sequence[Finding]) -> str:
    """Return eight hexadecimal letters for one finding or several together, whatever their order."""

    def figure(value: float | None) -> str:
        return "" if value is None else f"{value + 0.0:.3f}"

    lines = sorted("|".join((f.rule, f.where, figure(f.measured), figure(f.required), f.unit)) for f in findings)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:8]
