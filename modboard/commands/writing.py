"""Lay out and check, then write one folder whole: what several commands have in common."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from modboard.commands.options import Layout, finish, folder_of
from modboard.telling import clear_line, print_findings, steps_told

if TYPE_CHECKING:
    from modboard.make import Made, Steps


def write_one(
    design: Path,
    lay: Layout,
    out: Path | None,
    quiet: bool,
    part: str,
    write: Callable[[Any, Made, Path, Steps], list[str]],
    afterwards: Callable[[Path, Made], None] = lambda folder, made: None,
) -> None:
    """Lay out and check, then write one folder whole."""
    from modboard import make as job
    from modboard.outputs import folder_beside, move_into_place

    steps = steps_told(quiet)
    folder = folder_of(design, out)
    board = job.lay_out(design, steps, **lay.keywords)
    with job.finishing(steps), folder_beside(folder) as scratch:
        made = job.prove(board, steps)
        names = [] if part == "fab" and made.standing else write(job, made, scratch / part, steps)
        if names:
            move_into_place(scratch / part, folder / part)
    clear_line()
    print_findings(made)
    for name in names:
        click.echo(str(folder / name))
    if names:
        afterwards(folder, made)
    finish(made)
