"""A bank of eight 64K x 1 memories on one row of pins.

Source: 4164 data sheet and memory application notes: all address and control lines common, a capacitor at every chip.
Courtyards 2257 mm² in 71 x 48 mm: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(71.0, 48.0, height=20.0)

board = Design("dram-bank", cavity=room)
board.part(
    "J1",
    "header-2x16",
    pins="VCC GND A0 A1 A2 A3 A4 A5 A6 A7 /RAS /CAS /WE I0 I1 I2 I3 I4 I5 I6 I7 O0 O1 O2 O3 O4 O5 O6 O7 GND2 GND3 VCC2",
)
for n in range(8):
    board.part(f"U{n}", "4164")
    board.part(f"C{n}", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C8", "electrolytic", "100u", footprint="electrolytic-8x11.5-3.5")

for n in range(8):
    board.net(f"A{n}", f"J1.A{n} U[0..7].A{n}")
for line in ("RAS", "CAS", "WE"):
    board.net(line, f"J1./{line} U[0..7]./{line}")
board.bus("I[0..7]", "J1.I[0..7] U[0..7].DIN")
board.bus("O[0..7]", "J1.O[0..7] U[0..7].DOUT")
board.net("GND", "J1.GND J1.GND2 J1.GND3 U[0..7].GND C[0..7].2 C8.-", pour="bottom")
board.net("VCC", "J1.VCC J1.VCC2 U[0..7].VCC C[0..7].1 C8.+", volts=5, amps=0.5)
board.no_connect("U[0..7].NC")

board.place("J1", edge="bottom")
