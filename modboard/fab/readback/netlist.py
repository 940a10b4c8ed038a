"""IPC-D-356A text → test records, conductors and outline, mm.

Columns count from 1.  Read: the record kinds 317, 327, 367 with their continuations 017 and 027, 378, 389, comments
and parameters, in inch or metric units.  Records for testers that say nothing of copper and holes (adjacency, tester
places, mask clearance, parts on the board, features not tested) are passed over with a warning; blind vias and stepped
images, which a board of two layers has not, raise ReadError.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn

from modboard.fab.readback.trouble import ReadError

UNITS = {"CUST 0": 0.00254, "CUST": 0.00254, "CUST 1": 0.001, "SI": 0.001}  # mm in one unit
PASSED_OVER = {  # records that say nothing of copper and holes
    "099": "the tester's place", "088": "the mask clearance", "379": "nets beside one another",
    "079": "nets beside one another", "390": "a feature not tested", "090": "a feature not tested",
    "370": "parts in the board", "070": "parts in the board", "380": "parts on the board", "080": "parts on the board",
}  # fmt: skip
_NAME = re.compile(r"P  NNAME(?P<alias>\S{1,5}) +(?P<name>\S.{0,57})")
_PLACES = re.compile(r"(?:X([-+]?\d+))?(?:Y([-+]?\d+))?")
_TEST = re.compile(
    r"(?P<code>[30][1-6][7])(?P<net>.{14})   (?P<reference>.{6})(?P<dash>[- ])(?P<pin>.{4})(?P<middle>[M ])"
    r"(?:D(?P<hole>[\d ]{4})(?P<plated>[PU])| {6})A(?P<side>\d\d)X(?P<x>[-+ ][\d ]{6})Y(?P<y>[-+ ][\d ]{6})"
    r"(?:X(?P<sx>\d{4})| {5})(?:Y(?P<sy>\d{4})| {5})(?:R(?P<turn>\d{3})| {4}) (?:S(?P<mask>[0123])|  ) *"
)


@dataclass(frozen=True)
class ReadRecord:
    """One test record, mm.  `hole` is (diameter, plated); `sizes` the land before it is turned, y 0 if it is round."""

    code: str
    net: str
    reference: str
    pin: str
    middle: bool
    hole: tuple[float, bool] | None
    side: str
    at: tuple[float, float]
    sizes: tuple[float, float] | None
    turn: float
    mask: int
    line: int


@dataclass(frozen=True)
class ReadChain:
    """Tracks of one net, layer and width; or an outline: `name` e.g. BOARD_EDGE, `layer` 0."""

    name: str
    layer: int
    width: float
    chains: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True)
class ReadNetlist:
    """One test netlist; net names are the long ones wherever the file gives an alias."""

    name: str
    parameters: dict[str, str]
    records: tuple[ReadRecord, ...]
    conductors: tuple[ReadChain, ...]
    outlines: tuple[ReadChain, ...]
    warnings: tuple[str, ...] = ()  # records that were passed over, each kind once, with file and line


def read_netlist(text: str, name: str = "netlist") -> ReadNetlist:
    """Return what the netlist says; `name` is used in errors.

    Raises ReadError, with file and line, for a line that breaks the columns or is not read.
    """
    return _Reader(name).read(text)


class _Reader:
    def __init__(self, name: str) -> None:
        self.name, self.number = name, 0
        self.parameters: dict[str, str] = {}
        self.aliases: dict[str, str] = {}
        self.records: list[ReadRecord] = []
        self.chains: list[ReadChain] = []
        self.unit: float | None = None
        self.warnings: dict[str, str] = {}

    def fail(self, message: str) -> NoReturn:
        raise ReadError(self.name, self.number, message)

    def read(self, text: str) -> ReadNetlist:
        pending: tuple[int, str] | None = None
        ended = False
        for number, whole in enumerate(text.rstrip("\x1a\0 \r\n").splitlines(), start=1):
            self.number, line = number, whole.rstrip()
            if not line.strip():
                continue
            if ended:
                self.fail("something follows the end of the file (999)")
            if len(line) > 80:
                self.fail(f"the line has {len(line)} columns; 80 are allowed")
            if line[:3] in ("078", "089"):
                if pending is None or pending[1][1:3] != line[1:3]:
                    self.fail(f"{line[:3]} continues nothing")
                pending = (pending[0], f"{pending[1]} {line[3:].strip()}")
                continue
            if pending:
                self._chain(*pending)
                pending = None
            if line[:3] in ("378", "389"):
                pending = (number, line)
            elif line == "999":
                ended = True
            else:
                self._single(line)
        if not ended:
            self.fail("the file ends without 999: part of it is missing")
        outlines = tuple(c for c in self.chains if c.layer == 0)
        conductors = tuple(c for c in self.chains if c.layer)
        return ReadNetlist(
            self.name, self.parameters, tuple(self.records), conductors, outlines, tuple(self.warnings.values())
        )

    def _single(self, line: str) -> None:
        if line.startswith("C"):
            return
        if line.startswith("P "):
            self._parameter(line)
        elif line[:3] in PASSED_OVER:
            words = f"{line[:3]} ({PASSED_OVER[line[:3]]})"
            self.warnings.setdefault(line[:3], f"{self.name}:{self.number}: record {words} is passed over")
        elif line[:3] in ("317", "327", "367", "017", "027"):
            self._record(line)
        else:
            self.fail(f"record {line[:3]!r} is not read")

    def _parameter(self, line: str) -> None:
        if found := _NAME.fullmatch(line):
            alias = f"NNAME{found['alias']}"
            if alias in self.aliases:
                self.fail(f"alias {found['alias']} is given twice")
            self.aliases[alias] = found["name"].strip()
            return
        key, value = line[3:8].strip(), line[9:72].strip()
        if key == "UNITS":
            if self.unit is not None:
                self.fail("the unit is given twice")
            if value not in UNITS:
                self.fail(f"unit {value!r} is not read")
            self.unit = UNITS[value]
        self.parameters[key] = value

    def _net(self, text: str) -> str:
        name = text.strip()
        if " " in name:
            self.fail(f"net name {name!r} has a blank in it")
        if name.startswith("NNAME") and name not in self.aliases:
            self.fail(f"alias {name} is not explained")
        return self.aliases.get(name, name)

    def _scale(self) -> float:
        if self.unit is None:
            self.fail("a record before the unit (P  UNITS)")
        return self.unit

    def _record(self, line: str) -> None:
        found = _TEST.fullmatch(line.ljust(74))
        if not found:
            self.fail("the record does not keep to its columns")
        scale = self._scale()
        code = found["code"]
        stacked = code == "317" or (code[0] == "0" and bool(self.records))  # pads of one place, and their hole, apart
        if found["hole"] is not None if code[1] == "2" else found["hole"] is None and not stacked:
            self.fail("a drilled record without a hole, or a surface record with one")
        before = self.records[-1] if code[0] == "0" and self.records else None
        if code[0] == "0" and before is None:
            self.fail(f"{code} continues nothing")
        hole = (int(found["hole"]) * scale, found["plated"] == "P") if found["hole"] else None
        sizes = (int(found["sx"]) * scale, int(found["sy"] or 0) * scale) if found["sx"] else None
        self.records.append(
            ReadRecord(
                code,
                self._net(found["net"]) if found["net"].strip() or before is None else before.net,
                found["reference"].strip() or (before.reference if before else ""),
                found["pin"].strip() or (before.pin if before else ""),
                found["middle"] == "M",
                hole,
                found["side"],
                (self._place(found["x"]) * scale, self._place(found["y"]) * scale),
                sizes,
                float(found["turn"] or 0),
                int(found["mask"] or 0),
                self.number,
            )
        )

    def _place(self, text: str) -> int:
        digits = text.replace(" ", "")
        if not re.fullmatch(r"[-+]?\d+", digits):
            self.fail(f"coordinate {text!r} is not a number")
        return int(digits)

    def _chain(self, number: int, line: str) -> None:
        self.number = number
        scale = self._scale()
        layer = line[18:21]
        if not re.fullmatch(r"L\d\d| {3}", layer) or line[17] != " " or line[21:22] != " ":
            self.fail("the record does not keep to its columns")
        words = line[22:].split()
        size = re.fullmatch(r"X(\d+)(?:Y\d+)?", words[0]) if words else None
        if not size:
            self.fail("the record does not give its width first")
        chains: list[list[tuple[float, float]]] = [[]]
        at: tuple[int, int] | None = None
        for word in words[1:]:
            for n, piece in enumerate(word.split("*")):
                if n:
                    chains.append([])
                if not piece:
                    continue
                found = _PLACES.fullmatch(piece)
                if not found or (at is None and None in found.groups()):
                    self.fail(f"place {piece!r} is not understood")
                x, y = found.groups()
                before = at or (0, 0)
                at = (before[0] if x is None else int(x), before[1] if y is None else int(y))
                chains[-1].append((at[0] * scale, at[1] * scale))
        name = line[3:17].strip()
        self.chains.append(
            ReadChain(
                self._net(name) if line[:3] == "378" else name,
                int(layer[1:]) if layer.strip() else 0,
                int(size[1]) * scale,
                tuple(tuple(c) for c in chains if c),
            )
        )
