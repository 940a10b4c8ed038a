"""Judges a package by its files alone, wherever it comes from: what the board is, and what is wrong with it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from modboard.check.findings import Finding
from modboard.fab.readback.evidence import Evidence
from modboard.fab.readback.inspect_alignment import inspect_alignment
from modboard.fab.readback.inspect_claims import inspect_job, inspect_nets, inspect_own_files
from modboard.fab.readback.inspect_copper import inspect_gaps, inspect_holes
from modboard.fab.readback.inspect_mask import inspect_masks
from modboard.fab.readback.package import ReadPackage, read_package


@dataclass(frozen=True)
class Verdict:
    """What was found: figures in words, findings, and what was read only with a warning."""

    package: ReadPackage
    figures: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]

    @property
    def sound(self) -> bool:
        """Tell whether there is no finding of error level."""
        return not any(f.severity == "error" for f in self.findings)

    def lines(self) -> list[str]:
        """Return the report, one line for each figure, warning and finding, and the verdict last."""
        width = max(len(name) for name, _ in self.figures)
        lines = [f"  {name:<{width}}  {words}" for name, words in self.figures]
        lines += [f"warning: {words}" for words in self.package.warnings]
        lines += [_line(f) for f in sorted(self.findings, key=lambda f: (f.severity, f.rule, f.where, f.message))]
        errors = sum(f.severity == "error" for f in self.findings)
        warnings = len(self.findings) - errors + len(self.package.warnings)
        verdict = "the package agrees with itself" if self.sound else "the package must not be made as it is"
        return [*lines, f"{errors} errors, {warnings} warnings: {verdict}"]


def _line(finding: Finding) -> str:
    figures = "" if finding.measured is None else f", {finding.measured:.3f} mm"
    figures += "" if finding.required is None else f" for {finding.required:.3f} mm"
    return f"{finding.severity}: {finding.rule}, {finding.where}: {finding.message}{figures}"


def inspect_package(source: Path) -> Verdict:
    """Return the verdict on a package (folder or zip), read with nothing but its own files.

    Raises ReadError, with file and line, if a file cannot be read at all.
    """
    return inspect_read(read_package(source))


def inspect_read(package: ReadPackage) -> Verdict:
    """Return the verdict on a package that has been read."""
    evidence = Evidence(package)
    kinds = Counter(f.split(",")[0] for f in package.layers if not f.startswith("?"))
    layers = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
    evidence.say("files", f"{len(package.names)}; layers: {layers or 'none'}; {len(package.drills)} drill files")
    if package.aside:
        evidence.say("left aside", ", ".join(package.aside))
    for name in package.unknown:
        evidence.find(
            "unknown-layer", "error", f"{name}:1", "nobody can tell which layer this is; rename it or leave it out"
        )
    inspect_alignment(evidence)
    if any(evidence.coppers):
        inspect_holes(evidence)
        inspect_gaps(evidence)
        inspect_masks(evidence)
        inspect_nets(evidence)
    inspect_own_files(evidence)
    inspect_job(evidence)
    return Verdict(package, tuple(evidence.figures), tuple(evidence.findings))
