"""Picture and sound out for the Dunlin 48 home computer, in the tin of its old aerial modulator.

The modulator's insides come out (keep them: this undoes), the tin stays.  A transistor follower drives a 75 Ω cable
from the computer's own composite signal; sound is coupled through a capacitor.  The picture jack looks out of the hole
the aerial socket left, and the board steps round the tin's screw post.

Picture: Q1 runs at about 10 mA, enough for a 2 V swing into 150 Ω (75 Ω here plus 75 Ω in the television); R5 ends the
cable, so the television sees 1 V.  C3 with 150 Ω passes everything above 2.3 Hz.
"""

from modboard import Cavity, Design

tin = Cavity.rectangle(57.0, 31.5, height=20.0, board_at=3.0, measured_to=0.3)  # inside faces, mm
tin.post("screw post", at=(5.2, 5.2), diameter=6.0)
tin.opening("aerial hole", wall="right", centre=12.7, width=11.5, bottom=4.0, top=18.0)
tin.opening("pin row", wall="left", centre=20.9, width=17.0, bottom=0.0, top=9.0, wires=True)  # where its pins came out

board = Design("dunlin-av", cavity=tin, title="Dunlin 48 picture and sound")

board.part("J1", "wire-pads-1x4", pins="V5 GND PICTURE SOUND")  # wires to the computer's board
board.part("J2", "phono-jack")  # picture out, through the aerial hole
board.part("J3", "wire-pads-1x2", pins="SOUND GND")  # wires to a sound socket
board.part("Q1", "2N3904", pins="E B C")
board.part("R1", "resistor", "10k")  # base bias, to the supply
board.part("R2", "resistor", "15k")  # base bias, to ground
board.part("R3", "resistor", "100R")  # keeps the follower from singing
board.part("R4", "resistor", "220R")  # emitter load
board.part("R5", "resistor", "75R")  # back termination
board.part("R6", "resistor", "1k")  # protects the sound output
board.part("R7", "resistor", "47k")  # holds the sound output at ground
board.part("C1", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")  # picture in
board.part("C2", "capacitor", "100n")  # supply, at the transistor
board.part("C3", "electrolytic", "470u", footprint="electrolytic-8x11.5-3.5")  # picture out
board.part("C4", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")  # supply
board.part("C5", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")  # sound

board.net("GND", "J1.GND J2.SHELL J3.GND R2.2 R4.2 R7.2 C2.2 C4.-", pour="bottom")
board.net("V5", "J1.V5 R1.1 Q1.C C2.1 C4.+", volts=5, amps=0.05)
board.net("PICTURE", "J1.PICTURE C1.-")
board.net("BIAS", "C1.+ R1.2 R2.1 R3.1")
board.net("BASE", "R3.2 Q1.B")
board.net("EMITTER", "Q1.E R4.1 C3.+")
board.net("DRIVE", "C3.- R5.1")
board.net("OUT", "R5.2 J2.TIP")
board.net("SOUND_IN", "J1.SOUND C5.+")
board.net("SOUND_MID", "C5.- R6.1")
board.net("SOUND_OUT", "R6.2 R7.1 J3.SOUND")

board.wire("J1.V5", host="5 V pin of the edge connector", length=110)
board.wire("J1.GND", host="the tin's own earth lug", length=45)
board.wire("J1.PICTURE", host="the pad the modulator's VIDEO pin left", at=(-12.0, 8.0))
board.wire("J1.SOUND", host="the pad the modulator's AUDIO pin left", at=(-12.0, 14.0))
board.wire("J3.SOUND", host="tip of the sound socket", length=160)
board.wire("J3.GND", host="sleeve of the sound socket", length=160)
board.removes("the modulator's insides", undo="put them back into the tin and solder their four pins")
board.note("Set the television to its picture input: the Dunlin's start screen stands still, in its colours.")
board.note("A beep typed at the keyboard is heard, without hum.")

board.place("J2", opening="aerial hole", overhang=1.5)  # its barrel reaches through the wall
board.place("J1", edge="left")
board.place("C2", near="Q1")
