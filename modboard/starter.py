"""The starter design that `modboard new` writes: it makes a whole board as it stands."""

from __future__ import annotations

import re
from pathlib import Path

from modboard.errors import ModboardError

STARTER = '''\
"""{title}: say here what the board does and where it goes."""

from modboard import Cavity, Design

# 1. The room, measured with calipers: inside faces in mm, x to the right and y up, seen from above.
#    measured_to is how far your figures may be out; board_at is the height of the board's underside above the floor.
room = Cavity.rectangle(40.0, 28.0, height=20.0, board_at=3.0, measured_to=0.3)
room.post("screw post", at=(4.5, 4.5), diameter=5.0)

# 2. The board.  Its outline follows from the room: wall gaps left, posts stepped round.
#    rules: "pool" (any board house), "fine" (tighter, still ordinary), "home" (etched at home).
board = Design("{name}", cavity=room, rules="pool")

# 3. The parts: reference, what it is, value.  Lands and holes come with the part.
board.part("J1", "wire-pads-1x3", pins="V5 GND IN")  # wires from the machine
board.part("J2", "wire-pads-1x2", pins="OUT GND")  # wires to the outside
board.part("Q1", "2N3904", pins="E B C")
board.part("R1", "resistor", "22k")
board.part("R2", "resistor", "1k")
board.part("R3", "resistor", "100R")
board.part("C1", "capacitor", "100n")
board.part("C2", "electrolytic", "10u", footprint="electrolytic-5x11-2.0")

# 4. The circuit: net by net, "part.pin" with pin numbers or names.  Volts and amps set gaps and widths.
board.net("GND", "J1.GND J2.GND R2.2 C1.2", pour="bottom")
board.net("V5", "J1.V5 Q1.C R1.1 C1.1", volts=5, amps=0.05)
board.net("IN", "J1.IN C2.-")
board.net("BASE", "C2.+ R1.2 Q1.B")
board.net("EMITTER", "Q1.E R2.1 R3.1")
board.net("OUT", "R3.2 J2.OUT")

# 5. Wishes, only where you have some; everything else is placed and routed for you.
board.place("J1", edge="left")
board.place("J2", edge="right")
board.place("C1", near="Q1")
'''


def write_starter(path: Path) -> Path:
    """Write a starter design to `path` (".py" is added if missing) and return where it is.

    Raises ModboardError if something of that name is there already, or its folder is not.
    """
    target = path if path.suffix == ".py" else path.with_name(path.name + ".py")
    if target.exists():
        raise ModboardError(f"{target}: exists already; choose another name")
    if not target.parent.is_dir():
        raise ModboardError(f"{target}: there is no folder {target.parent}; make it first")
    name = re.sub(r"[^a-z0-9]+", "-", target.stem.lower()).strip("-") or "board"
    text = STARTER.format(name=name, title=name.replace("-", " ").capitalize())
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise ModboardError(f"{target}: cannot be written, {error.strerror}; choose another place") from error
    return target
