"""An 8-bit analogue input on a bus.

Source: the 8-bit successive-approximation converter's data sheet, self-clocking free running circuit: 10 kΩ and 150 pF.
The chip is not in the library: a DIP-20 with its pins named here.
Courtyards 762 mm² in 42.5 x 29 mm: 1.62 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(42.5, 29.0, height=20.0)

board = Design("adc-0804", cavity=room)
board.part("J1", "header-2x7", pins="VCC GND D0 D1 D2 D3 D4 D5 D6 D7 /CS /RD /WR /INTR")
board.part("J2", "wire-pads-1x3", pins="IN GND VREF")
board.part(
    "U1",
    "dip-20-socket",
    "ADC0804",
    pins="/CS /RD /WR CLKIN /INTR VIN+ VIN- AGND VREF/2 DGND DB7 DB6 DB5 DB4 DB3 DB2 DB1 DB0 CLKR VCC",
)
board.part("U2", "TL431")
board.part("R1", "resistor", "10k")
board.part("R2", "resistor", "1k")
board.part("R3", "resistor", "1k")
board.part("C1", "capacitor", "150p")
board.part("C2", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C4", "capacitor", "10n")

board.bus("D[0..7]", "J1.D[0..7] U1.DB[0..7]")
for line in ("CS", "RD", "WR", "INTR"):
    board.net(line, f"J1./{line} U1./{line}")
board.net("CLKR", "U1.CLKR R1.1")
board.net("CLKIN", "U1.CLKIN R1.2 C1.1")
board.net("VREF", "U1.VREF/2 U2.K U2.REF R2.2 J2.VREF")
board.net("IN", "J2.IN R3.1")
board.net("VIN", "R3.2 U1.VIN+ C4.1")
board.net("GND", "J1.GND J2.GND U1.AGND U1.DGND U1.VIN- U2.A C1.2 C2.2 C3.- C4.2", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC R2.1 C2.1 C3.+", volts=5, amps=0.05)

board.place("J1", edge="left")
board.place("J2", edge="right")
