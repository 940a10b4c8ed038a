"""A fourth-order 1 kHz Butterworth low-pass filter.

Source: op-amp textbook, two unity-gain Sallen-Key stages, Q = 0.541 and 1.307, all resistors 10 kΩ.
Courtyards 621 mm² in 38.5 x 26 mm: 1.61 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(38.5, 26.0, height=20.0)

board = Design("sallen-key", cavity=room)
board.part("J1", "header-1x4", pins="VP GND VN IN")
board.part("J2", "header-1x2", pins="OUT GND")
board.part("U1", "TL072")
for n in range(1, 5):
    board.part(f"R{n}", "resistor", "10k")
board.part("C1", "capacitor", "18n", footprint="capacitor-film-5")
board.part("C2", "capacitor", "15n", footprint="capacitor-film-5")
board.part("C3", "capacitor", "39n", footprint="capacitor-film-5")
board.part("C4", "capacitor", "6n8", footprint="capacitor-film-5")
board.part("C5", "capacitor", "100n")
board.part("C6", "capacitor", "100n")

board.net("GND", "J1.GND J2.GND C2.2 C4.2 C5.2 C6.2", pour="bottom")
board.net("VP", "J1.VP U1.V+ C5.1", volts=12)
board.net("VN", "J1.VN U1.V- C6.1", volts=-12)
board.net("IN", "J1.IN R1.1")
board.net("A1", "R1.2 R2.1 C1.1")
board.net("A2", "R2.2 U1.IN1+ C2.1")
board.net("MID", "U1.OUT1 U1.IN1- C1.2 R3.1")
board.net("B1", "R3.2 R4.1 C3.1")
board.net("B2", "R4.2 U1.IN2+ C4.1")
board.net("OUT", "U1.OUT2 U1.IN2- C3.2 J2.OUT")

board.place("J1", edge="left")
board.place("J2", edge="right")
