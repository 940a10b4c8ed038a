"""Putting results in place whole: everything is written beside its final place and moved there at the end."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from modboard.errors import ModboardError


@contextmanager
def folder_beside(target: Path) -> Iterator[Path]:
    """Give a scratch folder on the same disk as `target`; it is gone afterwards, whatever happens.

    Raises ModboardError if nothing can be written there.
    """
    try:
        target.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=".making-", dir=target))
    except OSError as error:
        raise ModboardError(
            f"cannot write into {target}: {error.strerror}; choose another folder with --out"
        ) from error
    try:
        yield scratch
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def move_into_place(made: Path, final: Path) -> None:
    """Move a finished file or folder to `final`, taking the place of what is there in one step each way."""
    if final.is_dir() and not final.is_symlink():
        aside = made.parent / f"{final.name}.old"
        final.rename(aside)
        try:
            made.rename(final)
        except OSError:
            aside.rename(final)
            raise
    else:
        made.replace(final)
