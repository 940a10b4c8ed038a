"""Eight bits to sound: an R-2R ladder with a latch before and a follower behind.

Source: converter textbook, R-2R ladder (10 kΩ and 20 kΩ) on a 74574, with an op-amp follower; resistors stand upright.
Courtyards 959 mm² in 41.5 x 35 mm: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(41.5, 35.0, height=20.0)

board = Design("dac-r2r", cavity=room)
board.part("J1", "header-1x12", pins="VCC GND D0 D1 D2 D3 D4 D5 D6 D7 STROBE V12")
board.part("J2", "wire-pads-1x2", pins="OUT GND")
board.part("U1", "74HC574")
board.part("U2", "LM358")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C2", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("R20", "resistor", "20k", footprint="resistor-upright-2.54")
board.part("R30", "resistor", "1k", footprint="resistor-upright-2.54")
for n in range(8):
    board.part(f"R{n}", "resistor", "20k", footprint="resistor-upright-2.54")
    board.net(f"Q{n}", f"U1.{n + 1}Q R{n}.1")
    board.net(f"N{n}", f"R{n}.2")
for n in range(7):
    board.part(f"R{n + 10}", "resistor", "10k", footprint="resistor-upright-2.54")
    board.net(f"N{n}", f"R{n + 10}.1")
    board.net(f"N{n + 1}", f"R{n + 10}.2")
board.net("N0", "R20.1")
board.net("N7", "U2.IN1+")
board.net("FOLLOW", "U2.OUT1 U2.IN1- R30.1")
board.net("COUPLE", "R30.2 C3.+")
board.net("OUT", "C3.- J2.OUT")
board.bus("D[0..7]", "J1.D[0..7] U1.[1..8]D")
board.net("STROBE", "J1.STROBE U1.CLK")
board.net("GND", "J1.GND J2.GND U1.GND U1./OE U2.V- U2.IN2+ C1.2 C2.2 R20.2", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC C1.1", volts=5, amps=0.05)
board.net("V12", "J1.V12 U2.V+ C2.1", volts=12, amps=0.05)
board.net("IDLE", "U2.OUT2 U2.IN2-")

board.place("J1", edge="left")
board.place("J2", edge="right")
