"""A choice of eight clock rates from one crystal, by links.

Source: 74393 data sheet (binary ripple counter) behind a 7404 crystal oscillator; links choose one of eight taps.
Courtyards 815 mm² in 38 x 28 mm: 1.31 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(38.0, 28.0, height=20.0)

board = Design("baud-generator", cavity=room)
board.part("J1", "header-1x3", pins="VCC GND CLOCK")
board.part("J2", "header-2x8")
board.part("U1", "74HC04")
board.part("U2", "74HC393")
board.part("Y1", "crystal", "4.9152 MHz")
board.part("R1", "resistor", "1M", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "2k2", footprint="resistor-axial-7.62")
board.part("C1", "capacitor", "22p", footprint="capacitor-disc-2.54")
board.part("C2", "capacitor", "22p", footprint="capacitor-disc-2.54")
board.part("C3", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C4", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.net("X1", "Y1.1 R1.1 C1.1 U1.1A")
board.net("X2", "Y1.2 R2.1 C2.1")
board.net("X3", "R1.2 R2.2 U1.1Y U1.2A")
board.net("F", "U1.2Y U2.1A")
for n, letter in enumerate("ABCD"):
    board.net(f"T{n}", f"U2.1Q{letter} J2.{2 * n + 1}")
    board.net(f"T{n + 4}", f"U2.2Q{letter} J2.{2 * n + 9}")
board.net("T3", "U2.2A")
board.net("PICK", "J2.2 J2.4 J2.6 J2.8 J2.10 J2.12 J2.14 J2.16 U1.3A")
board.net("CLOCK", "U1.3Y J1.CLOCK")
board.net("GND", "J1.GND U1.GND U2.GND U2.1CLR U2.2CLR U1.4A U1.5A U1.6A C[1..4].2", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC U2.VCC C3.1 C4.1", volts=5, amps=0.05)
board.no_connect("U1.4Y U1.5Y U1.6Y")

board.place("J1", edge="left")
