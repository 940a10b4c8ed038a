"""The job of `modboard fit`: a room alone, a design in its room, or somebody else's package in a room."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from modboard.check.findings import Findings
from modboard.describe.cavity import Cavity
from modboard.describe.load import load, load_room
from modboard.describe.model import CavityModel
from modboard.errors import ModboardError
from modboard.fit import fit
from modboard.fit.advice import remedies, together, too_big, tried
from modboard.fit.blank import Blank, blank, blank_of
from modboard.fit.foreign import board_in, read_plan
from modboard.fit.margins import tightest
from modboard.fit.room import Room
from modboard.fit.way_in import way_in
from modboard.layout.board import Board
from modboard.outputs import folder_beside, move_into_place, write_file
from modboard.view.clear_heights import clear_heights
from modboard.view.fit_plan import fit_plan
from modboard.view.fit_section import fit_sections
from modboard.view.png import png as as_png
from modboard.view.template import template, template_pdf

MOST_TRIED = 24  # remedies


def check_options(asked: Path, room: Path | None, *, heights: bool, attempt: bool, png: bool, out: Path | None) -> None:
    """Raise ModboardError for options of the command that say nothing about what is asked."""
    if room is None and (asked.is_dir() or asked.suffix.casefold() == ".zip"):
        raise ModboardError(f"{asked} is a package, not a design; name the file of the room it goes into with --in")
    if room is None and heights:
        raise ModboardError("--above and --below are for a package, tried with --in; a design knows its parts' heights")
    if room is not None and attempt:
        raise ModboardError("--try changes a design; somebody else's package stays as it is, so leave --try out")
    if png and out is None:
        raise ModboardError("--png goes with --out FOLDER, where the pictures are drawn")


def room_alone(room: Cavity) -> Blank:
    """Return the largest board for a room."""
    return blank(room)


def package_in(package: Path, room: Path, above: float, below: float) -> tuple[Board, Findings, list[str]]:
    """Return a published package as a board in the room of a file, what does not fit, and how it lies, in lines.

    Raises ModboardError for a package without an outline that closes, and for a file without a room.
    """
    if above < 0 or below < 0:
        raise ModboardError("--above and --below are heights of parts in mm; they can't be negative")
    plan = read_plan(package)
    board, turn = board_in(plan, cavity_of(room), above, below, package.stem)
    x0, y0, x1, y1 = board.outline.bounds
    lines = [
        f"board of {x1 - x0:.2f} × {y1 - y0:.2f} mm as it lies, turned by {turn:g}°, from ({x0:.2f}, {y0:.2f}) mm; "
        f"{_counted(len(plan.screws), 'screw hole')}, {_counted(len(plan.leads), 'hole')} for leads"
    ]
    if not above:
        lines.append("how tall its parts are is not in these files: give --above MM (and --below MM) to check heights")
    return board, fit(board), lines


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}{'s' * (count != 1)}"


def cavity_of(file: Path) -> CavityModel:
    """Return the room that a file describes, alone or for a design."""
    room = load_room(file)
    model = room.model() if room is not None else load(file).described().cavity
    if model is None:
        raise ModboardError(f"{file} describes no cavity; write one, for example tin = Cavity.rectangle(57, 31.5)")
    return model


def verdict(board: Board, findings: Findings) -> Iterator[str]:
    """Walk the lines of the outcome: whether it fits, how it goes in, the tightest places, what is too big."""
    cavity = board.description.cavity
    if cavity is None:
        yield "no cavity is described, so there is nothing to fit into"
        return
    if not any(f.stands for f in findings):
        yield "it fits"
        yield f"  the board {way_in(Room(board, cavity)).words}"
    for margin in tightest(board):
        yield f"  tight: {margin.words}"
    for line in too_big(board):
        yield f"  {line}"


def advice(board: Board, findings: Findings, *, attempt: bool, say: Callable[[str], None]) -> Iterator[str]:
    """Walk what to do about a misfit.

    With `attempt` each is done in turn on the design as it is: placed anew, routed within a limit, and fitted; then
    what cured each part is done all at once.
    """
    found = remedies(board, findings)
    if not attempt:
        yield from (f"  could help: {remedy.words}  [{remedy.line}]" for remedy in found)
        if found:
            yield "  (--try places, routes and fits the board anew with each of these)"
        return
    from modboard.fit.trying import laid_out  # the router takes long to load

    described = board.description
    cures, whole = [], False
    for remedy in found[:MOST_TRIED]:
        say(f"trying: {remedy.words}")
        outcome = tried(described, [remedy], laid_out)
        if outcome.cures:
            cures.append(remedy)
        whole = whole or outcome.fits
        helps = "helps" if outcome.fits else "helps in part" if outcome.cures else "no help"
        yield f"  {helps}: {remedy.words}  [{remedy.line}]; {outcome.words}"
    if len(found) > MOST_TRIED:
        yield f"  {len(found) - MOST_TRIED} more were not tried"
    if not whole and cures:
        say("trying what helped, all at once")
        all_at_once = together(described, cures, laid_out)
        if all_at_once is not None:
            chosen, outcome = all_at_once
            yield f"  {'helps' if outcome.fits else 'no help'}: all of these at once; {outcome.words}"
            yield from (f"    {remedy.words}  [{remedy.line}]" for remedy in chosen)


def board_pictures(board: Board) -> dict[str, str]:
    """Return the pictures of a board in its room: plan with margins, two sections."""
    return {"fit-plan": fit_plan(board), "fit-sections": fit_sections(board)}


def room_pictures(found: Blank, name: str) -> dict[str, str]:
    """Return the pictures of a room alone: clear heights, and the template at full size."""
    return {"clear-heights": clear_heights(found, name), "template": template(found, name)}


def write_pictures(drawn: dict[str, str], folder: Path, *, png: bool, pdf: bytes | None = None) -> list[Path]:
    """Write pictures as SVG, and as PNG if asked for, into `folder`; return their paths.

    All are written beside their places first: if one can't be, the folder keeps what it had.
    """
    files = {f"{name}.svg": svg.encode("utf-8") for name, svg in drawn.items()}
    if png:
        files |= {f"{name}.png": as_png(svg) for name, svg in drawn.items()}
    if pdf is not None:
        files["template.pdf"] = pdf
    for name in files:
        if (folder / name).is_dir():  # somebody's own folder
            raise ModboardError(f"cannot write {folder / name}: it is a folder; choose another folder with --out")
    with folder_beside(folder) as scratch:
        for name, content in files.items():
            (scratch / name).write_bytes(content)
        for name in files:
            move_into_place(scratch / name, folder / name)
    return [folder / name for name in sorted(files)]


def write_template(found: Blank, name: str, file: Path) -> None:
    """Write the template at full size, as PDF if the file's name ends so, else as SVG."""
    is_pdf = file.suffix.casefold() == ".pdf"
    content = template_pdf(found, name) if is_pdf else template(found, name).encode("utf-8")
    write_file(file, content, "the template")


def largest_for(board: Board) -> Blank | None:
    """Return the largest board for the room of a design; None if it has no room or none is left."""
    described = board.description
    if described.cavity is None:
        return None
    try:
        return blank_of(described.cavity, described.rules, described.site)
    except ModboardError:
        return None


__all__ = [
    "advice", "board_pictures", "cavity_of", "check_options", "largest_for", "package_in", "room_alone",
    "room_pictures", "template_pdf", "verdict", "write_pictures", "write_template",
]  # fmt: skip
