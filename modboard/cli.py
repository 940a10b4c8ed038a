"""The command line: parse, call, print.  Exit status 0 fine, 1 findings, 2 wrong input."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from modboard import __version__
from modboard.errors import ModboardError
from modboard.telling import (
    clear_line,
    etch_told,
    print_blank,
    print_changes,
    print_findings,
    print_summary,
    steps_told,
)

if TYPE_CHECKING:
    from modboard.make import Made, Steps

DESIGN = click.argument("design", type=click.Path(path_type=Path), metavar="DESIGN.py")
QUIET = click.option("--quiet", is_flag=True, help="Print results only, not where the work is.")
STOPPED = 130  # exit status of a program ended by Ctrl-C, common practice: 128 + signal 2
FILES = click.option(
    "--files", "groups", metavar="GROUPS", default="", help="Only these groups of files, e.g. 'layers holes'."
)
PRICES = click.option(
    "--prices", type=click.Path(path_type=Path), metavar="CSV", help="Cost the parts list: part,price lines."
)
SEED = click.option(
    "--seed", type=click.IntRange(0), metavar="NUMBER", help="Try other arrangements: any whole number, 0 or more."
)
ONE_SIDED = click.option(
    "--one-sided", is_flag=True, help="All copper at the bottom; wire links on top where tracks cross."
)
Command = TypeVar("Command", bound=Callable[..., Any])


class Group(click.Group):
    """Answers every ModboardError with its one line and exit status 2; lists commands in the order of use."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands as they stand in this file, `new` before them."""
        return ["new", *(name for name in self.commands if name != "new")]

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, turning errors into messages."""
        try:
            return super().invoke(ctx)
        except ModboardError as error:
            clear_line()
            click.echo(str(error), err=True)
            ctx.exit(2)
        except KeyboardInterrupt:
            clear_line()
            click.echo("stopped by hand before there was a result; what was there before is as it was", err=True)
            ctx.exit(STOPPED)


def _out(kind: str) -> Callable[[Command], Command]:
    text = f"Where to write {kind}; default out/<design>/."
    return click.option("--out", type=click.Path(path_type=Path), metavar="FOLDER", help=text)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="modboard")
def main() -> None:
    """Small two-layer boards that fit inside old machines, described in Python and proven before they are ordered.

    To begin: modboard new my_board.py, then modboard make my_board.py; README.md says what a design can say.
    """


@main.command(short_help="Do everything: lay out, check, draw, write the package.")
@DESIGN
@_out("pictures, package and summary")
@click.option("--png", is_flag=True, help="Also write each picture as PNG.")
@SEED
@ONE_SIDED
@FILES
@PRICES
@QUIET
def make(
    design: Path, out: Path | None, png: bool, seed: int | None, one_sided: bool, groups: str, prices: Path | None,
    quiet: bool,
) -> None:  # fmt: skip
    """Do everything: lay out, check, draw and write the fabrication package."""
    from modboard import make as job

    steps = steps_told(quiet)
    folder = _folder(design, out)
    wanted = _wanted(groups, prices)
    made = job.make(design, folder, steps, png=png, seed=seed, single=one_sided, groups=wanted, prices=prices)
    clear_line()
    print_findings(made)
    how = f"{design}{f' --seed {seed}' if seed is not None else ''}{' --one-sided' if one_sided else ''}"
    print_summary(made, folder, steps, how)
    _finish(made)


@main.command(short_help="Say whether it fits the room, and where it is tightest.")
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
@QUIET
def fit(
    design: Path, room_file: Path | None, above: float, below: float, attempt: bool, template: Path | None,
    out: Path | None, png: bool, quiet: bool,
) -> None:  # fmt: skip
    """Say whether a board fits its cavity, how it is got in, where it is tightest, and what to do if it does not.

    A file that describes a Cavity and no Design is answered with the largest board that fits.
    """
    from modboard import fitting, make
    from modboard.artwork.draw import draw
    from modboard.describe.load import load_room
    from modboard.fit import fit as fits

    _picture_name(template, ".svg", ".pdf")
    heights = above != 0 or below != 0
    fitting.check_options(design, room_file, heights=heights, attempt=attempt, png=png, out=out)
    room = None if room_file else load_room(design)
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
        design = _package(design)
        with steps.step("reading the package and finding its best place"):
            board, findings, lines = fitting.package_in(design, room_file, above, below)
    else:
        board = make.lay_out(design, steps)
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
    _finish(made)


@main.command(short_help="Only list what is wrong with the board.")
@DESIGN
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Also draw the board with each finding ringed and numbered; FILE.png draws a PNG.",
)
@QUIET
def check(design: Path, as_json: bool, picture: Path | None, quiet: bool) -> None:
    """Lay the board out and check it against its rules, circuit and cavity."""
    from modboard import make as job
    from modboard.check.report import as_json as report

    _picture_name(picture, ".svg", ".png")
    steps = steps_told(quiet)
    made = job.prove(job.lay_out(design, steps), steps)
    clear_line()
    if picture is not None:
        from modboard.view.findings import write_findings

        write_findings(made.artwork, made.findings, picture)
    if as_json:
        click.echo(report(made.board.description.name, made.findings, made.board.description), nl=False)
    else:
        print_findings(made)
    _finish(made)


@main.command(short_help="Only draw the pictures.")
@DESIGN
@_out("the pictures")
@click.option("--png", is_flag=True, help="Also write each picture as PNG.")
@QUIET
def preview(design: Path, out: Path | None, png: bool, quiet: bool) -> None:
    """Lay the board out and draw pictures of it."""
    _write_one(
        design, out, quiet, "view", lambda job, made, folder, steps: job.draw_pictures(made, folder, steps, png=png)
    )


@main.command(short_help="Only write the package for a board house.")
@DESIGN
@_out("the package")
@FILES
@PRICES
@click.option(
    "--since", type=click.Path(path_type=Path), metavar="OLD.zip", help="Say and draw what changed since then."
)
@QUIET
def fab(
    design: Path, out: Path | None, groups: str, prices: Path | None, since: Path | None, quiet: bool
) -> None:  # fmt: skip
    """Lay out, check, and write only the fabrication package.

    Groups of files: layers, holes, components, drawings, netlist, parts, positions, order, job, manifest.
    """
    wanted = _wanted(groups, prices)
    older = None
    if since:
        from modboard.fab.readback.package import read_package

        older = read_package(_package(since))  # now, for it may be the package that is about to be replaced
    _write_one(
        design,
        out,
        quiet,
        "fab",
        lambda job, made, folder, steps: job.fabricate(made, folder, steps, groups=wanted, prices=prices),
        lambda folder, _made: print_changes(older, folder, f"{design.stem} since {since}") if older else None,
    )


@main.command(short_help="Only write the booklet: build, test, wire in, undo.")
@DESIGN
@_out("the booklet and its tables")
@QUIET
def bench(design: Path, out: Path | None, quiet: bool) -> None:
    """Lay out, check, and write the bench booklet: build it, test it, wire it in, undo it."""
    _write_one(design, out, quiet, "bench", lambda job, made, folder, steps: job.bench(made, folder, steps))


@main.command(short_help="Draw 1:1 sheets for etching at home.")
@DESIGN
@_out("the sheets")
@click.option(
    "--process",
    type=click.Choice(["toner", "film", "dry-film", "direct"]),
    default="toner",
    show_default=True,
    help="How the picture gets onto the copper; decides what is mirrored or negative.",
)
@click.option("--undercut", type=float, metavar="MM", help="What the etchant takes from each edge; default 0.026 mm.")
@SEED
@ONE_SIDED
@QUIET
def etch(
    design: Path, out: Path | None, process: str, undercut: float | None, seed: int | None, one_sided: bool, quiet: bool
) -> None:
    """Lay out, check, and draw sheets for etching at home: each copper side and a drill template, 1:1."""
    from modboard.view.etch import etch_files

    def draw_sheets(_job: Any, made: Made, folder: Path, steps: Steps) -> list[str]:
        with steps.step("drawing the sheets"):
            files = etch_files(made.artwork, process, undercut)
            folder.mkdir()
            for name, content in files.items():
                (folder / name).write_bytes(content)
            return [f"{folder.name}/{name}" for name in files]

    _write_one(design, out, quiet, "etch", draw_sheets, etch_told, seed=seed, single=one_sided)


@main.command(short_help="Array boards on a panel for ordering.")
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
@_out("the panel")
@QUIET
def panel(
    designs: tuple[Path, ...], rows: int, columns: int, fill: str | None, score: bool, rail: float, out: Path | None,
    quiet: bool,
) -> None:  # fmt: skip
    """Array one or several designs on a panel for ordering, and write its package."""
    from modboard import make as job
    from modboard.fab.panel import PanelPlan, area, panel_findings
    from modboard.fab.panel import panel as arranged
    from modboard.outputs import folder_beside, move_into_place

    plan = PanelPlan(rows, columns, area(fill) if fill else None, "score" if score else "tabs", rail)
    steps = steps_told(quiet)
    folder = _folder(designs[0], out)
    mades = [job.prove(job.lay_out(design, steps), steps) for design in designs]
    for made in mades:
        if made.standing:
            clear_line()
            print_findings(made)
            _finish(made)
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


@main.command(short_help="Read any package by its files alone, and judge it.")
@click.argument("package", type=click.Path(path_type=Path), metavar="PACKAGE")
def verify(package: Path) -> None:
    """Read a fabrication package (folder or zip) by its files alone and say what is wrong with it."""
    from modboard.fab.readback.inspect import inspect_package

    package = _package(package)
    verdict = inspect_package(package)
    click.echo(f"{package.name}:")
    for line in verdict.lines():
        click.echo(line)
    if not verdict.sound:
        sys.exit(1)


@main.command(short_help="Plan the probing of an old board.")
@click.argument("netlist", type=click.Path(path_type=Path), metavar="NETLIST.csv")
@click.option(
    "--suspect", "suspects", metavar="WORDS", default="", help="Parts, pins or nets thought bad, first: 'IC4 C7.1 A*'."
)
@click.option("--results", type=click.Path(path_type=Path), metavar="CSV", help="Answers so far: red,black,result.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE.csv", help="Where to write the probes.")
@click.option("--page", type=click.Path(path_type=Path), metavar="FILE.html", help="Write a page to enter answers on.")
def repair(netlist: Path, suspects: str, results: Path | None, out: Path | None, page: Path | None) -> None:
    """Plan the probing of an old board from a list of its nets (net,part,pin), and narrow a break down.

    Without --out or --page the table is printed.  Fill in its last column (beep or silent) and give it back with
    --results; or open the page, which asks for one pair at a time and narrows a break down as you answer.
    Exit status 1 while a net is known to be broken.
    """
    from modboard.bench.repair import broken, plan, probe_table, read_netlist, read_results
    from modboard.outputs import write_file

    nets = read_netlist(netlist)
    answers = read_results(results, nets) if results else {}
    probes = plan(nets, suspects.replace(",", " ").split())
    pieces = broken(nets, answers)
    table = probe_table(probes, answers, nets)
    if page:
        from modboard.view.repair_page import repair_page

        drawn = repair_page(netlist.stem, nets, probes, answers)
        write_file(page, drawn.encode("utf-8"), cure="choose another file with --page")
        click.echo(f"wrote {page}: open it in a browser")
    if out:
        write_file(out, table.encode(), cure="choose another file with --out")
        click.echo(f"wrote {out}: {len(probes)} probes for {len(nets)} nets, {len(answers)} answered")
    elif not results and not page:
        click.echo(table, nl=False)
    for piece in pieces:
        click.echo(piece.words)
    if pieces:
        sys.exit(1)


@main.command(short_help="Make again at every save, and show it on a page.")
@DESIGN
@_out("pictures, package and bench booklet")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port of the page; any free one if not given.")
@click.option("--open/--no-open", "show", default=True, help="Open the page in the browser.")
def watch(design: Path, out: Path | None, port: int, show: bool) -> None:
    """Make again at every save, and show the outcome on a page that keeps itself fresh.  Ctrl-C ends it."""
    import threading
    import webbrowser

    from modboard.watch import Watch, server

    if not design.is_file():
        raise ModboardError(f"there is no file {design}; write one with: modboard new {design}")
    watched = Watch(design, _folder(design, out))
    host = server(watched, port)
    threading.Thread(target=host.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{host.server_port}/"
    click.echo(f"{address} shows {design}; save it to make it again, Ctrl-C ends")
    if show:
        webbrowser.open(address)
    try:
        watched.loop(click.echo)
    except KeyboardInterrupt:
        click.echo("ended")
    finally:
        host.shutdown()


@main.command(short_help="Write a starter design: begin here.")
@click.argument("name", type=click.Path(path_type=Path), metavar="DESIGN.py")
def new(name: Path) -> None:
    """Write a commented starter design that makes a whole board as it stands."""
    from modboard.starter import write_starter

    written = write_starter(name)
    click.echo(f"wrote {written}; now: modboard make {written}")


@main.command(short_help="List the parts there are, with pins and sizes.")
@click.argument("words", nargs=-1)
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    metavar="FILE.svg",
    help="Draw the footprints at true size; a PDF if the name ends so.",
)
def parts(words: tuple[str, ...], sheet: Path | None) -> None:
    """List the devices and footprints that hold all the WORDS, with pins and sizes; all of them without words.

    With --sheet also draw them at true size on A4 pages to lay over the real part: FILE.svg, FILE-2.svg and so on, or
    FILE.pdf with all pages.
    """
    from modboard.library.search import drawn_names, listing

    _picture_name(sheet, ".svg", ".pdf")
    click.echo(listing(words), nl=False)
    if sheet is None:
        return
    from modboard.outputs import write_file
    from modboard.view.drawer import sheet_files

    for target, contents in sheet_files(sheet, drawn_names(words)).items():
        write_file(target, contents)
        click.echo(str(target))


@main.command(short_help="Put one chip into the socket of another, pin by pin.")
@click.argument("host")
@click.argument("chip")
@click.option("--csv", "as_csv", is_flag=True, help="Print the table as CSV.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE.svg", help="Also draw it.")
def adapter(host: str, chip: str, as_csv: bool, picture: Path | None) -> None:
    """Show how a CHIP goes into the socket of a HOST device, pin by pin; status 1 if it would do harm."""
    from modboard.library import device
    from modboard.sockets import listing
    from modboard.sockets.match import compare

    _picture_name(picture, ".svg")
    table = compare(device(host), device(chip))
    click.echo(listing.as_csv(table) if as_csv else listing.text(table), nl=False)
    if picture is not None:
        from modboard.outputs import write_file
        from modboard.sockets.picture import picture as drawn

        write_file(picture, drawn(table).encode("utf-8"))
    if table.conflicts:
        sys.exit(1)


def _write_one(
    design: Path,
    out: Path | None,
    quiet: bool,
    part: str,
    write: Callable[[Any, Made, Path, Steps], list[str]],
    afterwards: Callable[[Path, Made], None] = lambda folder, made: None,
    *,
    seed: int | None = None,
    single: bool = False,
) -> None:
    """Lay out and check, then write one folder whole."""
    from modboard import make as job
    from modboard.outputs import folder_beside, move_into_place

    steps = steps_told(quiet)
    folder = _folder(design, out)
    made = job.prove(job.lay_out(design, steps, seed=seed, single=single), steps)
    with folder_beside(folder) as scratch:
        names = [] if part == "fab" and made.standing else write(job, made, scratch / part, steps)
        if names:
            move_into_place(scratch / part, folder / part)
    clear_line()
    print_findings(made)
    for name in names:
        click.echo(str(folder / name))
    if names:
        afterwards(folder, made)
    _finish(made)


def _wanted(groups: str, prices: Path | None) -> frozenset[str]:
    """Return the chosen groups of files; wrong words and a wrong price list are answered before the work."""
    from modboard.fab.names import chosen
    from modboard.fab.prices import read_prices

    if prices:
        read_prices(prices)
    return chosen(groups.replace(",", " ").split())


def _picture_name(file: Path | None, *kinds: str) -> None:
    """Refuse, before the work, a picture whose name promises another format than is drawn."""
    if file is not None and file.suffix.casefold() not in kinds:
        raise ModboardError(f"{file} can't be drawn; name a picture that ends in {' or '.join(kinds)}")


def _package(path: Path) -> Path:
    """Return the package meant: a folder that `make` wrote stands for the package in it."""
    inside = path / "fab"
    return inside if inside.is_dir() and (path / "summary.json").is_file() else path


def _folder(design: Path, out: Path | None) -> Path:
    return out if out is not None else Path("out") / design.stem


def _finish(made: Made) -> None:
    """End with status 1 while an error stands."""
    if made.standing:
        sys.exit(1)


if __name__ == "__main__":
    main()
