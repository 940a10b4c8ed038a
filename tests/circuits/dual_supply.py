"""±12 V at half an ampere from a transformer with a middle tap.

Source: 7812 and 7912 data sheets, positive and negative regulator pair, with a bridge of 1N4002 and two reservoirs.
Courtyards 1370 mm² in 60.5 x 41 mm: 1.81 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(60.5, 41.0, height=45.0, board_at=4.0)

board = Design("dual-supply", cavity=room)
board.part("J1", "screw-terminal-3", pins="AC1 TAP AC2")
board.part("J2", "screw-terminal-3", pins="P12 GND N12")
board.part("U1", "7812")
board.part("U2", "7912")
for n in range(1, 7):
    board.part(f"D{n}", "1N4002")
board.part("C1", "electrolytic", "1000u", footprint="electrolytic-12.5x20-5.0")
board.part("C2", "electrolytic", "1000u", footprint="electrolytic-12.5x20-5.0")
board.part("C3", "capacitor", "330n", footprint="capacitor-film-5")
board.part("C4", "electrolytic", "2u2", footprint="electrolytic-5x11-2.0")
board.part("C5", "capacitor", "100n")
board.part("C6", "electrolytic", "1u", footprint="electrolytic-5x11-2.0")

board.net("AC1", "J1.AC1 D1.A D3.K", ac_volts=14, amps=1)
board.net("AC2", "J1.AC2 D2.A D4.K", ac_volts=14, amps=1)
board.net("VP", "D1.K D2.K C1.+ C3.1 U1.IN", volts=19, amps=1)
board.net("VN", "D3.A D4.A C2.- C4.- U2.IN", volts=-19, amps=1)
board.net("P12", "U1.OUT C5.1 D5.K J2.P12", volts=12, amps=0.5)
board.net("N12", "U2.OUT C6.- D6.A J2.N12", volts=-12, amps=0.5)
board.net("GND", "J1.TAP J2.GND U1.GND U2.GND C1.- C2.+ C3.2 C4.+ C5.2 C6.+ D5.A D6.K", pour="bottom", amps=1)

board.place("J1", edge="left")
board.place("J2", edge="right")
for chip, print_ in (("U1", "f32ab4d4"), ("U2", "1210ff3f")):
    board.waive("dissipation", chip, "the tab is bolted to a heat sink with an insulating washer", fingerprint=print_)
