"""The fabrication package: every file, written whole or not at all, and read back before it is let go."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
import zipfile
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from modboard.artwork.measure import gaps_by_kind
from modboard.artwork.model import Artwork
from modboard.check.findings import Findings
from modboard.errors import ModboardError
from modboard.fab.components import component_layer
from modboard.fab.drawings import assembly_drawing, drill_drawing
from modboard.fab.drill import drill_file
from modboard.fab.gerber import gerber_layer
from modboard.fab.job import job_file
from modboard.fab.manifest import manifest
from modboard.fab.names import (
    ASSEMBLY_FILES,
    COMPONENT_FILES,
    DRILL_DRAWING,
    DRILL_NAME,
    LAYER_FILES,
    chosen,
    is_ours,
    stem,
)
from modboard.fab.netlist import netlist_file
from modboard.fab.order_note import order_note
from modboard.fab.parts_list import parts_list
from modboard.fab.positions import positions
from modboard.fab.prices import Prices
from modboard.fab.readback.verify import verify
from modboard.layout.board import COPPER_LAYERS
from modboard.outputs import exchange

ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can hold; the day of writing must not change a byte


class PackageError(ModboardError):
    """A package that must not or cannot be written."""


@dataclass(frozen=True)
class Package:
    """A package on disk: its files in order of name, and the zip that holds them all."""

    folder: Path
    files: tuple[Path, ...]
    archive: Path

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names of all files, the zip's last."""
        return (*(p.name for p in self.files), self.archive.name)


def write(
    artwork: Artwork,
    findings: Findings,
    folder: Path,
    *,
    created: str | None = None,
    groups: Collection[str] = (),
    prices: Prices | None = None,
) -> Package:
    """Write the package into `folder`, which becomes exactly this package.

    `groups` names the groups of files wanted (see `names.GROUPS`), by default all; `prices` costs the parts list.

    The files are written beside `folder`, read back and compared with `artwork`; only then do they take its place, so
    a crash leaves the old package or the new one.  `created` (ISO 8601 with zone) is the date written into the files;
    by default there is none, and equal designs give equal bytes.

    Raises PackageError while a finding stands, if a file read back differs from the design, or if `folder` holds files
    that are not of a package; ModboardError for a group that does not exist.
    """
    standing = [f for f in findings if f.stands]
    if standing:
        first = standing[0]
        raise PackageError(
            f"no package: {len(standing)} finding{'s' if len(standing) > 1 else ''} of error level, first {first.rule} "
            f"at {first.where}: {first.message}; put it right, or waive it in the design with a reason"
        )
    folder = Path(folder)
    recover(folder)
    _refuse_foreign_files(folder)
    wanted = chosen(groups)
    texts = package_texts(artwork, findings, created=created, groups=wanted, prices=prices)
    folder.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", suffix="-new", dir=folder.parent))
    try:
        fresh.chmod(0o755)
        for name, text in texts.items():
            _write_file(fresh / name, text.encode())
        archive = f"{stem(artwork.board.description.name)}-fab.zip"
        _write_zip(fresh / archive, texts)
        differences = verify(fresh, artwork, findings, wanted)
        if differences:
            more = f" (and {len(differences) - 1} more)" if len(differences) > 1 else ""
            raise PackageError(f"no package: read back, the files differ from the design: {differences[0]}{more}")
        _swap(fresh, folder)
    except BaseException:
        shutil.rmtree(fresh, ignore_errors=True)
        raise
    return Package(folder, tuple(folder / name for name in texts), folder / archive)


def package_texts(
    artwork: Artwork,
    findings: Findings,
    *,
    created: str | None = None,
    groups: Collection[str] = (),
    prices: Prices | None = None,
) -> dict[str, str]:
    """Return every chosen file of the package but the zip, by name, in order of name."""
    wanted = chosen(groups)
    start = stem(artwork.board.description.name)
    gaps = gaps_by_kind(artwork) if wanted & {"order", "job"} else {}
    gerbers = gerber_texts(artwork, wanted, created=created)
    texts = {f"{start}-{name}.gbr": text for name, text in gerbers.items()}
    if "holes" in wanted:
        for plated, name in DRILL_NAME.items():
            if (text := drill_file(artwork, plated, created=created)) is not None:
                texts[f"{start}-{name}"] = text
    if "netlist" in wanted:
        texts[f"{start}-netlist.ipc"] = netlist_file(artwork)
    if "parts" in wanted:
        texts[f"{start}-parts.csv"] = parts_list(artwork, prices)
    if "positions" in wanted:
        texts[f"{start}-positions.csv"] = positions(artwork)
    if "job" in wanted:
        paths = {name: f"{start}-{name}.gbr" for name in gerbers}
        texts[f"{start}-job.gbrjob"] = job_file(artwork, paths, created=created, gaps=gaps)
    if "order" in wanted:
        others = sorted([*texts, *([f"{start}-manifest.txt"] if "manifest" in wanted else [])])
        texts[f"{start}-order.txt"] = order_note(artwork, findings, gaps=gaps, files=others, prices=prices)
    if "manifest" in wanted:
        texts[f"{start}-manifest.txt"] = manifest(texts)
    return dict(sorted(texts.items()))


def gerber_texts(artwork: Artwork, wanted: Collection[str], *, created: str | None = None) -> dict[str, str]:
    """Return the Gerber files of the chosen groups, by layer name."""
    texts: dict[str, str | None] = {}
    if "layers" in wanted:
        for layer in (artwork.layer(name) for name in LAYER_FILES if any(x.name == name for x in artwork.layers)):
            texts[layer.name] = gerber_layer(layer, artwork, created=created)
    for side in COPPER_LAYERS:
        if "components" in wanted:
            texts[COMPONENT_FILES[side][0]] = component_layer(artwork, side, created=created)
        if "drawings" in wanted:
            texts[ASSEMBLY_FILES[side][0]] = assembly_drawing(artwork, side, created=created)
    if "drawings" in wanted:
        texts[DRILL_DRAWING[0]] = drill_drawing(artwork, created=created)
    return {name: text for name, text in texts.items() if text is not None}


def recover(folder: Path) -> None:
    """Clear up after a run that was killed: put back a package that had been moved aside, remove half-written ones."""
    old = _aside(folder)
    if old.exists():
        if folder.exists():
            shutil.rmtree(old)
        else:
            old.rename(folder)
    for left in folder.parent.glob(f".{folder.name}-*-new"):
        shutil.rmtree(left, ignore_errors=True)


def _refuse_foreign_files(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise PackageError(f"{folder}: is a file; name a folder for the package")
    foreign = sorted(p.name for p in folder.iterdir() if not is_ours(p.name)) if folder.exists() else []
    if foreign:
        raise PackageError(f"{folder}: holds {foreign[0]}, which is not of a package; move it, or name another folder")


def _write_file(path: Path, content: bytes) -> None:
    path.write_bytes(content)


def _write_zip(path: Path, texts: dict[str, str]) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in sorted(texts.items()):
            entry = zipfile.ZipInfo(name, ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # the same on every machine
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, text.encode())


def _aside(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}-old")


def _swap(fresh: Path, folder: Path) -> None:
    """Put `fresh` where `folder` is, in one step if the system can; else the old one waits beside it for `recover`."""
    old = _aside(folder)
    if folder.exists() and exchange(fresh, folder):
        shutil.rmtree(fresh, ignore_errors=True)
        return
    if folder.exists():
        folder.rename(old)
    try:
        fresh.rename(folder)
    except BaseException:
        if old.exists():
            old.rename(folder)
        raise
    with contextlib.suppress(OSError):
        shutil.rmtree(old)
