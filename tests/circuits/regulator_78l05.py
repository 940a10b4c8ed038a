"""A quiet 5 V rail from 9 V.

Source: 78L05 data sheet, typical application: 0.33 µF at the input, 0.1 µF at the output.
Courtyards 141 mm² in 23 x 18.5 mm: 3.02 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(23.0, 18.5, height=15.0)

board = Design("regulator-78l05", cavity=room)
board.part("J1", "wire-pads-1x2", pins="IN GND")
board.part("J2", "wire-pads-1x2", pins="OUT GND")
board.part("U1", "78L05")
board.part("C1", "capacitor", "330n")
board.part("C2", "capacitor", "100n")

board.net("GND", "J1.GND J2.GND U1.GND C1.2 C2.2", pour="bottom")
board.net("VIN", "J1.IN U1.IN C1.1", volts=9, amps=0.1)
board.net("V5", "J2.OUT U1.OUT C2.1", volts=5, amps=0.1)

board.place("J1", edge="left")
board.place("J2", edge="right")
