"""Two joysticks read over a bus.

Source: 74244 and 74138-style port of the data books: three-state buffers with 10 kΩ pull-ups, enabled by a 7432.
Courtyards 1311 mm² in an L of 57.5 x 41 mm: 1.52 times their area.
"""

from modboard import Cavity, Design

room = Cavity.polygon([(0, 0), (57.5, 0), (57.5, 25.0), (34.5, 25.0), (34.5, 41.0), (0, 41.0)], height=20.0)

board = Design("joystick-port", cavity=room)
board.part("J1", "header-2x7", pins="VCC GND D0 D1 D2 D3 D4 D5 D6 D7 /IORQ /RD A5 A0")
board.part("J2", "header-1x7", pins="UP DOWN LEFT RIGHT FIRE GND VCC")
board.part("J3", "header-1x7", pins="UP DOWN LEFT RIGHT FIRE GND VCC")
board.part("U1", "74LS244")
board.part("U2", "74LS244")
board.part("U3", "74LS32")
for n in range(1, 4):
    board.part(f"C{n}", "capacitor", "100n", footprint="capacitor-disc-2.54")
for n in range(10):
    board.part(f"R{n}", "resistor", "10k", footprint="resistor-upright-2.54")

inputs = ("1A1", "1A2", "1A3", "1A4", "2A1")
outputs = ("1Y1", "1Y2", "1Y3", "1Y4", "2Y1")
for k, way in enumerate(("UP", "DOWN", "LEFT", "RIGHT", "FIRE")):
    board.net(f"P1_{way}", f"J2.{way} R{k}.2 U1.{inputs[k]}")
    board.net(f"P2_{way}", f"J3.{way} R{k + 5}.2 U2.{inputs[k]}")
    board.net(f"D{k}", f"J1.D{k} U1.{outputs[k]} U2.{outputs[k]}")
for k in (2, 3, 4):  # the rest of the byte reads as ones
    board.net(f"D{k + 3}", f"J1.D{k + 3} U1.2Y{k} U2.2Y{k}")
    board.net("VCC", f"U1.2A{k} U2.2A{k}")
board.net("IORQ", "J1./IORQ U3.1A")
board.net("RD", "J1./RD U3.1B")
board.net("READ", "U3.1Y U3.2A U3.3A")
board.net("A5", "J1.A5 U3.2B")
board.net("SEL", "U3.2Y U1./1G U1./2G")
board.net("A0", "J1.A0 U3.3B")
board.net("SEL2", "U3.3Y U2./1G U2./2G")
board.net("GND", "J1.GND J2.GND J3.GND U[1..3].GND C[1..3].2 U3.4A U3.4B", pour="bottom")
board.net("VCC", "J1.VCC J2.VCC J3.VCC U[1..3].VCC C[1..3].1 R[0..9].1", volts=5, amps=0.2)
board.no_connect("U3.4Y")

board.place("J1", edge="left")
board.place("J2", edge="bottom")
board.place("J3", edge="bottom")
