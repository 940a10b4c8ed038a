"""Prices of parts, read from a CSV file that a person keeps: what the parts of a board cost together."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path

from modboard.describe.model import Part
from modboard.errors import ModboardError

COLUMNS = "part,price"


@dataclass(frozen=True)
class Prices:
    """What one piece of each part costs, by "device value" or by device alone, in lower case, and in what money."""

    each: Mapping[str, Decimal]
    currency: str = ""

    def of(self, part: Part) -> Decimal | None:
        """Return what one `part` costs: the price of device and value, else of the value, else of the device."""
        names = (f"{part.kind} {part.value}", part.value, part.kind)
        return next((self.each[key] for n in names if (key := n.strip().casefold()) in self.each), None)


def read_prices(path: Path) -> Prices:
    """Return the prices in a CSV file with the columns part and price; ``price EUR`` names the money.

    Raises ModboardError, with file and line, for a file that cannot be read, a price that is no number and a part
    listed twice.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        cause = error.strerror if isinstance(error, OSError) else "it is not text in UTF-8"
        raise ModboardError(f"{path}: cannot be read as a price list, {cause}; save it as CSV, part,price") from error
    reader = csv.reader(io.StringIO(text))
    heading = [cell.strip() for cell in next(reader, [])]
    words = heading[1].split() if len(heading) > 1 else []
    if not words or heading[0].casefold() != "part" or words[0].casefold() != "price":
        raise ModboardError(f'{path.name}:1: the first line must be "{COLUMNS}" or, with money, "{COLUMNS} EUR"')
    each: dict[str, Decimal] = {}
    for row in reader:
        cells = [cell.strip() for cell in row]
        if not any(cells):
            continue
        place = f"{path.name}:{reader.line_num}"
        if len(cells) < 2:
            raise ModboardError(f"{place}: a line needs a part and a price")
        if cells[0].casefold() in each:
            raise ModboardError(f'{place}: part "{cells[0]}" has a price already')
        each[cells[0].casefold()] = _money(cells[1], place)
    return Prices(each, words[1] if len(words) > 1 else "")


def _money(text: str, place: str) -> Decimal:
    try:
        price = Decimal(text)
    except InvalidOperation:
        price = Decimal(-1)
    if not price.is_finite() or not 0 <= price < 1_000_000:
        raise ModboardError(f'{place}: price "{text}" is not a plain number, e.g. 0.12')
    return price
