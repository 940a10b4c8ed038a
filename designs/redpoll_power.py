"""A cool 5 V supply for the Redpoll console in place of its hot linear regulator.

The old regulator drops 9 V to 5 V at 0.6 A and turns 2.4 W into heat.  This board steps the voltage down by switching
(a 34063-type controller in its data sheet's step-down circuit) and goes where the regulator stood: three wire pads in
the order IN, GND, OUT take the old regulator's holes by short wires.

Figures, by the controller's published formulas at 9 V in, 5 V 0.6 A out, about 50 kHz:
ton/toff = (5 + 0.5)/(9 - 1.0 - 5) = 1.83, ton = 12.9 µs, C2 = 4e-5 × ton ≈ 560 pF; peak current 2 × 0.6 = 1.2 A,
so R1 = 0.3 V / 1.2 A ≈ 0.22 Ω; L1 at least (9 - 1.0 - 5)/1.2 × ton = 32 µH (100 µH runs smoother);
output = 1.25 V × (1 + R3/R2) = 5.0 V with 3.6 kΩ over 1.2 kΩ.

Cautions: the console's supply block is a mains device; leave it closed.  Unplug before soldering, and check the output
with a meter and a resistor as load before the console is connected.
"""

from modboard import Cavity, Design

bay = Cavity.rectangle(52.0, 38.0, height=26.0, board_at=4.0, measured_to=0.5)  # where the heat sink stood
bay.post("bracket screw", at=(47.0, 33.0), diameter=5.5)

board = Design("redpoll-power", cavity=bay, title="Redpoll 5 V supply")

board.part("J1", "wire-pads-1x3-5.08-22awg", pins="IN GND OUT")
board.part("U1", "dip-8", pins="SWITCH_C SWITCH_E TIMING GND FEEDBACK VIN SENSE DRIVE_C", value="34063")
board.part("L1", "inductor", "100u", footprint="inductor-radial-5.0")
board.part("D1", "1N5819")
board.part("R1", "resistor", "0R22", footprint="resistor-axial-12.7")  # half watt: current sense
board.part("R2", "resistor", "1k2")
board.part("R3", "resistor", "3k6")
board.part("R4", "resistor", "180R")  # driver collector
board.part("C1", "electrolytic", "220u", footprint="electrolytic-8x11.5-3.5")  # 25 V
board.part("C2", "capacitor", "560p")
board.part("C3", "electrolytic", "470u", footprint="electrolytic-10x16-5.0")  # 10 V, low impedance
board.part("C4", "capacitor", "100n")
board.part("C5", "capacitor", "100n")

board.net("VIN", "J1.IN C1.+ C4.1 U1.VIN R1.1", volts=12, amps=1.2)
board.net("SENSE", "R1.2 U1.SENSE U1.SWITCH_C R4.1", amps=1.2)
board.net("DRIVE", "R4.2 U1.DRIVE_C")
board.net("SWITCH", "U1.SWITCH_E D1.K L1.1", volts=12, amps=1.2)
board.net("OUT", "L1.2 C3.+ C5.1 R3.1 J1.OUT", volts=5, amps=1.2)
board.net("FEEDBACK", "R3.2 R2.1 U1.FEEDBACK")
board.net("TIMING", "C2.1 U1.TIMING")
board.net("GND", "J1.GND U1.GND C1.- C2.2 C3.- C4.2 C5.2 D1.A R2.2", pour="bottom", amps=1.2)

board.note("With 9 V at IN and 12 ohms from OUT to GND, OUT reads 4.8 to 5.2 V.")
board.note(
    "The console's supply block is a mains device: leave it closed, and unplug it and wait before soldering. Check the "
    "output with a meter and a resistor as load before the console is connected."
)

old = "the old regulator's {} hole"
board.wire("J1.IN", host=old.format("left"), length=60, undo="unsolder, wick the hole clean, put the regulator back")
board.wire("J1.GND", host=old.format("middle"), length=60, undo="unsolder, wick the hole clean")
board.wire("J1.OUT", host=old.format("right"), length=60, undo="unsolder, wick the hole clean")
board.removes("the old regulator and its heat sink", undo="screw it down with fresh paste, solder its three pins")

board.place("J1", edge="left")
board.place("C4", near="U1.VIN")
board.place("D1", near="U1")
