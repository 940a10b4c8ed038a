"""The blocks of a leaf as HTML.  Every text is escaped here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape as e

from modboard.bench.colours import BAND_COLOURS, WIRE_COLOURS
from modboard.view.booklet_blocks import (
    Block,
    Cell,
    Entry,
    Fact,
    Facts,
    Figures,
    Hint,
    Pair,
    Pairs,
    Table,
    Ticks,
    Words,
)  # fmt: skip

BLANK = '<span class="blank" role="img" aria-label="not said in the design: write it here">&nbsp;</span>'
_HINT = '<div class="hint" hidden><h3>What this tells</h3><div class="told"></div></div>'


def html(blocks: Iterable[Block]) -> str:
    """Return the blocks one after the other."""
    return "".join(_block(block) for block in blocks)


def _block(block: Block) -> str:
    if isinstance(block, Words):
        return _words(block)
    if isinstance(block, Figures):
        return f'<ul class="figures">{"".join(f"<li><b>{n}</b> {e(what)}</li>" for n, what in block.items)}</ul>'
    if isinstance(block, Ticks):
        rows = "".join(
            f'<li><label><input type="checkbox" data-k="{e(key)}"> {e(words)}</label></li>'
            for key, words in block.items
        )
        return f'<ul class="ticks">{rows}</ul>'
    if isinstance(block, Facts):
        return f"<dl>{''.join(_fact(row) for row in block.rows)}</dl>"
    if isinstance(block, Pairs):
        return f'<ol class="probes">{"".join(_pair(row) for row in block.rows)}</ol>'
    if isinstance(block, Entry):
        return _entry(block)
    if isinstance(block, Table):
        return _table(block)
    assert isinstance(block, Hint)
    return _HINT


def _words(block: Words) -> str:
    text = e(block.text)
    if block.sort == "heading":
        return f"<h3>{text}</h3>"
    if block.sort == "strong":
        return f"<p><b>{text}</b></p>"
    sort = "" if block.sort == "plain" else f' class="{block.sort}"'
    return f"<p{sort}>{text}</p>"


def _fact(row: Fact) -> str:
    text = f"<b>{e(row.text)}</b>" if row.strong else e(row.text)
    drawn = f"{band_strip(row.bands)} " if row.bands else ""
    sort = f' class="{row.sort}"' if row.sort else ""
    return f"<dt>{e(row.name)}</dt><dd{sort}>{drawn}{text}</dd>"


def _pair(row: Pair) -> str:
    """A probe pair with its two answers."""
    notes = "".join(f'<span class="note">{e(r)}</span>' for r in row.remarks)
    other = row.net if row.net != row.red else ""
    pair = f"red {row.red}{f' on {other}' if other else ''}, black {row.black}"
    touched = f" <i>{e(other)}</i>" if other else ""
    return (
        f'<li class="probe" data-k="{row.key}"><button type="button" class="pair" aria-label="show {e(pair)}">'
        f'<span class="r">{e(row.red)}</span> <span class="b">{e(row.black)}</span>{touched}</button> '
        f'<span class="answers" role="group" aria-label="{e(pair)}: {e(row.expect)}">'
        f'<button type="button" class="good" aria-pressed="false">{e(row.good)}</button>'
        f'<button type="button" class="bad" aria-pressed="false">{e(row.bad)}</button></span>{notes}</li>'
    )


def _entry(block: Entry) -> str:
    key = e(block.key)
    low, high = ("" if v is None else f"{v:g}" for v in (block.low, block.high))
    return (
        f'<p class="entry"><label for="i{key}">Your reading</label> <input id="i{key}" data-k="{key}" '
        f'data-low="{low}" data-high="{high}" inputmode="decimal" autocomplete="off" aria-describedby="u{key}"> '
        f'<span id="u{key}">{e(block.unit)}</span> <output for="i{key}"></output></p>'
    )


def _table(block: Table) -> str:
    names = "".join(f'<th scope="col">{e(h)}</th>' if h else "<td></td>" for h in block.head)
    head = f"<tr>{names}</tr>" if any(block.head) else ""
    rows = "".join(
        f"<tr{' class=cut' if n in block.marked else ''}>{''.join(_cell(cell) for cell in row)}</tr>"
        for n, row in enumerate(block.rows)
    )
    sort = f' class="{block.sort}"' if block.sort else ""
    return f'<div class="wide"><table{sort}>{head}{rows}</table></div>'


def _cell(cell: Cell) -> str:
    if cell.key:
        return f'<td><input type="checkbox" data-k="{e(cell.key)}" aria-label="{e(cell.text)}"></td>'
    text = BLANK if cell.blank else "<br>".join(e(line) for line in cell.text.split("\n"))
    if cell.strong:
        text = f"<b>{text}</b>"
    return f"<td>{wire_swatch(cell.colour) + ' ' if cell.colour else ''}{text}</td>"


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
