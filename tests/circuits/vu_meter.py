"""A level meter of eight lamps.

Source: comparator data book, ladder of references with two quad comparators, a diode detector before it.
Courtyards 1358 mm² in 64.5 x 29.5 mm: 1.40 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(64.5, 29.5, height=20.0)
room.opening("window", wall="top", centre=35.0, width=44.0)

board = Design("vu-meter", cavity=room)
board.part("J1", "wire-pads-1x3", pins="V12 GND IN")
board.part("U1", "LM339")
board.part("U2", "LM339")
board.part("D10", "1N4148")
board.part("R20", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R21", "resistor", "100k", footprint="resistor-axial-7.62")
board.part("C1", "electrolytic", "1u", footprint="electrolytic-5x11-2.0")
board.part("C2", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C3", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C4", "capacitor", "100n", footprint="capacitor-disc-2.54")
for n, value in enumerate(("1k", "360R", "510R", "750R", "1k", "1k5", "2k", "2k7", "10k")):
    board.part(f"R{n}", "resistor", value, footprint="resistor-axial-7.62")
for n in range(8):
    chip, k = ("U1", n + 1) if n < 4 else ("U2", n - 3)
    board.part(f"D{n}", "led", "green" if n < 6 else "red")
    board.part(f"R{n + 30}", "resistor", "1k", footprint="resistor-axial-7.62")
    board.net("V12", f"R{n + 30}.1")
    board.net(f"A{n}", f"R{n + 30}.2 D{n}.A")
    board.net(f"OUT{n}", f"D{n}.K {chip}.OUT{k}")
    board.net(f"STEP{n}", f"R{n}.2 R{n + 1}.1 {chip}.IN{k}+")
    board.net("LEVEL", f"{chip}.IN{k}-")
board.net("V12", "J1.V12 U1.VCC U2.VCC R8.2 C3.1 C4.1", volts=12, amps=0.2)
board.net("GND", "J1.GND U1.GND U2.GND R0.1 R21.2 C2.- C3.2 C4.2", pour="bottom")
board.net("IN", "J1.IN C1.+")
board.net("AC", "C1.- R20.1")
board.net("DET", "R20.2 D10.A")
board.net("LEVEL", "D10.K C2.+ R21.1")

board.place("J1", edge="left")
board.place("D[0..7]", edge="top")
