"""What the command line says: where the work is, what was found, and what came of it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from modboard.describe.cavity import Cavity
    from modboard.fab.readback.package import ReadPackage
    from modboard.make import Made, Steps


def say(text: str) -> None:
    """Show where the work is: on one line of a terminal, as plain lines elsewhere."""
    if sys.stderr.isatty():
        clear_line()
        click.echo(f"… {text}", nl=False, err=True)
    else:
        click.echo(text, err=True)


def clear_line() -> None:
    """Wipe what `say` left on the terminal's line."""
    if sys.stderr.isatty():
        click.echo("\r\033[K", nl=False, err=True)


def steps_told(quiet: bool) -> Steps:
    """Return the clock of a run's steps, which says each unless `quiet`."""
    from modboard.make import Steps, silent

    return Steps(silent if quiet else say)


def print_findings(made: Made) -> None:
    """Print every finding with place, figures, source and cure."""
    from modboard.check.report import lines

    for line in lines(made.findings, made.board.description):
        click.echo(line)


def print_summary(made: Made, folder: Path, steps: Steps) -> None:
    """Print what a board came to, and how long each step took."""
    from modboard.make import summary

    s = summary(made)
    gap = "none" if s["smallest_gap_mm"] is None else f"{s['smallest_gap_mm']:.3f} mm"
    click.echo(
        f"{s['design']} revision {s['revision']}: {s['width_mm']:.1f} × {s['depth_mm']:.1f} mm, rules {s['rules']}"
    )
    click.echo(f"  parts {s['parts']}, nets {s['nets']}, pads {s['pads']}, holes {s['holes']}")
    click.echo(
        f"  tracks {s['tracks']}, vias {s['vias']}, track length {s['track_length_mm']:.0f} mm, smallest gap {gap}"
    )
    for remark in s["remarks"]:
        click.echo(f"  {remark}")
    click.echo(f"  findings: {s['errors']} errors, {s['warnings']} warnings, {s['waived']} waived")
    click.echo(f"  files: {len(s['files'])} in {folder}")
    if made.standing:
        click.echo(
            "  no fabrication package was written: put the errors right, or waive them in the design with a reason"
        )
    took = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in steps.seconds.items())
    click.echo(f"  time: {took}")


def print_blank(room: Cavity, name: str, template: Path | None, out: Path | None, png: bool) -> None:
    """Say what the largest board for a room is; draw it at full size, and its clear heights, if asked to."""
    from modboard import fitting

    found = fitting.room_alone(room)
    for line in found.words:
        click.echo(line)
    if template is not None:
        fitting.write_template(found, name, template)
        click.echo(str(template))
    if out is not None:
        drawn, pdf = fitting.room_pictures(found, name), fitting.template_pdf(found, name)
        for path in fitting.write_pictures(drawn, out, png=png, pdf=pdf):
            click.echo(str(path))


def print_changes(older: ReadPackage, folder: Path, title: str) -> None:
    """Say what changed since an older package, and draw it beside the new one."""
    from modboard.fab.readback.changes import package_changes
    from modboard.fab.readback.package import read_package
    from modboard.outputs import write_file
    from modboard.view.changes import changes_view

    changes = package_changes(older, read_package(folder / "fab"))
    for line in changes.lines or ("nothing changed",):
        click.echo(line)
    picture = folder / "changes.svg"
    write_file(picture, changes_view(changes, title).encode("utf-8"))
    click.echo(str(picture))
