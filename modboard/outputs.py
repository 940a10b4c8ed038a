"""Putting results in place whole: everything is written beside its final place and moved there at the end.

Killed at any moment, a run leaves the old result or the new one.  Where the system can exchange two folders in one
step it is asked to; elsewhere the old one is moved aside first, and the next run puts it back if need be.
"""

from __future__ import annotations

import ctypes
import errno
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from modboard.errors import ModboardError

_HERE, _EXCHANGE = -100, 2  # AT_FDCWD and RENAME_EXCHANGE of renameat2(2), Linux
_DISK = (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO, errno.EFBIG)


@contextmanager
def folder_beside(target: Path) -> Iterator[Path]:
    """Give a scratch folder on the same disk as `target`; it is gone afterwards, whatever happens.

    What a killed run left there is cleared up first.  Raises ModboardError if nothing can be written there, or the disk
    is full before the end.
    """
    try:
        target.mkdir(parents=True, exist_ok=True)
        clear_up(target)
        scratch = Path(tempfile.mkdtemp(prefix=f".making-{os.getpid()}-", dir=target))
    except OSError as error:
        raise ModboardError(
            f"cannot write into {target}: {error.strerror}; choose another folder with --out"
        ) from error
    try:
        yield scratch
    except OSError as error:
        if error.errno not in _DISK:
            raise
        raise ModboardError(f"cannot write into {target}: {error.strerror}; make room, or choose another") from error
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def clear_up(target: Path) -> None:
    """Remove the scratch folders of runs that no longer run; a result that one had moved aside goes back."""
    for left in sorted(target.glob(".making-*")):
        found = re.match(r"\.making-(\d+)-", left.name)
        if found and _runs(int(found[1])):
            continue
        for old in sorted(left.glob("*.old")):
            if not (target / old.stem).exists():
                old.rename(target / old.stem)
        shutil.rmtree(left, ignore_errors=True)


def _runs(process: int) -> bool:
    if process == os.getpid():
        return False  # a run of this very process that was cut off
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def write_file(file: Path, content: bytes, what: str = "", cure: str = "choose another place") -> None:
    """Write one file whole or not at all; ModboardError, naming `what` it is and the `cure`, if it cannot be."""
    beside = file.with_name(f".{file.name}.{os.getpid()}")
    try:
        try:
            beside.write_bytes(content)
            beside.replace(file)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        named = f"{what} {file}" if what else str(file)
        raise ModboardError(f"can't write {named}: {error.strerror}; {cure}") from error


def move_into_place(made: Path, final: Path) -> None:
    """Move a finished file or folder to `final`, taking the place of what is there in one step.

    Raises ModboardError where a file would take the place of a folder, which is nobody's but the user's.
    """
    if made.is_file() and final.is_dir():
        raise ModboardError(f"cannot write {final}: it is a folder; choose another folder with --out")
    if not final.is_dir() or final.is_symlink():
        made.replace(final)
    elif not exchange(made, final):
        aside = made.parent / f"{final.name}.old"
        final.rename(aside)
        try:
            made.rename(final)
        except OSError:
            aside.rename(final)
            raise


def exchange(one: Path, other: Path) -> bool:
    """Let two folders change places in one step; False, and nothing done, where the system cannot."""
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError, TypeError):
        return False
    return bool(call(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0)
