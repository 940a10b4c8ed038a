"""What commands have in common: arguments, options, and what is made of them before and after the work."""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict, TypeVar

import click

from modboard.errors import ModboardError

if TYPE_CHECKING:
    from modboard.make import Made

Command = TypeVar("Command", bound=Callable[..., Any])

DESIGN = click.argument("design", type=click.Path(path_type=Path), metavar="DESIGN.py")
QUIET = click.option("--quiet", is_flag=True, help="Print results only, not where the work is.")
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


class LayoutWords(TypedDict):
    """The layout options as `make.lay_out` takes them."""

    seed: int | None
    single: bool


@dataclass(frozen=True)
class Layout:
    """Which board is made of a design: the same options give the same board, whatever command lays it out."""

    seed: int | None = None
    one_sided: bool = False

    @property
    def keywords(self) -> LayoutWords:
        """Return the options as `make.lay_out` takes them."""
        return {"seed": self.seed, "single": self.one_sided}

    @property
    def words(self) -> str:
        """Return the options as one types them, each after a space; "" for none."""
        seed = "" if self.seed is None else f" --seed {self.seed}"
        return f"{seed}{' --one-sided' if self.one_sided else ''}"


def layout_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that choose the board; it gets them together, as `lay`.

    Every command that lays a design out has them, so that each can answer for the board that another one made.
    """

    @functools.wraps(command)
    def packed(*, seed: int | None, one_sided: bool, **rest: Any) -> None:
        command(lay=Layout(seed, one_sided), **rest)

    return SEED(ONE_SIDED(packed))


def out_option(kind: str) -> Callable[[Command], Command]:
    """Return the option that says where `kind` is written."""
    text = f"Where to write {kind}; default out/<design>/."
    return click.option("--out", type=click.Path(path_type=Path), metavar="FOLDER", help=text)


def wanted_groups(groups: str, prices: Path | None) -> frozenset[str]:
    """Return the chosen groups of files; wrong words and a wrong price list are answered before the work."""
    from modboard.fab.names import chosen
    from modboard.fab.prices import read_prices

    if prices:
        read_prices(prices)
    return chosen(groups.replace(",", " ").split())


def picture_name(file: Path | None, *kinds: str) -> None:
    """Refuse, before the work, a picture whose name promises another format than is drawn."""
    if file is not None and file.suffix.casefold() not in kinds:
        raise ModboardError(f"{file} can't be drawn; name a picture that ends in {' or '.join(kinds)}")


def package_of(path: Path) -> Path:
    """Return the package meant: a folder that `make` wrote stands for the package in it."""
    inside = path / "fab"
    return inside if inside.is_dir() and (path / "summary.json").is_file() else path


def folder_of(design: Path, out: Path | None) -> Path:
    """Return where results go: the folder asked for, else one of the design's name."""
    return out if out is not None else Path("out") / design.stem


def finish(made: Made) -> None:
    """End with status 1 while an error stands."""
    if made.standing:
        sys.exit(1)
