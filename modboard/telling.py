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


def print_summary(made: Made, folder: Path, steps: Steps, design: str) -> None:
    """Print what a board came to, how long each step took, and what to do next."""
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
    for line in next_steps(made, folder, design):
        click.echo(line)


def next_steps(made: Made, folder: Path, design: str) -> list[str]:
    """Return what a person does now: put an error right, or look, have it made, and build.

    `design` is the file with the options that make this very board of it again.
    """
    rules, name = made.board.description.rules, made.board.description.name
    if made.standing:
        return [
            f"next: see each finding ringed in {folder / 'view' / 'assembly.svg'}, change the design, make it again"
        ]
    lines = [f"next: look at {folder / 'view' / 'assembly.svg'} in a browser"]
    package = f"fab/{name}-fab.zip"
    if not rules.layers_plated:
        lines.append(f"      etch: modboard etch {design}")
    elif package in made.files:
        lines.append(f"      order: send {folder / package}; fab/{name}-order.txt says what to enter")
    if "bench/booklet.html" in made.files:
        lines.append(f"      build, test, wire in, undo: {folder / 'bench' / 'booklet.html'}")
    return lines


def etch_told(_folder: Path, made: Made) -> None:
    """Say what a board meant for a board house lacks when it is etched at home."""
    rules = made.board.description.rules
    if rules.layers_plated:
        click.echo(
            f'note: rules "{rules.name}" count on plated holes; etched at home, solder each lead on both '
            'sides and a wire in each via, or say rules="home", with one_sided=True if you like'
        )


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
