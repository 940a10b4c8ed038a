"""Compiled loops are kept on disk; what an older source left there must not be used again."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

MARKS = (b"@jit", b"@compiled", b"njit")  # what a source file with compiled functions contains


def drop_stale(folder: Path) -> None:
    """Delete the compiled functions kept in `folder`'s cache if any source of compiled code there has changed since.

    The compiler renews a kept function when its own file changes, but not when a function it calls has, which may
    live in another file.
    """
    cache = folder / "__pycache__"
    stamp = cache / "compiled.sha256"
    digest = hashlib.sha256()
    with contextlib.suppress(OSError):
        for source in sorted(folder.glob("*.py")):
            text = source.read_bytes()
            if any(mark in text for mark in MARKS):
                digest.update(text)
        found = stamp.read_text() if stamp.exists() else ""
        if found == digest.hexdigest():
            return
        for kept in cache.glob("*.nb[ci]"):
            kept.unlink(missing_ok=True)
        cache.mkdir(exist_ok=True)
        beside = stamp.with_name(f"{stamp.name}.{os.getpid()}")
        beside.write_text(digest.hexdigest())
        beside.replace(stamp)
