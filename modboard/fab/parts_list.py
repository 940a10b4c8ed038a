"""Parts list: what to buy, one line for each kind of part, as CSV (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

from modboard.artwork.model import Artwork
from modboard.describe.model import Part
from modboard.fab.attributes import value_of

COLUMNS = ("count", "references", "device", "value", "footprint", "note", "fitted")
_FORMULA_START = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[-+]?[0-9][0-9.,]*([eE][-+]?[0-9]+)?")


def parts_list(artwork: Artwork) -> str:
    """Return the parts list: parts alike in device, value, footprint and note share a line.

    Parts marked as not fitted come last and say so.  Wire pads and the like, which nobody buys, are left out.
    """
    groups: dict[tuple[str, ...], list[Part]] = {}
    for part in artwork.board.description.parts:
        if part.footprint.technology != "none":
            key = ("yes" if part.fitted else "no", part.kind, part.value, part.footprint.name, part.note)
            groups.setdefault(key, []).append(part)
    rows = []
    for (fitted, kind, _, footprint, note), parts in groups.items():
        references = sorted((p.reference for p in parts), key=natural)
        rows.append([str(len(parts)), ", ".join(references), kind, value_of(parts[0]), footprint, note, fitted])
    rows.sort(key=lambda row: (row[-1] == "no", natural(row[1])))
    return csv_text(COLUMNS, rows)


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
