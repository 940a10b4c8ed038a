"""The package on disk: complete, equal each time, whole or not at all, and never written while a finding stands."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from modboard import Design
from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.check.findings import Finding
from modboard.errors import ModboardError
from modboard.fab import package as package_module
from modboard.fab.names import stem
from modboard.fab.package import Package, package_texts, recover, write
from modboard.fab.readback.connectivity import nets_from_files
from modboard.fab.readback.inspect import inspect_package
from modboard.fab.readback.package import read_package
from modboard.fab.readback.verify import verify
from modboard.layout.board import Board, PlacedPart
from tests.fab.boards import fifty_parts
from tests.sample import NETS, sample_artwork, sample_board

WHATS = [
    "assembly-bottom.gbr", "assembly-top.gbr", "components-bottom.gbr", "components-top.gbr", "copper-bottom.gbr",
    "copper-top.gbr", "drill-drawing.gbr", "holes-bare.drl", "holes-plated.drl", "job.gbrjob", "legend-bottom.gbr",
    "legend-top.gbr", "manifest.txt", "mask-bottom.gbr", "mask-top.gbr", "netlist.ipc", "order.txt", "parts.csv",
    "paste-bottom.gbr", "paste-top.gbr", "positions.csv", "profile.gbr",
]  # fmt: skip
NAMES = [f"sample-buffer-{what}" for what in WHATS]
ERROR = Finding("copper-gap", "error", (1.0, 2.0), "U1.1 to R1.1", "0.1 mm between two nets", 0.1, 0.25)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Package:
    """Give one written package of the sample, not to be changed."""
    return write(sample_artwork(), (), tmp_path_factory.mktemp("made") / "fab")


def contents(folder: Path) -> dict[str, str]:
    """Return the digest of each file in a folder."""
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir())}


def test_package_is_complete_and_named_by_the_pattern(made: Package) -> None:
    """All files, and the same in the zip, with a fixed date."""
    assert sorted(p.name for p in made.files) == NAMES
    assert made.archive.name == "sample-buffer-fab.zip" and made.names[-1] == made.archive.name
    assert sorted(contents(made.folder)) == sorted([*NAMES, made.archive.name])
    with zipfile.ZipFile(made.archive) as archive:
        assert archive.namelist() == NAMES and archive.testzip() is None
        assert {e.date_time for e in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert all(archive.read(p.name) == p.read_bytes() for p in made.files)


def test_nets_rebuilt_from_the_files_are_the_designs_nets(made: Package) -> None:
    """From copper and drill geometry alone, folder and zip; unconnected pins stand alone."""
    wanted = [frozenset(tuple(word.split(".")) for word in pins.split()) for _, pins in NETS]
    wanted += [frozenset({("U1", n)}) for n in "567"]
    for source in (made.folder, made.archive):
        assert set(nets_from_files(source)) == set(wanted)
        assert verify(source, sample_artwork()) == []


def test_fifty_parts_are_read_back_equal_and_quickly(tmp_path: Path) -> None:
    """A board of 50 parts: nets equal, and the whole package in less than 1.2 s of processor time."""
    artwork = fifty_parts()
    write(artwork, (), tmp_path / "fab")
    start = time.process_time()
    package = write(artwork, (), tmp_path / "fab")
    assert time.process_time() - start < 1.2
    nets = {frozenset(net.pins) for net in artwork.board.description.nets}
    assert {net for net in nets_from_files(package.archive) if len(net) > 1} == nets


def test_same_design_gives_the_same_bytes(made: Package, tmp_path: Path) -> None:
    """Another folder, another process, another hash seed and time zone."""
    script = (
        "import sys; from pathlib import Path; from modboard.fab.package import write; "
        "from tests.sample import sample_artwork; write(sample_artwork(), (), Path(sys.argv[1]))"
    )
    setting = {**os.environ, "PYTHONHASHSEED": "77", "TZ": "Pacific/Apia", "LC_ALL": "C"}
    root = Path(__file__).parents[2]
    subprocess.run([sys.executable, "-c", script, str(tmp_path / "elsewhere")], env=setting, cwd=root, check=True)
    assert contents(tmp_path / "elsewhere") == contents(made.folder)


def test_date_is_in_the_files_only_when_given(made: Package, tmp_path: Path) -> None:
    """ISO 8601 with zone, in layers, drill files and job file."""
    date = "2025-01-31T12:00:00+00:00"
    dated = write(sample_artwork(), (), tmp_path / "fab", created=date)
    for path in dated.files:
        assert (date in path.read_text()) is (path.suffix in (".gbr", ".drl", ".gbrjob"))
        assert date not in (made.folder / path.name).read_text()


def test_job_file_lists_the_files_of_the_package(made: Package) -> None:
    """Every Gerber file, by name, with the function it states itself."""
    job = json.loads((made.folder / "sample-buffer-job.gbrjob").read_text())
    read = read_package(made.folder)
    listed = {f["Path"]: f["FileFunction"] for f in job["FilesAttributes"]}
    assert listed == {layer.name: layer.function for layer in read.layers.values()}


def test_no_package_while_a_finding_stands(tmp_path: Path) -> None:
    """An error stops it and says where; nothing is left on disk."""
    with pytest.raises(ModboardError, match=r"1 finding of error level, first copper-gap at U1\.1 to R1\.1: .*waive"):
        write(sample_artwork(), (ERROR,), tmp_path / "fab")
    assert list(tmp_path.iterdir()) == []


def test_a_waived_finding_and_a_warning_do_not_stop_it(tmp_path: Path) -> None:
    """The reason travels in the order note."""
    findings = (replace(ERROR, waived="checked by eye"), replace(ERROR, severity="warning"))
    package = write(sample_artwork(), findings, tmp_path / "fab")
    note = next(p for p in package.files if p.name.endswith("-order.txt")).read_text()
    assert "checked by eye" in note


def home_etched() -> Artwork:
    """Return the sample under rules without mask and legend."""
    board = sample_board()
    rules = replace(board.description.rules, mask=False, legend=False, layers_plated=False)
    return draw(replace(board, description=replace(board.description, rules=rules)))


def test_home_rules_leave_out_mask_and_legend(tmp_path: Path) -> None:
    """Only what can be made is in the package."""
    package = write(home_etched(), (), tmp_path / "fab")
    assert not [n for n in package.names if "mask" in n or "legend" in n]
    assert {f"sample-buffer-{n}.gbr" for n in ("copper-top", "copper-bottom", "profile")} <= set(package.names)


def test_leads_with_a_land_on_one_side_are_listed_on_that_side(tmp_path: Path) -> None:
    """IPC-D-356A access field: 00 both sides, 01 top, 02 bottom; and the package reads back as drawn."""
    design = Design("leads", outline=(60.0, 40.0), rules="home")
    design.part("U1", "dip-8", pins="A B C D E F G H")
    design.part("P1", "host-plug-8", pins="A B C D E F G H")
    design.part("R1", "resistor", "1k", footprint="resistor-axial-7.62")
    described = design.described()
    places = ((8.0, 20.0), (25.0, 20.0), (42.0, 20.0))
    parts = tuple(PlacedPart(part, at, 0.0) for part, at in zip(described.parts, places, strict=True))
    package = write(draw(Board(described, described.outline, parts, (), (), ())), (), tmp_path / "fab")
    text = next(p for p in package.files if p.name.endswith(".ipc")).read_text()
    listed = {(line[20:26].strip(), line[39:41]) for line in text.splitlines() if line.startswith("317")}
    sides = {reference: {side for name, side in listed if name == reference} for reference in ("U1", "P1", "R1")}
    assert sides == {"U1": {"02"}, "P1": {"01"}, "R1": {"00"}}


def test_boards_without_plating_say_so_in_every_file(tmp_path: Path) -> None:
    """GLFS 5.6.3: NonPlated; 5.6.10: ComponentDrill is for leads and wires; IPC-D-356A column 38: U; no stencil."""
    package = write(home_etched(), (), tmp_path / "fab")
    texts = {path.name: path.read_text() for path in package.files}
    assert not [n for n in package.names if "paste" in n or "plated" in n]
    bare = texts["sample-buffer-holes-bare.drl"]
    assert "FileFunction,NonPlated,1,2,NPTH" in bare and "ViaDrill" not in bare and "ComponentDrill" in bare
    holes = [line for line in texts["sample-buffer-netlist.ipc"].splitlines() if line.startswith("317")]
    assert holes and {line[37] for line in holes} == {"U"}
    verdict = inspect_package(package.folder)
    assert verdict.sound and verdict.findings == ()
    assert set(nets_from_files(package.folder)) == set(
        nets_from_files(write(sample_artwork(), (), tmp_path / "b").folder)
    )


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("dunlin-av", "dunlin-av"),
        ("Dunlin AV!", "dunlin-av"),
        ("../../etc/passwd", "etc-passwd"),
        ("Ω", "board"),
        ("a/b\\c\0", "a-b-c"),
    ],
)
def test_names_from_a_design_stay_in_the_folder(tmp_path: Path, name: str, safe: str) -> None:
    """File names hold letters, digits and hyphens only."""
    assert stem(name) == safe
    board = sample_board()
    artwork = replace(sample_artwork(), board=replace(board, description=replace(board.description, name=name)))
    package = write(artwork, (), tmp_path / "fab")
    assert {p.parent for p in (*package.files, package.archive)} == {tmp_path / "fab"}
    assert all(n.startswith(f"{safe}-") for n in package.names)
    assert [p.name for p in tmp_path.iterdir()] == ["fab"]


# --- whole or not at all


class Interrupted(BaseException):
    """Stands for Ctrl-C, a full disk, or a kill."""


def failing_at(count: int, function: Callable[..., Any]) -> Callable[..., Any]:
    """Return `function` made to fail at its call number `count`, having written half of what it should."""
    calls = iter(range(10_000))

    def wrapped(path: Path, content: Any) -> None:
        if next(calls) == count:
            path.write_bytes(b"half a fi")
            raise Interrupted
        function(path, content)

    return wrapped


@cache
def sample_texts() -> dict[str, str]:
    """Return the files of the sample's package, made once."""
    return package_texts(sample_artwork(), ())


@cache
def older_files() -> dict[str, bytes]:
    """Return the files of a package that differs from the sample's, written once."""
    with TemporaryDirectory() as folder:
        write(sample_artwork(), (replace(ERROR, waived="older"),), Path(folder) / "fab")
        return {p.name: p.read_bytes() for p in (Path(folder) / "fab").iterdir()}


def older_package(folder: Path) -> dict[str, str]:
    """Put a package there that differs from the sample's, and return its contents."""
    folder.mkdir()
    for name, content in older_files().items():
        (folder / name).write_bytes(content)
    return contents(folder)


@pytest.mark.parametrize("count", range(len(NAMES)))
def test_a_failure_at_any_file_leaves_the_old_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    """Interrupted in the middle of each file in turn."""
    before = older_package(tmp_path / "fab") if count % 4 == 0 else {}
    monkeypatch.setattr(package_module, "package_texts", lambda *_, **__: sample_texts())
    monkeypatch.setattr(package_module, "_write_file", failing_at(count, package_module._write_file))
    with pytest.raises(Interrupted):
        write(sample_artwork(), (), tmp_path / "fab")
    assert [p.name for p in tmp_path.iterdir()] == (["fab"] if before else [])
    assert not before or contents(tmp_path / "fab") == before


@pytest.mark.parametrize("step", ["_write_zip", "verify", "_swap", "package_texts"])
def test_a_failure_at_any_step_leaves_the_old_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Zip, read-back, change-over."""
    before = older_package(tmp_path / "fab")
    monkeypatch.setattr(package_module, step, interrupted)
    with pytest.raises(Interrupted):
        write(sample_artwork(), (), tmp_path / "fab")
    assert [p.name for p in tmp_path.iterdir()] == ["fab"] and contents(tmp_path / "fab") == before


def interrupted(*_: Any, **__: Any) -> None:
    """Fail."""
    raise Interrupted


@pytest.mark.parametrize("rename", [0, 1])
def test_a_failure_at_either_rename_leaves_the_old_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rename: int
) -> None:
    """The change-over itself: aside with the old, in with the new."""
    before = older_package(tmp_path / "fab")
    real, calls = Path.rename, iter(range(100))

    def failing(self: Path, target: Path) -> Path:
        if next(calls) == rename:
            raise Interrupted
        return real(self, target)

    monkeypatch.setattr(package_module, "exchange", lambda one, other: False)
    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(Interrupted):
        write(sample_artwork(), (), tmp_path / "fab")
    monkeypatch.undo()
    assert [p.name for p in tmp_path.iterdir()] == ["fab"] and contents(tmp_path / "fab") == before


def test_a_process_killed_at_the_change_over_is_recovered(tmp_path: Path) -> None:
    """Nothing runs after a kill: the old package lies beside, and the next run puts it back and clears up."""
    before = older_package(tmp_path / "fab")
    (tmp_path / "fab").rename(tmp_path / ".fab-old")
    half = tmp_path / ".fab-x1y2-new"
    half.mkdir()
    (half / "half.gbr").write_text("half")
    recover(tmp_path / "fab")
    assert [p.name for p in tmp_path.iterdir()] == ["fab"] and contents(tmp_path / "fab") == before


def test_writing_again_replaces_the_package_wholly(tmp_path: Path) -> None:
    """A file of the older package that the newer one has not is gone."""
    folder = tmp_path / "fab"
    write(sample_artwork(), (), folder)
    write(home_etched(), (), folder)
    assert not any("mask" in p.name for p in folder.iterdir())


def test_a_strangers_file_is_never_deleted(tmp_path: Path) -> None:
    """The folder is replaced as a whole, so it must hold nothing else."""
    folder = tmp_path / "fab"
    write(sample_artwork(), (), folder)
    (folder / "my notes.txt").write_text("do not lose me")
    with pytest.raises(ModboardError, match=r"holds my notes\.txt, which is not of a package"):
        write(sample_artwork(), (), folder)
    assert (folder / "my notes.txt").read_text() == "do not lose me"


def test_a_file_in_the_folders_place_is_refused(tmp_path: Path) -> None:
    """And left as it is."""
    (tmp_path / "fab").write_text("a file")
    with pytest.raises(ModboardError, match="is a file"):
        write(sample_artwork(), (), tmp_path / "fab")
    assert (tmp_path / "fab").read_text() == "a file"


def test_a_difference_found_on_reading_back_stops_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A writer that loses a hole is caught before anything is let go."""
    real = package_module.drill_file
    monkeypatch.setattr(
        package_module,
        "drill_file",
        lambda artwork, plated, **how: real(replace(artwork, drills=artwork.drills[1:]), plated, **how),
    )
    with pytest.raises(
        ModboardError, match=r"read back, the files differ from the design: drill files: no hole of 0\.8"
    ):
        write(sample_artwork(), (), tmp_path / "fab")
    assert list(tmp_path.iterdir()) == []


def opened() -> Artwork:
    """Return the sample without the tracks of SIG on the bottom."""
    board = sample_board()
    return draw(replace(board, tracks=tuple(t for t in board.tracks if (t.net, t.layer) != ("SIG", "bottom"))))


def test_an_open_stops_the_package_unless_it_was_waived(tmp_path: Path) -> None:
    """Even where the checks saw nothing, the files must join what the design joins."""
    with pytest.raises(ModboardError, match="net SIG: its pins lie on 2 separate pieces of copper"):
        write(opened(), (), tmp_path / "fab")
    waived = Finding("open", "error", None, "net SIG, at R1.1", "net SIG is in 2 pieces", waived="wired by hand")
    write(opened(), (waived,), tmp_path / "fab")
    with pytest.raises(ModboardError, match="net SIG"):
        write(opened(), (replace(waived, where="net GND", message="net GND is in 2 pieces"),), tmp_path / "other")
