"""Four sounds onto one line.

Source: op-amp textbook, inverting summing amplifier, each source through 1 µF and 22 kΩ, and a second inverting stage;
NE5532 on a single supply with a divided reference.
Courtyards 934 mm² in 44 x 30 mm: 1.41 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(44.0, 30.0, height=20.0)

board = Design("audio-mixer", cavity=room)
board.part("J1", "wire-pads-1x6", pins="V9 GND IN1 IN2 IN3 IN4")
board.part("J2", "wire-pads-1x2", pins="OUT GND")
board.part("U1", "NE5532")
for n in range(1, 5):
    board.part(f"C{n}", "electrolytic", "1u", footprint="electrolytic-4x7-2.5")
    board.part(f"R{n}", "resistor", "22k", footprint="resistor-axial-7.62")
    board.part(f"R{n + 10}", "resistor", "100k", footprint="resistor-axial-7.62")
    board.net(f"IN{n}", f"J1.IN{n} C{n}.+ R{n + 10}.1")
    board.net("GND", f"R{n + 10}.2")
    board.net(f"MIX{n}", f"C{n}.- R{n}.1")
    board.net("SUM", f"R{n}.2")
board.part("R5", "resistor", "22k", footprint="resistor-axial-7.62")
board.part("R6", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R7", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R8", "resistor", "22k", footprint="resistor-axial-7.62")
board.part("R9", "resistor", "22k", footprint="resistor-axial-7.62")
board.part("R10", "resistor", "100R", footprint="resistor-axial-7.62")
board.part("R15", "resistor", "100k", footprint="resistor-axial-7.62")
board.part("C5", "electrolytic", "47u", footprint="electrolytic-5x11-2.0")
board.part("C6", "electrolytic", "100u", footprint="electrolytic-6.3x11-2.5")
board.part("C7", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C8", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C9", "capacitor", "47p", footprint="capacitor-disc-2.54")

board.net("GND", "J1.GND J2.GND U1.V- R7.2 C5.- C6.- C7.2 R15.2", pour="bottom")
board.net("V9", "J1.V9 U1.V+ R6.1 C6.+ C7.1", volts=9, amps=0.05)
board.net("HALF", "R6.2 R7.1 C5.+ U1.IN1+ U1.IN2+")
board.net("SUM", "U1.IN1- R5.1 C9.1")
board.net("STAGE1", "U1.OUT1 R5.2 C9.2 R8.1")
board.net("SUM2", "R8.2 R9.1 U1.IN2-")
board.net("STAGE2", "U1.OUT2 R9.2 R10.1")
board.net("SERIES", "R10.2 C8.+")
board.net("OUT", "C8.- R15.1 J2.OUT")

board.place("J1", edge="left")
board.place("J2", edge="right")
