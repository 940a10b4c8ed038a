"""A serial port at RS-232 levels.

Source: the two-driver, two-receiver RS-232 transceiver's data sheet, typical operating circuit with five 1 µF
capacitors.  The chip is not in the library: a DIP-16 with its pins named here.
Courtyards 560 mm² in 36.5 x 26.5 mm less its post: 1.71 times their area.
"""

from modboard import Cavity, Design

room = Cavity.rectangle(36.5, 26.5, height=20.0)
room.post("left post", at=(3.5, 3.5), diameter=4.0)

board = Design("serial-232", cavity=room)
board.part("J1", "header-1x6", pins="VCC GND TXD RXD RTS CTS")
board.part("J2", "header-1x5", pins="TX RX RTS CTS GND")
board.part(
    "U1",
    "dip-16",
    "MAX232",
    pins="C1+ VS+ C1- C2+ C2- VS- T2OUT R2IN R2OUT T2IN T1IN R1OUT R1IN T1OUT GND VCC",
)
for n in range(1, 6):
    board.part(f"C{n}", "electrolytic", "1u", footprint="electrolytic-5x11-2.0")
board.part("C6", "capacitor", "100n", footprint="capacitor-disc-2.54")

board.net("PUMP1A", "U1.C1+ C1.+")
board.net("PUMP1B", "U1.C1- C1.-")
board.net("PUMP2A", "U1.C2+ C2.+", volts=10)
board.net("PUMP2B", "U1.C2- C2.-", volts=-10)
board.net("VPLUS", "U1.VS+ C3.+", volts=10)
board.net("VMINUS", "U1.VS- C4.-", volts=-10)
board.net("GND", "J1.GND J2.GND U1.GND C4.+ C5.- C6.2", pour="bottom")
board.net("VCC", "J1.VCC U1.VCC C3.- C5.+ C6.1", volts=5, amps=0.05)
board.net("TXD", "J1.TXD U1.T1IN")
board.net("RXD", "J1.RXD U1.R1OUT", volts=5)
board.net("RTS_T", "J1.RTS U1.T2IN")
board.net("CTS_T", "J1.CTS U1.R2OUT", volts=5)
board.net("TX", "J2.TX U1.T1OUT", volts=10)
board.net("RX", "J2.RX U1.R1IN", volts=25)
board.net("RTS", "J2.RTS U1.T2OUT", volts=10)
board.net("CTS", "J2.CTS U1.R2IN", volts=25)

board.place("J1", edge="left")
board.place("J2", edge="right")
