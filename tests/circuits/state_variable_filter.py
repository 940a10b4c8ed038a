"""High-pass, band-pass and low-pass at once.

Source: op-amp textbook, state-variable (KHN) filter with a quad op-amp: 10 kΩ all round, 15 kΩ and 10 nF in the
integrators (1.06 kHz); the fourth amplifier makes the middle of the single supply.
Courtyards 747 mm² in an L of 44.5 x 32 mm: 1.61 times their area.
"""

from modboard import Cavity, Design

room = Cavity.polygon([(0, 0), (44.5, 0), (44.5, 19.5), (27.0, 19.5), (27.0, 32.0), (0, 32.0)], height=20.0)

board = Design("state-variable", cavity=room)
board.part("J1", "header-1x3", pins="V9 GND IN")
board.part("J2", "header-1x4", pins="HP BP LP GND")
board.part("U1", "TL074")
for n, value in enumerate(("10k", "10k", "10k", "10k", "47k", "15k", "15k", "100k", "100k"), start=1):
    board.part(f"R{n}", "resistor", value, footprint="resistor-axial-7.62")
board.part("C1", "capacitor", "10n", footprint="capacitor-film-5")
board.part("C2", "capacitor", "10n", footprint="capacitor-film-5")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C4", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C5", "electrolytic", "1u", footprint="electrolytic-5x11-2.0")

board.net("GND", "J1.GND J2.GND U1.V- R9.2 C3.- C4.2", pour="bottom")
board.net("V9", "J1.V9 U1.V+ R8.1 C4.1", volts=9, amps=0.05)
board.net("HALF", "R8.2 R9.1 C3.+ U1.IN4+")
board.net("MID", "U1.OUT4 U1.IN4- U1.IN2+ U1.IN3+ R4.2")
board.net("IN", "J1.IN C5.+")
board.net("IN1", "C5.- R1.1")
board.net("SUM", "R1.2 R2.2 R3.2 U1.IN1-")
board.net("HP", "U1.OUT1 R2.1 R6.1 J2.HP")
board.net("INT1", "R6.2 U1.IN2- C1.1")
board.net("BP", "U1.OUT2 C1.2 R7.1 R5.1 J2.BP")
board.net("FEED", "R5.2 R4.1 U1.IN1+")
board.net("INT2", "R7.2 U1.IN3- C2.1")
board.net("LP", "U1.OUT3 C2.2 R3.1 J2.LP")

board.place("J1", edge="left")
board.place("J2", edge="bottom")
