"""Parts of one's own: a file beside the design, read, checked and answered at the design's own line."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.describe.load import load
from modboard.errors import DesignError, LibraryError
from modboard.library.own import own_part

RELAY = """\
title = "Reed relay"
source = "measured"
pins = "COIL1 COM NO COIL2"
at = [[0, 0], [5.08, 0], [10.16, 0], [15.24, 0]]
lead = [0.6, 0.4]
box = [-1.5, -2.6, 16.8, 2.6]
height = 8.0
"""
DESIGN = """\
from modboard import Design
board = Design("own", outline=(40, 30))
board.part("K1", "relay.toml")
board.part("J1", "wire-pads-1x2")
board.net("A", "K1.COM J1.1")
board.net("B", "K1.NO J1.2")
board.no_connect("K1.COIL1 K1.COIL2")
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "relay.toml"
    path.write_text(text)
    return path


def test_ten_lines_make_a_part(tmp_path):
    part = own_part(written(tmp_path, RELAY))
    assert len(RELAY.splitlines()) <= 10
    assert [p.names[0] for p in part.device.pins] == ["COIL1", "COM", "NO", "COIL2"]
    # lead 0.6 x 0.4: diagonal 0.721; IPC-2222 table 9-5 adds 0.25, 0.20, 0.15, rounded up to 0.05
    assert [part.footprint(level=level).lands[0].hole.diameter for level in "ABC"] == [1.0, 0.95, 0.9]
    pattern = part.footprint()
    assert pattern.height == 8.0 and pattern.technology == "through-hole"
    assert [land.at[0] for land in pattern.lands] == [0, 5.08, 10.16, 15.24]
    assert {x for x, _ in pattern.bodies[0].outline} == {-1.5, 16.8}


def test_it_goes_into_a_design_beside_it(tmp_path):
    written(tmp_path, RELAY)
    design = tmp_path / "board.py"
    design.write_text(DESIGN)
    described = load(design).described()
    part = described.part("K1")
    assert (part.kind, part.footprint.family) == ("relay", "relay")
    assert described.net_of()[("K1", "2")] == "A"
    # the rule set "pool" is level A: the hole grows with it
    assert part.footprint.lands[0].hole is not None and part.footprint.lands[0].hole.diameter == 1.0


def test_device_on_a_pattern_of_the_library(tmp_path):
    types = 'types = { VCC = "power-in", GND = "power-in", Y = "output" }\n'
    text = f'pins = "VCC GND A Y NC NC NC NC"\nfootprint = "dip-8"\n{types}'
    device = own_part(written(tmp_path, text)).device
    assert device.footprint == "dip-8"
    assert [p.type for p in device.pins[:4]] == ["power-in", "power-in", "passive", "output"]


def test_a_supply_that_may_be_ground(tmp_path):
    types = 'types = { VCC = "power-in", GND = "power-in", VEE = "power-in" }\nmay_be_ground = "VEE"\n'
    device = own_part(written(tmp_path, f'pins = "VCC GND VEE Y"\nfootprint = "dip-4"\n{types}')).device
    assert [p.may_be_ground for p in device.pins] == [False, False, True, False]


def test_surface_part_and_other_ways_of_drawing(tmp_path):
    pads = "at = [[-2, 0], [2, 0]]\npad = [1.2, 2.0]\nbox = [-1.8, -1, 1.8, 1]\nheight = 1.0\n"
    flat = own_part(written(tmp_path, pads)).footprint()
    assert flat.technology == "surface-mount" and flat.lead_below == 0
    assert (flat.lands[0].form.width, flat.lands[0].form.height) == (1.2, 2.0)
    coil = 'builder = "axial"\npitch = 17.78\nbody = [12.0, 4.0]\nlead = 0.7\n'
    axial = own_part(written(tmp_path, coil)).footprint()
    assert axial.lands[1].at[0] == 17.78 and axial.height == 4.0


WRONG = [
    ("heigth = 8.0", "height = 8.0", r'"heigth" means nothing here; did you mean height'),
    ("", "height = 8.0", "height should be a number, found None"),
    ("height = 0", "height = 8.0", "height should be more than 0 and at most 200 mm, found 0"),
    ("height = 'tall'", "height = 8.0", "height should be a number, found 'tall'"),
    ('pins = "COIL1 COM NO"', 'pins = "COIL1 COM NO COIL2"', "pins names 3 pads, but there are 4"),
    ('pins = "2 COM NO COIL2"', 'pins = "COIL1 COM NO COIL2"', "the name 2 is also the number of another pad"),
    ("pins = 4", 'pins = "COIL1 COM NO COIL2"', "pins should be a text in quotes, found 4"),
    ("box = [16.8, -2.6, -1.5, 2.6]", "box = [-1.5, -2.6, 16.8, 2.6]", "inside out"),
    ("box = [1, 2]", "box = [-1.5, -2.6, 16.8, 2.6]", "box should be 4 numbers"),
    ("", "box = [-1.5, -2.6, 16.8, 2.6]", "say how large the body is"),
    ("", "lead = [0.6, 0.4]", "say lead .* or pad"),
    ("lead = [0.6, 0.4]\npad = 2.0", "lead = [0.6, 0.4]", "say lead .* or pad"),
    ("lead = 6.0", "lead = [0.6, 0.4]", "leaves a ring of only|mm apart, 0.2 is the least"),
    ("at = [[0, 0], [0.5, 0.9], [10, 0], [15, 0]]", "at = [[0, 0], [5.08, 0], [10.16, 0], [15.24, 0]]", "mm"),
    ("", "at = [[0, 0], [5.08, 0], [10.16, 0], [15.24, 0]]", "say where the pads are"),
    ('types = { COM = "inptu" }', "", 'has type "inptu"; types are passive, input'),
    ('types = "passive"', "", "types should be a table"),
    ('builder = "dual"', "", "builder should be one of placed, axial, upright, radial"),
    ("supply = 5", "", "supply should be 2 numbers"),
    ("may_be_ground = 5", "", "may_be_ground should be a text in quotes, found 5"),
    ('may_be_ground = "COIL3"', "", 'names "COIL3", but no pin has that name; did you mean COIL'),
    ('may_be_ground = "COM"', "", "COM, which is no supply pin but passive"),
    ("title = ", 'title = "Reed relay"', "line 1"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "instead", "says"), WRONG)
def test_mistakes_are_answered_in_one_line_with_the_file(tmp_path, line, instead, says):
    text = RELAY.replace(instead, line) if instead else RELAY + line + "\n"
    with pytest.raises(LibraryError, match=says) as caught:
        own_part(written(tmp_path, text))
    assert "relay" in str(caught.value) and "\n" not in str(caught.value)


def test_a_design_says_where_and_which_file(tmp_path):
    design = tmp_path / "board.py"
    design.write_text(DESIGN)
    written(tmp_path, RELAY).rename(tmp_path / "relays.toml")
    with pytest.raises(
        DesignError, match=r"board\.py:3: part K1: there is no file .*relay\.toml; did you mean relays\.toml"
    ):
        load(design)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(-12, 12), st.integers(-12, 12)), min_size=1, max_size=8, unique=True),
    st.floats(0.3, 1.2),
)
def test_any_part_on_the_grid_is_drawn_or_refused_in_one_line(tmp_path_factory, at, lead):
    path = tmp_path_factory.mktemp("own") / "mine.toml"
    places = [[round(x * 1.27, 3), round(y * 1.27, 3)] for x, y in at]
    path.write_text(f"at = {places}\nlead = {lead}\nbox = [-16, -16, 16, 16]\nheight = 5\n")
    try:
        found = own_part(path).footprint(level="A")
    except LibraryError as error:
        assert "\n" not in str(error) and "mine" in str(error)
        return
    shapes = [land.form.shape(land.at) for land in found.lands]
    assert len(shapes) == len(at)
    assert all(a.distance(b) >= 0.2 - 1e-9 for i, a in enumerate(shapes) for b in shapes[i + 1 :])


def test_types_can_be_said_in_the_design(tmp_path):
    design = tmp_path / "board.py"
    text = DESIGN.replace(
        '"relay.toml")', '"dip-4", pins="VCC GND COM NO", types={"VCC GND": "power-in", "N*": "output"})'
    )
    design.write_text(text.replace("K1.COIL1 K1.COIL2", "K1.VCC K1.GND"))
    device = load(design).described().part("K1").device
    assert device is not None
    assert [p.type for p in device.pins] == ["power-in", "power-in", "passive", "output"]
    for wrong, says in (
        ('{"VDD": "power-in"}', 'no pin "VDD"'),
        ('{"GND": "power"}', "power-in"),
        ('"output"', "a dict"),
    ):
        design.write_text(DESIGN.replace('"relay.toml")', f'"dip-4", pins="VCC GND COM NO", types={wrong})'))
        with pytest.raises(DesignError, match=says):
            load(design)
