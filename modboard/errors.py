"""The one family of errors, and where in the user's file each came from."""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

PACKAGE_FOLDER = str(Path(__file__).resolve().parent) + os.sep


class ModboardError(Exception):
    """Something the person must put right; its text is one line with place, cause and cure."""

    def with_cure(self, words: str) -> ModboardError:
        """Return the same error with one more cure to offer."""
        return ModboardError(f"{self}; {words}")


class LibraryError(ModboardError):
    """A footprint or device that does not exist or whose data file is wrong."""


class NoRoomError(ModboardError):
    """Parts that each fit a board, but for which no search has found places all together yet."""


@dataclass(frozen=True)
class CallSite:
    """File and line of a statement in the user's design file."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{Path(self.file).name}:{self.line}"


class DesignError(ModboardError):
    """A mistake in a design; carries the file and line of the user's call.

    The text reads ``dunlin_av.py:12: net "GND": part C1 has no pin "3"; its pins are + and -``.
    """

    def __init__(self, message: str, site: CallSite | None = None) -> None:
        self.message = message
        self.site = site
        super().__init__(f"{site}: {message}" if site else message)

    def with_cure(self, words: str) -> DesignError:
        """Return the same error with one more cure to offer."""
        return DesignError(f"{self.message}; {words}", self.site)


def caller() -> CallSite:
    """Return the nearest call site outside the modboard package: the user's own line."""
    frame = sys._getframe(1)
    while frame.f_back is not None and frame.f_code.co_filename.startswith(PACKAGE_FOLDER):
        frame = frame.f_back
    return CallSite(frame.f_code.co_filename, frame.f_lineno)


def nearest(name: str, valid: Iterable[str], count: int = 3) -> list[str]:
    """Return up to `count` names from `valid` that look like `name`, most alike first.

    A name that differs by capitals only is the one meant.  Two neighbouring letters swapped, the commonest slip of a
    keyboard (F. J. Damerau, Communications of the ACM 7, 1964), come before all other likenesses.
    """
    by_folded = {v.casefold(): v for v in sorted(valid, reverse=True)}
    folded = name.casefold()
    if folded in by_folded:
        return [by_folded[folded]]
    swapped = [f for f in (_swapped(folded, i) for i in range(len(folded) - 1)) if f in by_folded]
    found = dict.fromkeys([*swapped, *difflib.get_close_matches(folded, sorted(by_folded), n=count, cutoff=0.5)])
    return [by_folded[f] for f in list(found)[:count]]


def either(names: Sequence[str]) -> str:
    """Return names to choose from as one reads them out: ``a, b or c``."""
    return f"{', '.join(names[:-1])} or {names[-1]}" if len(names) > 1 else "".join(names)


def _swapped(name: str, i: int) -> str:
    """Return `name` with its letters `i` and `i` + 1 changed over."""
    return name[:i] + name[i + 1] + name[i] + name[i + 2 :]
