"""Whole pin-outs, pad by pad, against published pin tables; sources beside each table.

Memories: JEDEC Standard 21-C 3.7.5 for 24- and 28-pin parts and 32-pin SRAM, data sheets (from memory) for the other
32-pin parts.  Logic: data sheets; 125, 244, 245, 541, 4066 and 4053 from memory.  Analogue, transistors: data sheets,
from memory but for TL081, LM2931 and TL431; SOT-23 by its lead styles; cans by their lead order.
"""

import re

import pytest

from modboard.library import device

LOW = "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7"
WIDE = {  # part: (order with the pins in which the parts of that size differ left as ?, what stands there)
    24: (f"{LOW} ? A10 ? ? A9 A8 VCC", {
        "6116": "/CS /OE /WE", "2716": "/CE /OE VPP", "28C16": "/CE /OE /WE", "2732": "/CE /OE A11",
        "2316": "CS2 CS1 CS3", "2332": "A11 CS1 CS2", "2364": "A11 /CS A12", "TMS2532": "A11 PD VPP",
    }),
    28: (f"? A12 {LOW} ? A10 ? A11 A9 A8 ? ? VCC", {
        "2764": "VPP /CE /OE NC /PGM", "27128": "VPP /CE /OE A13 /PGM", "27256": "VPP /CE /OE A13 A14",
        "27512": "A15 /CE /OE A13 A14", "28C64": "RDY /CE /OE NC /WE", "28C256": "A14 /CE /OE A13 /WE",
        "6264": "NC /CS1 /OE CS2 /WE", "62256": "A14 /CS /OE A13 /WE",
    }),
    32: (f"? A16 ? A12 {LOW} ? A10 /OE A11 A9 A8 A13 ? ? ? VCC", {
        "628128": "NC A14 /CS1 /WE CS2 A15", "628512": "A18 A14 /CS /WE A17 A15", "27C010": "VPP A15 /CE A14 NC /PGM",
        "27C040": "VPP A15 /CE A14 A17 A18", "29F010": "NC A15 /CE A14 NC /WE", "39SF010": "NC A15 /CE A14 NC /WE",
        "29F040": "A18 A15 /CE A14 A17 /WE", "39SF040": "A18 A15 /CE A14 A17 /WE",
    }),
}  # fmt: skip
LOGIC = {
    "00 08 32 86": "1A 1B 1Y 2A 2B 2Y GND 3Y 3A 3B 4Y 4A 4B VCC",
    "02": "1Y 1A 1B 2Y 2A 2B GND 3A 3B 3Y 4A 4B 4Y VCC",
    "04 05 06 07 14": "1A 1Y 2A 2Y 3A 3Y GND 4Y 4A 5Y 5A 6Y 6A VCC",
    "74": "/1CLR 1D 1CLK /1PRE 1Q /1Q GND /2Q 2Q /2PRE 2CLK 2D /2CLR VCC",
    "125": "/1OE 1A 1Y /2OE 2A 2Y GND 3Y 3A /3OE 4Y 4A /4OE VCC",
    "138": "A B C /G2A /G2B G1 /Y7 GND /Y6 /Y5 /Y4 /Y3 /Y2 /Y1 /Y0 VCC",
    "139": "/1G 1A 1B /1Y0 /1Y1 /1Y2 /1Y3 GND /2Y3 /2Y2 /2Y1 /2Y0 2B 2A /2G VCC",
    "153": "/1G B 1C3 1C2 1C1 1C0 1Y GND 2Y 2C0 2C1 2C2 2C3 A /2G VCC",
    "157": "SEL 1A 1B 1Y 2A 2B 2Y GND 3Y 3B 3A 4Y 4B 4A /G VCC",
    "257": "SEL 1A 1B 1Y 2A 2B 2Y GND 3Y 3B 3A 4Y 4B 4A /OE VCC",
    "161 163": "/CLR CLK A B C D ENP GND /LOAD ENT QD QC QB QA RCO VCC",
    "164": "A B QA QB QC QD GND CLK /CLR QE QF QG QH VCC",
    "165": "SH CLK E F G H /QH GND QH SER A B C D CLKINH VCC",
    "244": "/1G 1A1 2Y4 1A2 2Y3 1A3 2Y2 1A4 2Y1 GND 2A1 1Y4 2A2 1Y3 2A3 1Y2 2A4 1Y1 /2G VCC",
    "245": "DIR A1 A2 A3 A4 A5 A6 A7 A8 GND B8 B7 B6 B5 B4 B3 B2 B1 /G VCC",
    "273": "/CLR 1Q 1D 2D 2Q 3Q 3D 4D 4Q GND CLK 5Q 5D 6D 6Q 7Q 7D 8D 8Q VCC",
    "373": "/OC 1Q 1D 2D 2Q 3Q 3D 4D 4Q GND LE 5Q 5D 6D 6Q 7Q 7D 8D 8Q VCC",
    "374": "/OC 1Q 1D 2D 2Q 3Q 3D 4D 4Q GND CLK 5Q 5D 6D 6Q 7Q 7D 8D 8Q VCC",
    "377": "/G 1Q 1D 2D 2Q 3Q 3D 4D 4Q GND CLK 5Q 5D 6D 6Q 7Q 7D 8D 8Q VCC",
    "393": "1A 1CLR 1QA 1QB 1QC 1QD GND 2QD 2QC 2QB 2QA 2CLR 2A VCC",
    "541": "/OE1 A1 A2 A3 A4 A5 A6 A7 A8 GND Y8 Y7 Y6 Y5 Y4 Y3 Y2 Y1 /OE2 VCC",
    "573": "/OE 1D 2D 3D 4D 5D 6D 7D 8D GND LE 8Q 7Q 6Q 5Q 4Q 3Q 2Q 1Q VCC",
    "574": "/OE 1D 2D 3D 4D 5D 6D 7D 8D GND CLK 8Q 7Q 6Q 5Q 4Q 3Q 2Q 1Q VCC",
    "595": "QB QC QD QE QF QG QH GND QH' /SRCLR SRCLK RCLK /OE SER QA VCC",
    "4066": "1Y 1Z 2Z 2Y 2E 3E GND 3Y 3Z 4Z 4Y 4E 1E VDD",
    "4053": "B1 B0 C1 Cz C0 INH VEE GND C B A A0 A1 Az Bz VDD",
}
OTHERS = {
    "2114": "A6 A5 A4 A3 A0 A1 A2 /CS GND /WE I/O4 I/O3 I/O2 I/O1 A9 A8 A7 VCC",
    "4116": "VBB DIN /WE /RAS A0 A2 A1 VDD VCC A5 A4 A3 A6 DOUT /CAS GND",
    "4164": "NC DIN /WE /RAS A0 A2 A1 VCC A7 A5 A4 A3 A6 DOUT /CAS GND",
    "41256": "A8 DIN /WE /RAS A0 A2 A1 VCC A7 A5 A4 A3 A6 DOUT /CAS GND",
    "41464": "/OE DQ1 DQ2 /WE /RAS A6 A5 A4 VCC A7 A3 A2 A1 A0 DQ3 /CAS DQ4 GND",
    "741 TL071 TL081": "OFFSET1 IN- IN+ V- OFFSET2 OUT V+ NC",
    "LM358 TL072 TL082 NE5532 RC4558": "OUT1 IN1- IN1+ V- IN2+ IN2- OUT2 V+",
    "LM324 TL074 TL084": "OUT1 IN1- IN1+ V+ IN2+ IN2- OUT2 OUT3 IN3- IN3+ V- IN4+ IN4- OUT4",
    "LM393": "OUT1 IN1- IN1+ GND IN2+ IN2- OUT2 VCC",
    "LM339": "OUT2 OUT1 VCC IN1- IN1+ IN2- IN2+ IN3- IN3+ IN4- IN4+ GND OUT4 OUT3",
    "LM311": "GND IN+ IN- V- BAL BAL/STRB OUT V+",
    "555 NE555": "GND TRIG OUT /RESET CTRL THRES DISCH VCC",
    "556": "DISCH1 THRES1 CTRL1 /RESET1 OUT1 TRIG1 GND TRIG2 OUT2 /RESET2 CTRL2 THRES2 DISCH2 VCC",
    "LM386": "GAIN1 IN- IN+ GND OUT VS BYPASS GAIN2",
    "4N25 4N35": "A K NC E C B",
    "PC817": "A K E C",
    "6N137": "NC A K NC GND OUT ENABLE VCC",
    "7805 7812 LM2931": "IN GND OUT",  # front view, left to right
    "7905 7912": "GND IN OUT",
    "LM317 LM317L": "ADJ OUT IN",
    "LM337": "ADJ IN OUT",
    "78L05 78L12": "OUT GND IN",
    "79L05": "GND IN OUT",
    "1117-3.3": "GND OUT IN",
    "1117-adj": "ADJ OUT IN",
    "TL431": "REF A K",
    # flat face towards the reader, left to right
    "2N3904 2N3906 PN2222A PN2907A 2N4401 2N4403 2N5551 2N5401 MPSA42 S8050 S8550": "E B C",
    "BC546 BC547 BC548 BC549 BC550 BC556 BC557 BC558 BC559 BC560 BC337 BC327 BC517 P2N2222A": "C B E",
    "2SC1815 2SA1015": "E C B",
    "2N7000": "S G D",
    "BS170": "D G S",
    "J111 J112 J113 2N5457": "D S G",
    "2N2222A 2N2219A": "E B C",  # cans: 1 E, 2 B, 3 C from the tab
    "TIP31 TIP32 TIP41 TIP42 TIP120": "B C E",
    "IRF540": "G D S",
    "BD135 BD136 BD137 BD138 BD139 BD140": "E C B",
    "MMBT3904 BC847": "B E C",  # SOT-23 style 6
    "2N7002": "G S D",  # style 21
    "BAT54": "A NC K",  # style 8
    "BAV99": "A K COMMON",
}


def order(kind: str) -> str:
    found = device(kind)
    assert [pin.number for pin in found.pins] == [str(k + 1) for k in range(len(found.pins))]
    return " ".join(pin.names[0] for pin in found.pins)


@pytest.mark.parametrize(("pins", "kind"), [(n, kind) for n, (_, parts) in WIDE.items() for kind in parts])
def test_byte_wide_memories_pad_by_pad(pins, kind):
    common, parts = WIDE[pins]
    own = iter(parts[kind].split())
    assert order(kind) == re.sub(r"\?", lambda _: next(own), common)
    assert len(device(kind).pins) == pins and next(own, None) is None


@pytest.mark.parametrize(("kinds", "pins"), LOGIC.items())
def test_logic_pad_by_pad(kinds, pins):
    for kind in kinds.split():
        for family in ("LS", "HC", "HCT"):
            assert order(f"74{family}{kind}") == pins


@pytest.mark.parametrize(("kinds", "pins"), OTHERS.items())
def test_other_parts_pad_by_pad(kinds, pins):
    for kind in kinds.split():
        assert order(kind) == pins, kind


def test_supply_stands_at_the_corners_but_for_the_known_exceptions():
    # 74 series: VCC at the last pin, ground at the last of the left row; 7493 (with 73, 75, 76, 83, 90, 92) is not so
    for kinds in LOGIC:
        for kind in kinds.split():
            pins = order(f"74{kind}").split()
            assert pins[-1] in ("VCC", "VDD") and pins[len(pins) // 2 - 1] == "GND"
    assert (order("7493").split()[4], order("7493").split()[9]) == ("VCC", "GND")
