"""An isolated serial input and output by current loop.

Source: the published current-loop interface for musical instruments: 220 Ω in each leg, a reverse diode, a fast
opto-isolator with 270 Ω pull-up in, two open-collector inverters out.  Two grounds that must not meet; no pour.
Courtyards 709 mm² in 42.5 x 28.5 mm: 1.71 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(42.5, 28.5, height=15.0)

board = Design("opto-serial", cavity=room)
board.part("J1", "wire-pads-1x2", pins="LOOP+ LOOP-")
board.part("J2", "wire-pads-1x3", pins="OUT+ OUT- SHIELD")
board.part("J3", "wire-pads-1x4", pins="V5 GND RXD TXD")
board.part("U1", "6N137")
board.part("U2", "7406")
board.part("D1", "1N4148")
board.part("R1", "resistor", "220R")
board.part("R2", "resistor", "270R")
board.part("R3", "resistor", "220R")
board.part("R4", "resistor", "220R")
board.part("R5", "resistor", "1k")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C2", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.net("LOOP+", "J1.LOOP+ R1.1")
board.net("LOOPA", "R1.2 U1.A D1.K")
board.net("LOOP-", "J1.LOOP- U1.K D1.A")
board.net("GND", "J3.GND U1.GND U2.GND C1.2 C2.2 J2.SHIELD U2.3A U2.4A U2.5A U2.6A")
board.net("V5", "J3.V5 U1.VCC U1.ENABLE U2.VCC C1.1 C2.1 R2.1 R3.1 R5.1", volts=5, amps=0.05)
board.net("RXD", "U1.OUT R2.2 J3.RXD")
board.net("TXD", "J3.TXD U2.1A")
board.net("TX1", "U2.1Y U2.2A R5.2")
board.net("TX2", "U2.2Y R4.1")
board.net("OUT+", "R3.2 J2.OUT+")
board.net("OUT-", "R4.2 J2.OUT-")
board.no_connect("U1.1 U1.4 U2.3Y U2.4Y U2.5Y U2.6Y")

board.place("J1", edge="left")
board.place("J2", edge="left")
board.place("J3", edge="right")
