"""Devices: pins against published pin tables, and what must hold for every one."""

import pytest

from modboard.errors import LibraryError
from modboard.library import device, device_names, footprint


def names(kind: str) -> list[str]:
    return [pin.names[0] for pin in device(kind).pins]


def by_number(kind: str) -> dict[str, str]:
    return {pin.number: pin.names[0] for pin in device(kind).pins}


@pytest.mark.parametrize("kind", device_names())
def test_pins_are_those_of_the_footprints(kind):
    found = device(kind)
    numbers = [pin.number for pin in found.pins]
    assert numbers == list(footprint(found.footprint).numbers())
    for other in found.alternatives:
        assert set(footprint(other).numbers()) == set(numbers), other
    assert found.title and found.source and found.prefix


@pytest.mark.parametrize("kind", device_names())
def test_a_name_twice_means_no_connection(kind):
    listed = [name for pin in device(kind).pins if pin.type != "no-connect" for name in pin.names]
    assert len(listed) == len(set(listed))


@pytest.mark.parametrize("kind", device_names())
def test_supply_pins_are_typed(kind):
    for pin in device(kind).pins:
        if pin.names[0] in ("VCC", "VDD", "VBB", "VEE", "V+", "V-", "VS"):
            assert pin.type == "power-in", pin
        if pin.names[0] == "NC":
            assert pin.type == "no-connect", pin
        if pin.names[0] in ("VCC", "VDD") and device(kind).prefix == "U":
            grounds = device(kind).find_all("GND")
            assert len(grounds) == 1 or kind in ("4053", "4066"), kind


# TO-92 flat face towards the reader, left to right: data sheets (from memory for single types); 2N and PN types are
# E B C, the BC family C B E, Japanese types E C B
TO92_ORDERS = {
    "E B C": ["2N3904", "2N3906", "PN2222A", "PN2907A", "2N4401", "2N4403", "2N5551", "2N5401", "S8050", "S8550"],
    "C B E": ["BC546", "BC547", "BC548", "BC549", "BC550", "BC556", "BC557", "BC560", "BC337", "BC327", "P2N2222A"],
    "E C B": ["2SC1815", "2SA1015"],
    "S G D": ["2N7000"],
    "D G S": ["BS170"],
    "D S G": ["J111", "J113", "2N5457"],
    "OUT GND IN": ["78L05", "78L12", "LM2931Z"],
    "GND IN OUT": ["79L05"],
    "ADJ OUT IN": ["LM317L"],
    "REF A K": ["TL431"],
}


@pytest.mark.parametrize(("order", "kind"), [(o, k) for o, kinds in TO92_ORDERS.items() for k in kinds])
def test_to92_pin_orders(order, kind):
    assert names(kind) == order.split()
    assert device(kind).footprint == "to92"


# Front view, left to right, as their data sheets have it (from memory); SOT-23 by its lead styles 6, 21 and 8
OTHER_ORDERS = [
    ("TIP31", "B C E", "to220"),
    ("TIP32", "B C E", "to220"),
    ("BD139", "E C B", "to126"),
    ("IRF540", "G D S", "to220"),
    ("7805", "IN GND OUT", "to220"),
    ("7812", "IN GND OUT", "to220"),
    ("7905", "GND IN OUT", "to220"),
    ("LM317", "ADJ OUT IN", "to220"),
    ("LM337", "ADJ IN OUT", "to220"),
    ("1117-3.3", "GND OUT IN", "sot223"),
    ("1117-adj", "ADJ OUT IN", "sot223"),
    ("MMBT3904", "B E C", "sot23"),
    ("BC847", "B E C", "sot23"),
    ("2N7002", "G S D", "sot23"),
    ("BAT54", "A NC K", "sot23"),
    ("2N2222A", "E B C", "to18"),  # TO-18: lead 1 E, 2 B, 3 C, collector on the can
    ("2N2219A", "E B C", "to39"),
    ("LM2931", "IN GND OUT", "to220"),  # its data sheet
]


@pytest.mark.parametrize(("kind", "order", "package"), OTHER_ORDERS)
def test_other_pin_orders(kind, order, package):
    assert names(kind) == order.split()
    assert device(kind).footprint == package


LOW_SIDE = "A7 A6 A5 A4 A3 A2 A1 A0 D0 D1 D2 GND D3 D4 D5 D6 D7"
COMMON_24 = {str(n): name for n, name in enumerate(LOW_SIDE.split(), start=1)}
COMMON_24 |= {"19": "A10", "22": "A9", "23": "A8", "24": "VCC"}
COMMON_28 = {str(n): name for n, name in enumerate(LOW_SIDE.split(), start=3)}
COMMON_28 |= {"2": "A12", "21": "A10", "23": "A11", "24": "A9", "25": "A8", "28": "VCC"}
# JEDEC Standard 21-C 3.7.5 and data sheets: the pins in which parts of one size differ
BYTE_WIDE = [
    ("6116", COMMON_24, {"18": "/CS", "20": "/OE", "21": "/WE"}),
    ("2716", COMMON_24, {"18": "/CE", "20": "/OE", "21": "VPP"}),
    ("28C16", COMMON_24, {"18": "/CE", "20": "/OE", "21": "/WE"}),
    ("2732", COMMON_24, {"18": "/CE", "20": "/OE", "21": "A11"}),
    ("2316", COMMON_24, {"18": "CS2", "20": "CS1", "21": "CS3"}),
    ("2332", COMMON_24, {"18": "A11", "20": "CS1", "21": "CS2"}),
    ("2364", COMMON_24, {"18": "A11", "20": "/CS", "21": "A12"}),
    ("TMS2532", COMMON_24, {"18": "A11", "20": "PD", "21": "VPP"}),
    ("2764", COMMON_28, {"1": "VPP", "20": "/CE", "22": "/OE", "26": "NC", "27": "/PGM"}),
    ("27128", COMMON_28, {"1": "VPP", "20": "/CE", "22": "/OE", "26": "A13", "27": "/PGM"}),
    ("27256", COMMON_28, {"1": "VPP", "20": "/CE", "22": "/OE", "26": "A13", "27": "A14"}),
    ("27512", COMMON_28, {"1": "A15", "20": "/CE", "22": "/OE", "26": "A13", "27": "A14"}),
    ("28C64", COMMON_28, {"1": "RDY", "20": "/CE", "22": "/OE", "26": "NC", "27": "/WE"}),
    ("28C256", COMMON_28, {"1": "A14", "20": "/CE", "22": "/OE", "26": "A13", "27": "/WE"}),
    ("6264", COMMON_28, {"1": "NC", "20": "/CS1", "22": "/OE", "26": "CS2", "27": "/WE"}),
    ("62256", COMMON_28, {"1": "A14", "20": "/CS", "22": "/OE", "26": "A13", "27": "/WE"}),
]


@pytest.mark.parametrize(("kind", "common", "own"), BYTE_WIDE, ids=[row[0] for row in BYTE_WIDE])
def test_byte_wide_memories(kind, common, own):
    assert by_number(kind) == {**common, **own}
    assert device(kind).footprint == f"dip-{len(device(kind).pins)}-wide"


# 32 pins: JEDEC Standard 21-C for the SRAMs, data sheets from memory for the others
WIDE_32 = [
    ("628128", "NC A14 /WE CS2 A15"),
    ("628512", "A18 A14 /WE A17 A15"),
    ("27C010", "VPP A15 A14 NC /PGM"),
    ("27C040", "VPP A15 A14 A17 A18"),
    ("29F010", "NC A15 A14 NC /WE"),
    ("39SF040", "A18 A15 A14 A17 /WE"),
]


@pytest.mark.parametrize(("kind", "order"), WIDE_32)
def test_32_pin_memories(kind, order):
    pins = by_number(kind)
    assert [pins[n] for n in ("1", "3", "29", "30", "31")] == order.split()
    # bottom-aligned with the 28-pin family: pin n there is pin n + 2 here
    small = by_number("62256")
    for n in (*range(2, 20), 21, 22, 23, 24, 25, 26):
        assert pins[str(n + 2)] == small[str(n)]
    assert (pins["2"], pins["32"]) == ("A16", "VCC")


def test_small_memories_sit_bottom_aligned_in_large_sockets():
    # JEDEC byte-wide: 24-pin n is 28-pin n + 2
    small, large = by_number("6116"), by_number("62256")
    shared = [n for n in range(1, 25) if n not in (18, 21, 24)]
    assert all(small[str(n)] == large[str(n + 2)] for n in shared)


# Bit-wide DRAM and 1K x 4 SRAM, data sheets
NARROW = [
    ("2114", "A6 A5 A4 A3 A0 A1 A2 /CS GND /WE I/O4 I/O3 I/O2 I/O1 A9 A8 A7 VCC"),
    ("4116", "VBB DIN /WE /RAS A0 A2 A1 VDD VCC A5 A4 A3 A6 DOUT /CAS GND"),
    ("4164", "NC DIN /WE /RAS A0 A2 A1 VCC A7 A5 A4 A3 A6 DOUT /CAS GND"),
    ("41256", "A8 DIN /WE /RAS A0 A2 A1 VCC A7 A5 A4 A3 A6 DOUT /CAS GND"),
    ("41464", "/OE DQ1 DQ2 /WE /RAS A6 A5 A4 VCC A7 A3 A2 A1 A0 DQ3 /CAS DQ4 GND"),
]


@pytest.mark.parametrize(("kind", "order"), NARROW)
def test_narrow_memories(kind, order):
    assert names(kind) == order.split()


# Analogue parts, data sheets (from memory but for the TL081)
ANALOGUE = [
    ("TL072", "OUT1 IN1- IN1+ V- IN2+ IN2- OUT2 V+"),
    ("LM324", "OUT1 IN1- IN1+ V+ IN2+ IN2- OUT2 OUT3 IN3- IN3+ V- IN4+ IN4- OUT4"),
    ("LM339", "OUT2 OUT1 VCC IN1- IN1+ IN2- IN2+ IN3- IN3+ IN4- IN4+ GND OUT4 OUT3"),
    ("LM393", "OUT1 IN1- IN1+ GND IN2+ IN2- OUT2 VCC"),
    ("LM311", "GND IN+ IN- V- BAL BAL/STRB OUT V+"),
    ("555", "GND TRIG OUT /RESET CTRL THRES DISCH VCC"),
    ("556", "DISCH1 THRES1 CTRL1 /RESET1 OUT1 TRIG1 GND TRIG2 OUT2 /RESET2 CTRL2 THRES2 DISCH2 VCC"),
    ("4N35", "A K NC E C B"),
    ("PC817", "A K E C"),
    ("6N137", "NC A K NC GND OUT ENABLE VCC"),
    ("TL071", "OFFSET1 IN- IN+ V- OFFSET2 OUT V+ NC"),
    ("LM386", "GAIN1 IN- IN+ GND OUT VS BYPASS GAIN2"),
    ("MAX232", "C1+ VS+ C1- C2+ C2- VS- T2OUT R2IN R2OUT T2IN T1IN R1OUT R1IN T1OUT GND VCC"),
    ("LM1881", "CSYNC VIDEO VSYNC GND BURST RSET FIELD VCC"),
    ("34063", "SWC SWE CT GND COMP VCC IPK DRC"),
]


@pytest.mark.parametrize(("kind", "order"), ANALOGUE)
def test_analogue_parts(kind, order):
    assert names(kind) == order.split()


# Data sheets of the 74 series: outputs and supply of some parts by pin number
LOGIC = [
    ("74LS00", {"1": "1A", "3": "1Y", "6": "2Y", "7": "GND", "8": "3Y", "11": "4Y", "14": "VCC"}),
    ("74HC02", {"1": "1Y", "2": "1A", "4": "2Y", "10": "3Y", "13": "4Y"}),
    ("74HCT04", {"1": "1A", "2": "1Y", "8": "4Y", "9": "4A", "12": "6Y"}),
    ("74LS74", {"1": "/1CLR", "3": "1CLK", "4": "/1PRE", "5": "1Q", "9": "2Q", "13": "/2CLR"}),
    ("74LS138", {"4": "/G2A", "6": "G1", "7": "/Y7", "8": "GND", "15": "/Y0", "16": "VCC"}),
    ("74LS139", {"1": "/1G", "4": "/1Y0", "12": "/2Y0", "14": "2A", "15": "/2G"}),
    ("74LS153", {"1": "/1G", "2": "B", "6": "1C0", "7": "1Y", "9": "2Y", "10": "2C0", "14": "A", "15": "/2G"}),
    ("74LS157", {"1": "SEL", "4": "1Y", "7": "2Y", "9": "3Y", "12": "4Y", "15": "/G"}),
    ("74LS257", {"1": "SEL", "15": "/OE"}),
    ("74LS161", {"1": "/CLR", "2": "CLK", "9": "/LOAD", "11": "QD", "14": "QA", "15": "RCO"}),
    ("74LS164", {"3": "QA", "8": "CLK", "9": "/CLR", "13": "QH"}),
    ("74LS165", {"1": "SH", "7": "/QH", "9": "QH", "10": "SER", "15": "CLKINH"}),
    ("74LS244", {"1": "/1G", "2": "1A1", "3": "2Y4", "11": "2A1", "18": "1Y1", "19": "/2G"}),
    ("74HCT245", {"1": "DIR", "2": "A1", "9": "A8", "11": "B8", "18": "B1", "19": "/G", "20": "VCC"}),
    ("74LS273", {"1": "/CLR", "2": "1Q", "3": "1D", "11": "CLK", "19": "8Q"}),
    ("74LS373", {"1": "/OC", "2": "1Q", "11": "LE", "19": "8Q"}),
    ("74LS374", {"11": "CLK"}),
    ("74LS377", {"1": "/G", "11": "CLK"}),
    ("74LS393", {"1": "1A", "2": "1CLR", "3": "1QA", "8": "2QD", "13": "2A"}),
    ("74HC541", {"1": "/OE1", "2": "A1", "11": "Y8", "18": "Y1", "19": "/OE2"}),
    ("74HC573", {"1": "/OE", "2": "1D", "11": "LE", "19": "1Q"}),
    ("74HC574", {"11": "CLK", "12": "8Q"}),
    ("74HC595", {"1": "QB", "9": "QH'", "10": "/SRCLR", "12": "RCLK", "13": "/OE", "14": "SER", "15": "QA"}),
    ("7410", {"6": "2Y", "7": "GND", "8": "3Y", "12": "1Y", "13": "1C", "14": "VCC"}),  # 10 to 4060 from memory
    ("74LS20", {"3": "NC", "6": "1Y", "8": "2Y", "11": "NC"}),
    ("74LS93", {"5": "VCC", "10": "GND", "12": "QA", "14": "CKA"}),
    ("74LS123", {"1": "1A", "3": "/1CLR", "4": "/1Q", "5": "2Q", "13": "1Q", "15": "1RCX"}),
    ("74LS151", {"1": "D3", "4": "D0", "5": "Y", "7": "/G", "9": "C", "11": "A", "12": "D7"}),
    ("CD4011", {"3": "1Y", "4": "2Y", "7": "VSS", "10": "3Y", "11": "4Y", "14": "VDD"}),
    ("4017", {"3": "Q0", "2": "Q1", "12": "CO", "14": "CLK", "15": "RESET"}),
    ("4040", {"1": "Q12", "9": "Q1", "10": "CLK", "11": "RESET"}),
    ("4060", {"9": "OSC2", "10": "OSC1", "11": "CLK", "3": "Q14"}),
    ("4051", {"3": "X", "6": "INH", "7": "VEE", "8": "VSS", "11": "A", "13": "X0"}),
    ("744053", {"1": "B1", "2": "B0", "4": "Cz", "6": "INH", "7": "VEE", "14": "Az", "15": "Bz", "16": "VDD"}),
    ("74LS125", {"1": "/1OE", "2": "1A", "3": "1Y", "13": "/4OE"}),
    ("74HC4066", {"1": "1Y", "7": "GND", "13": "1E", "14": "VDD"}),
]


@pytest.mark.parametrize(("kind", "pins"), LOGIC, ids=[row[0] for row in LOGIC])
def test_logic(kind, pins):
    found = by_number(kind)
    assert {number: found[number] for number in pins} == pins


def test_supplies_that_may_be_ground_are_those_below_ground_of_analogue_switches():
    """CD4051B and 74HC4051 data sheets (from memory): VEE at ground where no signal goes below it."""
    said = {kind: [p.number for p in device(kind).pins if p.may_be_ground] for kind in device_names()}
    switches = [f"{maker}405{k}" for maker in ("", "CD", "74") for k in (1, 2, 3)]
    assert {kind: pins for kind, pins in said.items() if pins} == {kind: ["7"] for kind in switches}
    assert device("74HCT4052").find("VEE").may_be_ground
    # MC1488 data sheet: a line driver's V- is what makes its low level, -7.5 to -15 V
    assert not device("1488").find("V-").may_be_ground


def test_logic_supply_follows_the_family_letters():
    # data sheets: LS 4.75-5.25, HC 2-6, HCT 4.5-5.5
    assert device("74LS00").supply == (4.75, 5.25)
    assert device("74hc00").supply == (2.0, 6.0)
    assert device("SN74HCT00N").supply == (4.5, 5.5)
    assert device("74LS00").pins == device("74HC00").pins


def test_electrical_types():
    def kind(name: str, pin: str) -> str:
        found = device(name).find(pin)
        assert found is not None
        return found.type

    assert kind("74LS07", "1Y") == "open-collector"
    assert kind("74LS244", "1Y1") == kind("2764", "D0") == kind("74LS125", "1Y") == "three-state"
    assert kind("74LS00", "1Y") == kind("TL072", "OUT1") == "output"
    assert kind("62256", "D0") == kind("74LS245", "A1") == "bidirectional"
    assert kind("62256", "/WE") == kind("74LS138", "A") == kind("555", "TRIG") == "input"
    assert kind("7805", "OUT") == "power-out"
    assert kind("7805", "IN") == "power-in"
    assert kind("LM393", "OUT2") == kind("555", "DISCH") == "open-collector"
    assert kind("2N3904", "B") == kind("resistor", "1") == "passive"
    for name in device_names():  # nothing logical is left to default by a forgotten pattern
        if name.startswith(("74", "27", "28", "61", "62", "41", "2114")) and name not in (
            "741",
            "744066",
            "744053",
            "744051",
            "744052",
            "74123",
        ):
            assert [p.names[0] for p in device(name).pins if p.type == "passive"] == [], name


def test_pins_answer_to_customary_names():
    memory = device("62256")
    for one, other in (("/CS", "nCS"), ("GND", "VSS"), ("VCC", "VDD"), ("D3", "I/O3"), ("D0", "DQ0"), ("/WE", "nWE")):
        assert memory.find(one) is memory.find(other) is not None
    assert memory.find("20") is memory.find("/CS")
    assert memory.find("A15") is None
    diode, led = device("1N4148"), device("led")
    assert diode.find("K") is diode.find("1") and led.find("A") is led.find("2")
    assert [p.number for p in device("62256").find_all("A14")] == ["1"]
    assert [p.number for p in device("4N35").find_all("NC")] == ["3"]
    assert len(device("6N137").find_all("NC")) == 2


def test_names_as_they_stand_on_the_part():
    assert device("bc547b").name == "BC547"
    assert device("BC337-40").name == "BC337"
    assert device("LM7805").name == device("L7805CV").name == "7805"
    assert device("AMS1117-3.3").name == "1117-3.3"
    assert device("2n3904").name == "2N3904"


def test_jacks_of_measured_size_keep_their_contact_names():
    assert [p.names for p in device("phono-jack-5.5-10").pins] == [("TIP",), ("SHELL",)]
    assert device("dc-jack-6.5-4.8").find("SLEEVE").number == "2"
    assert device("jack-3.5mm-6.5-5.0").find("TIP").number == "2"


def test_connector_footprints_are_devices():
    header = device("header-2x3")
    assert [p.number for p in header.pins] == ["1", "2", "3", "4", "5", "6"]
    assert (header.footprint, header.prefix) == ("header-2x3", "J")
    assert len(device("host-plug-24-wide").pins) == 24
    assert device("wire-pad-26awg").prefix == "W"
    with pytest.raises(LibraryError, match="columns must be 1 to 40"):
        device("header-1x50")


@pytest.mark.parametrize(
    ("name", "near"), [("2N3905", "2N3904"), ("resister", "resistor"), ("74LS001", "74"), ("62265", "62256")]
)
def test_unknown_devices_are_answered_with_the_nearest(name, near):
    with pytest.raises(LibraryError) as caught:
        device(name)
    assert f'no device "{name}"' in str(caught.value)
    assert near in str(caught.value)
    assert "\n" not in str(caught.value)


# what stands on parts, and the type by its maker's data sheet (from memory)
PRINTED = (
    "LM7805CT=7805 L7805CV=7805 LM78L05ACZ=78L05 LM317T=LM317 LM317LZ=LM317L LM2931AZ-5.0=LM2931Z LM2940CT-5.0=LM2940 "
    "TL072CP=TL072 NE5532P=NE5532 LM358N=LM358 LM386N-1=LM386 UA741CN=741 NE555P=NE555 LM1881N=LM1881 MAX232CPE=MAX232 "
    "IRF540N=IRF540 BC337-40=BC337 BC547B=BC547 TIP31C=TIP31 C1815=2SC1815 A1015=2SA1015 2SC1815GR=2SC1815 "
    "BD139-16=BD139 HM6116P-4=6116 62256-70=62256 HM62256BLP-7=62256 AT28C256-15PU=28C256 W27C512=27C512 D27256=27256 "
    "AS6C4008=628512 SST39SF010A-70-4C-PHE=39SF010 MK4116N-3=4116 CD4066BE=4066 HEF4066BP=4066 HCF4053BE=4053 "
    "SN74LS245N=74LS245 74HC595N=74HC595 DM74LS00N=74LS00 PC817C=PC817 TL431CLP=TL431"
)


@pytest.mark.parametrize("pair", PRINTED.split())
def test_markings_are_read(pair):
    printed, plain = pair.split("=")
    assert device(printed).pins == device(plain).pins and device(printed).footprint == device(plain).footprint


@pytest.mark.parametrize("kind", ["BAT54S", "BAT54C", "TMS2716", "BC847BS", "LM317EMP", "2N22222", "74LS9999", "78M05"])
def test_a_marking_of_another_pin_out_is_not_read_as_its_neighbour(kind):
    # BAT54S and BAT54C hold two diodes, the TMS2716 wants three supplies, the BC847BS is a pair in six pins
    with pytest.raises(LibraryError, match=f'no device "{kind}"'):
        device(kind)


def test_footprints_are_found_as_people_write_them():
    for written, plain in {"TO-92": "to92", "SOT-23": "sot23", "DIP14": "dip-14", "to-220": "to220"}.items():
        assert footprint(written).name == plain


def test_every_device_with_supply_pins_has_its_range():
    lacking = {
        name
        for name in device_names()
        if any(p.type == "power-in" for p in device(name).pins) and device(name).supply is None
    }
    assert lacking == {"ULN2003", "ULN2003A", "ULN2803", "ULN2803A"}  # their only such pin is ground


def test_what_gets_warm_has_a_rating():
    # every transistor and regulator; data sheets at 25 °C in still air: TO-92 bipolar 0.5 to 0.625 W, TO-220 about 2 W
    for name in device_names():
        found = device(name)
        if found.prefix == "Q" or "regulator" in found.title.casefold():
            assert found.watts and 0.2 <= found.watts <= 2.5, name
    assert (device("2N3904").watts, device("TIP31").watts, device("78L05").watts) == (0.625, 2.0, 0.6)


def test_orders_hold_the_pins_and_begin_with_the_one_taken():
    several = [name for name in device_names() if device(name).orders]
    assert {"2N3904", "2N3906", "PN2222A", "P2N2222A", "BC547", "BC557", "BC337"} <= set(several)
    for name in several:
        orders = device(name).orders
        assert list(orders[0]) == names(name) and len(set(orders)) == len(orders) > 1
        assert all(sorted(order) == sorted(orders[0]) for order in orders)
