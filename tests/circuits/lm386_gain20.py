"""A loudspeaker amplifier.

Source: LM386 data sheet, amplifier with a gain of 20, the fewest parts and its bypass capacitor; both sides poured.
Courtyards 532 mm² in 38.5 x 28 mm: 2.03 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(38.5, 28.0, height=20.0)

board = Design("lm386-gain20", cavity=room)
board.part("J1", "wire-pads-1x4", pins="V9 GND IN GND2")
board.part("J2", "wire-pads-1x2", pins="SPEAKER GND")
board.part("U1", "LM386")
board.part("RV1", "trimmer", "10k")
board.part("R1", "resistor", "10R")
board.part("C1", "capacitor", "47n")
board.part("C2", "electrolytic", "220u", footprint="electrolytic-8x11.5-3.5")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C4", "capacitor", "100n")
board.part("C5", "electrolytic", "100u", footprint="electrolytic-6.3x11-2.5")

board.net("GND", "J1.GND J1.GND2 J2.GND U1.GND U1.IN- RV1.CCW C1.2 C3.- C4.2 C5.-", pour="both")
board.net("V9", "J1.V9 U1.VS C4.1 C5.+", volts=9, amps=0.3)
board.net("IN", "J1.IN RV1.CW")
board.net("WIPER", "RV1.W U1.IN+")
board.net("BYPASS", "U1.BYPASS C3.+")
board.net("OUT", "U1.OUT R1.1 C2.+", amps=0.3)
board.net("SNUB", "R1.2 C1.1")
board.net("SPEAKER", "C2.- J2.SPEAKER", amps=0.3)
board.no_connect("U1.GAIN1 U1.GAIN2")

board.place("J1", edge="left")
board.place("J2", edge="right")
