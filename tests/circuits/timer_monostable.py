"""A pulse of 1.1 s from a push button: a reset that lasts long enough.

Source: 555 timer data sheet, monostable operation: t = 1.1 R C, here 100 kΩ and 10 µF; no pour, small resistors.
Courtyards 375 mm² in 29.5 x 23 mm: 1.81 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(29.5, 23.0, height=20.0)

board = Design("timer-monostable", cavity=room)
board.part("J1", "wire-pads-1x3", pins="V5 GND RESET")
board.part("J2", "wire-pads-1x2", pins="BUTTON GND")
board.part("U1", "555")
board.part("Q1", "BC547", pins="C B E")
board.part("R1", "resistor", "100k", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R3", "resistor", "4k7", footprint="resistor-axial-7.62")
board.part("C1", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C2", "capacitor", "10n", footprint="capacitor-disc-2.54")
board.part("C3", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.net("GND", "J1.GND J2.GND U1.GND C1.- C2.2 C3.2 Q1.E")
board.net("V5", "J1.V5 U1.VCC U1./RESET R1.1 R2.1 C3.1", volts=5, amps=0.05)
board.net("TIMING", "U1.DISCH U1.THRES R1.2 C1.+")
board.net("TRIG", "U1.TRIG R2.2 J2.BUTTON")
board.net("CTRL", "U1.CTRL C2.1")
board.net("OUT", "U1.OUT R3.1")
board.net("BASE", "R3.2 Q1.B")
board.net("RESET", "Q1.C J1.RESET")

board.place("J1", edge="left")
board.place("J2", edge="right")
