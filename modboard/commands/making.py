"""The commands that lay a design out whole: make, check, preview, watch."""

from __future__ import annotations

from pathlib import Path

import click

from modboard.commands.options import (
    DESIGN,
    FILES,
    PRICES,
    QUIET,
    Layout,
    finish,
    folder_of,
    layout_options,
    out_option,
    picture_name,
    wanted_groups,
)
from modboard.commands.writing import write_one
from modboard.errors import ModboardError
from modboard.telling import clear_line, print_findings, print_summary, steps_told


@click.command(short_help="Do everything: lay out, check, draw, write the package.")
@DESIGN
@out_option("pictures, package and summary")
@click.option("--png", is_flag=True, help="Also write each picture as PNG.")
@layout_options
@FILES
@PRICES
@QUIET
def make(
    design: Path, lay: Layout, out: Path | None, png: bool, groups: str, prices: Path | None, quiet: bool
) -> None:  # fmt: skip
    """Do everything: lay out, check, draw and write the fabrication package."""
    from modboard import make as job

    steps = steps_told(quiet)
    folder = folder_of(design, out)
    wanted = wanted_groups(groups, prices)
    made = job.make(design, folder, steps, png=png, groups=wanted, prices=prices, **lay.keywords)
    clear_line()
    print_findings(made)
    if steps.stopped:
        click.echo("stopped by hand once the board was laid out: all was written all the same")
    print_summary(made, folder, steps, f"{design}{lay.words}")
    finish(made)


@click.command(short_help="Only list what is wrong with the board.")
@DESIGN
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Also draw the board with each finding ringed and numbered; FILE.png draws a PNG.",
)
@layout_options
@QUIET
def check(design: Path, lay: Layout, as_json: bool, picture: Path | None, quiet: bool) -> None:
    """Lay the board out and check it against its rules, circuit and cavity."""
    from modboard import make as job
    from modboard.check.report import as_json as report

    picture_name(picture, ".svg", ".png")
    steps = steps_told(quiet)
    made = job.prove(job.lay_out(design, steps, **lay.keywords), steps)
    clear_line()
    if picture is not None:
        from modboard.view.findings import write_findings

        write_findings(made.artwork, made.findings, picture)
    if as_json:
        click.echo(report(made.board.description.name, made.findings, made.board.description), nl=False)
    else:
        print_findings(made)
    finish(made)


@click.command(short_help="Only draw the pictures.")
@DESIGN
@out_option("the pictures")
@click.option("--png", is_flag=True, help="Also write each picture as PNG.")
@layout_options
@QUIET
def preview(design: Path, lay: Layout, out: Path | None, png: bool, quiet: bool) -> None:
    """Lay the board out and draw pictures of it."""
    write_one(
        design,
        lay,
        out,
        quiet,
        "view",
        lambda job, made, folder, steps: job.draw_pictures(made, folder, steps, png=png),
    )


@click.command(short_help="Make again at every save, and show it on a page.")
@DESIGN
@out_option("pictures, package and bench booklet")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port of the page; any free one if not given.")
@click.option("--open/--no-open", "show", default=True, help="Open the page in the browser.")
@layout_options
def watch(design: Path, lay: Layout, out: Path | None, port: int, show: bool) -> None:
    """Make again at every save, and show the outcome on a page that keeps itself fresh.  Ctrl-C ends it."""
    import functools
    import threading
    import webbrowser

    from modboard.make import make as job
    from modboard.watch import Watch, server

    if not design.is_file():
        raise ModboardError(f"there is no file {design}; write one with: modboard new {design}")
    watched = Watch(design, folder_of(design, out), functools.partial(job, **lay.keywords))
    host = server(watched, port)
    threading.Thread(target=host.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{host.server_port}/"
    click.echo(f"{address} shows {design}; save it to make it again, Ctrl-C ends")
    if show:
        webbrowser.open(address)
    try:
        watched.loop(click.echo)
    except KeyboardInterrupt:
        pass
    finally:
        host.shutdown()
    click.echo("ended")
