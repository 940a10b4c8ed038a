"""Every mistake is answered in one line: the file and line of the call, the thing, and the nearest right names.

Each case is a design file whose wrong line ends in ``#<``; what must be said is written beside it by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from modboard.describe.load import load
from modboard.errors import DesignError, ModboardError

HEAD = """\
from modboard import Cavity, Design, Rules
tin = Cavity.rectangle(57.0, 31.5, height=15.0)
tin.opening("socket hole", wall="right", centre=12.7, width=9.0)
board = Design("trial", cavity=tin)
board.part("Q1", "2N3904")
board.part("R1", "resistor", "75R")
board.part("R2", "resistor", "1k")
board.part("J1", "header-1x3", pins="vcc gnd out")
"""

PARTS = [
    ('board.part("Q2", "2N3905x") #<', ['part Q2: there is no device or footprint "2N3905x"', "2N3904"]),
    ('board.part("J2", "heeder-1x3") #<', ["part J2", "heeder-1x3", "header-1x3"]),
    ('board.part("R3", "resistor", footprint="resistor-axail") #<', ["part R3", "resistor-axail"]),
    ('board.part("Q2", "2N3904", footprint="header-1x2") #<', ["part Q2: footprint header-1x2 has no pad", "3"]),
    ('board.part("R1", "resistor") #<', ["part R1 exists already, a resistor (trial.py:6)"]),
    ('board.part("R3", "resistor", value=75) #<', ["value of part R3 must be text in quotes, not 75"]),
    ('board.part("R3", "resistor", height=-1) #<', ["height of part R3 must be more than 0 mm, not -1"]),
    ('board.part("R3", "resistor", height=float("nan")) #<', ["height of part R3 must be a finite number, not nan"]),
    ('board.part("R3", "resistor", fitted="no") #<', ['fitted of part R3 must be True or False, not "no"']),
    ('board.part("3R", "resistor") #<', ["\"3R\" can't be a part's reference", "letter first"]),
    ('board.part("R 3", "resistor") #<', ['reference of a part "R 3" has a blank in it; try "R_3"']),
    ('board.part("R[3..8]", "resistor", "1k") #<', ['"R[3..8]" names 6 parts; part() adds one, so call it in a loop']),
    ('board.part("R3 R4", "resistor", "1k") #<', ['"R3 R4" names 2 parts']),
    ('board.part("", "resistor") #<', ["reference of a part is empty"]),
    ('board.part(7, "resistor") #<', ["reference of a part must be text in quotes, not 7"]),
    ('board.part("R3", None) #<', ["kind of part R3 must be text in quotes, not None"]),
    ('board.part("J2", "header-1x3", pins="a b") #<', ["pins of part J2: 2 names for the 3 pads of header-1x3"]),
    ('board.part("J2", "header-1x3", pins={"4": "a"}) #<', ['header-1x3 has no pad "4"', "valid are 1, 2, 3"]),
    ('board.part("J2", "header-1x3", pins="2 b c") #<', ['"2" is also the number of another pad']),
]

PARTS += [
    ('board.part("Q2", "BC574") #<', ['no device or footprint "BC574"; did you mean BC547,', " or "]),
    ('board.part("Q2", "BC547", pins="S G D") #<', ["pins of part Q2: BC547 has other pins", '"C B E" and as "E B C"']),
]

NETS = [
    ('board.net("OUT", "Q1.E R9.1") #<', ['net "OUT": there is no part "R9"', "R1", "R2"]),
    ('board.net("OUT", "Q1.E R1.3") #<', ['net "OUT": part R1 has no pin "3"; its pins are 1 and 2']),
    ('board.net("OUT", "R1.1 J1.cvc") #<', ['part J1 has no pin "cvc"; did you mean vcc?', "vcc, gnd and out"]),
    ('board.net("OUT", "Q1.E") #<', ['net "OUT" has one pin only, Q1.1', 'no_connect("Q1.1")']),
    ('board.net("OUT", pour="top") #<', ['net "OUT" has no pins']),
    ('board.net("A", "R1.1 R2.1")\nboard.net("B", "R1.1 R2.2") #<', ['net "B": pin 1 of R1 is already on net "A" (']),
    (
        'board.net("A", "Q1.B R2.1")\nboard.net("B", "Q1.2 R2.2") #<',
        ["pin 2 (B) of Q1 is already on net", "trial.py:9"],
    ),
    ('board.net("A", "R1.1 R2.1")\nboard.no_connect("R1.1") #<', ['no_connect: pin 1 of R1 is on net "A"']),
    ('board.net("A", "r1.1 R2.1") #<', ['there is no part "r1"; did you mean R1? valid are ']),
    (
        'board.part("J2", "header-1x3")\nboard.net("A", "J2.GND R2.1") #<',
        ['J2 has no pin "GND"; its pins', 'pins="..."'],
    ),
    ('board.no_connect("Q1.7") #<', ['no_connect: part Q1 has no pin "7"', "E, B and C"]),
    ('board.no_connect("Q7.1") #<', ['no_connect: there is no part "Q7"; did you mean Q1?']),
    ('board.net("A", "R1 R2.1") #<', ['"R1" is not a pin; write it as PART.PIN']),
    ('board.net("", "R1.1 R2.1") #<', ["name of the net is empty"]),
    ('board.net("V 5", "R1.1 R2.1") #<', ['name of the net "V 5" has a blank in it; try "V_5"']),
    ('board.net(5, "R1.1 R2.1") #<', ["name of the net must be text in quotes, not 5"]),
    ('board.net("A", 5) #<', ['pins of net "A" must be text such as "R1.1 Q1.B", not 5']),
    (
        'board.net("A", "R1.1 R2.1", pour="botom") #<',
        ['net "A": pour "botom" is not known; did you mean bottom, both or top?'],
    ),
    ('board.net("A", "R1.1 R2.1", width=0) #<', ['width of net "A" must be more than 0 mm, not 0']),
    ('board.net("A", "R1.1 R2.1", gap="0.3") #<', ['gap of net "A" must be a number without quotes, not "0.3"']),
    ('board.net("A", "R1.1 R2.1", volts=float("inf")) #<', ['volts of net "A" must be a finite number']),
    ('board.net("A", "R1.1 R2.1", amps=-1) #<', ['amps of net "A" can\'t be negative']),
    ('board.net("A", "R1.1 R2.1", amps=36) #<', ['amps of net "A" is 36 A', "35 A", "IPC-2221"]),
    ('board.net("A", "R1.1 R2.1", amps=20) #<', ['net "A": 20 A needs a track of', "10 mm that IPC-2221 charts"]),
    ('board.net("A", "R1.1", volts=5)\nboard.net("A", "R2.1", volts=9) #<', ["volts is 9 here but 5 at trial.py:9"]),
    ('board.net("A", "R1.1 R2.1", volts=121) #<', ['net "A": 121 V', "120 V DC", "acknowledge_high_voltage"]),
    ('board.bus("A[0..3]", "J1.[1..3]") #<', ['bus "A[0..3]" has 4 wires, but "J1.[1..3]" is 3 pins']),
    ('board.bus("A", "R1.1 R2.1") #<', ['bus "A" needs a range of wires']),
    ('board.net("A[0..", "R1.1 R2.1") #<', ['brackets in "A[0.." do not match']),
    ('board.net("A", "R[1-2].1") #<', ['"[1-2]" in "R[1-2].1" is not a range']),
]

PLACES = [
    ('board.place("J9", edge="right") #<', ['place: there is no part "J9"; did you mean J1?']),
    ('board.place("J1", edge="rigth") #<', ['wall "rigth" is not known; did you mean right?']),
    ('board.place("J1", opening="socket") #<', ['opening "socket" is not known', "socket hole"]),
    ('board.place("J1", side="under") #<', ['side "under" is not known', "top, bottom"]),
    ('board.place("J1", near="J1") #<', ["J1 can't be near itself"]),
    ('board.place("J1", near="J1.1") #<', ["J1 can't be near itself"]),
    ('board.place("J1", near="Q2") #<', ['near: there is no part "Q2"; did you mean R2 or Q1?']),
    ('board.place("J1", near="Q1.X") #<', ['part Q1 has no pin "X"', "E, B and C"]),
    ('board.place("J1", near="Q1.E Q1.B") #<', ['place J1: near="Q1.E Q1.B" names 2 places for 1 part; name one, or']),
    ('board.place("R[1..2]", near="Q1.[1..3]") #<', ["names 3 places for 2 parts"]),
    ('board.place("J1", x=3) #<', ["place J1: y= is missing"]),
    ('board.place("J1", at=(3, "4")) #<', ["y of place J1: at must be a number without quotes"]),
    (
        'board.place("J1", at=(99, 10)) #<',
        ["place J1: (99, 10) is outside the board, which spans x 0.7 to 56.3 and y 0.7 to 30.8 mm"],
    ),
    ('board.place("J1", at=3) #<', ["place J1: at must be a pair (x, y) in mm, not 3"]),
    ('board.place("J1", at=(3, 4), edge="left") #<', ["at= and edge= can't be had together"]),
    ('board.place("J1", edge="left", along=99) #<', ["along=99 is beyond the left edge of the board", "0.7 to 30.8"]),
    ('board.place("J1", along=9) #<', ["give edge= with it"]),
    ('board.place("J1", inset=1) #<', ["give edge= or opening="]),
    ('board.place("J1", edge="left", inset=-1) #<', ["inset can't be negative"]),
    ('board.place("J1", edge="left", inset=1, overhang=1) #<', ["opposites"]),
    ('board.place("R1 R2", at=(3, 4)) #<', ["2 parts can't all be at one point"]),
    ('board.place("J1") #<', ["place J1: say where"]),
    ('board.place("") #<', ["place needs a part"]),
    ('board.place("J1", at=(5, 5), anchor="8") #<', ['part J1 has no pin "8"']),
    ('board.place("J1", anchor="vcc", edge="left") #<', ["give at= with it"]),
    ('board.place("J1", edge="left")\nboard.place("J1", side="bottom") #<', ["it has a place already (trial.py:9)"]),
    ('board.group("R1 R7") #<', ['group: there is no part "R7"']),
    ('board.group("R1") #<', ["a group needs two parts or more"]),
    ('board.group("R1 R2")\nboard.group("R2 Q1") #<', ["group: R2 is in another group (trial.py:9)"]),
    ('board.hole(at=(60, 10), screw="M3") #<', ["hole at (60, 10) is not within the board", "x 0.7 to 56.3"]),
    ('board.hole(at=(20, 10), screw="M33") #<', ['screw "M33" is not known; did you mean M3', "M2.5"]),
    ("board.hole(at=(20, 10)) #<", ['either screw="M3" or diameter=']),
    ("board.hole(at=(20, 10), diameter=0) #<", ["diameter of the hole must be more than 0 mm"]),
    ("board.hole(at=(20, 10), diameter=3, keep_out=2) #<", ["keep_out 2 mm is smaller than the hole of 3 mm"]),
    ('board.waive("copper-gap", "R1", "") #<', ["reason for waiving copper-gap is empty"]),
    ('board.note("  ") #<', ["note is empty"]),
]

DESIGNS = [
    ('Design("x", cavity=tin, rules="poool") #<', ['rule set "poool" is not known; did you mean pool?', "home"]),
    ('Design("x", cavity=tin, rules=Rules.named("pool", gpa=1)) #<', ['rule "gpa" is not known; did you mean gap']),
    ('Rules.named("pool").but(gap=-0.1) #<', ["rule gap must be more than 0 mm, not -0.1"]),
    ('Rules.named("pool").but(via_land=0.7) #<', ["leaves a ring of 0.05 mm", "ring_via asks 0.25", "at least 1.1"]),
    ('Rules.named("pool").but(level="D") #<', ['producibility level "D" is not known', "A, B, C"]),
    ('Rules.named("pool").but(mask=1) #<', ["rule mask must be True or False, not 1"]),
    ('Rules.named("pool").but(temperature_rise=5) #<', ["10 to 100 K", "IPC-2221"]),
    ('Rules.named("pool").but(copper=1.0) #<', ["rule copper is the foil in mm"]),
    ('Rules.named("pool").but(hole_min=7) #<', ["hole_min 7 is more than hole_max 6"]),
    ('Rules.named("pool").but(via_hole=0.4) #<', ["via_hole 0.4 is outside hole_min to hole_max"]),
    ('Design("x") #<', ['design "x" needs cavity=, or outline=']),
    ('Design("x/y", cavity=tin) #<', ['name of the design "x/y" names files']),
    ('Design("x", cavity=57) #<', ["cavity= takes a Cavity", "not 57"]),
    ('Design("x", outline=(30, -5)) #<', ["height of the outline must be more than 0 mm, not -5"]),
    ('Design("x", outline=[(0, 0), (9, 9), (9, 0), (0, 9)]) #<', ["the outline closes on itself", "(4.5, 4.5)"]),
    ('Design("x", cavity=tin, thickness=0) #<', ["rule thickness must be more than 0 mm"]),
    ('Design("x", cavity=tin, seed=1.5) #<', ["seed must be a whole number"]),
    ('Design("x", cavity=tin, seed=True) #<', ["seed must be a whole number"]),
]

CAVITIES = [
    (
        'board = Design("t", cavity=Cavity.rectangle(1.8, 1.2, height=0.75, board_at=3)) #<',
        ["over the lid; give board_at= a smaller figure", "0.75 inches are 19.05"],
    ),
    (
        'board = Design("t", cavity=Cavity.rectangle(2.2, 1.2)) #<',
        ["leaves no room for a board", "or are these inches", "2.2 x 1.2 inches are 55.88 x 30.48"],
    ),
    ("Cavity.rectangle(57, 31, clear_above=0) #<", ["clear_above must be more than 0 mm, not 0"]),
    ("Cavity.rectangle(-57, 31) #<", ["width of the cavity must be more than 0 mm, not -57"]),
    ("Cavity.rectangle(57, 31, wall_gap=-1) #<", ["wall_gap can't be negative; it is -1 mm"]),
    ("Cavity.rectangle(57, 31, height=2) #<", ["the cavity is 2 mm high", "board_at="]),
    ("Cavity.polygon([(0, 0), (30, 30), (30, 0), (0, 30)]) #<", ["the cavity closes on itself", "(15, 15)"]),
    ("Cavity.polygon([(0, 0), (30, 0), (30, 0), (0, 0)]) #<", ["the cavity needs at least three corners; it has 2"]),
    ("Cavity.polygon([(0, 0), (15, 0), (30, 0)]) #<", ["the cavity"]),
    ("Cavity.polygon(7) #<", ["the cavity must be a list of corners (x, y) in mm, not 7"]),
    ("Cavity.polygon([(0, 0), (30, 0), 8]) #<", ["a corner of the cavity must be a pair (x, y) in mm, not 8"]),
    ('tin.post("p", at=(70, 5), diameter=6) #<', ['post "p" is outside the cavity', "x 0 to 57"]),
    ('tin.post("p", at=(5, 5), diameter=-6) #<', ['diameter of post "p" must be more than 0 mm']),
    ('tin.post("", at=(5, 5), diameter=6) #<', ["name of the post is empty"]),
    ('tin.post("socket hole", at=(5, 5), diameter=6) #<', ['"socket hole" is in the cavity already']),
    ('tin.obstacle("can", (10, 10, 10, 20)) #<', ['obstacle "can" has no area']),
    ('tin.obstacle("can", (10, 10, 20)) #<', ['a corner of obstacle "can" must be a pair']),
    ('tin.obstacle("can", (10, 10, 12, 20), bottom=5, top=5) #<', ['top of obstacle "can", 5 mm, must be above']),
    ('tin.opening("o", wall="rihgt", centre=9, width=5) #<', ['wall "rihgt" is not known; did you mean right?']),
    ('tin.opening("o", wall="left", centre=9, width=50) #<', ["50 mm wide, wider than the left wall of 31.5 mm"]),
    ('tin.opening("o", wall="front", centre=56, width=5) #<', ["reaches from 53.5 to 58.5 mm, beyond the bottom wall"]),
    (
        'tiny = Cavity.rectangle(6, 5)\nsmall = Design("s", cavity=tiny) #<\nsmall.described()',
        ["leaves no room for a board: 6 x 5 mm less 0.7 mm"],
    ),
    (
        'tin.obstacle("rib", (27, 0, 28, 31.5))\nboard = Design("s", cavity=tin) #<',
        ["the board falls apart", '"rib" splits it'],
    ),
]

SLIPS = [
    ("bord.part('R3', 'resistor') #<", ['the name "bord" means nothing here; did you mean board?']),
    ("board.prt('R3', 'resistor') #<", ['a Design has no "prt"; did you mean part']),
    ("Cavity.rectangel(3, 4) #<", ['a Cavity has no "rectangel"', "did you mean", "rectangle?"]),
    ("board.bus('A[0..1]', 'R1.[1..2] R2.[1..2]', pour='top') #<", ['bus() takes no "pour="; net() does']),
    ("board.part('R3', 'resistor', '1k', edge='top') #<", ['part() takes no "edge="; place() does']),
    ("board.part('R3', 'resistor', vlaue='1k') #<", ['part() takes no "vlaue="; did you mean value']),
    ("from modboard import Desing #<", ['modboard has no "Desing"', "Design"]),
    ("x = (3 + #<", ["'(' was never closed"]),
    ('x = "R4.2 #<', ["Python can't read this line: ", "a text lacks its closing quote"]),
    ("x = dict(a=19, 0) #<", ["19.5 and not 19,5"]),
    ("x = “a” #<", ["use the straight quotes"]),
    ("  x = 3 #<", ["begin the line at the left margin"]),
    ("x = 10mm #<", ["write numbers without their unit"]),
    ("x = = 3 #<", ["look at it, and at the line before it"]),
    ("adapter(board, host='6116', chip='62256') #<", ['the name "adapter" is not imported; put it into the line']),
    ("boar #<", ["did you mean board?"]),
    ('board.waive("under-lid", "R1") #<', ["waive() needs reason= as well"]),
    ('board.net("A", "R1.1", "R1.2", 5) #<', ["net() is given too many values without a name", "volts=5"]),
    ("1 / 0 #<", ["ZeroDivisionError: division by zero"]),
    ("import no_such_thing_here #<", ["No module named 'no_such_thing_here'"]),
    ("raise SystemExit(3) #<", ["the file ends the program"]),
]


@pytest.mark.parametrize(("wrong", "said"), [*PARTS, *NETS, *PLACES, *DESIGNS, *CAVITIES, *SLIPS])
def test_mistake(tmp_path: Path, wrong: str, said: list[str]) -> None:
    lines = (HEAD + wrong).splitlines()
    line = next(i for i, text in enumerate(lines, 1) if text.endswith("#<"))
    file = tmp_path / "trial.py"
    file.write_text("\n".join(lines) + "\n")
    with pytest.raises(DesignError) as caught:
        load(file).described()
    message = str(caught.value)
    assert message.startswith(f"trial.py:{line}: "), message
    assert "\n" not in message
    for words in said:
        assert words in message


def test_the_line_is_that_of_the_call_inside_a_function_of_another_file(tmp_path: Path) -> None:
    (tmp_path / "stage.py").write_text(
        'def add(board):\n    board.part("R1", "resistor")\n    board.net("A", "R1.9")\n'
    )
    (tmp_path / "main.py").write_text(
        "from modboard import Design\nimport stage\nboard = Design('x', outline=(20, 20))\nstage.add(board)\n"
    )
    with pytest.raises(DesignError, match=r"^stage\.py:3: net \"A\": part R1 has no pin \"9\""):
        load(tmp_path / "main.py").described()


def test_no_such_file_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "dunlin_av.py").write_text("")
    with pytest.raises(ModboardError, match=r"no file .*dunlin_va\.py; did you mean dunlin_av\.py\?"):
        load(tmp_path / "dunlin_va.py")
    with pytest.raises(ModboardError, match="is a folder"):
        load(tmp_path)
    with pytest.raises(ModboardError, match="no folder"):
        load(tmp_path / "nowhere" / "a.py")
