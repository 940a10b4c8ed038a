"""The legend's own lettering: every character drawn with single strokes of a round pen.

Glyphs stand on a grid of unit squares with corners cut at 45°, as a draughtsman letters with a ruling pen:
base line at row 2, small letters to row 6, capitals and figures to row 8, tails down to row 0.  A glyph is
written as words; each word is one stroke, each two digits of it a point, column then row.  Widths follow
the glyph, so that "I" takes less room than "W".
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import Literal

from modboard.geometry import Position, exact_cos_sin

Polyline = tuple[Position, ...]
Align = Literal["left", "centre", "right"]

BASE, CAPITAL, TOP = 2, 8, 9  # rows; the cell runs from row 0 to TOP
UNITS_HIGH = CAPITAL - BASE  # grid units in the height of a capital
BETWEEN = 2  # grid units from one glyph to the next
SPACE = 2  # grid units, width of a blank
DOT = 0.4  # grid units; a dot is a dash this long, as a stroke of no length is not drawn by every output

# fmt: off
GLYPHS: dict[str, str] = {
    "A": "0206284642 0444", "B": "02083847463505 3544433202", "C": "4738180703123243", "D": "02082846442202",
    "E": "48080242 0535", "F": "480802 0535", "G": "47381807031232434525", "H": "0208 4248 0545",
    "I": "0222 0828 1218", "J": "3833221203", "K": "0208 4804 1542", "L": "080242", "M": "0208254842",
    "N": "02084248", "O": "180703123243473818", "P": "02083847463505", "Q": "180703123243473818 2442",
    "R": "02083847463505 2542", "S": "473818070615354443321203", "T": "0848 2228", "U": "080312324348",
    "V": "082248", "W": "0812253248", "X": "0248 0842", "Y": "082548 2522", "Z": "08480242",
    "0": "180703123243473818 0347", "1": "071812 0222", "2": "07183847460242", "3": "0718384746354443321203 1535",
    "4": "32380444", "5": "480805354443321203", "6": "4738180703123243443505", "7": "084812",
    "8": "15060718384746351504031232434435", "9": "0312324347381807061545",
    "a": "3632 3526160503122233", "b": "0802 0516263533221203", "c": "3526160503122233",
    "d": "3832 3526160503122233", "e": "043435261605031232", "f": "38281712 0636", "g": "36312000 3526160503122233",
    "h": "0802 0516263532", "i": "0206 08", "j": "26211000 28", "k": "0802 3603 1432", "l": "080312",
    "m": "0602 05162522 25364542", "n": "0602 0516263532", "o": "160503122233352616",
    "p": "0600 0516263533221203", "q": "3630 3526160503122233", "r": "0602 051626", "s": "3616051424332202",
    "t": "18132232 0636", "u": "0603122233 3632", "v": "062246", "w": "0612243246", "x": "0236 0632",
    "y": "0603122233 36312000", "z": "06360232",
    ".": "02", ",": "1201", ":": "03 06", ";": "16 1201", "!": "0804 02", "?": "071838474624 22", "'": "0806",
    '"': "0806 2826", "`": "0817", "-": "0535", "_": "0141", "+": "0545 2327", "=": "0444 0646", "/": "0248",
    "\\": "0842", "|": "0109", "(": "18070312", ")": "08171302", "[": "18080212", "]": "08181202",
    "{": "28171605141322", "}": "08171625141302", "<": "470543", ">": "074503", "*": "2327 0446 0644",
    "#": "1218 3238 0444 0646", "%": "0248 0708181707 3233434232", "&": "4206071827260403122244",
    "@": "433212030718384744242646", "$": "473818070615354443321203 2129", "^": "062846", "~": "05163445",
    "°": "1807162718", "±": "0646 2428 0242", "µ": "0600 03122233 3632", "Ω": "021213050718384745333242",
    "×": "0337 0733", "·": "05", "–": "0545", "≤": "480644 0242", "≥": "084604 0242", "Δ": "02284202",
    "π": "0646 1612 3632", "Ø": "180703123243473818 0248", "→": "0545 274523", "←": "0545 270523",
    "↑": "2228 062846", "↓": "2228 042244", "²": "0818170616", "≈": "04153344 06173546", "√": "04122848",
}
# fmt: on
SAME = {"μ": "µ", "—": "–", "−": "–", "⁄": "/", "⌀": "Ø", "’": "'", "‘": "'", "“": '"', "”": '"', "•": "·"}
UNKNOWN = "0208484202"  # a box


@cache
def glyph(character: str) -> tuple[tuple[Polyline, ...], float]:
    """Return the strokes of one character in grid units (base line at 0) and its width in units.

    A letter with an accent that has no glyph of its own is drawn without the accent; anything else that is
    unknown is a box.
    """
    if character.isspace():
        return (), float(SPACE)
    character = SAME.get(character, character)
    if character not in GLYPHS:
        plain = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
        character = SAME.get(plain, plain)
    words = GLYPHS.get(character, UNKNOWN).split()
    strokes = tuple(_points(word) for word in words)
    return strokes, max(x for stroke in strokes for x, _ in stroke)


def _points(word: str) -> Polyline:
    """Return the points of one stroke; a single point becomes a short dash."""
    points = tuple(
        (float(column), float(row) - BASE)
        for column, row in zip(map(int, word[::2]), map(int, word[1::2]), strict=True)
    )
    if len(points) > 1:
        return points
    ((x, y),) = points
    return ((x, y - DOT / 2), (x, y + DOT / 2))


def length(string: str, height: float) -> float:
    """Return how long `string` is in mm between the pen's centre lines, with capitals `height` mm high."""
    if not string:
        return 0.0
    return (sum(glyph(c)[1] for c in string) + BETWEEN * (len(string) - 1)) * height / UNITS_HIGH


def text(
    string: str,
    at: Position,
    height: float,
    turn: float = 0.0,
    mirrored: bool = False,
    align: Align = "left",
) -> list[Polyline]:
    """Return the strokes of `string` as polylines in mm.

    `at` lies half way up the capitals, at the left end, centre or right end of the text as `align` says.
    `height` is that of the capitals, from centre line to centre line of the pen.  The text is mirrored left to right
    about `at` if asked for (to be read from below the board), then turned by `turn` degrees counter-clockwise.
    """
    scale = height / UNITS_HIGH
    cos, sin = exact_cos_sin(turn)
    left = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * length(string, height)
    lines: list[Polyline] = []
    x0 = -left
    for character in string:
        strokes, width = glyph(character)
        for stroke in strokes:
            points = []
            for gx, gy in stroke:
                x, y = x0 + gx * scale, gy * scale - height / 2
                x = -x if mirrored else x
                points.append((at[0] + x * cos - y * sin, at[1] + x * sin + y * cos))
            lines.append(tuple(points))
        x0 += (width + BETWEEN) * scale
    return lines


def extent(string: str, height: float) -> tuple[float, float, float, float]:
    """Return (least x, least y, greatest x, greatest y) in mm of centred text that is not turned, pen not included."""
    points = [p for line in text(string, (0.0, 0.0), height, align="centre") for p in line]
    if not points:
        return (0.0, 0.0, 0.0, 0.0)
    half = length(string, height) / 2
    return (-half, min(y for _, y in points), half, max(y for _, y in points))
