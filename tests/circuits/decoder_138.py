"""Chip selects for eight 8 KB blocks, each taken out on a link.

Source: 74138 data sheet, memory decoder; address lines A13 to A15 select, links pick which outputs go on.
Courtyards 747 mm² in 43.5 x 27.5 mm: 1.60 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(43.5, 27.5, height=20.0)

board = Design("decoder-138", cavity=room)
board.part("J1", "header-1x8", pins="VCC GND A13 A14 A15 /MREQ /RFSH NC")
board.part("J2", "header-2x8")  # links: odd pins from the decoder, even pins to the selects
board.part("J3", "header-1x8", pins="S0 S1 S2 S3 S4 S5 S6 S7")
board.part("U1", "74138")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
for n in range(1, 9):
    board.part(f"R{n}", "resistor", "10k", footprint="resistor-axial-7.62")

board.net("GND", "J1.GND U1.GND U1./G2B C1.2", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC C1.1 R[1..8].1", volts=5, amps=0.1)
board.net("A13", "J1.A13 U1.A")
board.net("A14", "J1.A14 U1.B")
board.net("A15", "J1.A15 U1.C")
board.net("MREQ", "J1./MREQ U1./G2A")
board.net("RFSH", "J1./RFSH U1.G1")
for n in range(8):
    board.net(f"Y{n}", f"U1./Y{n} J2.{2 * n + 1}")
    board.net(f"S{n}", f"J2.{2 * n + 2} R{n + 1}.2 J3.S{n}")

board.no_connect("J1.NC")
board.place("J1", edge="left")
board.place("J3", edge="right")
