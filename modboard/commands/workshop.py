"""The commands that write one thing for the work that comes next: fab, bench, etch, panel."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

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
    package_of,
    wanted_groups,
)
from modboard.commands.writing import write_one
from modboard.telling import clear_line, etch_told, print_changes, print_findings, steps_told

if TYPE_CHECKING:
    from modboard.make import Made, Steps


@click.command(short_help="Only write the package for a board house.")
@DESIGN
@out_option("the package")
@FILES
@PRICES
@click.option(
    "--since", type=click.Path(path_type=Path), metavar="OLD.zip", help="Say and draw what changed since then."
)
@layout_options
@QUIET
def fab(
    design: Path, lay: Layout, out: Path | None, groups: str, prices: Path | None, since: Path | None, quiet: bool
) -> None:  # fmt: skip
    """Lay out, check, and write only the fabrication package.

    Groups of files: layers, holes, components, drawings, netlist, parts, positions, order, job, manifest.
    """
    wanted = wanted_groups(groups, prices)
    older = None
    if since:
        from modboard.fab.readback.package import read_package

        older = read_package(package_of(since))  # now, for it may be the package that is about to be replaced
    write_one(
        design,
        lay,
        out,
        quiet,
        "fab",
        lambda job, made, folder, steps: job.fabricate(made, folder, steps, groups=wanted, prices=prices),
        lambda folder, _made: print_changes(older, folder, f"{design.stem} since {since}") if older else None,
    )


@click.command(short_help="Only write the booklet: build, test, wire in, undo.")
@DESIGN
@out_option("the booklet and its tables")
@layout_options
@QUIET
def bench(design: Path, lay: Layout, out: Path | None, quiet: bool) -> None:
    """Lay out, check, and write the bench booklet: build it, test it, wire it in, undo it."""
    write_one(
        design,
        lay,
        out,
        quiet,
        "bench",
        lambda job, made, folder, steps: job.bench(lambda: job.bench_files(made.board, made.artwork), folder, steps),
    )


@click.command(short_help="Draw 1:1 sheets for etching at home.")
@DESIGN
@out_option("the sheets")
@click.option(
    "--process",
    type=click.Choice(["toner", "film", "dry-film", "direct"]),
    default="toner",
    show_default=True,
    help="How the picture gets onto the copper; decides what is mirrored or negative.",
)
@click.option("--undercut", type=float, metavar="MM", help="What the etchant takes from each edge; default 0.026 mm.")
@layout_options
@QUIET
def etch(design: Path, lay: Layout, out: Path | None, process: str, undercut: float | None, quiet: bool) -> None:
    """Lay out, check, and draw sheets for etching at home: each copper side and a drill template, 1:1."""
    from modboard.view.etch import etch_files

    def draw_sheets(_job: Any, made: Made, folder: Path, steps: Steps) -> list[str]:
        with steps.step("drawing the sheets"):
            files = etch_files(made.artwork, process, undercut)
            folder.mkdir()
            for name, content in files.items():
                (folder / name).write_bytes(content)
            return [f"{folder.name}/{name}" for name in files]

    write_one(design, lay, out, quiet, "etch", draw_sheets, etch_told)


@click.command(short_help="Array boards on a panel for ordering.")
@click.argument("designs", type=click.Path(path_type=Path), metavar="DESIGN.py...", nargs=-1, required=True)
@click.option("--rows", type=int, default=2, show_default=True, help="Boards above one another, of each design.")
@click.option("--columns", type=int, default=2, show_default=True, help="Boards beside one another.")
@click.option(
    "--fill", metavar="W,H", help="As many boards as W × H mm holds, e.g. 100,100; instead of rows and columns."
)
@click.option("--score", is_flag=True, help="Score between the boards (V-cut) instead of routing with tabs.")
@click.option(
    "--rail", type=float, default=10.0, show_default=True, metavar="MM", help="Width of the rails; 0 for none."
)
@out_option("the panel")
@layout_options
@QUIET
def panel(
    designs: tuple[Path, ...], lay: Layout, rows: int, columns: int, fill: str | None, score: bool, rail: float,
    out: Path | None, quiet: bool,
) -> None:  # fmt: skip
    """Array one or several designs on a panel for ordering, and write its package."""
    from modboard import make as job
    from modboard.fab.panel import PanelPlan, area, panel_findings
    from modboard.fab.panel import panel as arranged
    from modboard.outputs import folder_beside, move_into_place

    plan = PanelPlan(rows, columns, area(fill) if fill else None, "score" if score else "tabs", rail)
    steps = steps_told(quiet)
    folder = folder_of(designs[0], out)
    mades = [job.prove(job.lay_out(design, steps, **lay.keywords), steps) for design in designs]
    for made in mades:
        if made.standing:
            clear_line()
            print_findings(made)
            finish(made)
    artworks = [made.artwork for made in mades]
    with steps.step("arranging the panel"):
        whole = arranged(artworks, plan)
        findings = panel_findings([made.findings for made in mades], artworks, whole)
    with folder_beside(folder) as scratch:
        made = job.Made(whole.board, whole, findings)
        names = job.fabricate(made, scratch / "panel", steps)
        move_into_place(scratch / "panel", folder / "panel")
    clear_line()
    x0, y0, x1, y1 = whole.board.outline.bounds
    click.echo(f"panel of {x1 - x0:.1f} × {y1 - y0:.1f} mm: {whole.panel}")
    for name in names:
        click.echo(str(folder / name))
