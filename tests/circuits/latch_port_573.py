"""Two 8-bit output ports on a computer bus.

Source: 74573 and 74138 data sheets, latches on a bus; the decoder's outputs, combined with write by a NOR, open them.
Courtyards 1515 mm² in 52.5 x 40.5 mm: 1.40 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(52.5, 40.5, height=20.0)

board = Design("latch-port", cavity=room)
board.part("J1", "header-2x10", pins="GND VCC D0 D1 D2 D3 D4 D5 D6 D7 A0 A1 A2 A3 A7 /IORQ /WR /RD GND2 VCC2")
board.part("J2", "header-1x10", pins="VCC GND A0 A1 A2 A3 A4 A5 A6 A7")
board.part("J3", "header-1x10", pins="VCC GND B0 B1 B2 B3 B4 B5 B6 B7")
board.part("U1", "74HC573")
board.part("U2", "74HC573")
board.part("U3", "74HC138")
board.part("U4", "74HC02")
for n in range(1, 5):
    board.part(f"C{n}", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C5", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")

board.bus("D[0..7]", "J1.D[0..7] U1.[1..8]D U2.[1..8]D")
board.bus("PA[0..7]", "U1.[1..8]Q J2.A[0..7]")
board.bus("PB[0..7]", "U2.[1..8]Q J3.B[0..7]")
board.net("A0", "J1.A0 U3.A")
board.net("A1", "J1.A1 U3.B")
board.net("A2", "J1.A2 U3.C")
board.net("A3", "J1.A3 U3.G1")
board.net("A7", "J1.A7 U3./G2B")
board.net("IORQ", "J1./IORQ U3./G2A")
board.net("WR", "J1./WR U4.1A U4.2A")
board.net("SEL0", "U3./Y0 U4.1B")
board.net("SEL1", "U3./Y1 U4.2B")
board.net("LE0", "U4.1Y U1.LE")
board.net("LE1", "U4.2Y U2.LE")
board.net(
    "GND",
    "J1.GND J1.GND2 J2.GND J3.GND U[1..4].GND U1./OE U2./OE U4.3A U4.3B U4.4A U4.4B C[1..4].2 C5.-",
    pour="both",
)
board.net("VCC", "J1.VCC J1.VCC2 J2.VCC J3.VCC U[1..4].VCC C[1..4].1 C5.+", volts=5, amps=0.3)
board.no_connect("J1./RD U3./Y[2..7] U4.3Y U4.4Y")

board.place("J1", edge="left")
board.place("J2", edge="right")
board.place("J3", edge="top")
