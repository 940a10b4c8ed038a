"""Extended commands of a Gerber file (those between two %): formats, apertures, blocks, steps and attributes.

Section numbers: Ucamco, Gerber Layer Format Specification (GLFS).
"""

from __future__ import annotations

import hashlib
import re
from bisect import bisect_right
from collections.abc import Callable
from typing import NoReturn

from modboard.fab.readback import deprecated
from modboard.fab.readback.apertures import Aperture, defined_aperture
from modboard.fab.readback.copies import Pose, repeated
from modboard.fab.readback.graphics import Block, Graphics
from modboard.fab.readback.layer import Fields, ReadObject
from modboard.fab.readback.limits import DEEPEST_BLOCK
from modboard.fab.readback.notation import Notation
from modboard.fab.readback.trouble import ReadError

_STEP = re.compile(
    r"SR(?:X(?P<nx>\d{1,9}))?(?:Y(?P<ny>\d{1,9}))?(?:I(?P<dx>[-+]?[\d.]{1,20}))?(?:J(?P<dy>[-+]?[\d.]{1,20}))?"
)
_NUMBER = re.compile(r"[-+]?(?:\d{1,12}\.?\d{0,20}|\.\d{1,20})")
_ESCAPE = re.compile(r"\\u([0-9A-Fa-f]{4})|\\U([0-9A-Fa-f]{8})")


class ExtendedCommands:
    """The state of a reader, and what extended commands do to it."""

    def __init__(self, text: str, name: str, quarter_segments: int) -> None:
        """Start at the top of `text`; `name` is used in errors."""
        self.text, self.name, self.segments = text, name, quarter_segments
        self._newlines = [m.start() for m in re.finditer("\n", text)]
        self.place = 0
        self.notation = Notation()
        self.pen = Graphics(self.fail, self.warn, quarter_segments)
        self.apertures: dict[int, Aperture | Block] = {}
        self.macros: dict[str, list[str]] = {}
        self.file_attributes: dict[str, Fields] = {}
        self.aperture_attributes: dict[str, Fields] = {}
        self.step: tuple[tuple[int, int], tuple[float, float], int] | None = None
        self.blocks: list[tuple[int, list[ReadObject]]] = []
        self.warnings: dict[str, str] = {}
        self.checksum_holds: bool | None = None
        self.negative = False

    def fail(self, message: str) -> NoReturn:
        """Stop, naming file and line."""
        raise ReadError(self.name, self.line(), message)

    def warn(self, what: str) -> None:
        """Note the first use of something deprecated."""
        self.warnings.setdefault(what, f"{self.name}:{self.line()}: {what} is deprecated")

    def line(self) -> int:
        """Return the line of the command under way."""
        return bisect_right(self._newlines, self.place) + 1

    def extended(self, content: str) -> None:
        """Take what stands between two %."""
        if self.pen.contours is not None:
            self.fail("an extended command inside a region")
        if not content.rstrip().endswith("*"):
            self.fail("an extended command does not end with *%")
        words = [w.replace("\r", "").replace("\n", "") for w in content.rstrip()[:-1].split("*")]
        if words[0].startswith("AM"):
            if words[0][2:] in self.macros:
                self.fail(f"macro {words[0][2:]} is defined twice")
            self.macros[words[0][2:]] = words[1:]
            return
        if len(words) > 1:
            self.warn("several commands between two %")
        for word in words:
            self._extended_word(word.strip())

    def _extended_word(self, word: str) -> None:
        handlers: dict[str, Callable[[str], None]] = {
            "FS": self._format, "MO": self._unit, "AD": self._define, "AB": self._block, "SR": self._step,
            "LP": self._polarity, "LM": self._mirror, "LR": self._turn, "LS": self._scale,
            "TF": self.attribute, "TA": self.attribute, "TO": self.attribute, "TD": self.attribute,
        }  # fmt: skip
        handler = handlers.get(word[:2])
        if handler:
            handler(word)
        elif word == "IPNEG":
            self.warn("a negative image (IPNEG)")
            self.negative = True
        elif deprecated.harmless(word):
            self.warn(word[:2])
        else:
            self.fail(f"command %{word[:40]}*% is not read")

    def _format(self, word: str) -> None:
        for old in self.notation.set_format(word):
            self.warn(old)

    def _unit(self, word: str) -> None:
        for old in self.notation.set_unit(word):
            self.warn(old)

    def _polarity(self, word: str) -> None:
        if word not in ("LPD", "LPC"):
            self.fail(f"polarity {word[:40]!r} is wrong")
        self.pen.dark = word == "LPD"

    def _mirror(self, word: str) -> None:
        if word not in ("LMN", "LMX", "LMY", "LMXY"):
            self.fail(f"mirroring {word[:40]!r} is wrong")
        pose = self.pen.pose
        self.pen.pose = Pose("X" in word, "Y" in word, pose.turn, pose.scale)

    def _turn(self, word: str) -> None:
        pose = self.pen.pose
        self.pen.pose = Pose(pose.mirror_x, pose.mirror_y, self._number(word[2:], "turn"), pose.scale)

    def _scale(self, word: str) -> None:
        factor = self._number(word[2:], "scale")
        if not 0 < factor <= 1000:
            self.fail(f"scale {word[:40]!r} is not above zero and at most 1000")
        pose = self.pen.pose
        self.pen.pose = Pose(pose.mirror_x, pose.mirror_y, pose.turn, factor)

    def _number(self, text: str, what: str) -> float:
        if not _NUMBER.fullmatch(text):
            self.fail(f"{what} {text[:40]!r} is not a plain decimal number")
        return float(text)

    def _define(self, word: str) -> None:
        if self.notation.unit is None:
            self.fail("an aperture before the unit (MO)")
        code, aperture, old = defined_aperture(
            word, self.notation.unit, self.macros, self.segments, dict(self.aperture_attributes), self.pen.budget
        )
        if code in self.apertures:
            self.fail(f"aperture D{code} is defined twice")
        for what in old:
            self.warn(what)
        self.apertures[code] = aperture

    def _block(self, word: str) -> None:
        """Open or close a block aperture (GLFS 4.11)."""
        if found := re.fullmatch(r"ABD(\d{1,10})", word):
            code = int(found[1])
            if code < 10 or code in self.apertures or len(self.blocks) >= DEEPEST_BLOCK:
                self.fail(f"block aperture D{code} is defined twice, below D10, or too deep inside others")
            self.blocks.append((code, self.pen.objects()))
            self.pen.start_afresh([])
        elif word == "AB" and self.blocks:
            self.close_step()
            code, before = self.blocks.pop()
            self.apertures[code] = tuple(self.pen.objects())
            self.pen.start_afresh(before)
        else:
            self.fail(f"block {word[:40]!r} is wrong or closes nothing")
        self.pen.at_known = False

    def _step(self, word: str) -> None:
        """Open or close a step and repeat (GLFS 4.12); one closes the one before it."""
        self.close_step()
        self.pen.at_known = False
        if word == "SR":
            return
        found = _STEP.fullmatch(word)
        if not found or self.notation.unit is None:
            self.fail(f"step and repeat {word[:40]!r} is wrong or comes before the unit (MO)")
        count = (int(found["nx"] or 1), int(found["ny"] or 1))
        if min(count) < 1:
            self.fail("step and repeat has a count of zero")
        if None in found.groups():
            self.warn("a step and repeat with something left out")
        if (count[0] > 1 and not found["dx"]) or (count[1] > 1 and not found["dy"]):
            self.fail(f"step and repeat {word[:40]!r} does not say how far its steps are")
        distance = tuple(self._number(found[key] or "0", "step") * self.notation.unit for key in ("dx", "dy"))
        self.step = (count, (distance[0], distance[1]), len(self.pen.objects()))

    def close_step(self) -> None:
        """End the step and repeat under way, if there is one, by making its copies."""
        if self.step is None:
            return
        count, distance, first = self.step
        self.step = None
        objects = self.pen.objects()
        stepped = objects[first:]
        more = len(stepped) * (count[0] * count[1] - 1)
        if words := self.pen.budget.spend(more, 4 * more):
            self.fail(words)
        objects[first:] = repeated(stepped, count, distance)

    # ----- attributes

    def attribute(self, word: str) -> None:
        """Take TF, TA, TO or TD (GLFS 5)."""
        kind, (name, *fields) = word[:2], [unescaped(f) for f in word[2:].split(",")]
        if kind == "TF":
            if name in self.file_attributes:
                self.fail(f"file attribute {name} is given twice")
            if name == ".MD5":
                self.checksum_holds = self._digest() == ",".join(fields).lower()
            self.file_attributes[name] = tuple(fields)
        elif kind == "TA":
            self.aperture_attributes[name] = tuple(fields)
        elif kind == "TO":
            self.pen.attributes[name] = tuple(fields)
        elif kind == "TD":
            for table in (self.aperture_attributes, self.pen.attributes):
                if name:
                    table.pop(name, None)
                else:
                    table.clear()

    def _digest(self) -> str:
        """Return the MD5 over everything before this command, line ends left out (GLFS 5.6.9)."""
        before = self.text[: self.place].replace("\r", "").replace("\n", "")
        return hashlib.md5(before.encode(), usedforsecurity=False).hexdigest()


def unescaped(text: str) -> str:
    """Return a field with ``\\uXXXX`` and ``\\UXXXXXXXX`` put back to characters (GLFS 3.4.3).

    What stands for no character, or for half of one, is left as it is.
    """
    return _ESCAPE.sub(_character, text) if "\\" in text else text


def _character(found: re.Match[str]) -> str:
    code = int(found[1] or found[2], 16)
    return found[0] if code > 0x10FFFF or 0xD800 <= code <= 0xDFFF else chr(code)
