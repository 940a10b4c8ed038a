"""The command that holds a board, or a room alone, against the room: fit."""

from __future__ import annotations

from pathlib import Path

import click

from modboard.commands.options import QUIET, Layout, finish, layout_options, package_of, picture_name
from modboard.errors import ModboardError
from modboard.telling import clear_line, print_blank, print_findings, steps_told


@click.command(short_help="Say whether it fits the room, and where it is tightest.")
@click.argument("design", type=click.Path(path_type=Path), metavar="DESIGN.py|PACKAGE")
@click.option(
    "--in",
    "room_file",
    type=click.Path(path_type=Path),
    metavar="CAVITY.py",
    help="Try a published package (zip or folder of Gerber and drill files) in the cavity of this file.",
)
@click.option("--above", type=float, default=0.0, metavar="MM", help="With a package: height of its tallest part.")
@click.option("--below", type=float, default=0.0, metavar="MM", help="The same under the board, leads apart.")
@click.option("--try", "attempt", is_flag=True, help="Place, route and fit anew with each remedy; say what helps.")
@click.option(
    "--template",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg|.pdf",
    help="With a file that has a cavity only: draw the largest board at full size, to cut out and try.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Draw plan and sections (of a cavity alone: clear heights and template) into this folder.",
)
@click.option("--png", is_flag=True, help="With --out: also write each picture as PNG.")
@layout_options
@QUIET
def fit(
    design: Path, lay: Layout, room_file: Path | None, above: float, below: float, attempt: bool, template: Path | None,
    out: Path | None, png: bool, quiet: bool,
) -> None:  # fmt: skip
    """Say whether a board fits its cavity, how it is got in, where it is tightest, and what to do if it does not.

    A file that describes a Cavity and no Design is answered with the largest board that fits.
    """
    from modboard import fitting, make
    from modboard.artwork.draw import draw
    from modboard.describe.load import load_room
    from modboard.fit import fit as fits

    picture_name(template, ".svg", ".pdf")
    heights = above != 0 or below != 0
    fitting.check_options(design, room_file, heights=heights, attempt=attempt, png=png, out=out)
    room = None if room_file else load_room(design)
    if lay.words and (room is not None or room_file is not None):
        raise ModboardError(f"there is nothing to lay out here; leave{lay.words} out")
    if room is not None:
        print_blank(room, design.stem, template, out, png)
        return
    if template is not None:
        raise ModboardError("--template is for a file with a cavity only; a board's own outline is in view/ after make")
    if room_file is not None and design.suffix == ".py":
        raise ModboardError(f"{design} is a design, and is tried in its own cavity; leave out --in, or name a package")
    steps = steps_told(quiet)
    lines: list[str] = []
    if room_file is not None:
        design = package_of(design)
        with steps.step("reading the package and finding its best place"):
            board, findings, lines = fitting.package_in(design, room_file, above, below)
    else:
        board = make.lay_out(design, steps, **lay.keywords)
        with steps.step("fitting"):
            findings = fits(board)
    clear_line()
    made = make.Made(board, draw(board), findings)
    print_findings(made)
    for line in (*lines, *fitting.verdict(board, findings)):
        click.echo(line)
    for line in fitting.advice(board, findings, attempt=attempt, say=steps.say) if room_file is None else ():
        clear_line()
        click.echo(line)
    if out is not None and board.description.cavity is not None:
        for path in fitting.write_pictures(fitting.board_pictures(board), out, png=png):
            click.echo(str(path))
    finish(made)
