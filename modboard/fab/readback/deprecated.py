"""Gerber commands that nobody may write any more but that old files have, where they change nothing (GLFS chapter 8).

The same commands with a value that would change the image (a negative image, an offset, a scale, swapped axes) are not
harmless, and a reader refuses them.
"""

from __future__ import annotations

import re

WORDS = frozenset({"G55", "M01"})  # prepare to flash; optional stop
_ZERO, _ONE = r"[+-]?0*\.?0*", r"\+?0*1(?:\.0*)?"
_HARMLESS = re.compile(
    rf"IPPOS|ASAXBY|IR{_ZERO}|MI(?:A0)?(?:B0)?|OF(?:A{_ZERO})?(?:B{_ZERO})?|SF(?:A{_ONE})?(?:B{_ONE})?|IN.*|LN.*"
    rf"|ICAS|IO(?:A{_ZERO})?(?:B{_ZERO})?|RO{_ZERO}|PF.*"
)


def harmless(word: str) -> bool:
    """Tell whether an extended command is deprecated and changes nothing."""
    return _HARMLESS.fullmatch(word) is not None
