"""A package on disk, as a folder or a zip, read whole: which file is which is taken from what each says of itself."""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from modboard.fab.readback.drill import ReadDrills, read_drill
from modboard.fab.readback.gerber import read_gerber
from modboard.fab.readback.layer import ReadLayer
from modboard.fab.readback.netlist import ReadNetlist, read_netlist
from modboard.fab.readback.trouble import ReadError

LARGEST_FILE = 64_000_000  # bytes; a small board's largest layer is about 1 MB
LARGEST_PACKAGE = 256_000_000
MOST_FILES = 200


@dataclass(frozen=True)
class ReadPackage:
    """Everything that was read: layers by .FileFunction, drill files, the netlist and the job file if there is one."""

    layers: dict[str, ReadLayer]
    drills: tuple[ReadDrills, ...]
    netlist: ReadNetlist | None
    job: dict[str, Any] | None
    names: tuple[str, ...]

    def layer(self, function: str) -> ReadLayer | None:
        """Return the layer whose .FileFunction is `function`, e.g. "Copper,L1,Top"; None if it is missing."""
        return self.layers.get(function)


def read_package(source: Path) -> ReadPackage:
    """Return what the folder or zip `source` holds.

    Raises ReadError for a file that cannot be read, for two files that say they are the same layer, and for a zip that
    is damaged, too large, or has a name in it that points outside.
    """
    texts = _zip_texts(source) if source.is_file() else _folder_texts(source)
    layers: dict[str, ReadLayer] = {}
    drills: list[ReadDrills] = []
    netlist: ReadNetlist | None = None
    job: dict[str, Any] | None = None
    for name, text in sorted(texts.items()):
        ending = PurePosixPath(name).suffix.lower()
        if ending == ".gbr":
            layer = read_gerber(text, name)
            if layer.function in layers:
                raise ReadError(name, 1, f"is the same layer as {layers[layer.function].name}: {layer.function}")
            layers[layer.function] = layer
        elif ending == ".drl":
            drills.append(read_drill(text, name))
        elif ending == ".ipc":
            if netlist:
                raise ReadError(name, 1, f"is a second netlist beside {netlist.name}")
            netlist = read_netlist(text, name)
        elif ending == ".gbrjob":
            job = _job(text, name)
    return ReadPackage(layers, tuple(drills), netlist, job, tuple(sorted(texts)))


def _job(text: str, name: str) -> dict[str, Any]:
    try:
        found = json.loads(text)
    except ValueError as error:
        raise ReadError(name, getattr(error, "lineno", 1), "is not JSON") from error
    if not isinstance(found, dict):
        raise ReadError(name, 1, "is not one JSON object")
    return found


def _wanted(name: str) -> bool:
    return PurePosixPath(name).suffix.lower() in (".gbr", ".drl", ".ipc", ".gbrjob")


def _folder_texts(folder: Path) -> dict[str, str]:
    if not folder.is_dir():
        raise ReadError(str(folder), 0, "there is no such folder or zip")
    return {p.name: _text(p.name, p.read_bytes()) for p in sorted(folder.iterdir()) if p.is_file() and _wanted(p.name)}


def _zip_texts(path: Path) -> dict[str, str]:
    texts: dict[str, str] = {}
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [e for e in archive.infolist() if not e.is_dir()]
            if len(entries) > MOST_FILES or sum(e.file_size for e in entries) > LARGEST_PACKAGE:
                raise ReadError(path.name, 0, "holds more than a package of one board can")
            for entry in entries:
                inside = PurePosixPath(entry.filename)
                if inside.is_absolute() or ".." in inside.parts or "\\" in entry.filename:
                    raise ReadError(path.name, 0, f"holds the name {entry.filename!r}, which points outside")
                if _wanted(entry.filename):
                    with archive.open(entry) as opened:
                        texts[inside.name] = _text(inside.name, opened.read(LARGEST_FILE + 1))
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise ReadError(path.name, 0, f"is not a whole zip file ({error})") from error
    return texts


def _text(name: str, content: bytes) -> str:
    if len(content) > LARGEST_FILE:
        raise ReadError(name, 0, f"is larger than {LARGEST_FILE} bytes")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ReadError(name, content[: error.start].count(b"\n") + 1, "is not UTF-8 text") from error
