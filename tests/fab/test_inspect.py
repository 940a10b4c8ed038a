"""The verdict on packages by their files alone: ours, ours spoiled, and the same board in older dialects."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard.artwork.measure import smallest_gap, smallest_ring, smallest_track
from modboard.cli import main
from modboard.fab.package import package_texts
from modboard.fab.readback.inspect import Verdict, inspect_read
from modboard.fab.readback.package import package_of
from tests.sample import sample_artwork

TEXTS = {
    name.removeprefix("sample-buffer-"): text.replace("sample-buffer-", "") if name.endswith("gbrjob") else text
    for name, text in package_texts(sample_artwork(), ()).items()
}
Change = Callable[[str], str]


def verdict(changes: dict[str, Change | None] | None = None) -> Verdict:
    """Return what is said of the sample's package with some files changed (None: left out), manifest left out."""
    changed = {name: change(text) for name, text in TEXTS.items() if (change := (changes or {}).get(name, str))}
    changed.pop("manifest.txt")
    return inspect_read(package_of({name: unsigned(text).encode() for name, text in changed.items()}))


def unsigned(text: str) -> str:
    """Take the checksum away, so that a change must be found by what it does."""
    return re.sub(r"%TF\.MD5,\w+\*%\n", "", text)


def test_our_own_package_has_nothing_against_it_and_its_figures_are_those_of_the_drawing() -> None:
    """Gap, ring and line against the exact figures of the artwork, to 1 µm; 30 × 25 mm, 40 pads, 20 + 1 holes."""
    found = verdict()
    assert found.findings == () and found.package.warnings == () and found.sound
    said = dict(found.figures)
    artwork = sample_artwork()
    for name, extreme in (
        ("smallest gap", smallest_gap(artwork)),
        ("smallest ring", smallest_ring(artwork)),
        ("narrowest line", smallest_track(artwork)),
    ):
        assert extreme is not None
        assert float(said[name].split()[0]) == pytest.approx(extreme.value, abs=0.0011), name
    assert said["board"] == "30.00 × 25.00 mm" and said["holes"] == "20 plated, 1 bare"
    assert said["mask openings"] == "40 of 40 pads are open"
    assert "errors, 0 warnings: the package agrees with itself" in found.lines()[-1]


LAYER = """%FSLAX46Y46*%
%MOMM*%
%TF.FileFunction,{function}*%
%LPD*%
%ADD10C,1.0*%
D10*
{drawn}M02*
"""
CORNERS = "X{0}Y0D02*\nG01*\nX{1}Y0D01*\nX{1}Y5000000D01*\nX{0}Y5000000D01*\nX{0}Y0D01*\n"


@pytest.mark.parametrize(
    ("rules", "kept"),
    [
        ('"PadToPad": 0.9', True),
        ('"PadToPad": 0.95', False),
        ('"TrackToRegion": 0.9, "RegionToRegion": 2.0', True),
    ],
)
def test_a_job_file_has_no_word_for_the_gap_between_a_pad_and_a_fill(rules: str, kept: bool) -> None:
    """Gerber Job Format, DesignRules: no PadToRegion.  The fill ends at x = 5 mm; 1 mm pads at x = 5.8 and 7.7.

    So the fill is 0.3 mm from the pads, and they are 0.9 mm from each other.
    """
    fill = f"G36*\n{CORNERS.format(0, 5_000_000)}G37*\n"
    pads = "".join(f"X{x}Y2500000D03*\n" for x in (5_800_000, 7_700_000))
    edge = CORNERS.format(-1_000_000, 10_000_000)
    files = {
        "bottom.gbr": LAYER.format(function="Copper,L2,Bot", drawn=fill + pads),
        "profile.gbr": LAYER.format(function="Profile,NP", drawn=edge),
        "board.gbrjob": f'{{"DesignRules": [{{"Layers": "Outer", {rules}}}]}}',
    }
    found = inspect_read(package_of({name: text.encode() for name, text in files.items()}))
    said = [finding.message for finding in found.findings if finding.rule == "job-file"]
    assert any("promises wider gaps" in words for words in said) is not kept, said


def mirrored(text: str) -> str:
    """Mirror a layer left to right about x = 15.8 mm, the middle of the sample."""
    return re.sub(r"X(-?\d+)(?=Y-?\d+D0)", lambda m: f"X{31_600_000 - int(m[1])}", text)


def shifted(by: float) -> Change:
    """Shift a drill file in x."""
    return lambda text: re.sub(r"X(-?[\d.]+)(?=Y)", lambda m: f"X{float(m[1]) + by:.3f}", text)


def without(pattern: str) -> Change:
    """Take out the first line that matches."""
    return lambda text: re.sub(pattern + r"[^\n]*\n", "", text, count=1)


def with_bridge(text: str) -> str:
    """Join OUT and SIG on the top by a line without a name."""
    return text.replace("M02*", "%TD*%\nD11*\nX12000000Y14000000D02*\nG01*\nX12000000Y8920000D01*\nM02*")


SPOILED: list[tuple[str, dict[str, Change | None], str, str]] = [
    ("copper mirrored", {"copper-top.gbr": mirrored}, "alignment", "the layer is mirrored"),
    ("mask mirrored", {"mask-bottom.gbr": mirrored}, "alignment", "pads lie in openings"),
    ("drill shifted", {"holes-plated.drl": shifted(0.1)}, "netlist", "no plated hole of"),
    ("drill far off", {"holes-plated.drl": shifted(3.0)}, "alignment", "holes with lands meet copper"),
    ("copper in inches", {"copper-top.gbr": lambda t: t.replace("MOMM", "MOIN")}, "alignment", "lie off the board"),
    ("drill in inches", {"holes-plated.drl": lambda t: t.replace("METRIC", "INCH")}, "alignment", "lie off the board"),
    ("hole too large", {"holes-plated.drl": lambda t: t.replace("C0.600", "C1.200")}, "ring", "breaks out"),
    ("no pad", {"copper-top.gbr": without(r"X8000000Y9080000D03")}, "ring", "breaks out"),
    ("bridge", {"copper-top.gbr": with_bridge}, "short", "nets OUT, SIG are joined"),
    ("track lost", {"copper-bottom.gbr": without(r"X8000000Y18000000D01")}, "open", "separate pieces"),
    ("opening lost", {"mask-top.gbr": without(r"X12000000Y14000000D03")}, "mask-opening", "is covered by the mask"),
    ("edge open", {"profile.gbr": lambda t: t.replace("D01*", "D02*", 1)}, "profile", "no file shows a closed edge"),
    ("job size", {"job.gbrjob": lambda t: t.replace('"X": 30.0', '"X": 31.0')}, "job-file", "board size X"),
    ("job rule", {"job.gbrjob": lambda t: t.replace('LineWidth": 0.3', 'LineWidth": 0.4')}, "job-file", "MinLineWidth"),
    ("job gaps", {"job.gbrjob": lambda t: re.sub(r'(To\w+": )[\d.]+', r"\g<1>0.9", t)}, "job-file", "wider gaps"),
    ("plating", {"holes-bare.drl": lambda t: t.replace("NonPlated", "Plated")}, "hole-in-pad", "is not inside copper"),
    ("netlist edge", {"netlist.ipc": lambda t: t.replace("X+030800", "X+030900")}, "netlist", "board edge differs"),
    ("other board", {"mask-top.gbr": lambda t: t.replace("Coordinates,", "Coordinates,0")}, "alignment", "different"),
    ("no copper", {"copper-top.gbr": None, "copper-bottom.gbr": None}, "copper-missing", "no file is a copper layer"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "rule", "words"), [s[1:] for s in SPOILED], ids=[s[0] for s in SPOILED])
def test_a_spoiled_package_is_found_out_without_the_design(
    changes: dict[str, Change | None], rule: str, words: str
) -> None:
    """Each fault by the rule that is meant for it."""
    found = verdict(changes)
    assert not found.sound
    assert any(f.rule == rule and words in f.message for f in found.findings), found.lines()


def test_legend_on_a_pad_and_paste_off_it_are_warned_of() -> None:
    """A line of legend through J1's first pad; paste 1 mm off."""
    found = verdict({
        "legend-top.gbr": lambda t: t.replace("M02*", "D10*\nX2000000Y4000000D02*\nG01*\nX5000000Y4000000D01*\nM02*"),
        "paste-top.gbr": lambda t: re.sub(r"X(\d+)(?=Y\d+D0)", lambda m: f"X{int(m[1]) + 10**6}", t),
    })  # fmt: skip
    assert found.sound
    assert {f.rule for f in found.findings} >= {"legend-on-pad", "paste-off-pad"}


# --- the same board as other tools might have written it


def without_attributes(text: str) -> str:
    """Take every attribute out of a layer or drill file."""
    return re.sub(r"%T[FAOD][^%]*%\n|; #@![^\n]*\n", "", text)


def in_inches(text: str) -> str:
    """Turn a layer of ours into inches, 2.6 digits with trailing zeros left out (one step is 25.4 nm)."""

    def number(found: re.Match[str]) -> str:
        steps = round(int(found[2]) / 25.4)
        digits = f"{abs(steps):08d}".rstrip("0") or "0"
        return f"{found[1]}{'-' if steps < 0 else ''}{digits}"

    text = re.sub(r"(X)(-?\d+)(?=Y-?\d+D0)", number, text)
    text = re.sub(r"(Y)(-?\d+)(?=D0)", number, text)
    text = re.sub(
        r"(%ADD\d+[CROP],)([^*]*)", lambda m: m[1] + "X".join(f"{float(v) / 25.4:.8f}" for v in m[2].split("X")), text
    )
    return text.replace("%FSLAX46Y46*%", "%FSTAX26Y26*%").replace("%MOMM*%", "%MOIN*%")


OLD_NAMES = {
    "copper-top.gbr": "amp copper top.ger", "copper-bottom.gbr": "amp copper bottom.ger",
    "mask-top.gbr": "amp mask top.ger",
    "mask-bottom.gbr": "amp mask bottom.ger", "legend-top.gbr": "amp legend top.ger", "profile.gbr": "amp outline.ger",
    "holes-plated.drl": "amp pth.txt", "holes-bare.drl": "amp npth.txt", "netlist.ipc": "amp.ipc",
}  # fmt: skip


def test_the_same_board_without_attributes_is_judged_by_names_and_netlist() -> None:
    """X1 files: the layers go by their names, the nets by IPC-D-356A; all that was inferred is said."""
    files = {OLD_NAMES[n]: without_attributes(t).encode() for n, t in TEXTS.items() if n in OLD_NAMES}
    found = inspect_read(package_of(files))
    assert found.sound, found.lines()
    assert sum("taken" in w for w in found.package.warnings) == 8
    assert dict(found.figures)["smallest gap"].startswith("0.270 mm")
    broken = {
        n: with_bridge(t.decode()).replace("%TD*%\n", "").encode() if "copper top" in n else t for n, t in files.items()
    }
    assert any("OUT, SIG are joined" in f.message for f in inspect_read(package_of(broken)).findings)


def test_the_same_board_in_inches_has_the_same_figures() -> None:
    """Layers without macros in inches with trailing zeros left out, drill files in INCH,TZ."""
    layers = {
        n: in_inches(t) for n, t in TEXTS.items() if n.endswith(".gbr") and "%AM" not in t and "components" not in n
    }
    assert len(layers) >= 5

    def steps(found: re.Match[str]) -> str:
        return f"{found[1]}{round(float(found[2]) / 25.4 * 10_000)}"

    drills = {
        n: re.sub(r"C([\d.]+)", lambda m: f"C{float(m[1]) / 25.4:.6f}", re.sub(r"([XY])([\d.]+)", steps, t)).replace(
            "METRIC", "INCH,TZ"
        )
        for n, t in TEXTS.items()
        if n.endswith(".drl")
    }
    metric, inch = (
        package_of({n: unsigned(t).encode() for n, t in files.items()})
        for files in ({n: TEXTS[n] for n in (*layers, *drills)}, layers | drills)
    )
    assert any("FST" in w for w in inch.warnings) and any("INCH,TZ" in w for w in inch.warnings)
    for function, layer in metric.layers.items():
        assert inch.layers[function].image.area == pytest.approx(layer.image.area, rel=1e-4), function
        assert inch.layers[function].image.bounds == pytest.approx(layer.image.bounds, abs=1e-4), function
    for ours, theirs in zip(metric.drills, inch.drills, strict=True):
        for a, b in zip(ours.holes, theirs.holes, strict=True):
            assert b.diameter == pytest.approx(a.diameter, abs=1e-4)
            assert b.path[0] == pytest.approx(a.path[0], abs=0.00127)  # half a step of 0.0001 inch


# --- the command


def test_the_command_ends_with_0_1_or_2(tmp_path: Path) -> None:
    """0: nothing against it; 1: an error; 2: a file that cannot be read, in one line with file and line."""
    good, bad, broken = (tmp_path / f"{n}.zip" for n in ("good", "bad", "broken"))
    for path, old, new in ((good, "", ""), (bad, "C0.600", "C1.200"), (broken, "M30", "M3O")):
        with zipfile.ZipFile(path, "w") as archive:
            for name, text in TEXTS.items():
                if name != "manifest.txt":
                    archive.writestr(name, text.replace(old, new) if old and name.endswith(".drl") else text)
    results = [CliRunner().invoke(main, ["verify", str(path)]) for path in (good, bad, broken)]
    assert [r.exit_code for r in results] == [0, 1, 2]
    assert "smallest ring" in results[0].output and "agrees with itself" in results[0].output
    assert "error: ring, holes-plated.drl:" in results[1].output
    assert re.fullmatch(r"holes-bare\.drl:\d+: line 'M3O' is not read\n", results[2].output)
    assert CliRunner().invoke(main, ["verify", str(tmp_path / "nothing")]).exit_code == 2
