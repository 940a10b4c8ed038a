"""Names in letters that a type lacks, spelled with those it has: rather a long word than a lost one.

Greek by the names of the letters (Unicode), as one says them; Cyrillic as in passports, without signs (ICAO Doc 9303
part 3, from memory); letters with marks without them; anything else by its number, "[U+6F22]".
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container

_GREEK = re.compile(r"GREEK (SMALL|CAPITAL) LETTER (?:FINAL )?([A-Z]+)")
_SAME = {"\u03bc": "\u00b5", "\u2126": "\u03a9", "\u212b": "\u00c5"}  # mu and micro, ohm and omega, angstrom
_SOUNDS = "a b v g d e e zh z i i k l m n o p r s t u f kh ts ch sh shch ie y - e iu ia i i ie g u j"
_CYRILLIC = dict(zip("абвгдеёжзийклмнопрстуфхцчшщъыьэюяіїєґўј", _SOUNDS.split(), strict=True))


def spelled(text: str, glyphs: Container[int]) -> str:
    """Return `text` with every letter not in `glyphs` (code points) spelled by those that are."""
    return "".join(_letter(letter, glyphs) for letter in unicodedata.normalize("NFC", text))


def _letter(letter: str, glyphs: Container[int]) -> str:
    if ord(letter) in glyphs and not unicodedata.category(letter).startswith("C"):
        return letter
    same = _SAME.get(letter, "")
    if same and ord(same) in glyphs:
        return same
    if letter.lower() in _CYRILLIC:
        latin = _CYRILLIC[letter.lower()].replace("-", "")
        return latin if letter.islower() else latin.capitalize()
    if named := _GREEK.match(unicodedata.name(letter, "")):
        return named[2].lower() if named[1] == "SMALL" else named[2].capitalize()
    if unicodedata.category(letter) in ("Mn", "Cf"):  # marks over a letter, and what only guides the eye
        return ""
    plain = unicodedata.normalize("NFKD", letter)
    nearest = "".join(c for c in plain if ord(c) in glyphs and unicodedata.category(c) != "Cc")
    return nearest or f"[U+{ord(letter):04X}]"
