"""A 32K × 8 memory in the Dunlin 48's 24-pin 2K × 8 socket, without bending a pin.

The board plugs into the host's socket from above; the larger memory sits beside it in a socket of its own.  Everything
the two chips share goes straight through (JEDEC byte-wide pin-outs; the 28-pin chip's A11, A13 and /WE stand where the
24-pin one has /WE, VCC and nothing).  The four new address lines A11 to A14 come out on wire pads and are held low by
R1 to R4, so that the machine works as before with no wire fitted.

A header chooses what selects the chip: a link on pins 1-2 uses the host socket's /CS, on 2-3 a wire to the SELECT pad.
"""

from modboard import Design

board = Design("dunlin-ram", outline=(50.0, 41.0), title="Dunlin 48 memory adapter")

board.part("P1", "6116", footprint="host-plug-24-wide")  # pins down into the host's socket
board.part("U1", "62256", footprint="dip-28-wide-socket")
board.part("C1", "capacitor", "100n", footprint="capacitor-disc-2.54")
for reference in ("R1", "R2", "R3", "R4"):
    board.part(reference, "resistor", "10k", footprint="resistor-axial-7.62")
board.part("J1", "wire-pads-1x5", pins="A11 A12 A13 A14 SELECT")
board.part("J2", "header-1x3", pins="HOST CHIP WIRE")

board.bus("A[0..10]", "P1.A[0..10] U1.A[0..10]")
board.bus("D[0..7]", "P1.D[0..7] U1.D[0..7]")
board.net("OE", "P1./OE U1./OE")
board.net("WE", "P1./WE U1./WE")
board.net("A11", "U1.A11 R1.1 J1.A11")
board.net("A12", "U1.A12 R2.1 J1.A12")
board.net("A13", "U1.A13 R3.1 J1.A13")
board.net("A14", "U1.A14 R4.1 J1.A14")
board.net("HOST_CS", "P1./CS J2.HOST")
board.net("CS", "J2.CHIP U1./CS")
board.net("SELECT", "J2.WIRE J1.SELECT")
board.net("GND", "P1.GND U1.GND C1.2 R1.2 R2.2 R3.2 R4.2", pour="bottom")
board.net("VCC", "P1.VCC U1.VCC C1.1", volts=5, amps=0.1)

board.place("C1", near="U1.28")
board.place("J1", edge="bottom")
