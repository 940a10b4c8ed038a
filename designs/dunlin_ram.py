"""A 32K × 8 memory in the Dunlin 48's 24-pin 2K × 8 socket, without bending a pin.

The board plugs into the host's socket from above; the larger memory sits beside it in a socket of its own.  `adapter`
joins what the two chips share by the names of their pins (`modboard adapter 6116 62256` shows the table), brings the
new address lines A11 to A14 to wire pads and holds them low, so that the machine works as before with no wire fitted.

What selects the chip is left to a header: a link on pins 1-2 uses the host socket's /CS, on 2-3 a wire to the SELECT
pad.
"""

from modboard import Design, adapter

board = Design("dunlin-ram", outline=(50.0, 41.0), title="Dunlin 48 memory adapter")
adapter(board, host="6116", chip="62256", apart="/CS")

board.part("J2", "header-1x3", pins="HOST CHIP WIRE")
board.part("J3", "wire-pad", pins="SELECT")
board.net("HOST_CS", "P1./CS J2.HOST")
board.net("CS", "J2.CHIP U1./CS")
board.net("SELECT", "J2.WIRE J3.SELECT")

board.wire("J3.SELECT", host="IC12 pin 7, the decoder's spare output", length=120)
for line, pin in {"A11": 1, "A12": 4, "A13": 6, "A14": 9}.items():
    board.wire(f"J1.{line}", host=f"IC3 pin {pin}, line {line} of the processor", length=140)
board.removes("the 24-pin memory in its socket", undo="put it back, notch as before")
board.note("With no wire fitted and the link on HOST and CHIP, the machine runs as it did with its own memory.")

board.net("VCC", volts=5, amps=0.1)
board.net("GND", pour="bottom")
board.place("J1", edge="bottom")
