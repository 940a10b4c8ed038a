"""Parts list: what to buy, one line for each kind of part, as CSV (RFC 4180, UTF-8), costed if prices are given."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from decimal import Decimal

from modboard.artwork.drawings import is_bought
from modboard.artwork.model import Artwork
from modboard.describe.model import Part
from modboard.fab.attributes import value_of
from modboard.fab.prices import Prices

COLUMNS = ("count", "references", "device", "value", "footprint", "note", "fitted")
_FORMULA_START = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[-+]?[0-9][0-9.,]*([eE][-+]?[0-9]+)?")


def parts_list(artwork: Artwork, prices: Prices | None = None) -> str:
    """Return the parts list: parts alike in device, value, footprint and note share a line.

    Parts marked as not fitted come last and say so.  Wire pads and the like, which nobody buys, are left out.
    With `prices` each line says what a piece and all of them cost, and the last line what the fitted parts cost
    together; a part without a price has empty cells there.
    """
    rows = [[str(len(parts)), *cells] for parts, cells in _groups(artwork)]
    if prices is None:
        return csv_text(COLUMNS, rows)
    money = f" {prices.currency}" if prices.currency else ""
    for row, (parts, _) in zip(rows, _groups(artwork), strict=True):
        each = prices.of(parts[0])
        row.extend(["", ""] if each is None else [f"{each}", f"{each * len(parts)}"])
    total, missing = cost(artwork, prices)
    said = f"without {', '.join(missing)}, which have no price" if missing else "all fitted parts"
    rows.append(["", "", "total", "", "", said, "", "", f"{total}"])
    return csv_text((*COLUMNS, f"each{money}", f"together{money}"), rows)


def cost(artwork: Artwork, prices: Prices) -> tuple[Decimal, list[str]]:
    """Return what the fitted parts cost together, and the references of those without a price."""
    total, missing = Decimal(0), []
    for parts, cells in _groups(artwork):
        each = prices.of(parts[0])
        if cells[-1] == "no":
            continue
        if each is None:
            missing += [p.reference for p in parts]
        else:
            total += each * len(parts)
    return total, sorted(missing, key=natural)


def _groups(artwork: Artwork) -> list[tuple[list[Part], list[str]]]:
    """Return the parts that share a line, and the line's cells after the count, in order."""
    groups: dict[tuple[str, ...], list[Part]] = {}
    for part in artwork.board.description.parts:
        if is_bought(part):
            key = ("yes" if part.fitted else "no", part.kind, part.value, part.footprint.name, part.note)
            groups.setdefault(key, []).append(part)
    found = []
    for (fitted, kind, _, footprint, note), parts in groups.items():
        references = sorted((p.reference for p in parts), key=natural)
        found.append((parts, [", ".join(references), kind, value_of(parts[0]), footprint, note, fitted]))
    return sorted(found, key=lambda group: (group[1][-1] == "no", natural(group[1][0])))


def natural(text: str) -> tuple[tuple[int, str], ...]:
    """Return a sorting key that puts R2 before R10."""
    return tuple((int(run), "") if run.isdigit() else (-1, run) for run in re.findall(r"[0-9]+|[^0-9]+", text))


def csv_text(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return CSV text; a cell that a spreadsheet would run as a formula gets an apostrophe in front."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()


def harmless(cell: str) -> str:
    """Return `cell` unless it starts like a formula and is no number."""
    return f"'{cell}" if cell.startswith(_FORMULA_START) and not _NUMBER.fullmatch(cell) else cell
