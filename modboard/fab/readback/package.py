"""A package on disk, as a folder or a zip, read whole: which file is which is taken from what each says of itself."""

from __future__ import annotations

import hashlib
import json
import re
import struct
import zipfile
import zlib
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

from modboard.fab.readback import recognise
from modboard.fab.readback.drill import ReadDrills, read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.netlist import ReadNetlist, read_netlist
from modboard.fab.readback.trouble import ReadError

LARGEST_FILE = 32_000_000  # bytes; a small board's largest layer is about 1 MB
LARGEST_PACKAGE = 128_000_000
LARGEST_JOB = 2_000_000
MOST_FILES = 200
TROUBLE = (  # what zipfile raises over damaged bytes
    zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, OSError, ValueError, LookupError, zlib.error,
    struct.error,
)  # fmt: skip
_SUM = re.compile(r"([0-9a-f]{64}) [ *](\S.*)")


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

    def layer(self, function: str) -> ReadLayer | None:
        """Return the layer whose .FileFunction is `function`, e.g. "Copper,L1,Top"; None if it is missing."""
        return self.layers.get(function)


def read_package(source: Path) -> ReadPackage:
    """Return what the folder or zip `source` holds.

    Raises ReadError for a file that cannot be read, for two files that say they are the same layer, and for a zip that
    is damaged, too large, or has a name in it that points outside.
    """
    contents = _zip_contents(source) if source.is_file() else _folder_contents(source)
    return package_of(contents)


def package_of(contents: dict[str, bytes]) -> ReadPackage:
    """Return what files given by name and bytes hold together."""
    layers: dict[str, ReadLayer] = {}
    drills: list[ReadDrills] = []
    netlist: ReadNetlist | None = None
    job: dict[str, Any] | None = None
    manifest: tuple[str, dict[str, str]] | None = None
    warnings: list[str] = []
    unknown: list[str] = []
    for name, content in sorted(contents.items()):
        kind, text = _kind_and_text(name, content)
        if kind == "gerber":
            layer = _layer(read_gerber(text, name), warnings)
            if not layer.function:
                unknown.append(name)
            elif layer.function in layers:
                raise ReadError(name, 1, f"is the same layer as {layers[layer.function].name}: {layer.function}")
            layers[layer.function or f"?{name}"] = layer
        elif kind == "drill":
            drills.append(_drills(read_drill(text, name), warnings))
        elif kind == "netlist":
            if netlist:
                raise ReadError(name, 1, f"is a second netlist beside {netlist.name}")
            netlist = read_netlist(text, name)
        elif kind == "job":
            job = _job(text, name)
        elif kind == "manifest":
            manifest = (name, _listed(text, name))
    digests = {
        name: hashlib.sha256(content).hexdigest()
        for name, content in sorted(contents.items())
        if not manifest or name != manifest[0]
    }
    return ReadPackage(
        layers, tuple(drills), netlist, job, tuple(sorted(contents)), digests, manifest, tuple(warnings), tuple(unknown)
    )


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


def _drills(drills: ReadDrills, warnings: list[str]) -> ReadDrills:
    warnings += drills.warnings
    if drills.plated is not None:
        return drills
    plated = recognise.plating(drills.name)
    if plated is None:
        warnings.append(f"{drills.name}:1: does not say whether its holes are plated; they are taken to be")
    else:
        warnings.append(f"{drills.name}:1: holes taken to be {'plated' if plated else 'bare'} by the file's name")
    function = ("NonPlated", "1", "2", "NPTH") if plated is False else ("Plated", "1", "2", "PTH")
    return replace(drills, attributes={**drills.attributes, ".FileFunction": function})


def _kind_and_text(name: str, content: bytes) -> tuple[recognise.Kind, str]:
    """Return the kind of a file and its text; what is no text is none of ours unless its name says it should be."""
    ours = PurePosixPath(name).suffix.lower() in (".gbr", ".drl", ".ipc", ".gbrjob")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        if ours:
            raise ReadError(name, content[: error.start].count(b"\n") + 1, "is not UTF-8 text") from error
        text = content.decode("latin-1")
        if b"\0" in content[:1000]:
            return "other", text
    kind = recognise.kind_of(name, text)
    if kind == "other" and ours:
        raise ReadError(name, 1, "is not what its name says")
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


def _folder_contents(folder: Path) -> dict[str, bytes]:
    if not folder.is_dir():
        raise ReadError(str(folder), 0, "there is no such folder or zip")
    files = [p for p in sorted(folder.iterdir()) if p.is_file() and p.suffix.lower() != ".zip"]
    if len(files) > MOST_FILES or sum(p.stat().st_size for p in files) > LARGEST_PACKAGE:
        raise ReadError(str(folder), 0, "holds more than a package of one board can")
    large = [p for p in files if p.stat().st_size > LARGEST_FILE]
    if large:
        raise ReadError(large[0].name, 0, f"is larger than {LARGEST_FILE} bytes")
    return {p.name: p.read_bytes() for p in files}


def _zip_contents(path: Path) -> dict[str, bytes]:
    contents: dict[str, bytes] = {}
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [e for e in archive.infolist() if not e.filename.endswith("/")]
            if len(entries) > MOST_FILES or sum(e.file_size for e in entries) > LARGEST_PACKAGE:
                raise ReadError(path.name, 0, "holds more than a package of one board can")
            for entry in entries:
                inside = PurePosixPath(entry.filename)
                if inside.is_absolute() or ".." in inside.parts or "\\" in entry.filename or ":" in entry.filename:
                    raise ReadError(path.name, 0, f"holds the name {entry.filename[:80]!r}, which points outside")
                if not inside.name:
                    raise ReadError(path.name, 0, "holds a file without a name")
                if inside.name in contents:
                    raise ReadError(path.name, 0, f"holds two files called {inside.name}")
                with archive.open(entry) as opened:
                    content = opened.read(LARGEST_FILE + 1)
                if len(content) > LARGEST_FILE:
                    raise ReadError(inside.name, 0, f"is larger than {LARGEST_FILE} bytes")
                contents[inside.name] = content
    except TROUBLE as error:
        raise ReadError(path.name, 0, f"is not a whole zip file ({error})") from error
    return contents
