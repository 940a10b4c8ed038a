"""Random and damaged input for every reader: it must come back with a value or a ReadError that names the file.

Run it as ``python -m tests.fab.fuzz [--count 100000] [--seed 1]``.
"""

from __future__ import annotations

import argparse
import io
import random
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.netlist import read_netlist
from modboard.fab.readback.package import package_of, read_package
from modboard.fab.readback.trouble import ReadError

GERBER = """%TF.FileFunction,Copper,L1,Top*%
%FSLAX46Y46*%
%MOMM*%
%AMQ*$3=$1x2*21,1,$1,$2,0,0,45*1,0,0.2,0,0*7,0,0,$3,0.5,0.1,0*4,1,3,0,0,1,0,1,1,0,0,0*5,1,6,0,0,1,0*%
%TA.AperFunction,ConnectorPad*%
%ADD10C,0.5*%
%ADD11R,1X0.5X0.2*%
%ADD12Q,1.5X0.5*%
%ADD13P,1X5X10*%
%TD*%
%ABD14*%
D10*
X0Y0D03*
%AB*%
G75*
%TO.N,A\\u0042*%
D14*
%LR30*%
%LMX*%
X1000000Y1000000D03*
%LR0*%
%SRX2Y2I3.0J3.0*%
D12*
X0Y0D03*
%SR*%
%LMN*%
D10*
G01*
X0Y0D02*
X1000000D01*
G03*
X2000000Y1000000I0J1000000D01*
G74*
G02*
X3000000Y2000000I1000000J0D01*
%LPC*%
G01*
G36*
X0Y0D02*
X9000000Y0D01*
X9000000Y9000000D01*
X0Y0D01*
G37*
M02*
"""
DRILL = """M48
; #@! TF.FileFunction,Plated,1,2,PTH
METRIC,TZ
T01C0.800
T02C1.0
%
G05
T01
X1.0Y1.0
X12345Y-500
R3X2.0
T02
X1.0Y2.0G85X3.0Y2.0
G00X5.0Y5.0
M15
G01X6.0Y5.0
G02X8.0Y5.0A1.0
G03X9.0Y6.0I0.0J1.0
M16
G05
M30
"""
NETLIST = """P  JOB   X
P  UNITS CUST 1
P  NNAME00001 A_VERY_LONG_NAME_INDEED
317GND              U1    -14   D0800PA00X+012700Y+025400X1600Y0000R000 S0
327NNAME00001       C3    -1          A01X+008000Y+003250X1000Y1450R090 S0
367N/C              H1    -1    D3200UA00X+003500Y+003500
378GND            L01 X0250 X+012700Y+025400 X+020000 Y+030000*X+001000Y+001000
078 X+002000 Y+004000
389BOARD_EDGE         X0100 X+000000Y+000000 X+050000 Y+030000 X+000000 Y+000000
999
"""
JOB = '{"GeneralSpecs": {"Size": {"X": 50, "Y": 30}, "LayerNumber": 2}, "FilesAttributes": [{"Path": "a.gbr"}]}\n'
PIECES = (
    "%", "*", "\n", "X", "Y", "-", "+", "0", "9", "99999999", ".", ",", "D01*", "D02*", "D03*", "D10*", "G01*", "G02*",
    "G36*", "G37*", "G75*", "G91*", "%LPC*%", "%AMZ*", "$1", "(", ")", "x", "/0", "%ADD20C,1*%", "%ADD21Z,1X2*%",
    "%ABD22*%", "%AB*%", "%SRX3Y1I1J1*%", "%SR*%", "M02*", "M30", "M48", "T1C1.0", "R9", "G85", "INCH", "é", "\0",
    "\\u", "\\UFFFFFFFF", "999", "317", "078 ", "[", "{", '"', "1e999", "nan", "#@!", "; ", "\ud7ff",
)  # fmt: skip
READERS: dict[str, tuple[str, Callable[[str], Any]]] = {
    "gerber": (GERBER, lambda text: read_gerber(text, "fuzz").image),
    "drill": (DRILL, lambda text: read_drill(text, "fuzz")),
    "netlist": (NETLIST, lambda text: read_netlist(text, "fuzz")),
    "job": (JOB, lambda text: package_of({"fuzz.gbrjob": text.encode("utf-8", "replace")})),
    "package": (GERBER, lambda text: package_of({"fuzz copper top": text.encode("utf-8", "replace")})),
}


def damaged(text: str, rng: random.Random) -> str:
    """Return a text with some bytes changed, left out, doubled or put in, or a soup of the format's own pieces."""
    if rng.random() < 0.15:
        return "".join(rng.choices(PIECES, k=rng.randrange(60)))
    for _ in range(rng.choice((1, 1, 1, 2, 4, 12))):
        at = rng.randrange(len(text) + 1)
        upto = min(len(text), at + rng.choice((0, 1, 1, 2, 8, 40)))
        put = rng.choice(("", rng.choice(PIECES), text[at:upto] * 2, chr(rng.choice((0, 10, 42, 65, 233, 0x1F600)))))
        text = text[:at] + put + text[upto:]
    return text


def run(count: int, seed: int = 1) -> tuple[Counter[str], float]:
    """Feed `count` inputs to the readers in turn; return how many were refused and read, and the slowest in seconds.

    Raises whatever a reader raises that is not a ReadError, and AssertionError where its text does not name the file.
    """
    rng = random.Random(seed)
    seen: Counter[str] = Counter()
    slowest = 0.0
    names = list(READERS)
    for start, reader in READERS.values():
        reader(start)  # each starts from a file that can be read
    for number in range(count):
        name = names[number % len(names)]
        start, reader = READERS[name]
        text = damaged(start, rng)
        begun = time.process_time()
        try:
            reader(text)
            seen[f"{name} read"] += 1
        except ReadError as error:
            seen[f"{name} refused"] += 1
            assert str(error).startswith("fuzz"), str(error)
            assert len(str(error)) < 400, str(error)
        except Exception as error:
            raise AssertionError(f"{name}: {error!r} from {text!r}") from error
        slowest = max(slowest, time.process_time() - begun)
    return seen, slowest


def run_zips(count: int, seed: int = 1) -> Counter[str]:
    """Damage the bytes of a zip `count` times; return how many were refused and read."""
    rng = random.Random(seed)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in (("a copper top.gbr", GERBER), ("a.drl", DRILL), ("a.ipc", NETLIST), ("a.gbrjob", JOB)):
            archive.writestr(name, text)
    whole = buffer.getvalue()
    seen: Counter[str] = Counter()
    with TemporaryDirectory() as folder:
        path = Path(folder) / "fuzz.zip"
        for _ in range(count):
            content = bytearray(whole)
            for _ in range(rng.choice((1, 2, 8))):
                content[rng.randrange(len(content))] = rng.randrange(256)
            path.write_bytes(content[: rng.randrange(len(content))] if rng.random() < 0.1 else content)
            try:
                read_package(path)
                seen["zip read"] += 1
            except ReadError:
                seen["zip refused"] += 1
    return seen


def main() -> None:
    """Print the figures of a long run."""
    parser = argparse.ArgumentParser(description="Feed damaged files to every reader.")
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    begun = time.perf_counter()
    seen, slowest = run(asked.count, asked.seed)
    seen += run_zips(asked.count // 50, asked.seed)
    for name, count in sorted(seen.items()):
        print(f"{name:16} {count:7}")
    print(
        f"{seen.total()} inputs in {time.perf_counter() - begun:.0f} s, slowest {slowest * 1000:.0f} ms; no other error"
    )


if __name__ == "__main__":
    main()
