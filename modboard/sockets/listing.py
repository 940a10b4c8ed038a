"""The table of an adapter as text for a terminal and as CSV (RFC 4180)."""

from __future__ import annotations

import csv
import io

from modboard.sockets.match import Row, Table

HEADINGS = ("chip pin", "name", "", "socket contact", "name", "note")


def text(table: Table) -> str:
    """Return the table with a line of counts above and, below, what would happen without the adapter."""
    rows = [HEADINGS, *(_cells(row) for row in table.rows)]
    wide = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    lines = [f"{table.chip.name} ({table.chip.title}) in the socket of a {table.host.name} ({table.host.title})"]
    lines.append(counts(table))
    lines += ["  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows]
    if table.plugged:
        lines.append("plugged in without an adapter it would do harm:")
        lines += [f"  {line}" for line in table.plugged]
    return "\n".join(lines) + "\n"


def counts(table: Table) -> str:
    """Return how many pins there are of each kind: '22 straight, 2 moved, 4 new'."""
    kinds = list(dict.fromkeys(row.kind for row in table.rows))
    return ", ".join(f"{len(table.of(kind))} {kind}" for kind in kinds)


def as_csv(table: Table) -> str:
    """Return the rows as CSV with the columns kind, chip_pin, chip_name, host_pin, host_name, note."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("kind", "chip_pin", "chip_name", "host_pin", "host_name", "note"))
    for row in table.rows:
        writer.writerow((row.kind, row.chip, row.chip_name, row.host, row.host_name, row.note))
    return out.getvalue()


def _cells(row: Row) -> tuple[str, ...]:
    return (row.chip, row.chip_name, row.kind, row.host, row.host_name, row.note)
