"""Eight 3.3 V / 5 V two-way lines.

Source: the level-shifting application note for two-wire buses, eight times: 2N7002 and two 10 kΩ in 0603 for each line.
Courtyards 485 mm² in 22.5 x 30.5 mm: 1.41 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(22.5, 30.5, height=20.0)

board = Design("level-shifter-bank", cavity=room)
board.part("J1", "header-1x10", pins="V3 L0 L1 L2 L3 L4 L5 L6 L7 GND")
board.part("J2", "header-1x10", pins="V5 H0 H1 H2 H3 H4 H5 H6 H7 GND")
board.part("C1", "capacitor", "100n", footprint="chip-0603-c")
board.part("C2", "capacitor", "100n", footprint="chip-0603-c")
for n in range(8):
    board.part(f"Q{n}", "2N7002")
    board.part(f"R{2 * n}", "resistor", "10k", footprint="chip-0603-r")
    board.part(f"R{2 * n + 1}", "resistor", "10k", footprint="chip-0603-r")
    board.net(f"L{n}", f"J1.L{n} Q{n}.S R{2 * n}.2")
    board.net(f"H{n}", f"J2.H{n} Q{n}.D R{2 * n + 1}.2")
    board.net("V3", f"Q{n}.G R{2 * n}.1")
    board.net("V5", f"R{2 * n + 1}.1")
board.net("V3", "J1.V3 C1.1", volts=3.3)
board.net("V5", "J2.V5 C2.1", volts=5)
board.net("GND", "J1.GND J2.GND C1.2 C2.2", pour="bottom")

board.place("J1", edge="left")
board.place("J2", edge="right")
