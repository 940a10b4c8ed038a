"""A lamp that blinks about once a second.

Source: 555 timer data sheet, astable operation: f = 1.44 / ((R1 + 2 R2) C1), here 1.0 Hz with 10 kΩ, 68 kΩ and 10 µF.
Courtyards 402 mm² in 37.5 x 27.5 mm less its post: 2.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(37.5, 27.5, height=20.0)
room.post("screw post", at=(4.0, 4.0), diameter=5.0)

board = Design("timer-astable", cavity=room)
board.part("J1", "wire-pads-1x2", pins="V5 GND")
board.part("U1", "555")
board.part("R1", "resistor", "10k")
board.part("R2", "resistor", "68k")
board.part("R3", "resistor", "330R")
board.part("C1", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C2", "capacitor", "10n")
board.part("C3", "capacitor", "100n")
board.part("D1", "led", "red")

board.net("GND", "J1.GND U1.GND C1.- C2.2 C3.2 D1.K", pour="bottom")
board.net("V5", "J1.V5 U1.VCC U1./RESET R1.1 C3.1", volts=5, amps=0.05)
board.net("DISCH", "U1.DISCH R1.2 R2.1")
board.net("CAP", "U1.THRES U1.TRIG R2.2 C1.+")
board.net("CTRL", "U1.CTRL C2.1")
board.net("OUT", "U1.OUT R3.1")
board.net("LAMP", "R3.2 D1.A")

board.place("J1", edge="left")
