"""A 62256 that remembers: battery back-up on a plug for a 28-pin socket.

Source: memory application notes: the supply and a 3 V cell joined by Schottky diodes, /CS held high by a NAND gate
and a pull-up while the supply is away; a Zener and a transistor sense the supply.
Courtyards 1943 mm² in 61.5 x 47.5 mm: 1.50 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(61.5, 47.5, height=24.0, board_at=6.0)

board = Design("battery-ram", cavity=room)
board.part("P1", "62256", footprint="host-plug-28-wide")
board.part("U1", "62256")
board.part("U2", "74HC00")
board.part("Q1", "2N3904", pins="E B C")
board.part("D1", "BAT85")
board.part("D2", "BAT85")
board.part("D3", "zener", "3V3")
board.part("R1", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R3", "resistor", "100k", footprint="resistor-axial-7.62")
board.part("R4", "resistor", "1k", footprint="resistor-axial-7.62")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C2", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C3", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("J1", "wire-pads-1x2", pins="CELL GND")

board.bus("A[0..14]", "P1.A[0..14] U1.A[0..14]")
board.bus("D[0..7]", "P1.D[0..7] U1.D[0..7]")
board.net("OE", "P1./OE U1./OE")
board.net("WE", "P1./WE U1./WE")
board.net("GND", "P1.GND U1.GND U2.GND Q1.E R2.2 C1.2 C2.2 C3.- J1.GND U2.3A U2.3B U2.4A U2.4B", pour="bottom")
board.net("V5", "P1.VCC D1.A D3.K", volts=5, amps=0.1)
board.net("VRAM", "D1.K D2.K U1.VCC U2.VCC C1.1 C2.1 C3.+ R3.1 R4.1", volts=5, amps=0.1)
board.net("CELL", "J1.CELL D2.A")
board.net("ZENER", "D3.A R1.1")
board.net("SENSE", "R1.2 R2.1 Q1.B")
board.net("GOOD_N", "Q1.C R4.2 U2.1A U2.1B")
board.net("GOOD", "U2.1Y U2.2A")
board.net("HOST_CS", "P1./CS U2.2B")
board.net("CS", "U2.2Y U1./CS R3.2")
board.no_connect("U2.3Y U2.4Y")

board.place("J1", edge="left")
