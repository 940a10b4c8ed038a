"""The list of the drawer: what is found, what it says, how much of it is read, and how fast."""

import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard.cli import main
from modboard.errors import LibraryError
from modboard.library import device_names, footprint, footprint_names
from modboard.library.search import INSIDE, devices, listing, pattern_line, patterns


def test_everything_is_listed_without_words():
    assert [d.name for d in devices()] == sorted(device_names())
    assert [p.name for p in patterns()] == list(footprint_names())


def test_words_are_all_looked_for():
    assert [d.name for d in devices(["sram", "32k"])] == ["62256"]
    assert {p.name for p in patterns(["PHONO"])} == {p for p in footprint_names() if p.startswith("phono")}
    assert "2N2222A" in [d.name for d in devices(["to-18"])]
    text = listing(["62256"])
    assert "dip-28-wide" in text and "A14 A12 A7" in text and "note: A14 is at pin 1" in text
    with pytest.raises(LibraryError, match="nothing in the drawer holds"):
        listing(["flux-capacitor"])


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("rca", "phono-jack"), ("barrel", "dc-jack"), ("op-amp dual", "TL072"), ("opamp", "LM358"), ("SOT-23", "sot23"),
        ("trimpot", "trimmer-multiturn"), ("optocoupler", "PC817"), ("BC547B", "BC547"), ("LM7805CT", "7805"),
        ("74LS245N", "74LS245"), ("to-92", "2N3904"), ("DIP14", "dip-14"), ("header-2x13", "header-2x13"),
        ("rs232", "MAX232"), ("tact", "push-button-6mm"), ("xtal", "crystal-hc49"), ("elco", "electrolytic-5x11-2.0"),
    ],
)  # fmt: skip
def test_parts_are_found_by_the_names_people_know(words, found):
    assert re.search(rf"^  {re.escape(found)}\s", listing(words.split()), re.MULTILINE), listing(words.split())


def test_nothing_found_names_the_nearest():
    with pytest.raises(LibraryError, match=r'"2N3940"; nearest: 2N3904, 2N3906'):
        listing(["2N3940"])
    with pytest.raises(LibraryError, match=r"nearest: .*resistor-axial"):
        listing(["resistor-axal"])


def test_a_part_alone_is_told_whole():
    text = listing(["BC547"])
    assert "[0.5 W]" in text and 'sold as C B E and as E B C: say which yours is, as in pins="C B E"' in text
    regulator = listing(["7805"])
    assert "[7-35 V, 1.5 W, 1 A]" in regulator and "3  power-out      OUT" in regulator and "fits: to220" in regulator
    diode = listing(["diode-do41-10.16"])  # its family file: the longest body wants more room to bend
    assert "note: the longest body with the thickest lead wants 10.36 between holes" in diode
    assert "leads reach 1.5 mm below" in diode


def test_sizes_are_those_of_the_footprint():
    # over lands and bodies, by the outlines of the finished pattern
    for name in ("dip-14", "to220", "soic-8", "mounting-hole-m3", "wire-pads-1x4", "card-edge-10"):
        part, line = footprint(name), pattern_line(name)
        bounds = [land.form.shape(land.at).bounds() for land in part.lands]
        bounds += [(min(x for x, _ in b.outline), min(y for _, y in b.outline),
                    max(x for x, _ in b.outline), max(y for _, y in b.outline)) for b in part.bodies]  # fmt: skip
        assert line.width == pytest.approx(max(b[2] for b in bounds) - min(b[0] for b in bounds), abs=0.006)
        assert line.depth == pytest.approx(max(b[3] for b in bounds) - min(b[1] for b in bounds), abs=0.006)
        assert (line.height, line.pads) == (part.height, len(part.numbers()))


@pytest.mark.parametrize(
    ("word", "begins", "inside"),
    [("led", "led-3mm", "phono-jack"), ("tact", "push-button-6mm", "din-5"), ("tin", "link", "7430"),
     ("amp", "TL072", None), ("opamp", "TL072", None), ("05", "7405", None), ("33063", "MC33063", None)],
)  # fmt: skip
def test_words_that_begin_come_before_those_inside_others(word, begins, inside):
    """ "led" is in "right-angled", "tact" in "contact", "tin" in "inverting"; numbers count wherever they stand."""
    headed, group = {}, "begins"
    for line in listing([word]).splitlines():
        if line.startswith(("devices (", "footprints (")):
            group = "begins"
        elif line.startswith(INSIDE):
            group = "inside"
        elif line.startswith("  ") and line[2] != " ":
            headed[line.split()[0]] = group
    assert headed[begins] == "begins"
    assert inside is None or headed[inside] == "inside"


def test_where_nothing_begins_so_nothing_is_set_apart():
    text = listing(["hono"])
    assert "phono-jack" in text and INSIDE not in text


def test_the_command_answers():
    run = CliRunner()
    found = run.invoke(main, ["parts", "phono-jack-5.5"])
    assert found.exit_code == 0 and "measure yours: every maker's pins differ" in found.output
    assert "header-1x7" in run.invoke(main, ["parts", "header-1x7"]).output  # parametric, not among the examples
    assert run.invoke(main, ["parts", "zzz"]).exit_code == 2


def test_the_whole_drawer_is_listed_within_a_second():
    # processor seconds of a fresh process, so that other work on the machine does not count
    program = "import sys, time; sys.argv = ['modboard', 'parts']\nfrom modboard.cli import main\n" \
        "try: main()\nexcept SystemExit: pass\nprint(time.process_time())\n"  # fmt: skip
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    lines = done.stdout.splitlines()
    assert float(lines[-1]) < 1.0
    assert len(lines) > 450


def test_six_parts_read_six_families(tmp_path):
    # file opens are counted by Python's own audit hook
    design = tmp_path / "six.py"
    kinds = ["resistor", "capacitor", "2N3904", "phono-jack", "wire-pads-1x2", "dip-14"]
    lines = ["from modboard import Design", 'board = Design("six", outline=(60, 40))']
    lines += [f'board.part("X{k}", "{kind}")' for k, kind in enumerate(kinds)]
    design.write_text("\n".join([*lines, 'board.net("A", "X0.1 X1.1")', ""]))
    program = (
        "import sys\n"
        "read = []\n"
        "def hook(event, args):\n"
        "    if event == 'open' and str(args[0]).endswith('.toml'): read.append(str(args[0]))\n"
        "sys.addaudithook(hook)\n"
        "from modboard.describe.load import load\n"
        f"load({str(design)!r}).described()\n"
        "print('\\n'.join(read))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    opened = [Path(line) for line in done.stdout.split()]
    families = sorted(p.stem for p in opened if p.parent.name == "patterns")
    assert families == ["capacitor-disc", "dip", "phono-jack", "resistor-axial", "to92", "wire-pads"]
    assert len(opened) == len(set(opened))  # nothing is read twice


def test_listing_is_the_same_each_time():
    begun = time.process_time()
    assert listing() == listing()
    assert time.process_time() - begun < 2.0
