"""Three picture buffers in surface-mount parts, in the room of a matchbox.

Source: textbook emitter follower, once per colour, with 0805 parts and SOT-23 transistors.
Courtyards 448 mm² in 31.5 x 21.5 mm: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(31.5, 21.5, height=9.0)

board = Design("rgb-buffer-smd", cavity=room)
board.part("J1", "wire-pads-1x5", pins="V5 GND R G B")
board.part("J2", "wire-pads-1x6", pins="R GND G GND2 B GND3")
board.part("C10", "capacitor", "10u", footprint="chip-1206-c")
for n, colour in enumerate("RGB"):
    board.part(f"Q{n + 1}", "MMBT3904")
    board.part(f"C{3 * n + 1}", "capacitor", "1u", footprint="chip-0805-c")
    board.part(f"C{3 * n + 2}", "capacitor", "100n", footprint="chip-0805-c")
    board.part(f"C{3 * n + 3}", "capacitor", "100u", footprint="chip-1210-c")
    for k, value in enumerate(("10k", "15k", "100R", "220R", "75R"), start=1):
        board.part(f"R{5 * n + k}", "resistor", value, footprint="chip-0805-r")
    r1, r2, r3, r4, r5 = (f"R{5 * n + k}" for k in range(1, 6))
    cin, cs, cout = (f"C{3 * n + k}" for k in range(1, 4))
    board.net("V5", f"{r1}.1 Q{n + 1}.C {cs}.1")
    board.net("GND", f"{r2}.2 {r4}.2 {cs}.2")
    board.net(f"IN_{colour}", f"J1.{colour} {cin}.1")
    board.net(f"BIAS_{colour}", f"{cin}.2 {r1}.2 {r2}.1 {r3}.1")
    board.net(f"BASE_{colour}", f"{r3}.2 Q{n + 1}.B")
    board.net(f"EMITTER_{colour}", f"Q{n + 1}.E {r4}.1 {cout}.1")
    board.net(f"DRIVE_{colour}", f"{cout}.2 {r5}.1")
    board.net(f"OUT_{colour}", f"{r5}.2 J2.{colour}")
board.net("V5", "J1.V5 C10.1", volts=5, amps=0.1)
board.net("GND", "J1.GND J2.GND J2.GND2 J2.GND3 C10.2", pour="bottom")

board.place("J1", edge="left")
board.place("J2", edge="right")
