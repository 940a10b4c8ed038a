"""A motor both ways at 2 A.

Source: textbook H-bridge of complementary power transistors with cross-coupled drivers and a diode over each.
Courtyards 1343 mm² in 57.5 x 44.5 mm: 1.90 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(57.5, 44.5, height=34.0, board_at=4.0)

board = Design("h-bridge", cavity=room)
board.part("J1", "screw-terminal-2", pins="V12 GND")
board.part("J2", "screw-terminal-2", pins="M1 M2")
board.part("J3", "header-1x3", pins="A B GND")
board.part("Q1", "TIP42")
board.part("Q2", "TIP42")
board.part("Q3", "TIP41")
board.part("Q4", "TIP41")
board.part("Q5", "2N3904", pins="E B C")
board.part("Q6", "2N3904", pins="E B C")
for n in range(1, 5):
    board.part(f"D{n}", "1N4002")
board.part("R1", "resistor", "1k")
board.part("R2", "resistor", "1k")
board.part("R3", "resistor", "100R", footprint="resistor-axial-15.24")
board.part("R4", "resistor", "100R", footprint="resistor-axial-15.24")
board.part("C1", "electrolytic", "470u", footprint="electrolytic-10x16-5.0")
board.part("C2", "capacitor", "100n")

board.net("GND", "J1.GND J3.GND Q3.E Q4.E D3.A D4.A C1.- C2.2", amps=2)
board.net("V12", "J1.V12 Q1.E Q2.E D1.K D2.K C1.+ C2.1", volts=14, amps=2)
board.net("M1", "Q1.C Q3.C D1.A D3.K J2.M1", volts=14, amps=2)
board.net("M2", "Q2.C Q4.C D2.A D4.K J2.M2", volts=14, amps=2)
board.net("A", "J3.A R1.1")
board.net("B", "J3.B R2.1")
board.net("BA", "R1.2 Q5.B")
board.net("BB", "R2.2 Q6.B")
board.net("PULL1", "Q5.C R3.1")
board.net("PULL2", "Q6.C R4.1")
board.net("B1", "R3.2 Q1.B", volts=14, amps=0.15)
board.net("B2", "R4.2 Q2.B", volts=14, amps=0.15)
board.net("B4", "Q5.E Q4.B", amps=0.15)
board.net("B3", "Q6.E Q3.B", amps=0.15)

board.place("J1", edge="left")
board.place("J2", edge="right")
board.place("J3", edge="bottom")
