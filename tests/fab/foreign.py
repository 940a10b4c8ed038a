"""One small board written by hand in the dialects of others: nothing here comes from our own writers.

20 × 15 mm, two layers.  Net A: pad J1 (3, 3) and pad R1 (10, 3) joined by a track on top; net B: pad J2 (3, 10) and
pad R2 (10, 10) joined by a track on the bottom; net C: one land at (16, 6) on top, joined by a via at (16, 10) and a
pour round it on the bottom.  All lands are discs of 1.6 mm with holes of 0.8 mm but the via (1.0 and 0.4) and the
surface land (1 × 2). A bare hole of 3.0 mm at (13.5, 3). Smallest gap by hand: the pour's edge at x = 13 and R2,
which ends at 10.8: 2.2 mm; if the pour is a disc of radius 2.5 round (15.5, 10.5), √(5.5² + 0.5²) - 2.5 - 0.8 =
2.223.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field

Place = tuple[float, float]
EDGE: tuple[Place, ...] = ((0, 0), (20, 0), (20, 15), (0, 15), (0, 0))
LANDS: tuple[Place, ...] = ((3, 3), (10, 3), (3, 10), (10, 10))
VIA, SURFACE = (16.0, 10.0), (16.0, 6.0)
POUR: tuple[Place, ...] = ((13, 8), (18, 8), (18, 13), (13, 13), (13, 8))


@dataclass
class Dialect:
    """How a Gerber file is written: unit, digits, zeros, older habits."""

    inch: bool = False
    digits: tuple[int, int] = (4, 6)
    zeros: str = "L"
    incremental: bool = False
    unit_word: str = "%MOMM*%"
    heading: str = ""
    tail: str = "M02*\n"
    newline: str = "\n"
    select: str = "D{}*"
    mode: str = "G01*\n"
    joined_mode: bool = False
    one_digit: bool = False
    pads: str = "flash"  # or macro, block, step
    negative: bool = False  # bottom copper as a negative image
    quadrants: str = "G75*\n"
    round_pour: bool = False
    _at: Place = field(default=(0.0, 0.0), repr=False)

    def number(self, mm: float) -> str:
        """Return a coordinate."""
        whole, decimals = self.digits
        value = mm / 25.4 if self.inch else mm
        steps = round(value * 10**decimals)
        text = f"{abs(steps):0{whole + decimals}d}"
        text = text.lstrip("0") or "0" if self.zeros == "L" else text.rstrip("0") or "0" if self.zeros == "T" else text
        return ("-" if steps < 0 else "") + text

    def size(self, mm: float) -> str:
        """Return a size with a decimal point."""
        return f"{mm / 25.4 if self.inch else mm:.6f}".rstrip("0")

    def go(self, x: float, y: float, code: str, offset: str = "") -> str:
        """Return one operation."""
        dx, dy = (x - self._at[0], y - self._at[1]) if self.incremental else (x, y)
        self._at = (x, y)
        mode = "G01" if self.joined_mode and code == "D01" and not offset else ""
        code = code.replace("0", "") if self.one_digit else code
        return f"{mode}X{self.number(dx)}Y{self.number(dy)}{offset}{code}*\n"

    def path(self, points: tuple[Place, ...]) -> str:
        """Return a polyline."""
        return self.go(*points[0], "D02") + "".join(self.go(*p, "D01") for p in points[1:])

    def region(self, points: tuple[Place, ...]) -> str:
        """Return a filled polygon, or the disc that fits the pour's square if arcs are wanted."""
        if not self.round_pour:
            return f"G36*\n{self.path(points)}G37*\n"
        i, full = self.number(2.5), self.quadrants.startswith("G75")
        arcs = [(18.0, 10.5), (15.5, 13.0), (13.0, 10.5), (15.5, 8.0), (18.0, 10.5)]
        text = self.go(*arcs[0], "D02") + "G03*\n"
        centres = (
            f"I-{i}J{self.number(0)}",
            f"I{self.number(0)}J-{i}",
            f"I{i}J{self.number(0)}",
            f"I{self.number(0)}J{i}",
        )
        for (x, y), centre in zip(arcs[1:], centres, strict=True):
            text += self.go(x, y, "D01", centre if full else centre.replace("-", ""))
        return f"G36*\n{text}G01*\nG37*\n"

    def file(self, apertures: str, body: str, *, image: str = "") -> str:
        """Return a whole file."""
        kind = "I" if self.incremental else "A"
        xy = f"{self.digits[0]}{self.digits[1]}"
        head = f"{self.heading}%FS{self.zeros}{kind}X{xy}Y{xy}*%\n{self.unit_word}\n{image}{apertures}{self.quadrants}"
        self._at = (0.0, 0.0)
        return (head + self.mode + body + self.tail).replace("\n", self.newline)

    def discs(self, places: tuple[Place, ...], code: int) -> str:
        """Return flashes of one aperture, or the same lands by a step and repeat."""
        if self.pads == "step" and places == LANDS:
            x, y = self.size(7), self.size(7)
            return f"{self.select.format(code)}\n%SRX2Y2I{x}J{y}*%\n{self.go(3, 3, 'D03')}%SR*%\n{self.go(3, 3, 'D02')}"
        return self.select.format(code) + "\n" + "".join(self.go(x, y, "D03") for x, y in places)

    def apertures(self, land: float, via: float) -> str:
        """Return the apertures: 10 land, 11 via, 12 track, 13 surface land, 14 edge."""
        first = f"%ADD10C,{self.size(land)}*%\n"
        if self.pads == "macro":
            first = f"%AMDISC*\n0 a disc in two steps*\n$2=$1X2/2*\n1,1,$2,0,0*%\n%ADD10DISC,{self.size(land)}*%\n"
        elif self.pads == "block":
            first = f"%ADD20C,{self.size(land)}*%\n%ABD10*%\nD20*\n{self.go(0, 0, 'D03')}%AB*%\n"
        return (
            f"{first}%ADD11C,{self.size(via)}*%\n%ADD12C,{self.size(0.4)}*%\n"
            f"%ADD13R,{self.size(1)}X{self.size(2)}*%\n%ADD14C,{self.size(0.1)}*%\n"
        )


def layers(dialect: Dialect) -> dict[str, Callable[[], str]]:
    """Return the text of each layer of the board."""
    d = dialect

    def top() -> str:
        body = d.discs(LANDS, 10) + d.discs((VIA,), 11) + d.discs((SURFACE,), 13)
        return d.file(
            d.apertures(1.6, 1.0), f"{body}{d.select.format(12)}\n{d.path(LANDS[:2])}{d.path((SURFACE, VIA))}"
        )

    def bottom() -> str:
        if d.negative:  # drawn are the gaps: everything, then the copper erased from it
            gaps = f"{d.region(((-1, -1), (21, -1), (21, 16), (-1, 16), (-1, -1)))}%LPC*%\n"
            return d.file(d.apertures(1.6, 1.0), gaps + copper(), image="%IPNEG*%\n")
        return d.file(d.apertures(1.6, 1.0), copper())

    def copper() -> str:
        body = d.region(POUR) + d.discs(LANDS, 10) + d.discs((VIA,), 11)
        return f"{body}{d.select.format(12)}\n{d.path(LANDS[2:])}"

    def mask(lands: tuple[Place, ...]) -> str:
        body = d.discs(LANDS, 10) + (d.discs(lands, 13) if lands else "")
        return d.file(
            d.apertures(1.8, 1.0).replace(f"R,{d.size(1)}X{d.size(2)}", f"R,{d.size(1.2)}X{d.size(2.2)}"), body
        )

    return {
        "top": top,
        "bottom": bottom,
        "mask top": lambda: mask((SURFACE,)),
        "mask bottom": lambda: mask(()),
        "edge": lambda: d.file(d.apertures(1.6, 1.0), f"{d.select.format(14)}\n{d.path(EDGE)}"),
    }


NC_PLATED = "M48\nMETRIC\nT1C0.4\nT2C0.8\n%\nT1\nX16.0Y10.0\nT2\nX3.0Y3.0\nX10.0Y3.0\nX3.0Y10.0\nX10.0Y10.0\nM30\n"
NC_BARE = "M48\nMETRIC\nT1C3.0\n%\nT1\nX13.5Y3.0\nM30\n"
NETLIST = (
    "P  JOB   BY HAND\nP  UNITS CUST 1\n"
    "317A                J1    -1    D0800PA00X+003000Y+003000X1600Y0000R000 S0\n"
    "317A                R1    -1    D0800PA00X+010000Y+003000X1600Y0000R000 S0\n"
    "317B                J2    -1    D0800PA00X+003000Y+010000X1600Y0000R000 S0\n"
    "317B                R2    -1    D0800PA00X+010000Y+010000X1600Y0000R000 S0\n"
    "327C                S1    -1          A01X+016000Y+006000X1000Y2000R000 S0\n"
    "317C                VIA        MD0400PA00X+016000Y+010000X1000Y0000R000 S3\n"
    "367N/C              H1    -1    D3000UA00X+013500Y+003000\n"
    "999\n"
)


def zipped(files: dict[str, bytes]) -> bytes:
    """Return a zip of files, whose names may have folders in front."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return buffer.getvalue()
