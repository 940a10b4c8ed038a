"""How rows fill leaves, and what the page's script knows of a probe."""

from __future__ import annotations

from typing import Any

MOST_HEADINGS = 6  # nets on one leaf
MOST_ROWS = 12  # probes on one leaf; more go onto another


def probe(key: str, sort: str, red: Any, black: Any, number: int, net: str = "") -> dict[str, Any]:
    """What the script knows of one pair."""
    return {"k": key, "t": sort, "i": number, "net": net, "r": spot(red), "b": spot(black)}


def spot(point: Any) -> dict[str, Any]:
    """A point as the script reads it."""
    return {"p": point.pad, "s": point.side, "at": [round(point.at[0], 3), round(point.at[1], 3)]}


def packed(chunks: list[tuple[str, list[Any]]], *, loose: bool = False) -> list[list[tuple[str, list[Any]]]]:
    """Put chunks together, in order, on leaves of at most MOST_ROWS rows and MOST_HEADINGS headings.

    `loose` rows, alone in their chunk, need no heading.
    """
    found: list[list[tuple[str, list[Any]]]] = []
    for chunk in chunks:
        together = [*found[-1], chunk] if found else []
        headings = sum(1 for _, c in together if not (loose and len(c) == 1))
        if found and headings <= MOST_HEADINGS and sum(len(c) for _, c in together) <= MOST_ROWS:
            found[-1].append(chunk)
        else:
            found.append([chunk])
    return found


def listed_names(names: list[str]) -> str:
    """Names as one reads them out; the first five of many."""
    if len(names) > MOST_HEADINGS:
        names = [*names[: MOST_HEADINGS - 1], f"{len(names) - MOST_HEADINGS + 1} more"]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def chunks(items: list[Any]) -> list[list[Any]]:
    """Cut a long list into leaves."""
    return [items[k : k + MOST_ROWS] for k in range(0, len(items), MOST_ROWS)]
