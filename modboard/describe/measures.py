"""Checks on the numbers and words a person writes: each refuses with the place, the cause and the cure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import SupportsFloat

from modboard.errors import CallSite, DesignError, caller, either, nearest
from modboard.geometry import Position


class Measured(float):
    """A length in mm that carries its own ±: how far it may be out."""

    within: float


def pm(value: float, within: float) -> Measured:
    """Return a measured length with its own ±, for a dimension of a `Cavity`.

    >>> Cavity.rectangle(pm(57.0, 0.05), 31.5)  # doctest: +SKIP
    """
    site = caller()
    length_ = Measured(number(value, "the length in pm()", site))
    length_.within = margin(within, "the ± in pm()", site)
    return length_


def own(*values: object) -> tuple[float | None, ...]:
    """Return the ± that each value carries of its own; None for those without."""
    return tuple(value.within if isinstance(value, Measured) else None for value in values)


def number(value: object, what: str, site: CallSite) -> float:
    """Return `value` as a float; DesignError unless it is a finite number."""
    if isinstance(value, str):
        raise DesignError(f"{what} must be a number without quotes, not {_shown(value)}", site)
    if isinstance(value, bool) or not isinstance(value, SupportsFloat):  # numpy scalars are welcome
        raise DesignError(f"{what} must be a number, not {_shown(value)}", site)
    try:
        found = float(value)
    except (TypeError, ValueError, OverflowError):
        raise DesignError(f"{what} must be a number, not {_shown(value)}", site) from None
    if not math.isfinite(found):
        raise DesignError(f"{what} must be a finite number, not {found}", site)
    return found


def length(value: object, what: str, site: CallSite) -> float:
    """Return a length in mm that must be more than zero."""
    found = number(value, what, site)
    if found <= 0:
        raise DesignError(f"{what} must be more than 0 mm, not {found:g}", site)
    return found


def margin(value: object, what: str, site: CallSite) -> float:
    """Return a length in mm that may be zero but not negative."""
    found = number(value, what, site)
    if found < 0:
        raise DesignError(f"{what} can't be negative; it is {found:g} mm", site)
    return found


def whole(value: object, what: str, site: CallSite) -> int:
    """Return a whole number, 0 or more."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise DesignError(f"{what} must be a whole number, 0 or more, not {_shown(value)}", site)
    return value


def position(value: object, what: str, site: CallSite) -> Position:
    """Return an (x, y) pair in mm."""
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) != 2:
        raise DesignError(f"{what} must be a pair (x, y) in mm, not {_shown(value)}", site)
    return (number(value[0], f"x of {what}", site), number(value[1], f"y of {what}", site))


def text(value: object, what: str, site: CallSite, *, empty: bool = True) -> str:
    """Return a piece of text; DesignError for anything else, or for none where some is needed."""
    if not isinstance(value, str):
        raise DesignError(f"{what} must be text in quotes, not {_shown(value)}", site)
    if not empty and not value.strip():
        raise DesignError(f"{what} is empty; give it a few words", site)
    return value


def word(value: object, what: str, site: CallSite) -> str:
    """Return a name: text that is not empty and has no blanks in it."""
    found = text(value, what, site)
    if not found:
        raise DesignError(f"{what} is empty; give it a name", site)
    if any(c.isspace() for c in found):
        raise DesignError(f'{what} "{found}" has a blank in it; try "{"_".join(found.split()) or "NAME"}"', site)
    return found


def flag(value: object, what: str, site: CallSite) -> bool:
    """Return a yes or no."""
    if not isinstance(value, bool):
        raise DesignError(f"{what} must be True or False, not {_shown(value)}", site)
    return value


def choice(value: object, what: str, valid: Iterable[str], site: CallSite) -> str:
    """Return `value` if it is one of `valid`; else DesignError with the nearest of them and all of them."""
    names = list(valid)
    if isinstance(value, str) and value in names:
        return value
    raise DesignError(f"{what} {_shown(value)} is not known{suggestion(str(value), names)}", site)


def suggestion(name: str, valid: Iterable[str], *, most: int = 12) -> str:
    """Return "; did you mean ...? valid are ..." for the end of a message, as short as is useful."""
    names = list(dict.fromkeys(valid))
    close = nearest(name, names)
    parts = []
    if close:
        parts.append(f"did you mean {either(close)}?")
    if names and len(names) <= most:
        parts.append(f"valid {'is' if len(names) == 1 else 'are'} {', '.join(names)}")
    return f"; {' '.join(parts)}" if parts else ""


def _shown(value: object) -> str:
    shown = f'"{value}"' if isinstance(value, str) else repr(value)
    flat = " ".join(shown.split())
    return flat if len(flat) <= 60 else flat[:57] + "..."
