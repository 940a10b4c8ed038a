"""A package read whole: which file is which is taken from what each says of itself, else from its name or content."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

import shapely

from modboard.fab.readback import recognise
from modboard.fab.readback.archive import files_of
from modboard.fab.readback.drill_files import drills_of, drills_of_layer, is_drill_layer
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.holes import ReadDrills
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.negative import is_negative, turned_round
from modboard.fab.readback.netlist import ReadNetlist, read_netlist
from modboard.fab.readback.profile import board_area
from modboard.fab.readback.trouble import ReadError

LARGEST_JOB = 2_000_000
ALIKE = 1e-6  # mm² by which two files of one layer may differ and be one
COPPERS = ("Copper,L1,Top", "Copper,L2,Bot")
_SUM = re.compile(r"([0-9a-f]{64}) [ *](\S.*)")
_OURS = (".gbr", ".drl", ".ipc", ".gbrjob")


@dataclass(frozen=True)
class ReadPackage:
    """Everything that was read.

    `layers` by .FileFunction; `digests` the SHA-256 of each file but the manifest, by name; `manifest` its name and
    what it lists; `warnings` what was deprecated, and what a file did not say itself.
    """

    layers: dict[str, ReadLayer]
    drills: tuple[ReadDrills, ...]
    netlist: ReadNetlist | None
    job: dict[str, Any] | None
    names: tuple[str, ...]
    digests: dict[str, str]
    manifest: tuple[str, dict[str, str]] | None = None
    warnings: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()  # Gerber files of which nobody can tell what they are
    aside: tuple[str, ...] = ()  # files that were not looked into

    def layer(self, function: str) -> ReadLayer | None:
        """Return the layer whose .FileFunction is `function`, e.g. "Copper,L1,Top"; None if it is missing."""
        return self.layers.get(function)


def read_package(source: Path) -> ReadPackage:
    """Return what the folder or zip `source` holds.

    Raises ReadError for a file that cannot be read, for two files that say they are the same layer, and for a zip that
    is damaged, too large, or has a name in it that points outside.
    """
    return package_of(files_of(source))


def package_of(contents: dict[str, bytes]) -> ReadPackage:
    """Return what files given by name and bytes hold together."""
    layers: dict[str, ReadLayer] = {}
    drills: list[ReadDrills] = []
    drill_texts: dict[str, str] = {}
    netlist: ReadNetlist | None = None
    job: dict[str, Any] | None = None
    manifest: tuple[str, dict[str, str]] | None = None
    warnings: list[str] = []
    unknown: list[str] = []
    aside: list[str] = []
    for name, content in sorted(contents.items()):
        kind, text = _kind_and_text(name, content, warnings)
        if kind == "gerber":
            layer = _layer(read_gerber(text, name), warnings)
            if is_drill_layer(layer):
                drills.append(drills_of_layer(layer))
            elif not layer.function:
                unknown.append(name)
                layers[f"?{name}"] = layer
            elif layer.function not in layers or not _is_double(layers[layer.function], layer, warnings):
                layers[layer.function] = layer
        elif kind == "drill":
            drill_texts[name] = text
        elif kind == "netlist":
            if netlist:
                raise ReadError(name, 1, f"is a second netlist beside {netlist.name}")
            netlist = read_netlist(text, name)
            warnings += netlist.warnings
        elif kind == "job":
            job = _job(text, name)
        elif kind == "manifest":
            manifest = (name, _listed(text, name))
        else:
            aside.append(name)
    _turn_negatives(layers, warnings)
    drills += drills_of(drill_texts, lambda: _copper(layers), warnings)
    digests = {
        name: hashlib.sha256(content).hexdigest()
        for name, content in sorted(contents.items())
        if not manifest or name != manifest[0]
    }
    return ReadPackage(
        layers, tuple(drills), netlist, job, tuple(sorted(contents)), digests, manifest, tuple(warnings),
        tuple(unknown), tuple(aside),
    )  # fmt: skip


def _layer(layer: ReadLayer, warnings: list[str]) -> ReadLayer:
    """Return the layer with its function, which may have been taken from name or content."""
    warnings += layer.warnings
    function, why = recognise.layer_function(layer)
    if not why:
        return layer
    warnings.append(f"{layer.name}:1: taken for {function} {why}" if function else f"{layer.name}:1: {why}")
    return replace(
        layer, attributes={**layer.attributes, ".FileFunction": tuple(function.split(",")) if function else ()}
    )


def _is_double(first: ReadLayer, second: ReadLayer, warnings: list[str]) -> bool:
    """Tell whether two files of one layer show the same.  Raises ReadError if not: which of them should be made?"""
    if first.image.symmetric_difference(second.image).area > ALIKE or first.negative is not second.negative:
        raise ReadError(second.name, 1, f"is the same layer as {first.name}: {second.function}")
    warnings.append(f"{second.name}:1: is the same layer as {first.name} and shows the same; it is passed over")
    return True


def _turn_negatives(layers: dict[str, ReadLayer], warnings: list[str]) -> None:
    negatives = [function for function, layer in layers.items() if is_negative(layer)]
    if negatives:
        board = board_area(layers.get("Profile,NP") or layers.get("Profile,P"))
        for function in negatives:
            layers[function] = turned_round(layers[function], board)
            warnings.append(layers[function].warnings[-1])


def _copper(layers: dict[str, ReadLayer]) -> Any:
    return shapely.union_all([layers[function].image for function in COPPERS if function in layers])


def _kind_and_text(name: str, content: bytes, warnings: list[str]) -> tuple[recognise.Kind, str]:
    """Return the kind of a file and its text; what is no text is none of ours unless its name says it should be."""
    ours = PurePosixPath(name).suffix.lower() in _OURS
    try:
        text, plain = content.decode("utf-8-sig"), True
    except UnicodeDecodeError as error:
        text, plain, line = content.decode("latin-1"), False, content[: error.start].count(b"\n") + 1
        if b"\0" in content[:1000]:
            if ours:
                raise ReadError(name, line, "is not text") from error
            return "other", text
    kind = recognise.kind_of(name, text)
    if kind == "other" and ours:
        raise ReadError(name, 1, "is not what its name says")
    if kind != "other" and not plain:
        warnings.append(f"{name}:{line}: is not UTF-8 text; read as Latin-1 (ISO 8859-1)")
    return kind, text


def _job(text: str, name: str) -> dict[str, Any]:
    if len(text) > LARGEST_JOB:
        raise ReadError(name, 1, f"is larger than {LARGEST_JOB} characters")
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ReadError(name, getattr(error, "lineno", 1), "is not JSON") from error
    if not isinstance(found, dict):
        raise ReadError(name, 1, "is not one JSON object")
    return found


def _listed(text: str, name: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        sum_line = _SUM.fullmatch(line)
        if not sum_line or sum_line[2] in found:
            raise ReadError(name, number, "is not a line of SHA-256 and name, or names a file twice")
        found[sum_line[2]] = sum_line[1]
    return found
