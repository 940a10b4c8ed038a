"""Eight lamps on three wires.

Source: 74595 data sheet and its usual lamp application: serial data in, a 470 Ω resistor to each lamp.
Courtyards 859 mm² in 52 x 26.5 mm: 1.61 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(52.0, 26.5, height=20.0)

board = Design("shift-led-595", cavity=room)
board.part("J1", "header-1x6", pins="VCC GND DATA CLOCK LATCH OUT")
board.part("U1", "74595")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
for n in range(8):
    board.part(f"R{n}", "resistor", "470R")
    board.part(f"D{n}", "led", "red")
    board.net(f"L{n}", f"R{n}.2 D{n}.A")

board.net("GND", "J1.GND U1.GND U1./OE C1.2 D[0..7].K", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC U1./SRCLR C1.1", volts=5, amps=0.1)
board.net("DATA", "J1.DATA U1.SER")
board.net("CLOCK", "J1.CLOCK U1.SRCLK")
board.net("LATCH", "J1.LATCH U1.RCLK")
board.net("CHAIN", "U1.QH' J1.OUT")
for n, letter in enumerate("ABCDEFGH"):
    board.net(f"Q{letter}", f"U1.Q{letter} R{n}.1")

board.place("J1", edge="left")
