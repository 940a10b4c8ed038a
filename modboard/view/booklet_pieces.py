"""The small pieces that leaves are made of: ticks, probe rows, swatches, and how rows fill leaves."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape as e
from typing import Any

from modboard.bench.colours import BAND_COLOURS, WIRE_COLOURS

BLANK = '<span class="blank" role="img" aria-label="not said in the design: write it here">&nbsp;</span>'
MOST_HEADINGS = 6  # nets on one leaf
MOST_ROWS = 12  # probes on one leaf; more go onto another


def tick(key: str, words: str) -> str:
    """A line with a box to tick that the page remembers."""
    return f'<li><label><input type="checkbox" data-k="{e(key)}"> {e(words)}</label></li>'


def tick_box(key: str, words: str) -> str:
    """A box by itself, named for those who cannot see the row."""
    return f'<input type="checkbox" data-k="{e(key)}" aria-label="{e(words)}">'


def row(
    key: str, red: str, black: str, good: str, bad: str, expect: str, remarks: Iterable[str] = (), net: str = ""
) -> str:
    """A probe pair with its two answers; `net` is what red touches, where it is not the heading's."""
    notes = "".join(f'<span class="note">{e(r)}</span>' for r in remarks)
    pair = f"red {red}, black {black}"
    touched = f" <i>{e(net)}</i>" if net and net != red else ""
    return (
        f'<li class="probe" data-k="{key}"><button type="button" class="pair" aria-label="show {e(pair)}">'
        f'<span class="r">{e(red)}</span> <span class="b">{e(black)}</span>{touched}</button> '
        f'<span class="answers" role="group" aria-label="{e(pair)}: {e(expect)}">'
        f'<button type="button" class="good" aria-pressed="false">{e(good)}</button>'
        f'<button type="button" class="bad" aria-pressed="false">{e(bad)}</button></span>{notes}</li>'
    )


def band_strip(colours: tuple[str, ...]) -> str:
    """A resistor drawn lying, with its bands."""
    stripes = "".join(
        f'<rect x="{7 + 6 * k + (4 if k == len(colours) - 1 else 0)}" y="2" width="3.4" height="12" '
        f'fill="{BAND_COLOURS[c]}"/>'
        for k, c in enumerate(colours)
    )
    width = 20 + 6 * len(colours)
    return (
        f'<svg class="strip" viewBox="0 0 {width} 16" aria-hidden="true"><path d="M0 8H{width}" stroke="#9a9fa6" '
        f'stroke-width="1.6"/><rect x="3" y="2" width="{width - 6}" height="12" rx="4" fill="#e6d5b0"/>{stripes}</svg>'
    )


def wire_swatch(colour: str) -> str:
    """A short piece of wire in its colour."""
    return (
        f'<svg class="wire" viewBox="0 0 30 8" aria-hidden="true"><path d="M0 4H30" stroke="#b08d57" stroke-width="2"/>'
        f'<rect x="5" y="1" width="20" height="6" rx="2" fill="{WIRE_COLOURS[colour]}" stroke="#777" '
        'stroke-width=".5"/></svg>'
    )


def probe(key: str, sort: str, red: Any, black: Any, number: int, net: str = "") -> dict[str, Any]:
    """What the script knows of one pair."""
    return {"k": key, "t": sort, "i": number, "net": net, "r": spot(red), "b": spot(black)}


def spot(point: Any) -> dict[str, Any]:
    """A point as the script reads it."""
    return {"p": point.pad, "s": point.side, "at": [round(point.at[0], 3), round(point.at[1], 3)]}


def hint() -> str:
    """Where the page writes what the answers tell."""
    return '<div class="hint" hidden><h3>What this tells</h3><div class="told"></div></div>'


def packed(chunks: list[tuple[str, list[Any]]]) -> list[list[tuple[str, list[Any]]]]:
    """Put chunks together, in order, on leaves of at most MOST_ROWS rows and MOST_HEADINGS headings."""
    found: list[list[tuple[str, list[Any]]]] = []
    for chunk in chunks:
        if found and len(found[-1]) < MOST_HEADINGS and sum(len(c) for _, c in found[-1]) + len(chunk[1]) <= MOST_ROWS:
            found[-1].append(chunk)
        else:
            found.append([chunk])
    return found


def listed_names(names: list[str]) -> str:
    """Names as one reads them out."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def chunks(items: list[Any]) -> list[list[Any]]:
    """Cut a long list into leaves."""
    return [items[k : k + MOST_ROWS] for k in range(0, len(items), MOST_ROWS)]
