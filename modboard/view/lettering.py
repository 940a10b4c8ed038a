"""Letters that keep clear of one another: each goes to the first of its places that is free and on the sheet."""

from __future__ import annotations

from collections.abc import Iterable

from modboard.artwork import font
from modboard.geometry import Position
from modboard.view import colours
from modboard.view.sheet import Sheet

Box = tuple[float, float, float, float]
AIR = 0.4  # mm round letters
MARGIN = 3.0  # mm that stay empty at the sheet's edges


class Lettering:
    """The letters of one sheet so far."""

    def __init__(self, sheet: Sheet) -> None:
        """Begin with a sheet on which nothing is taken."""
        self.sheet = sheet
        self.taken: list[Box] = []

    def free(self, box: Box) -> bool:
        """Tell whether a box is on the sheet and meets nothing that is taken."""
        wide, high = self.sheet.width - MARGIN, self.sheet.height - MARGIN
        on = box[0] >= MARGIN and box[1] >= MARGIN and box[2] <= wide and box[3] <= high
        return on and not any(box[0] < t[2] and t[0] < box[2] and box[1] < t[3] and t[1] < box[3] for t in self.taken)

    def put(
        self, string: str, places: Iterable[Position], height: float = colours.SMALL_LETTERS, colour: str = colours.INK,
        *, must: bool = False,
    ) -> bool:  # fmt: skip
        """Letter `string` centred on the first free place; if there is none, nowhere, or with `must` on the first."""
        long = font.length(string, height)
        first: Position | None = None
        for x, y in places:
            first = first or (x, y)
            box = (x - long / 2 - AIR, y - height * 0.8 - AIR, x + long / 2 + AIR, y + height * 0.8 + AIR)
            if self.free(box):
                break
        else:
            if first is None or not must:
                return False
            (x, y) = first
            box = (x - long / 2, y - height, x + long / 2, y + height)
        self.taken.append(box)
        self.sheet.text(string, (x, y), height, align="centre", colour=colour, halo=True)
        return True
