"""Gerber layer text → objects and image.  Knows X2 and X3 files as they should be, and their older neighbours.

Read: C, R, O and P apertures with and without hole, macros (see `macros`), block apertures, step and repeat, apertures
mirrored, turned and enlarged, draws, arcs in both quadrant modes, regions, dark and clear, millimetres and inches,
leading or trailing zeros left out, all attributes.  Deprecated commands and loose habits that can mean one thing only
are read with a warning; all else (offsets, scales and turns of the whole image) raises ReadError with file and line.

Section numbers: Ucamco, Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from modboard.fab.readback import deprecated
from modboard.fab.readback.extended import ExtendedCommands
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.macros import MacroError
from modboard.fab.readback.notation import NotationError

QUARTER_SEGMENTS = 32
END_OF_TEXT = "\x1a\0 \r\n\t"  # what old disks leave behind the last line
_COMMAND = re.compile(r"%(?P<extended>[^%]*)%|(?P<word>[^*%]*)\*")
_LINE_NUMBER = re.compile(r"N\d{1,9}(?=[GDMXY])")
_SEVERAL = re.compile(r"G(?:0?[123]|3[67]|5[45]|7[0145]|9[01])(?=G\d)")
_OPERATION = re.compile(
    r"(?P<mode>G0?[123])?(?:X(?P<x>[-+]?\d+))?(?:Y(?P<y>[-+]?\d+))?(?:I(?P<i>[-+]?\d+))?(?:J(?P<j>[-+]?\d+))?"
    r"(?:D0?(?P<code>[123]))?"
)


def read_gerber(text: str, name: str = "layer", quarter_segments: int = QUARTER_SEGMENTS) -> ReadLayer:
    """Return what the Gerber file `text` holds; `name` is used in errors.

    `quarter_segments` is the number of chords that stand for a quarter circle.

    Raises ReadError, with file and line, for anything that breaks the format, is not read, or is more than any board.
    """
    return _Reader(text, name, quarter_segments).read()


class _Reader(ExtendedCommands):
    last_code = ""
    ended = False

    def read(self) -> ReadLayer:
        try:
            for extended, command in self._commands():
                if self.ended:
                    self.fail("something follows the end of the file (M02)")
                if extended:
                    self.extended(command)
                else:
                    self._word(command.replace("\r", "").replace("\n", ""))
        except (MacroError, NotationError) as error:
            self.fail(str(error))
        if not self.ended:
            self.fail("the file ends without M02: part of it is missing")
        return ReadLayer(
            self.name,
            self.file_attributes,
            tuple(self.pen.objects()),
            self.checksum_holds,
            self.segments,
            self.text,
            tuple(self.warnings.values()),
            self.negative,
        )

    def _commands(self) -> Iterator[tuple[bool, str]]:
        place, length = 0, len(self.text.rstrip(END_OF_TEXT))
        while place < length:
            if self.text[place].isspace():
                place += 1
                continue
            self.place = place
            found = _COMMAND.match(self.text, place)
            if not found:
                self.fail("a command does not end with * or %")
            if found["extended"] is not None:
                yield True, found["extended"]
            else:
                yield False, found["word"]
            place = found.end()
        self.place = max(0, len(self.text) - 1)

    # ----- word commands

    def _word(self, word: str) -> None:
        if found := _LINE_NUMBER.match(word):
            self.warn("a line number")
            word = word[found.end() :]
        while found := _SEVERAL.match(word):
            self.warn("several commands in one word")
            self._one_word(found[0])
            word = word[found.end() :]
        self._one_word(word)

    def _one_word(self, word: str) -> None:
        if word and (found := _OPERATION.fullmatch(word)):
            self._operation(word, found)
        elif found := re.fullmatch(r"(G54)?D(\d{1,10})", word):
            if found[1]:
                self.warn("G54")
            self._select(int(found[2]))
        elif word.startswith("G04") or word.startswith("G4 "):
            comment = word[3:].strip()
            if comment.startswith("#@!"):
                self.attribute(comment[3:].strip())
        elif word in ("G74", "G75"):
            if word == "G74":
                self.warn("G74 (single-quadrant arcs)")
            self.pen.multi_quadrant = word == "G75"
        elif word == "G36":
            self.pen.start_region()
        elif word == "G37":
            self.pen.end_region(dict(self.aperture_attributes), self.line())
        elif word in ("M02", "M00"):
            self._end(word)
        elif word in ("G70", "G71"):
            self._unit(word)
        elif word in ("G90", "G91"):
            self.warn(word)
            self.notation.incremental = word == "G91"
        elif word in deprecated.WORDS:
            self.warn(word)
        elif word:
            self.fail(f"command {word[:40]!r} is not read")

    def _operation(self, word: str, found: re.Match[str]) -> None:
        pen, code = self.pen, found["code"]
        if mode := found["mode"]:
            pen.mode = f"G0{mode[-1]}"
            if len(mode) < 3:
                self.warn("a code of one digit")
            if word == mode:
                return
            self.warn("a mode and a place in one word")
        if code is None:
            if self.last_code != "1":
                self.fail(f"{word[:40]!r} does not say what to do at that place (D01, D02 or D03)")
            self.warn("a place without a D code")
            code = "1"
        elif word[-2] != "0":
            self.warn("a code of one digit")
        self.last_code = code
        end = (self._coordinate(found["x"], 0), self._coordinate(found["y"], 1))
        if code == "1":
            i, j = found["i"], found["j"]
            offset = (
                None if i is None else self.notation.length(i, 0),
                None if j is None else self.notation.length(j, 1),
            )
            pen.draw(end, offset, self.line())
        elif found["i"] is not None or found["j"] is not None:
            self.fail("I and J belong to D01 only")
        elif code == "2":
            pen.move(end)
        else:
            pen.flash(end, self.line())

    def _coordinate(self, digits: str | None, axis: int) -> float:
        at = self.pen.at[axis]
        if digits is None:
            return at
        length = self.notation.length(digits, axis)
        return at + length if self.notation.incremental else length

    def _select(self, code: int) -> None:
        if code not in self.apertures:
            self.fail(f"aperture D{code} is used but not defined")
        self.pen.aperture = self.apertures[code]

    def _end(self, word: str) -> None:
        if self.pen.contours is not None:
            self.fail("the file ends inside a region")
        if self.blocks:
            self.fail("the file ends inside a block aperture")
        if word == "M00":
            self.warn("M00")
        self.close_step()
        self.ended = True
