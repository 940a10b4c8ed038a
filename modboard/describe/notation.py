"""How pins and buses are written: ``"R1.1 Q1.B U1.A[0..10]"``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import product

from modboard.errors import CallSite, DesignError

MOST = 1000  # names one range may stand for; more is a slip of the finger
_SEPARATOR = re.compile(r"[\s,]+(?![^\[\]]*\])")  # blanks and commas, but not those inside brackets
_BRACKETS = re.compile(r"\[([^\[\]]*)\]")
_RANGE = re.compile(r"(\d+)(?:\.\.(\d+))?\Z")
_LETTERS = re.compile(r"(?:([A-Z])(?:\.\.([A-Z]))?|([a-z])(?:\.\.([a-z]))?)\Z")


def words(said: object, what: str, site: CallSite) -> list[str]:
    """Return the single words of a text or a list of texts, ranges not yet expanded."""
    if isinstance(said, str):
        return [w for w in _SEPARATOR.split(said) if w]
    if isinstance(said, Iterable):
        texts = list(said)
        if all(isinstance(t, str) for t in texts):
            return [w for t in texts for w in words(t, what, site)]
    raise DesignError(f'{what} must be text such as "R1.1 Q1.B", not {said!r}', site)


def expanded(word: str, site: CallSite) -> list[str]:
    """Return all names a word stands for.

    ``A[0..2]`` is A0 A1 A2, ``A[2..0]`` the reverse, ``D[0,3..5]`` a choice, ``Q[A..C]`` QA QB QC.
    """
    pieces = _BRACKETS.split(word)
    if any(c in piece for piece in pieces[::2] for c in "[]"):
        raise DesignError(f'brackets in "{word}" do not match; a range is written A[0..7]', site)
    choices = [_chosen(piece, word, site) if i % 2 else [piece] for i, piece in enumerate(pieces)]
    count = 1
    for choice in choices:
        count *= len(choice)
    if count > MOST:
        raise DesignError(f'"{word}" stands for {count} names, more than {MOST}', site)
    return ["".join(parts) for parts in product(*choices)]


def expanded_words(said: object, what: str, site: CallSite) -> list[str]:
    """Return every name in a text or list of texts, ranges expanded, in the order written."""
    return [name for word in words(said, what, site) for name in expanded(word, site)]


def split_pin(word: str, what: str, site: CallSite) -> tuple[str, str]:
    """Return (reference, pin) of a word like ``R1.1``."""
    reference, dot, pin = word.partition(".")
    if not (dot and reference and pin):
        raise DesignError(f'{what}: "{word}" is not a pin; write it as PART.PIN, for example "R1.1"', site)
    return reference, pin


def listed(names: Iterable[str]) -> str:
    """Return names as one reads them out: ``a, b and c``."""
    found = list(names)
    return f"{', '.join(found[:-1])} and {found[-1]}" if len(found) > 1 else "".join(found)


def _chosen(inside: str, word: str, site: CallSite) -> list[str]:
    found: list[str] = []
    for item in inside.split(","):
        if letters := _LETTERS.match(item.strip()):
            first, last = ord(letters[1] or letters[3]), ord(letters[2] or letters[4] or item.strip()[0])
            found += [chr(n) for n in _from_to(first, last)]
            continue
        match = _RANGE.match(item.strip())
        if not match:
            raise DesignError(f'"[{inside}]" in "{word}" is not a range; write [0..7], [0,2,5..7] or [A..H]', site)
        first, last = int(match[1]), int(match[2] or match[1])
        if abs(last - first) >= MOST:
            raise DesignError(f'"[{inside}]" in "{word}" stands for more than {MOST} names', site)
        found += [str(n) for n in _from_to(first, last)]
    return found


def _from_to(first: int, last: int) -> range:
    """Return the whole numbers from `first` to `last`, either way, both included."""
    step = 1 if last >= first else -1
    return range(first, last + step, step)
