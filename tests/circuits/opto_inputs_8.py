"""Eight isolated 24 V inputs.

Source: opto-isolator data sheet (four-pin transistor type) and controller handbooks: 2.2 kΩ in series, a reverse
diode, a 10 kΩ pull-up and a lamp resistor at the logic side, buffered by a 74541.
Courtyards 2359 mm² in 75 x 50.5 mm: 1.61 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(75.0, 50.5, height=22.0)

board = Design("opto-inputs", cavity=room)
board.part("J1", "screw-terminal-4", pins="I0 I1 I2 I3")
board.part("J2", "screw-terminal-4", pins="I4 I5 I6 I7")
board.part("J4", "screw-terminal-2", pins="COMMON COMMON2")
board.part("J3", "header-1x10", pins="VCC GND Y0 Y1 Y2 Y3 Y4 Y5 Y6 Y7")
board.part("U9", "74HC541")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
for n in range(8):
    board.part(f"U{n}", "PC817")
    board.part(f"R{n}", "resistor", "2k2")
    board.part(f"R{n + 10}", "resistor", "10k", footprint="resistor-axial-7.62")
    board.part(f"D{n}", "1N4148")
    board.net(f"I{n}", f"{'J1' if n < 4 else 'J2'}.I{n} R{n}.1", volts=30)
    board.net(f"LED{n}", f"R{n}.2 U{n}.A D{n}.K")
    board.net("COMMON", f"U{n}.K D{n}.A")
    board.net(f"X{n}", f"U{n}.C R{n + 10}.2 U9.A{n + 1}")
    board.net(f"Y{n}", f"U9.Y{n + 1} J3.Y{n}")
    board.net("GND", f"U{n}.E")
    board.net("VCC", f"R{n + 10}.1")
board.net("COMMON", "J4.COMMON J4.COMMON2")
board.net("GND", "J3.GND U9.GND U9./OE1 U9./OE2 C1.2", pour="bottom")
board.net("VCC", "J3.VCC U9.VCC C1.1", volts=5, amps=0.1)

board.place("J1", edge="left")
board.place("J2", edge="left")
board.place("J4", edge="bottom")
board.place("J3", edge="right")
