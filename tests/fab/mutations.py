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
from tests.fab.mutators import KINDS, Texts, lost_file, swapped_layers

SEEN_AREA = 1e-4  # mm²
THICK = 0.001  # mm; GLFS 4.14: a reader may move any point by half a micrometre
MEANT = (".N", ".P", ".C", ".AperFunction", ".CRot")  # object attributes that say what the board is


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
