"""512 KB in 32 pages for an 8-bit computer.

Source: 628512, 74273 and 74138 data sheets: a page latch on the data bus supplies A14 to A18, a decoder finds the port.
Courtyards 2050 mm² in 61 x 47.5 mm less its post: 1.40 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(61.0, 47.5, height=20.0)
room.post("boss", at=(4.0, 43.5), diameter=5.0)

board = Design("sram-512k", cavity=room)
board.part(
    "J1",
    "header-2x20",
    pins="VCC GND D0 D1 D2 D3 D4 D5 D6 D7 A0 A1 A2 A3 A4 A5 A6 A7 A8 A9 A10 A11 A12 A13 A14 A15 "
    "/MREQ /IORQ /RD /WR /RESET /RAMDIS X1 X2 X3 X4 GND2 GND3 VCC2 VCC3",
)
board.part("U1", "628512")
board.part("U2", "74HC273")
board.part("U3", "74HC138")
board.part("U4", "74HC32")
for n in range(1, 5):
    board.part(f"C{n}", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C5", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")
board.part("R1", "resistor", "10k")
board.part("D1", "1N4148")

board.bus("D[0..7]", "J1.D[0..7] U1.D[0..7] U2.[1..8]D")
board.bus("A[0..13]", "J1.A[0..13] U1.A[0..13]")
board.net("A0", "U3.A")
board.net("A1", "U3.B")
board.net("A2", "U3.C")
board.net("A7", "U3./G2A")
for n in range(5):
    board.net(f"PAGE{n}", f"U2.{n + 1}Q U1.A{n + 14}")
board.net("A14", "J1.A14 U4.3A")
board.net("A15", "J1.A15 D1.A")
board.net("HIGH", "D1.K R1.1 J1./RAMDIS")
board.net("IORQ", "J1./IORQ U3./G2B")
board.net("PORT", "U3./Y5 U4.1A")
board.net("WR", "J1./WR U4.1B U1./WE")
board.net("STROBE", "U4.1Y U2.CLK")
board.net("RD", "J1./RD U1./OE")
board.net("MREQ", "J1./MREQ U4.3B")
board.net("CS", "U4.3Y U1./CS")
board.net("RESET", "J1./RESET U2./CLR")
board.net("GND", "J1.GND J1.GND2 J1.GND3 U[1..4].GND C[1..4].2 C5.- R1.2 U4.2A U4.2B U4.4A U4.4B", pour="bottom")
board.net("VCC", "J1.VCC J1.VCC2 J1.VCC3 U[1..4].VCC U3.G1 C[1..4].1 C5.+", volts=5, amps=0.3)
board.no_connect("J1.X[1..4] U2.[6..8]Q U3./Y[0..4] U3./Y[6..7] U4.2Y U4.4Y")

board.place("J1", edge="bottom")
