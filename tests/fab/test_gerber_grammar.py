"""Every character of a written layer against the grammar of the Gerber Layer Format Specification (GLFS)."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from modboard.artwork.model import Layer
from modboard.fab.gerber import gerber_layer
from tests.fab.boards import artwork_of, every_form, nested_pours, tracks
from tests.sample import sample_artwork

DECIMAL = r"[+-]?(?:\d+\.?\d*|\.\d+)"  # GLFS 3.4.1: no exponent
INTEGER = r"[+-]?\d+"
FIELD = r"(?:[ -$&-)+\-.-\[\]-~]|\\u[0-9A-F]{4}|\\U[0-9A-F]{8})*"  # GLFS 3.4.3: no % * , and \ only in escapes
NAME = r"[._$a-zA-Z][._$a-zA-Z0-9]{0,126}"  # GLFS 3.4.2
FIELDS = f"(?:,{FIELD})*"
ALLOWED = {
    "FS (4.2.2)": r"%FSLAX46Y46\*%",
    "MO (4.2.1)": r"%MOMM\*%",
    "AD C R O P (4.3, 4.4)": rf"%ADD[1-9]\d+(?:C,{DECIMAL}|[RO],{DECIMAL}X{DECIMAL})\*%",
    "AD macro (4.3)": rf"%ADD[1-9]\d+{NAME},{DECIMAL}(?:X{DECIMAL})*\*%",
    "AD macro without parameters (4.3)": rf"%ADD[1-9]\d+{NAME}\*%",
    "LP (4.9.2)": r"%LP[DC]\*%",
    "TF (5.2)": rf"%TF\.{NAME}{FIELDS}\*%",
    "TA (5.3)": rf"%TA\.AperFunction{FIELDS}\*%",
    "TO (5.4)": rf"%TO\.(?:N|P|C|CRot|CVal|CFtp|CMnt|CHgt){FIELDS}\*%",
    "TD (5.5)": rf"%TD(?:{NAME})?\*%",
    "Dnn (4.6)": r"D[1-9]\d+\*",
    "D01 (4.8.2)": rf"X{INTEGER}Y{INTEGER}D01\*",
    "D02 (4.8.3)": rf"X{INTEGER}Y{INTEGER}D02\*",
    "D03 (4.8.4)": rf"X{INTEGER}Y{INTEGER}D03\*",
    "G01 (4.7.1)": r"G01\*",
    "G75 (4.7.2)": r"G75\*",
    "G36 (4.10)": r"G36\*",
    "G37 (4.10)": r"G37\*",
    "M02 (4.13)": r"M02\*",
}
MACRO = re.compile(rf"%AM({NAME})\*\n((?:0 [^*%]*\*\n)*)((?:[^%]*\*\n?)+)%", re.MULTILINE)
PRIMITIVE = re.compile(r"(1|4|21),1(?:,\n?(?:-?\$\d+|[+-]?\d+\.?\d*))+")  # GLFS 4.5.1; 2, 6 and 22 are deprecated


def layers() -> dict[str, str]:
    """Return every written layer of the sample, and one with every form, nested pours and tracks."""
    artwork = sample_artwork()
    found = {layer.name: gerber_layer(layer, artwork) for layer in artwork.layers}
    every = Layer("copper-top", (*every_form(), *nested_pours(), *tracks()))
    return found | {"every form": gerber_layer(every, artwork_of(*every.features))}


TEXTS = layers()


@pytest.fixture(params=list(TEXTS))
def text(request: pytest.FixtureRequest) -> str:
    """Give each layer in turn."""
    return TEXTS[request.param]


def commands(text: str) -> list[str]:
    """Return the commands of a layer, macros left out: each stands on a line of its own."""
    return MACRO.sub("", text).split()


def test_every_command_is_one_of_the_allowed_forms(text: str) -> None:
    """GLFS 3.5 and 4: anything not in the list (deprecated forms among them) fails here."""
    lines = [line for line in MACRO.sub("", text).split("\n") if line]
    strangers = [line for line in lines if not any(re.fullmatch(form, line) for form in ALLOWED.values())]
    assert strangers == []


def test_characters_are_printable_ascii(text: str) -> None:
    """GLFS 3.1: 32 to 126 and line ends; attribute fields are escaped to that as well."""
    assert re.fullmatch(r"[ -~\n]+", text)


def test_frame_of_the_file(text: str) -> None:
    """GLFS 2.2 and 4.13: FS and MO once and before any coordinate, M02 last; .MD5 just before it (5.6.9)."""
    lines = text.split("\n")
    assert lines[-2:] == ["M02*", ""]
    assert re.fullmatch(r"%TF\.MD5,[0-9a-f]{32}\*%", lines[-3])
    assert text.count("%FS") == text.count("%MO") == text.count("G75*") == text.count("M02*") == 1
    first_place = re.search(r"^X", text, re.MULTILINE)
    assert first_place and max(text.index("%FS"), text.index("%MO"), text.index("G75*")) < first_place.start()


def test_file_attributes_stand_in_the_header_once(text: str) -> None:
    """GLFS 5.2: file attributes are immutable; all but .MD5 come before the first object."""
    names = re.findall(r"%TF(\.\w+)", text)
    assert names == [
        ".GenerationSoftware", ".ProjectId", ".Part", ".SameCoordinates", ".FileFunction", ".FilePolarity", ".MD5",
    ]  # fmt: skip
    assert text.index("%TF.FilePolarity") < text.index("%FS")


def test_macros_use_live_primitives_and_come_before_their_use(text: str) -> None:
    """GLFS 4.5: outline closed, count of corners right, no deprecated primitive, defined before AD uses it."""
    for found in MACRO.finditer(text):
        assert found.end() < text.index("%ADD")
        for block in found[3].replace("\n", "").rstrip("*").split("*"):
            assert PRIMITIVE.fullmatch(block), block
            values = block.split(",")
            if values[0] == "4":
                assert len(values) == 2 * int(values[2]) + 6
                assert values[3:5] == values[-3:-1]


def test_apertures_are_numbered_from_ten_defined_once_and_all_used(text: str) -> None:
    """GLFS 4.3: D10 upwards, never redefined."""
    numbers = [int(n) for n in re.findall(r"%ADD(\d+)", text)]
    assert numbers == list(range(10, 10 + len(numbers)))
    assert {int(n) for n in re.findall(r"^D(\d+)\*", text, re.MULTILINE)} == set(numbers)


def test_regions_hold_contours_and_nothing_else(text: str) -> None:
    """GLFS 4.10: inside G36/G37 only D01, D02 and G01; each contour starts with D02 and ends where it started."""
    for region in re.findall(r"G36\*\n(.*?)G37\*", text, re.DOTALL):
        lines = [line for line in region.split("\n") if line and line != "G01*"]
        assert all(re.fullmatch(r"X-?\d+Y-?\d+D0[12]\*", line) for line in lines)
        assert [line[-4:] for line in lines] == ["D02*"] + ["D01*"] * (len(lines) - 1)
        assert lines[0][:-4] == lines[-1][:-4]
        assert all(a[:-4] != b[:-4] for a, b in pairwise(lines))


def test_every_aperture_and_region_has_a_function(text: str) -> None:
    """GLFS 5.6.10; clear regions are the only objects without."""
    state, polarity, bare = "", "D", []
    for line in commands(text):
        if line.startswith("%TA.AperFunction,"):
            state = line
        elif line in ("%TD*%", "%TD.AperFunction*%"):
            state = ""
        elif line.startswith("%LP"):
            polarity = line[3]
        elif (line.startswith("%ADD") or (line == "G36*" and polarity == "D")) and not state:
            bare.append(line)
    assert bare == []


def test_no_coordinate_leaves_the_format(text: str) -> None:
    """GLFS 4.2: coordinates are 32-bit integers, here in nanometres."""
    assert all(abs(int(v)) < 2**31 for v in re.findall(r"[XY](-?\d+)(?=[YD])", text))


@pytest.mark.parametrize(
    "line", ["G54D10*", "G70*", "G90*", "%IPPOS*%", "%LNtop*%", "%OFA0B0*%", "X1Y1*", "G01X1Y1D01*"]
)
def test_deprecated_commands_would_be_caught(line: str) -> None:
    """GLFS 8: the list above lets none of these through."""
    assert not any(re.fullmatch(form, line) for form in ALLOWED.values())
