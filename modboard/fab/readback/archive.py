"""The files of a package, from a folder or a zip, by name: nothing is unpacked, and no name can point outside."""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from pathlib import Path, PurePosixPath

from modboard.fab.readback.trouble import ReadError

LARGEST_FILE = 32_000_000  # bytes; a small board's largest layer is about 1 MB
LARGEST_PACKAGE = 128_000_000
MOST_FILES = 200
TROUBLE = (  # what zipfile raises over damaged bytes
    zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, OSError, ValueError, LookupError, zlib.error,
    struct.error,
)  # fmt: skip
_LEAVINGS = ("__MACOSX", ".DS_Store", "Thumbs.db", "desktop.ini")  # what computers put beside files unasked


def files_of(source: Path) -> dict[str, bytes]:
    """Return the bytes of each file of a folder or zip, by its name without folders.

    Of a folder, files in folders inside it count only where it holds none itself.  Raises ReadError for a zip that is
    damaged or too large, a name that points outside, and two files of one name.
    """
    return _zip_contents(source) if source.is_file() else _folder_contents(source)


def _is_leaving(path: PurePosixPath) -> bool:
    return any(part in _LEAVINGS or part.startswith("._") for part in path.parts)


def _folder_contents(folder: Path) -> dict[str, bytes]:
    if not folder.is_dir():
        raise ReadError(str(folder), 0, "there is no such folder or zip")
    files: list[Path] = []
    for found in (folder.iterdir(), folder.glob("*/*")):
        files = [p for p in sorted(found) if p.is_file() and p.suffix.lower() != ".zip"]
        files = [p for p in files if not _is_leaving(PurePosixPath(p.relative_to(folder).as_posix()))]
        if files:
            break
    if len(files) > MOST_FILES or sum(p.stat().st_size for p in files) > LARGEST_PACKAGE:
        raise ReadError(str(folder), 0, "holds more than a package of one board can")
    contents: dict[str, bytes] = {}
    for path in files:
        if path.stat().st_size > LARGEST_FILE:
            raise ReadError(path.name, 0, f"is larger than {LARGEST_FILE} bytes")
        if path.name in contents:
            raise ReadError(str(folder), 0, f"holds two files called {path.name}")
        contents[path.name] = path.read_bytes()
    return contents


def _zip_contents(path: Path) -> dict[str, bytes]:
    contents: dict[str, bytes] = {}
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [e for e in archive.infolist() if not e.filename.endswith(("/", "\\"))]
            if len(entries) > MOST_FILES or sum(e.file_size for e in entries) > LARGEST_PACKAGE:
                raise ReadError(path.name, 0, "holds more than a package of one board can")
            for entry in entries:
                name = _name_inside(path.name, entry.filename)
                if name is None:
                    continue
                if name in contents:
                    raise ReadError(path.name, 0, f"holds two files called {name}")
                with archive.open(entry) as opened:
                    content = opened.read(LARGEST_FILE + 1)
                if len(content) > LARGEST_FILE:
                    raise ReadError(name, 0, f"is larger than {LARGEST_FILE} bytes")
                contents[name] = content
    except TROUBLE as error:
        raise ReadError(path.name, 0, f"is not a whole zip file ({error})") from error
    return contents


def _name_inside(archive: str, entry: str) -> str | None:
    """Return the name of a zip's file without folders, None for what is no file of the package."""
    inside = PurePosixPath(entry.replace("\\", "/"))  # zips of some machines part folders so
    if inside.is_absolute() or ".." in inside.parts or re.match(r"[A-Za-z]:", entry) or ":" in inside.name:
        raise ReadError(archive, 0, f"holds the name {entry[:80]!r}, which points outside")
    if not inside.name:
        raise ReadError(archive, 0, "holds a file without a name")
    return None if _is_leaving(inside) else inside.name
