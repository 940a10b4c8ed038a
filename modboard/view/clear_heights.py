"""The clear heights above and below the largest board of a room, as steps of colour with figures and a key."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import shapely

from modboard.artwork import font
from modboard.fit.blank import Blank, Height
from modboard.view import colours
from modboard.view.dimensions import horizontal, ratio, vertical
from modboard.view.sheet import Projection, Sheet
from modboard.view.template import label_place

PAGE = (297.0, 210.0)  # mm, A4 across
EDGE = 14.0  # mm round everything
WIDE, HIGH = 108.0, 96.0  # mm for each of the two pictures
TOP = 32.0  # mm from the upper edge of the sheet to the pictures
MIDDLES = (84.0, 224.0)  # mm, where the pictures are centred
LIGHT, DARK = (232, 241, 248), (31, 100, 156)  # red, green, blue: the more height, the darker
UNKNOWN = "#FFFFFF"  # where nothing was measured
LEAST = 1.5  # mm on the sheet, the smallest figures; smaller zones are told by the key alone
ROW, KEY_ROW = 4.6, 6.0  # mm between lines
KEY_ROWS, KEY_COLUMNS = 4, 3

Level = Height | None


def clear_heights(blank: Blank, name: str) -> str:
    """Return an SVG sheet of the clear heights above and below the largest board."""
    sheet = Sheet(*PAGE, f"{name}: clear heights")
    x0, y0, x1, y1 = blank.cavity.inside.union(blank.outline).bounds
    scale = min(WIDE / (x1 - x0), HIGH / (y1 - y0))
    title = f"{name}: clear heights for parts, scale {ratio(scale)}"
    sheet.text(title, (EDGE, 14.0), colours.TITLE_LETTERS, widest=PAGE[0] - 2 * EDGE)
    deep = scale * (y1 - y0)
    steps = [_steps(blank, side) for side in (0, 1)]
    fills = _fills(level for side in steps for level, _ in side)
    for middle, words, side in zip(MIDDLES, ("above the board", "below the board"), steps, strict=True):
        project = Projection(scale, ((x0 + x1) / 2, (y0 + y1) / 2), (middle, TOP + deep / 2))
        sheet.text(words, (middle, 24.0), align="centre")
        _picture(sheet, project, blank, side, fills)
        _dimensions(sheet, project, blank)
        _key(sheet, [level for level, _ in side], fills, (middle - WIDE / 2, TOP + deep + 20.0))
    rows = min(KEY_ROWS, max((len(side) + KEY_COLUMNS - 1) // KEY_COLUMNS for side in steps))
    _list(sheet, blank, TOP + deep + 22.0 + KEY_ROW * rows)
    return sheet.svg()


def _steps(blank: Blank, side: int) -> list[tuple[Level, Any]]:
    """Return the ground of each clear height on one side, the greatest first, what was not measured last."""
    grounds: dict[Level, list[Any]] = {}
    for zone in blank.zones:
        grounds.setdefault((zone.above, zone.below)[side], []).append(zone.ground)
    order = sorted(grounds, key=lambda level: -1.0 if level is None else level.usable, reverse=True)
    return [(level, shapely.union_all(grounds[level], grid_size=1e-6)) for level in order]


def _fills(levels: Iterable[Level]) -> dict[Level, str]:
    """Return a shade for each height, each its own, darker with its rank."""
    known = sorted({level for level in levels if level is not None}, key=lambda level: (level.usable, level.nominal))
    fills: dict[Level, str] = {None: UNKNOWN}
    for number, level in enumerate(known):
        fills[level] = _mixed((number + 1) / len(known))
    return fills


def _mixed(share: float) -> str:
    """Return the colour at a share (0 to 1) of the way from the lightest to the darkest shade."""
    mixed = [round(a + share * (b - a)) for a, b in zip(LIGHT, DARK, strict=True)]
    return "#" + "".join(f"{value:02X}" for value in mixed)


def _picture(
    sheet: Sheet, project: Projection, blank: Blank, steps: list[tuple[Level, Any]], fills: dict[Level, str]
) -> None:
    sheet.line(list(project.area(blank.cavity.inside).exterior.coords), 0.18, colours.SOFT_INK, dashes="2 1.2")
    for level, ground in steps:
        sheet.area(project.area(ground), fill=fills[level], colour=colours.SOFT_INK, weight=0.18)
    sheet.area(project.area(blank.outline), colour=colours.INK, weight=colours.THICK)
    for hole in blank.holes:
        sheet.circle(project(hole.at), hole.diameter * project.scale, fill=colours.PAPER)
    for level, ground in steps:
        for piece in shapely.get_parts(ground):
            _letter(sheet, project, blank, piece, _words(level))


def _words(level: Level) -> str:
    return "?" if level is None else f"{level.usable:.1f} ({level.nominal:.1f})"


def _letter(sheet: Sheet, project: Projection, blank: Blank, piece: Any, words: str) -> None:
    """Letter a height in its ground, in letters that stay within it; leave it to the key where they would not."""
    holes = [shapely.Point(h.at).buffer(h.diameter / 2) for h in blank.holes]
    clear = piece.difference(shapely.union_all(holes)) if holes else piece
    spots = (piece.centroid.coords[0], label_place(blank, piece)[0])
    for height in (colours.LETTERS, 2.0, LEAST):
        across = (font.length(words, height) / 2 + 0.8) / project.scale
        up = (height / 2 + 0.8) / project.scale
        for x, y in spots:
            if clear.covers(shapely.box(x - across, y - up, x + across, y + up)):
                sheet.text(words, project((x, y)), height, align="centre", halo=True)
                return


def _dimensions(sheet: Sheet, project: Projection, blank: Blank) -> None:
    """Dimension the board, and its lower left corner from the inside faces, beside the picture."""
    x0, y0, x1, y1 = blank.outline.bounds
    cx0, cy0, _, _ = blank.cavity.inside.union(blank.outline).bounds
    row, column = project((cx0, cy0))[1] + 9.0, project((cx0, cy0))[0] - 7.0
    horizontal(sheet, project((x0, y0)), project((x1, y0)), row, x1 - x0)
    vertical(sheet, project((x0, y0)), project((x0, y1)), column, y1 - y0)


def _key(sheet: Sheet, levels: list[Level], fills: dict[Level, str], at: tuple[float, float]) -> None:
    """Draw a patch of every shade with its height; if there are too many, the last place says how many more."""
    most = KEY_ROWS * KEY_COLUMNS
    shown = levels if len(levels) <= most else levels[: most - 1]
    places = [(at[0] + 38.0 * (k % KEY_COLUMNS), at[1] + KEY_ROW * (k // KEY_COLUMNS)) for k in range(most)]
    for level, (x, y) in zip(shown, places, strict=False):
        sheet.area(shapely.box(x, y - 1.8, x + 6.0, y + 1.8), fill=fills[level], colour=colours.SOFT_INK)
        words = "not measured" if level is None else f"{_words(level)} mm"
        sheet.text(words, (x + 8.0, y), colours.LETTERS * 0.88, widest=29.0)
    if len(shown) < len(levels):
        sheet.text(f"and {len(levels) - len(shown)} less high", places[-1], colours.LETTERS * 0.88, widest=37.0)


def _list(sheet: Sheet, blank: Blank, top: float) -> None:
    """Letter size, heights, holes and remarks below; what finds no room is counted in the last line."""
    rows = [
        "Usable mm: every ± and 0.5 mm of air taken off; in brackets as measured. Dashed: inside faces.",
        *blank.words,
    ]
    room = int((PAGE[1] - 8.0 - top) / ROW)
    wide = PAGE[0] - 2 * EDGE
    columns = 1 if len(rows) <= room else 2
    if len(rows) > columns * room:
        left = len(rows) - columns * room + 1
        rows = [*rows[: columns * room - 1], f"and {left} more lines: modboard fit lists them all"]
    for number, line in enumerate(rows):
        column, row = divmod(number, room)
        at = (EDGE + column * wide / 2, top + ROW * row)
        sheet.text(line, at, colours.LETTERS * 0.88, widest=wide / columns - 3.0)
