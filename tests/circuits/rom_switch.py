"""Four 16 KB images in one 27512, on a plug for the host's 28-pin ROM socket.

Source: 27512 and 27128 data sheets: the two top address lines come from links with pull-downs instead of from the bus.
Courtyards 1514 mm² in 54.5 x 42 mm: 1.51 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(54.5, 42.0, height=24.0, board_at=6.0)

board = Design("rom-switch", cavity=room)
board.part("P1", "27128", footprint="host-plug-28-wide")
board.part("U1", "27512", footprint="dip-28-wide-socket")
board.part("J1", "header-1x3", pins="A14 V5 A15")
board.part("R1", "resistor", "4k7", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "4k7", footprint="resistor-axial-7.62")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.bus("A[0..13]", "P1.A[0..13] U1.A[0..13]")
board.bus("D[0..7]", "P1.D[0..7] U1.D[0..7]")
board.net("CE", "P1./CE U1./CE")
board.net("OE", "P1./OE U1./OE")
board.net("A14", "U1.A14 J1.A14 R1.1")
board.net("A15", "U1.A15 J1.A15 R2.1")
board.net("GND", "P1.GND U1.GND R1.2 R2.2 C1.2", pour="bottom")
board.net("V5", "P1.VCC U1.VCC J1.V5 C1.1", volts=5, amps=0.1)
board.no_connect("P1.VPP P1./PGM")

board.place("J1", edge="top")
