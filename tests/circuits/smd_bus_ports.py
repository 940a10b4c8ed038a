"""Two ports and a buffer on a bus, in small-outline chips.

Source: 74573, 74245 and 74138 data sheets, input and output ports of the data books; 0603 capacitors and pull-ups.
Courtyards 1282 mm² in 46.5 x 39 mm: 1.41 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(46.5, 39.0, height=20.0)
room.obstacle("shield edge", (12.0, 0.0, 24.0, 6.0), bottom=10.0, top=20.0)

board = Design("smd-bus-ports", cavity=room)
board.part(
    "J1",
    "header-2x13",
    pins="VCC GND D0 D1 D2 D3 D4 D5 D6 D7 A0 A1 A2 A3 A4 A5 A6 A7 /IORQ /RD /WR /RESET X1 X2 GND2 VCC2",
)
board.part("J2", "header-2x10", pins="O0 O1 O2 O3 O4 O5 O6 O7 P0 P1 P2 P3 P4 P5 P6 P7 GND GND2 VCC VCC2")
board.part("J3", "header-1x10", pins="I0 I1 I2 I3 I4 I5 I6 I7 GND VCC")
board.part("U1", "74HC573", footprint="soic-20-wide")
board.part("U2", "74HC573", footprint="soic-20-wide")
board.part("U3", "74HC245", footprint="soic-20-wide")
board.part("U4", "74HC138", footprint="soic-16")
board.part("U5", "74HC02", footprint="soic-14")
for n in range(1, 7):
    board.part(f"C{n}", "capacitor", "100n", footprint="chip-0603-c")
for n in range(8):
    board.part(f"R{n}", "resistor", "10k", footprint="chip-0603-r")
    board.net(f"I{n}", f"J3.I{n} R{n}.2 U3.B{n + 1}")

board.bus("D[0..7]", "J1.D[0..7] U1.[1..8]D U2.[1..8]D U3.A[1..8]")
board.bus("O[0..7]", "U1.[1..8]Q J2.O[0..7]")
board.bus("P[0..7]", "U2.[1..8]Q J2.P[0..7]")
board.net("A0", "J1.A0 U4.A")
board.net("A1", "J1.A1 U4.B")
board.net("A2", "J1.A2 U4.C")
board.net("A7", "J1.A7 U4./G2A")
board.net("IORQ", "J1./IORQ U4./G2B")
board.net("RESET", "J1./RESET U4.G1")
board.net("WR", "J1./WR U5.1A U5.2A")
board.net("S0", "U4./Y0 U5.1B")
board.net("S1", "U4./Y1 U5.2B")
board.net("S2", "U4./Y2 U3./OE")
board.net("LE1", "U5.1Y U1.LE")
board.net("LE2", "U5.2Y U2.LE")
board.net(
    "GND",
    "J1.GND J1.GND2 J2.GND J2.GND2 J3.GND U[1..5].GND U1./OE U2./OE U3.DIR U5.3A U5.3B U5.4A U5.4B C[1..6].2",
    pour="both",
)
board.net("VCC", "J1.VCC J1.VCC2 J2.VCC J2.VCC2 J3.VCC U[1..5].VCC C[1..6].1 R[0..7].1", volts=5, amps=0.3)
board.no_connect("J1.A[3..6] J1./RD J1.X1 J1.X2 U4./Y[3..7] U5.3Y U5.4Y")

board.place("J1", edge="left")
board.place("J2", edge="right")
board.place("J3", edge="top")
