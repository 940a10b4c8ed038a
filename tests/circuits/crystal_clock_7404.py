"""A crystal clock with a divided output.

Source: TTL textbook, series-mode crystal oscillator with two inverters, 470 Ω each, and a buffer; a 7474 halves twice.
Courtyards 763 mm² in 45.5 x 30.5 mm: 1.82 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(45.5, 30.5, height=20.0)

board = Design("crystal-clock", cavity=room)
board.part("J1", "header-1x5", pins="VCC GND F F2 F4")
board.part("U1", "74LS04")
board.part("U2", "74LS74")
board.part("Y1", "crystal", "14.318 MHz")
board.part("R1", "resistor", "470R")
board.part("R2", "resistor", "470R")
board.part("R3", "resistor", "10k")
board.part("C1", "capacitor", "10n")
board.part("C2", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C3", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.net("GND", "J1.GND U1.GND U2.GND C2.2 C3.2 U1.4A U1.5A U1.6A", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC U2.VCC C2.1 C3.1 R3.1", volts=5, amps=0.1)
board.net("X1", "U1.1A R1.1 Y1.1")
board.net("X2", "U1.1Y R1.2 C1.1")
board.net("X3", "C1.2 U1.2A R2.1")
board.net("X4", "U1.2Y R2.2 Y1.2 U1.3A")
board.net("F", "U1.3Y U2.1CLK J1.F")
board.net("HIGH", "R3.2 U2./1CLR U2./1PRE U2./2CLR U2./2PRE")
board.net("D1", "U2./1Q U2.1D")
board.net("F2", "U2.1Q U2.2CLK J1.F2")
board.net("D2", "U2./2Q U2.2D")
board.net("F4", "U2.2Q J1.F4")
board.no_connect("U1.4Y U1.5Y U1.6Y")

board.place("J1", edge="bottom")
