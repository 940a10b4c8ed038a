"""Two lamps for too little and too much battery.

Source: dual comparator data sheet, window comparator; a TL431 as the reference, dividers of 1 % resistors.
Courtyards 444 mm² in 29 x 21.5 mm: 1.41 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(29.0, 21.5, height=14.0)
room.opening("lamp window", wall="top", centre=16.0, width=12.0)

board = Design("battery-monitor", cavity=room)
board.part("J1", "wire-pads-1x2", pins="BAT GND")
board.part("U1", "LM393")
board.part("U2", "TL431")
board.part("R1", "resistor", "2k2", footprint="resistor-axial-7.62")
board.part("R2", "resistor", "10k", footprint="resistor-axial-7.62")
board.part("R3", "resistor", "470R", footprint="resistor-axial-7.62")
board.part("R4", "resistor", "2k7", footprint="resistor-axial-7.62")
board.part("R5", "resistor", "1k", footprint="resistor-axial-7.62")
board.part("R6", "resistor", "1k", footprint="resistor-axial-7.62")
board.part("D1", "led", "red")
board.part("D2", "led", "yellow")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
board.part("C2", "capacitor", "10n", footprint="capacitor-disc-2.54")

board.net("GND", "J1.GND U1.GND U2.A R4.2 C1.2 C2.2", pour="bottom")
board.net("BAT", "J1.BAT U1.VCC R1.1 R2.1 R5.1 R6.1 C1.1", volts=15, amps=0.05)
board.net("REF", "R1.2 U2.K U2.REF U1.IN1- U1.IN2+ C2.1")
board.net("HIGH", "R2.2 R3.1 U1.IN1+")
board.net("LOW", "R3.2 R4.1 U1.IN2-")
board.net("LED1", "R5.2 D1.A")
board.net("LED2", "R6.2 D2.A")
board.net("OUT1", "U1.OUT1 D1.K")
board.net("OUT2", "U1.OUT2 D2.K")

board.place("J1", edge="left")
board.place("D1", edge="top")
board.place("D2", edge="top")
