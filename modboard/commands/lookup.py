"""The commands that lay nothing out: new, parts, adapter, verify, repair."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from modboard.commands.options import package_of, picture_name


@click.command(short_help="Read any package by its files alone, and judge it.")
@click.argument("package", type=click.Path(path_type=Path), metavar="PACKAGE")
def verify(package: Path) -> None:
    """Read a fabrication package (folder or zip) by its files alone and say what is wrong with it."""
    from modboard.fab.readback.inspect import inspect_package

    package = package_of(package)
    verdict = inspect_package(package)
    click.echo(f"{package.name}:")
    for line in verdict.lines():
        click.echo(line)
    if not verdict.sound:
        sys.exit(1)


@click.command(short_help="Plan the probing of an old board.")
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


@click.command(short_help="Write a starter design: begin here.")
@click.argument("name", type=click.Path(path_type=Path), metavar="DESIGN.py")
def new(name: Path) -> None:
    """Write a commented starter design that makes a whole board as it stands."""
    from modboard.starter import write_starter

    written = write_starter(name)
    click.echo(f"wrote {written}; now: modboard make {written}")


@click.command(short_help="List the parts there are, with pins and sizes.")
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

    picture_name(sheet, ".svg", ".pdf")
    click.echo(listing(words), nl=False)
    if sheet is None:
        return
    from modboard.outputs import write_file
    from modboard.view.drawer import sheet_files

    for target, contents in sheet_files(sheet, drawn_names(words)).items():
        write_file(target, contents)
        click.echo(str(target))


@click.command(short_help="Put one chip into the socket of another, pin by pin.")
@click.argument("host")
@click.argument("chip")
@click.option("--csv", "as_csv", is_flag=True, help="Print the table as CSV.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE.svg", help="Also draw it.")
def adapter(host: str, chip: str, as_csv: bool, picture: Path | None) -> None:
    """Show how a CHIP goes into the socket of a HOST device, pin by pin; status 1 if it would do harm."""
    from modboard.library import device
    from modboard.sockets import listing
    from modboard.sockets.match import compare

    picture_name(picture, ".svg")
    table = compare(device(host), device(chip))
    click.echo(listing.as_csv(table) if as_csv else listing.text(table), nl=False)
    if picture is not None:
        from modboard.outputs import write_file
        from modboard.sockets.picture import picture as drawn

        write_file(picture, drawn(table).encode("utf-8"))
    if table.conflicts:
        sys.exit(1)
