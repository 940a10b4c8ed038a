"""Random mutations of a written package, and whether the read-back sees them.

Run it as ``python -m tests.fab.mutations [--count 1000] [--seed 1]``.  Checksums and manifest are taken away first, so
that a change must be found by what it does to the board.  A mutation counts if it changes what the board is: the image
of a layer by more than 1e-4 mm² and 1 µm, a hole, a net, pin or part, the function of a file or object, a record of the
netlist, a figure of the job file; or if the file can no longer be read as what it was.  What changes nothing of that (a
comment, a version number, a value text) is not counted.
"""

from __future__ import annotations

import argparse
import json
import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

from modboard.artwork.model import Artwork
from modboard.fab.package import package_texts
from modboard.fab.readback import package as package_module
from modboard.fab.readback.drill import read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.layer import ReadLayer, ReadObject
from modboard.fab.readback.netlist import read_netlist
from modboard.fab.readback.trouble import ReadError
from modboard.fab.readback.verify import GROUPS, differences

SEEN_AREA = 1e-4  # mm²
THICK = 0.001  # mm; GLFS 4.14: a reader may move any point by half a micrometre
MEANT = (".N", ".P", ".C", ".AperFunction", ".CRot")  # object attributes that say what the board is
Texts = dict[str, str]


@dataclass
class Score:
    """How many mutations counted, by kind, and which were missed."""

    counted: Counter[str]
    harmless: int
    missed: list[tuple[str, str]]


def without_sums(artwork: Artwork) -> Texts:
    """Return the machine-read files of a package without .MD5 and manifest."""
    texts = package_texts(artwork, (), groups=("layers", "holes", "components", "drawings", "netlist", "job"))
    return {name: re.sub(r"%TF\.MD5,\w+\*%\n", "", text) for name, text in texts.items()}


# --- what a file means


@cache
def layer(text: str, name: str) -> ReadLayer:
    """Return a layer, read once for all mutations of other files."""
    return read_gerber(text, name)


def meant(item: ReadObject) -> tuple[str, ...]:
    """Return the attributes that say what the board is; a part's turn is said at its middle."""
    return MEANT if item.field(".AperFunction") == "ComponentMain" else MEANT[:-1]


def meaning(name: str, text: str) -> Any:
    """Return what a file says of the board, comparable; images are compared apart."""
    if name.endswith(".gbr"):
        read = layer(text, name)
        said = Counter(
            (o.kind, o.dark, tuple((key, o.attributes.get(key)) for key in meant(o)), o.at) for o in read.objects
        )
        return read.function, read.attributes.get(".FilePolarity"), said
    if name.endswith(".drl"):
        drills = read_drill(text, name)
        return drills.plated, Counter((frozenset(h.path), round(h.diameter, 6), h.function) for h in drills.holes)
    if name.endswith(".ipc"):
        netlist = read_netlist(text, name)
        records = Counter(
            (r.code, r.net, r.reference, r.pin, r.middle, r.hole, r.side, r.at, r.sizes, r.turn, r.mask)
            for r in netlist.records
        )
        sides = Counter(
            (c.name, c.layer, c.width, frozenset((a, b)))
            for c in (*netlist.conductors, *netlist.outlines)
            for chain in c.chains
            for a, b in pairwise(chain)
            if a != b
        )
        return records, sides
    job = json.loads(text)
    return {key: job.get(key) for key in ("DesignRules", "FilesAttributes", "MaterialStackup")} | {
        "specs": {k: v for k, v in job.get("GeneralSpecs", {}).items() if k != "ProjectId"}
    }


def changes_the_board(name: str, before: str, after: str) -> bool:
    """Tell whether a mutated file means another board, or nothing at all."""
    try:
        new = meaning(name, after)
    except (ReadError, ValueError, AttributeError):
        return True
    if name.endswith(".gbr"):
        one, other = layer(before, name).image, layer(after, name).image
        apart = one.symmetric_difference(other)
        if apart.area > SEEN_AREA and not apart.buffer(-THICK / 2).is_empty:
            return True
        # attributes count by themselves only where they say nets, pins, parts or functions
        return _named(new) != _named(meaning(name, before))
    return bool(new != meaning(name, before))


def _named(said: Any) -> Any:
    function, polarity, objects = said
    flashes = Counter(names for (kind, _, names, _), n in objects.items() if kind == "flash" for _ in range(n))
    return function, polarity, flashes, {names for _, _, names, _ in objects}


# --- mutations


def drop_line(text: str, rng: random.Random) -> str:
    """Leave out one line."""
    lines = text.split("\n")
    del lines[rng.randrange(len(lines) - 1)]
    return "\n".join(lines)


def double_line(text: str, rng: random.Random) -> str:
    """Write one line twice."""
    lines = text.split("\n")
    at = rng.randrange(len(lines) - 1)
    return "\n".join([*lines[: at + 1], *lines[at:]])


def swap_lines(text: str, rng: random.Random) -> str:
    """Let two neighbouring lines change places."""
    lines = text.split("\n")
    at = rng.randrange(len(lines) - 2)
    lines[at], lines[at + 1] = lines[at + 1], lines[at]
    return "\n".join(lines)


def flip_digit(text: str, rng: random.Random) -> str:
    """Change one digit into another."""
    places = [m.start() for m in re.finditer(r"\d", text)]
    at = rng.choice(places)
    return text[:at] + rng.choice("0123456789".replace(text[at], "")) + text[at + 1 :]


def flip_sign(text: str, rng: random.Random) -> str:
    """Turn a coordinate's sign round."""
    places = list(re.finditer(r"(?<=[XY])[-+]?(?=\d)", text))
    found = rng.choice(places)
    return text[: found.start()] + ("" if found[0] == "-" else "-") + text[found.end() :]


def other_letter(text: str, rng: random.Random) -> str:
    """Change one letter or mark into another."""
    at = rng.randrange(len(text))
    return text[:at] + rng.choice("ABCDLMNPRTXYabct,.*%-+ ") + text[at + 1 :]


def truncate(text: str, rng: random.Random) -> str:
    """Cut the end off."""
    return text[: rng.randrange(1, len(text) - 1)]


def mirror(text: str, rng: random.Random) -> str:
    """Mirror left to right about some line."""
    axis = rng.choice([0, 15_800_000, 31_600_000])
    if "M48" in text:
        return re.sub(r"X(-?[\d.]+)(?=Y)", lambda m: f"X{axis / 1e6 - float(m[1]):.3f}", text)
    return re.sub(r"X(-?\d+)(?=Y-?\d+D0)", lambda m: f"X{axis - int(m[1])}", text)


def shift(text: str, rng: random.Random) -> str:
    """Shift everything by 0.1 mm or more in one direction."""
    by, axis = rng.choice([-0.1, 0.1, 0.254, 1.0]), rng.choice("XY")
    after = "(?=Y)" if axis == "X" else ""
    if "M48" in text:
        return re.sub(rf"{axis}(-?[\d.]+){after}", lambda m: f"{axis}{float(m[1]) + by:.3f}", text)
    after = r"(?=Y-?\d+D0)" if axis == "X" else r"(?=D0)"
    return re.sub(rf"{axis}(-?\d+){after}", lambda m: f"{axis}{int(m[1]) + round(by * 1e6)}", text)


def other_unit(text: str, rng: random.Random) -> str:
    """Take millimetres for inches, or the other way round."""
    for old, new in (("%MOMM*%", "%MOIN*%"), ("METRIC", "INCH"), ("UNITS CUST 1", "UNITS CUST 0")):
        if old in text:
            return text.replace(old, new)
    return text


def other_format(text: str, rng: random.Random) -> str:
    """Shift the decimal point of a layer."""
    return text.replace("FSLAX46Y46", rng.choice(["FSLAX45Y45", "FSLAX55Y55", "FSTAX46Y46"]))


def other_name(text: str, rng: random.Random) -> str:
    """Put another net's or pin's name in one place."""
    names = sorted(set(re.findall(r"%TO\.N,([^*]*)\*", text)) | {"GND", "VCC", "SIG", "OUT"})
    places = list(re.finditer(r"(?<=%TO\.N,)[^*]*|(?<=%TO\.P,)[^*]*|(?<=^317)\w+|(?<=^327)\w+", text, re.MULTILINE))
    if not places:
        return text
    found = rng.choice(places)
    return text[: found.start()] + rng.choice(names) + text[found.end() :]


def other_function(text: str, rng: random.Random) -> str:
    """Let the file say that it is another layer."""
    functions = [
        "Copper,L1,Top",
        "Copper,L2,Bot",
        "Soldermask,Top",
        "Legend,Bot",
        "Plated,1,2,PTH",
        "NonPlated,1,2,NPTH",
    ]
    return re.sub(r"(?<=FileFunction,)[^*\n]*", rng.choice(functions), text, count=1)


KINDS: tuple[Callable[[str, random.Random], str], ...] = (
    drop_line, double_line, swap_lines, flip_digit, flip_digit, flip_digit, flip_sign, other_letter, truncate, mirror,
    shift, other_unit, other_format, other_name, other_function,
)  # fmt: skip


def swapped_layers(texts: Texts, rng: random.Random) -> Texts:
    """Let two layers change what they say they are."""
    names = rng.sample([n for n in texts if n.endswith(".gbr")], 2)
    functions = {n: re.search(r"FileFunction,[^*]*", texts[n]) for n in names}
    changed = dict(texts)
    for name, other in (names, reversed(names)):
        mine, theirs = functions[name], functions[other]
        assert mine and theirs
        changed[name] = texts[name].replace(mine[0], theirs[0])
    return changed


def lost_file(texts: Texts, rng: random.Random) -> Texts:
    """Leave out one file."""
    lost = rng.choice(sorted(texts))
    return {name: text for name, text in texts.items() if name != lost}


def run(artwork: Artwork, count: int, seed: int = 1) -> Score:
    """Try mutations until `count` of them changed the board; return what became of them."""
    rng = random.Random(seed)
    texts = without_sums(artwork)
    score = Score(Counter(), 0, [])
    real = package_module.read_gerber
    package_module.read_gerber = layer  # type: ignore[assignment]
    try:
        assert not detected(texts, artwork), "the package that is to be mutated must be sound"
        while score.counted.total() < count:
            _try(texts, artwork, rng, score)
    finally:
        package_module.read_gerber = real
        layer.cache_clear()
    return score


def _try(texts: Texts, artwork: Artwork, rng: random.Random, score: Score) -> None:
    if rng.random() < 0.03:
        whole = rng.choice([swapped_layers, lost_file])
        changed, kind, name = whole(texts, rng), whole.__name__, "package"
    else:
        mutate, name = rng.choice(KINDS), rng.choice(sorted(texts))
        kind = mutate.__name__
        try:
            after = mutate(texts[name], rng)
        except (IndexError, ValueError):  # nothing of that kind in this file
            return
        if after == texts[name] or not changes_the_board(name, texts[name], after):
            score.harmless += 1
            return
        changed = texts | {name: after}
    score.counted[kind] += 1
    if not detected(changed, artwork):
        score.missed.append((kind, f"{name}: {_first_difference(texts, changed)}"))


def detected(texts: Texts, artwork: Artwork) -> bool:
    """Tell whether the read-back finds anything."""
    try:
        package = package_module.package_of({name: text.encode() for name, text in texts.items()})
        return bool(differences(package, artwork, (), GROUPS - {"manifest"}))
    except ReadError:
        return True


def _first_difference(before: Texts, after: Texts) -> str:
    for name in before:
        pairs = zip(before[name].split("\n"), after.get(name, "").split("\n"), strict=False)
        for number, (a, b) in enumerate(pairs, start=1):
            if a != b:
                return f"line {number}: {a!r} became {b!r}"
    return "at the end"


def main() -> None:
    """Print how many mutations of each kind were tried and found."""
    from tests.sample import sample_artwork

    parser = argparse.ArgumentParser(description="Mutate a package and see whether the read-back finds out.")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    score = run(sample_artwork(), asked.count, asked.seed)
    for kind, count in sorted(score.counted.items()):
        print(f"{kind:16} {count:5}")
    total = score.counted.total()
    print(f"{total} mutations changed the board, {total - len(score.missed)} found; {score.harmless} changed nothing")
    for kind, where in score.missed:
        print(f"missed: {kind}, {where}")


if __name__ == "__main__":
    main()
