"""Finding names: errors that help, files opened only when needed, data found wherever the package is installed."""

import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from modboard.errors import LibraryError
from modboard.library import device, footprint, footprint_families, footprint_names
from modboard.library.drawing import Lead, Sizing
from modboard.library.families import Dimensions, accepts_value, compile_form, data_folder, family, family_stems
from modboard.library.sizing import least_axial_pitch

REPOSITORY = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("resistor-axal-10.16", ["resistor-axial-10.16"]),
        ("dip-42", ["pins must be 4 to 40 in steps of 2", "not 42"]),
        ("dip-15", ["pins must be 4 to 40 in steps of 2"]),
        ("dip-16-wide", ["no such size", "take pins 24 28 30 32 34 36 38 40", "leave out -wide"]),
        ("header-1x41", ["columns must be 1 to 40"]),
        ("electrolytic-7x11-2.5", ["diameter must be one of 4 5 6.3 8"]),
        ("electrolytic-10x16-2.0", ["no such size", "take pitch 5"]),
        ("screw-terminal-1", ["pins must be 2 to 12"]),
        ("soic-12", ["pins must be one of 8 14 16"]),
        ("to92-inline-2.54", ["to92-inline-1.27"]),
        ("chip-0804-r", ["chip-0805-r"]),
        ("wire-pad-23awg", ["gauge must be one of 20 22 24 26 28 30"]),
        ("resitor", ["resistor-"]),
        ("qqq", ["families:", "dip"]),
        ("", ["families:"]),
    ],
)
def test_unknown_names_are_answered_with_the_nearest(name, words):
    with pytest.raises(LibraryError) as caught:
        footprint(name)
    text = str(caught.value)
    assert f'"{name}"' in text and "\n" not in text
    assert all(word in text for word in words), text


def test_wrong_levels_and_lands_are_refused():
    with pytest.raises(LibraryError, match='level must be "A", "B" or "C", not "D"'):
        footprint("dip-8", level="D")
    with pytest.raises(LibraryError, match="least land must be 0 to 5 mm"):
        footprint("dip-8", land_min=-1)


def test_impossible_lands_say_why_and_what_to_do():
    # leads of 0.9 at 1.27 pitch: holes of 1.05 and gaps of 0.25 leave nothing of the ring that IPC-2221 table 9-2 asks
    near = [Lead("1", (0.0, 0.0), 0.9), Lead("2", (1.27, 0.0), 0.9)]
    with pytest.raises(LibraryError, match=r"pitch 1\.27 less a gap.*wider pitch"):
        Sizing("A", 2.0).lands(near)


def test_case_and_blanks_do_not_matter():
    assert footprint(" DIP-14 ") is footprint("dip-14")


def test_one_footprint_opens_one_file():
    program = (
        "from modboard.library import families, footprint, device\n"
        "footprint('dip-28-wide'); print(families.family.cache_info().currsize)\n"
        "footprint('header-2x5'); print(families.family.cache_info().currsize)\n"
        "from modboard.library import devices\n"
        "device('2N3904'); print(devices._contents.cache_info().currsize)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["1", "2", "1"]


def test_data_is_found_inside_an_installed_package(tmp_path):
    # where the wheel's force-include puts it
    settings = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())
    assert (
        settings["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]["footprints"] == "modboard/footprints"
    )
    shutil.copytree(REPOSITORY / "modboard", tmp_path / "modboard", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(REPOSITORY / "footprints", tmp_path / "modboard" / "footprints")
    program = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r})\n"
        "from modboard.library import families, footprint, device\n"
        "print(families.data_folder(), len(footprint('dip-14').lands), device('62256').footprint)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stdout.split() == [str(tmp_path / "modboard" / "footprints"), "14", "dip-28-wide"]


def test_every_file_is_a_family_with_a_source():
    for stem in family_stems():
        contents = family(stem).contents
        assert contents["builder"] and contents["title"] and contents["source"], stem
        assert family(stem).names(), stem
        assert all(name.startswith(stem) for name in family(stem).names()), stem
        for name in contents.get("variants", {}):
            assert footprint(name).family == stem


def test_families_describe_what_they_take():
    described = {stem: accepts for stem, _, accepts in footprint_families()}
    assert described["dip"] == "dip-{pins}[-wide][-socket]; pins 4 to 40 in steps of 2"
    assert described["to92"] == ""
    assert set(described) == set(family_stems())


def test_axial_pitches_leave_room_to_bend_or_say_why_not():
    # IPC-A-610 / J-STD-001: straight run, then a bend of radius d, 1.5 d or 2 d
    stated = set()
    for stem in ("resistor-axial", "diode"):
        for name in family(stem).names():
            values = family(stem).member(name).values
            if values["pitch"] < least_axial_pitch(values["body"][0], values["lead"]):
                assert values["bend_note"], name
                stated.add(name)
    assert "resistor-axial-10.16" not in stated
    assert len(stated) < len(footprint_names()) / 10


def test_forms_read_numbers_and_words():
    form = compile_form("dip-{pins}[-wide]")
    wide, plain = form.fullmatch("dip-24-wide"), form.fullmatch("dip-24")
    assert wide and wide.groupdict() == {"pins": "24", "flag_wide": "-wide"}
    assert plain and plain.groupdict() == {"pins": "24", "flag_wide": None}
    assert form.fullmatch("dip-24-tall") is None
    assert accepts_value({"least": 4, "most": 40, "step": 2}, 38)
    assert not accepts_value({"least": 4, "most": 40, "step": 2}, 39)
    assert not accepts_value({"choices": [4, 6.3]}, 6.0)


def test_wrong_data_names_file_and_entry():
    dims = Dimensions("mine.toml, odd", {"pitch": "wide", "body": [1.0], "yes": 1})
    with pytest.raises(LibraryError, match=r"mine\.toml, odd: pitch should be a number, found 'wide'"):
        dims.length("pitch")
    with pytest.raises(LibraryError, match=r"mine\.toml, odd: body should be 2 numbers"):
        dims.pair("body")
    with pytest.raises(LibraryError, match=r"mine\.toml, odd: lead should be a number, found None"):
        dims.length("lead")
    with pytest.raises(LibraryError, match="yes should be true or false"):
        dims.flag("yes")


def test_data_folder_is_the_repository_here():
    assert data_folder() == REPOSITORY / "footprints"
    assert device("header-1x4").prefix == "J"
