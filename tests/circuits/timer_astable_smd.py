"""The blinking lamp again, in surface-mount parts.

Source: 555 timer data sheet, astable operation; 10 kΩ, 68 kΩ and 10 µF in a 1206 chip.
Courtyards 162 mm² in 18.5 x 16 mm: 1.83 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(18.5, 16.0, height=12.0)

board = Design("timer-smd", cavity=room)
board.part("J1", "wire-pads-1x2", pins="V5 GND")
board.part("U1", "555", footprint="soic-8")
board.part("R1", "resistor", "10k", footprint="chip-0805-r")
board.part("R2", "resistor", "68k", footprint="chip-0805-r")
board.part("R3", "resistor", "330R", footprint="chip-0805-r")
board.part("C1", "capacitor", "10u", footprint="chip-1206-c")
board.part("C2", "capacitor", "10n", footprint="chip-0805-c")
board.part("C3", "capacitor", "100n", footprint="chip-0805-c")
board.part("D1", "led", "red")

board.net("GND", "J1.GND U1.GND C1.2 C2.2 C3.2 D1.K", pour="bottom")
board.net("V5", "J1.V5 U1.VCC U1./RESET R1.1 C3.1", volts=5, amps=0.05)
board.net("DISCH", "U1.DISCH R1.2 R2.1")
board.net("CAP", "U1.THRES U1.TRIG R2.2 C1.1")
board.net("CTRL", "U1.CTRL C2.1")
board.net("OUT", "U1.OUT R3.1")
board.net("LAMP", "R3.2 D1.A")

board.place("J1", edge="left")
