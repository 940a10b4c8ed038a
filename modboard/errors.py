"""The one family of errors, and where in the user's file each came from."""

from __future__ import annotations

import difflib
import os
import sys
from collections.abc import Iterable
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
    """Return up to `count` names from `valid` that look like `name`, most alike first."""
    by_folded = {v.casefold(): v for v in sorted(valid, reverse=True)}
    found = difflib.get_close_matches(name.casefold(), sorted(by_folded), n=count, cutoff=0.5)
    return [by_folded[f] for f in found]
