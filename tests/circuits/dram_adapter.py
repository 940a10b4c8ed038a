"""64 KB of dynamic memory in two chips, with its address multiplexer.

Source: 41464 and 74157 data sheets, 64K x 4 memories with row and column addresses switched by two selectors; 33 Ω in
series with each driven line as the application notes advise.
Courtyards 1656 mm² in 58.5 x 42.5 mm: 1.50 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(58.5, 42.5, height=20.0)

board = Design("dram-adapter", cavity=room)
board.part(
    "J1",
    "header-2x16",
    pins="VCC GND A0 A1 A2 A3 A4 A5 A6 A7 A8 A9 A10 A11 A12 A13 A14 A15 "
    "D0 D1 D2 D3 D4 D5 D6 D7 /RAS /CAS /WE MUX GND2 VCC2",
)
for u in ("U1", "U2"):
    board.part(u, "41464")
for u in ("U3", "U4"):
    board.part(u, "74LS157")
for n in range(1, 12):
    board.part(f"R{n}", "resistor", "33R", footprint="resistor-axial-7.62")
for n in range(1, 5):
    board.part(f"C{n}", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C5", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")

for n in range(8):  # rows are A0 to A7, columns A8 to A15
    u, gate = ("U3", n + 1) if n < 4 else ("U4", n - 3)
    board.net(f"A{n}", f"J1.A{n} {u}.{gate}A")
    board.net(f"A{n + 8}", f"J1.A{n + 8} {u}.{gate}B")
    board.net(f"X{n}", f"{u}.{gate}Y R{n + 1}.1")
    board.net(f"MA{n}", f"R{n + 1}.2 U1.A{n} U2.A{n}")
board.bus("D[0..3]", "J1.D[0..3] U1.DQ[1..4]")
board.bus("D[4..7]", "J1.D[4..7] U2.DQ[1..4]")
board.net("RAS_IN", "J1./RAS R9.1")
board.net("RAS", "R9.2 U1./RAS U2./RAS")
board.net("CAS_IN", "J1./CAS R10.1")
board.net("CAS", "R10.2 U1./CAS U2./CAS")
board.net("WE_IN", "J1./WE R11.1")
board.net("WE", "R11.2 U1./WE U2./WE")
board.net("MUX", "J1.MUX U3.SEL U4.SEL")
board.net("GND", "J1.GND J1.GND2 U[1..4].GND U1./OE U2./OE U3./G U4./G C[1..4].2 C5.-", pour="bottom")
board.net("VCC", "J1.VCC J1.VCC2 U[1..4].VCC C[1..4].1 C5.+", volts=5, amps=0.3)

board.place("J1", edge="bottom")
