"""A composite picture amplifier with a phono jack, chips small and connectors large.

Source: fast op-amp data sheet, gain-of-two 75 Ω line driver; NE5534 pinning in SOIC, 0805 parts and a jack in a hole.
Courtyards 625 mm² in 40.5 x 27 mm less its post: 1.70 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(40.5, 27.0, height=20.0, board_at=3.0, measured_to=0.3)
room.opening("old aerial hole", wall="right", centre=12.0, width=11.5, bottom=4.0, top=18.0)
room.post("screw post", at=(4.5, 4.5), diameter=6.0)

board = Design("video-amp", cavity=room)
board.part("J1", "wire-pads-1x3", pins="V12 GND IN")
board.part("J2", "phono-jack")
board.part("U1", "NE5534", footprint="soic-8")
board.part("U2", "78L09")
for n, value in ((1, "75R"), (2, "10k"), (3, "10k"), (4, "1k"), (5, "1k"), (6, "75R")):
    board.part(f"R{n}", "resistor", value, footprint="chip-0805-r")
board.part("C1", "capacitor", "10u", footprint="chip-1206-c")
board.part("C2", "electrolytic", "470u", footprint="electrolytic-8x11.5-3.5")
board.part("C3", "capacitor", "100n", footprint="chip-0805-c")
board.part("C4", "capacitor", "330n", footprint="chip-0805-c")
board.part("C5", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")
board.part("C6", "capacitor", "10u", footprint="chip-1206-c")

board.net("GND", "J1.GND J2.SHELL U1.V- U2.GND R1.2 R3.2 C3.2 C4.2 C5.- C6.2", pour="both")
board.net("V12", "J1.V12 U2.IN C4.1", volts=12, amps=0.05)
board.net("V9", "U2.OUT U1.V+ R2.1 C3.1 C5.+", volts=9, amps=0.05)
board.net("IN", "J1.IN R1.1 C1.1")
board.net("BIAS", "C1.2 R2.2 R3.1 U1.IN+")
board.net("FB", "U1.IN- R4.1 R5.1")
board.net("FOOT", "R5.2 C6.1")
board.net("AMP", "U1.OUT R4.2 C2.+")
board.net("DRIVE", "C2.- R6.1")
board.net("OUT", "R6.2 J2.TIP")
board.no_connect("U1.BAL U1.COMP U1.COMP/BAL")

board.place("J1", edge="left")
board.place("J2", opening="old aerial hole")
