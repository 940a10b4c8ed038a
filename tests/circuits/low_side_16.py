"""Sixteen switched outputs from three wires.

Source: 74595 data sheet, two in cascade, each output on a logic-level MOSFET as low-side switch of the textbooks: 100 Ω
to the gate, 100 kΩ to ground, a clamp diode to the load's supply.
Courtyards 1225 mm² in 54.5 x 34 mm: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(54.5, 34.0, height=20.0)

board = Design("low-side-16", cavity=room)
board.part("J1", "header-1x7", pins="VCC GND DATA CLOCK LATCH ENABLE OUT")
board.part("J2", "header-1x10", pins="VL L0 L1 L2 L3 L4 L5 L6 L7 GND")
board.part("J3", "header-1x10", pins="VL L8 L9 L10 L11 L12 L13 L14 L15 GND")
board.part("U1", "74HC595", footprint="soic-16")
board.part("U2", "74HC595", footprint="soic-16")
for n in range(1, 4):
    board.part(f"C{n}", "capacitor", "100n", footprint="chip-0603-c")
board.part("C4", "capacitor", "10u", footprint="chip-1206-c")
for n in range(16):
    board.part(f"Q{n}", "2N7002")
    board.part(f"R{n}", "resistor", "100R", footprint="chip-0603-r")
    board.part(f"R{n + 20}", "resistor", "100k", footprint="chip-0603-r")
    board.part(f"D{n}", "diode", "1N4148W", footprint="sod323")
    chip, connector = ("U1", "J2") if n < 8 else ("U2", "J3")
    board.net(f"Q{n}", f"{chip}.Q{'ABCDEFGH'[n % 8]} R{n}.1")
    board.net(f"G{n}", f"R{n}.2 R{n + 20}.1 Q{n}.G")
    board.net("GND", f"R{n + 20}.2 Q{n}.S")
    board.net(f"L{n}", f"Q{n}.D D{n}.A {connector}.L{n}", volts=12, amps=0.1)
    board.net("VL", f"D{n}.K")
board.net("GND", "J1.GND J2.GND J3.GND U1.GND U2.GND C[1..4].2", pour="both")
board.net("VCC", "J1.VCC U1.VCC U2.VCC U1./SRCLR U2./SRCLR C1.1 C2.1", volts=5)
board.net("VL", "J2.VL J3.VL C3.1 C4.1", volts=12, amps=0.3)
board.net("DATA", "J1.DATA U1.SER")
board.net("CHAIN", "U1.QH' U2.SER")
board.net("OUT", "U2.QH' J1.OUT")
board.net("CLOCK", "J1.CLOCK U1.SRCLK U2.SRCLK")
board.net("LATCH", "J1.LATCH U1.RCLK U2.RCLK")
board.net("ENABLE", "J1.ENABLE U1./OE U2./OE")

board.place("J1", edge="left")
board.place("J2", edge="top")
board.place("J3", edge="bottom")
