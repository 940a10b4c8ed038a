"""One line of a 3.3 V / 5 V two-way level shifter.

Source: the level-shifting application note for two-wire buses: one MOSFET, a pull-up on either side.
Courtyards 162 mm² in 24 x 20.5 mm: 3.04 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(24.0, 20.5, height=15.0)

board = Design("level-shifter", cavity=room)
board.part("J1", "wire-pads-1x4", pins="V3 LOW HIGH V5")
board.part("Q1", "2N7000")
board.part("R1", "resistor", "10k")
board.part("R2", "resistor", "10k")

board.net("V3", "J1.V3 Q1.G R1.1", volts=3.3)
board.net("V5", "J1.V5 R2.1", volts=5)
board.net("LOW", "J1.LOW Q1.S R1.2")
board.net("HIGH", "J1.HIGH Q1.D R2.2")

board.place("J1", edge="left")
