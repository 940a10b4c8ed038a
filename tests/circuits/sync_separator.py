"""Sync pulses out of a composite picture, with three transistors.

Source: television textbook, transistor sync separator: an emitter follower, a self-biased clipper and an inverter, with
an RC integrator that leaves the frame pulse.
Courtyards 572 mm² in an L of 39 x 30 mm: 1.72 times their area.
"""

from modboard import Cavity, Design

room = Cavity.polygon([(0, 0), (39.0, 0), (39.0, 18.0), (23.5, 18.0), (23.5, 30.0), (0, 30.0)], height=20.0)

board = Design("sync-separator", cavity=room)
board.part("J1", "wire-pads-1x3", pins="V5 GND VIDEO")
board.part("J2", "wire-pads-1x3", pins="LINE GND FRAME")
board.part("Q1", "BC547", pins="C B E")
board.part("Q2", "BC557", pins="C B E")
board.part("Q3", "BC547", pins="C B E")
board.part("R1", "resistor", "47k", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "47k", footprint="resistor-axial-7.62")
board.part("R3", "resistor", "1k", footprint="resistor-axial-7.62")
board.part("R4", "resistor", "470k", footprint="resistor-axial-7.62")
board.part("R5", "resistor", "2k2", footprint="resistor-axial-7.62")
board.part("R6", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R7", "resistor", "2k2", footprint="resistor-axial-7.62")
board.part("R8", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("C1", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")
board.part("C2", "capacitor", "470n")
board.part("C3", "capacitor", "4n7")
board.part("C4", "capacitor", "100n")
board.part("D1", "1N4148")

board.net("GND", "J1.GND J2.GND R2.2 R3.2 R5.2 Q3.E C3.2 C4.2", pour="bottom")
board.net("V5", "J1.V5 Q1.C Q2.E R1.1 R7.1 C4.1 D1.K", volts=5, amps=0.05)
board.net("VIDEO", "J1.VIDEO C1.-")
board.net("BIAS", "C1.+ R1.2 R2.1 Q1.B")
board.net("FOLLOW", "Q1.E R3.1 C2.1")
board.net("CLIP", "C2.2 Q2.B R4.1 D1.A")
board.net("SYNC", "Q2.C R5.1 R6.1 R4.2")
board.net("BASE3", "R6.2 Q3.B")
board.net("LINE", "Q3.C R7.2 R8.1 J2.LINE")
board.net("FRAME", "R8.2 C3.1 J2.FRAME")

board.place("J1", edge="left")
board.place("J2", edge="bottom")
