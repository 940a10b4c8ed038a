"""Manifest: the SHA-256 of every file of a package, in the lines that ``sha256sum -c`` reads."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping


def manifest(texts: Mapping[str, str]) -> str:
    """Return one line for each file, in order of name: 64 hexadecimal digits (FIPS 180-4), two blanks, the name."""
    return "".join(f"{hashlib.sha256(text.encode()).hexdigest()}  {name}\n" for name, text in sorted(texts.items()))
