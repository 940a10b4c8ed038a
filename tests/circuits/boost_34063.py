"""12 V from 5 V at 100 mA, all surface-mount but the coil and the can.

Source: the 34063 controller's data sheet, step-up converter; the chip is a SOIC-8 with its pins named here.
Courtyards 462 mm² in 30.5 x 23.5 mm less its post: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(30.5, 23.5, height=22.0)
room.post("boss", at=(4.0, 4.0), diameter=5.0)

board = Design("boost-34063", cavity=room)
board.part("J1", "wire-pads-1x2", pins="IN GND")
board.part("J2", "wire-pads-1x2", pins="OUT GND")
board.part("U1", "soic-8", "34063", pins="SWITCH_C SWITCH_E TIMING GND FEEDBACK VIN SENSE DRIVE_C")
board.part("L1", "inductor", "100u", footprint="inductor-radial-5.0")
board.part("D1", "1N5819")
board.part("R1", "resistor", "0R33", footprint="chip-1206-r")
board.part("R2", "resistor", "1k5", footprint="chip-0805-r")
board.part("R3", "resistor", "13k", footprint="chip-0805-r")
board.part("R4", "resistor", "180R", footprint="chip-0805-r")
board.part("C1", "electrolytic", "100u", footprint="electrolytic-6.3x11-2.5")
board.part("C2", "capacitor", "1n", footprint="chip-0805-c")
board.part("C3", "electrolytic", "220u", footprint="electrolytic-8x11.5-3.5")
board.part("C4", "capacitor", "100n", footprint="chip-0805-c")

board.net("GND", "J1.GND J2.GND U1.GND U1.SWITCH_E R2.2 C1.- C2.2 C3.- C4.2", pour="both", amps=0.8)
board.net("VIN", "J1.IN U1.VIN R1.1 C1.+ C4.1", volts=5, amps=0.8)
board.net("SENSE", "R1.2 U1.SENSE R4.1 L1.1", volts=5, amps=0.8)
board.net("DRIVE", "R4.2 U1.DRIVE_C")
board.net("SWITCH", "L1.2 U1.SWITCH_C D1.A", volts=14, amps=0.8)
board.net("OUT", "D1.K C3.+ R3.1 J2.OUT", volts=12, amps=0.3)
board.net("FEEDBACK", "R3.2 R2.1 U1.FEEDBACK")
board.net("TIMING", "C2.1 U1.TIMING")

board.place("J1", edge="left")
board.place("J2", edge="right")
