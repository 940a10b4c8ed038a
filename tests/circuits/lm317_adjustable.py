"""An adjustable supply, 1.25 V to 15 V at 1 A.

Source: LM317 data sheet, adjustable regulator with protection diodes and ripple capacitor; 240 Ω and 5 kΩ.
Courtyards 895 mm² in 47.5 x 34 mm: 1.81 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(47.5, 34.0, height=32.0, board_at=4.0)

board = Design("lm317-adjustable", cavity=room)
board.part("J1", "screw-terminal-2", pins="IN GND")
board.part("J2", "screw-terminal-2", pins="OUT GND")
board.part("U1", "LM317")
board.part("R1", "resistor", "240R")
board.part("RV1", "trimmer", "5k")
board.part("D1", "1N4002")
board.part("D2", "1N4002")
board.part("C1", "electrolytic", "1000u", footprint="electrolytic-12.5x20-5.0")
board.part("C2", "capacitor", "100n")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C4", "electrolytic", "100u", footprint="electrolytic-8x11.5-3.5")

board.net("GND", "J1.GND J2.GND RV1.CW C1.- C2.2 C3.- C4.-", pour="bottom", amps=1)
board.net("VIN", "J1.IN U1.IN D1.K C1.+ C2.1", volts=25, amps=1)
board.net("VOUT", "U1.OUT J2.OUT R1.1 D1.A D2.K C4.+", volts=15, amps=1)
board.net("ADJ", "U1.ADJ R1.2 RV1.CCW RV1.W D2.A C3.+", volts=15)

board.place("J1", edge="left")
board.place("J2", edge="right")
board.waive("dissipation", "U1", "the tab is bolted to the wall, which sheds the heat", fingerprint="aba9f824")
