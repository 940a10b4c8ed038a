"""Three picture buffers for 75 Ω cables: red, green, blue.

Source: textbook emitter follower, biased at mid supply, once per colour (10 kΩ / 15 kΩ, 100 Ω stopper, 220 Ω load).
Courtyards 1088 mm² in 49.5 x 33 mm: 1.50 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(49.5, 33.0, height=18.0)
room.opening("cable slot", wall="right", centre=14.0, width=16.0)

board = Design("rgb-buffer", cavity=room)
board.part("J1", "wire-pads-1x5", pins="V5 GND R G B")
board.part("J2", "header-1x6", pins="R GND G GND2 B GND3")
board.part("C10", "electrolytic", "100u", footprint="electrolytic-6.3x11-2.5")
for n, colour in enumerate("RGB"):
    board.part(f"Q{n + 1}", "2N3904", pins="E B C")
    board.part(f"C{3 * n + 1}", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
    board.part(f"C{3 * n + 2}", "capacitor", "100n", footprint="capacitor-disc-2.54")
    board.part(f"C{3 * n + 3}", "electrolytic", "220u", footprint="electrolytic-6.3x11-2.5")
    for k, value in enumerate(("10k", "15k", "100R", "220R", "75R"), start=1):
        board.part(f"R{5 * n + k}", "resistor", value, footprint="resistor-axial-7.62")
    r1, r2, r3, r4, r5 = (f"R{5 * n + k}" for k in range(1, 6))
    cin, cs, cout = (f"C{3 * n + k}" for k in range(1, 4))
    board.net("V5", f"{r1}.1 Q{n + 1}.C {cs}.1")
    board.net("GND", f"{r2}.2 {r4}.2 {cs}.2")
    board.net(f"IN_{colour}", f"J1.{colour} {cin}.-")
    board.net(f"BIAS_{colour}", f"{cin}.+ {r1}.2 {r2}.1 {r3}.1")
    board.net(f"BASE_{colour}", f"{r3}.2 Q{n + 1}.B")
    board.net(f"EMITTER_{colour}", f"Q{n + 1}.E {r4}.1 {cout}.+")
    board.net(f"DRIVE_{colour}", f"{cout}.- {r5}.1")
    board.net(f"OUT_{colour}", f"{r5}.2 J2.{colour}")
board.net("V5", "J1.V5 C10.+", volts=5, amps=0.1)
board.net("GND", "J1.GND J2.GND J2.GND2 J2.GND3 C10.-", pour="both")

board.place("J1", edge="left")
board.place("J2", edge="right")
