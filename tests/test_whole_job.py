"""Random small circuits through the whole tool: clean, or honest about what is open."""

from __future__ import annotations

import random
from typing import Literal

from hypothesis import given, settings
from hypothesis import strategies as st

from modboard import Cavity, Design, ModboardError, Rules
from modboard.artwork.draw import draw
from modboard.check import check, circuit, drivers, limiting, supplies, values
from modboard.layout.route.router import Effort
from modboard.layout.search import Round, search

QUICK = (
    Round(1, 0, 1, 0.3, 25, Effort(rounds=25, passes=1)),
    Round(2, 1, 1, 0.6, 10, Effort(rounds=40, passes=1)),
)
# What the circuit itself gets wrong, being wired at random, is not the layout's doing.
WIRED_AT_RANDOM = {rule.name for family in (circuit, drivers, supplies, limiting, values) for rule in family.RULES}
KINDS = (
    ("resistor", "4k7", ("1", "2")),
    ("capacitor", "100n", ("1", "2")),
    ("electrolytic", "10u", ("+", "-")),
    ("2N3904", "", ("E", "B", "C")),
    ("1N4148", "", ("A", "K")),
    ("LM358", "", ("IN1-", "IN1+", "IN2+", "IN2-")),
    ("header-1x4", "", ("1", "2", "3", "4")),
)


Pour = Literal["top", "bottom", "both"]
POURS: tuple[Pour | None, ...] = (None, "top", "bottom", "both")
WAYS = ("plain", "teardrops", "either side", "fine rules", "home rules", "one side")


def random_design(seed: int, parts: int, pour: Pour | None, roomy: float, way: str) -> Design:
    """Return a circuit of `parts` random parts, each net joining neighbours at random, in a room to match."""
    rnd = random.Random(seed)
    side = (parts * 95.0 * roomy) ** 0.5
    room = Cavity.rectangle(round(side * 1.2 + 3, 1), round(side / 1.2 + 3, 1), height=25.0, board_at=4.0)
    if rnd.random() < 0.5:
        room.post("post", at=(4.5, 4.5), diameter=5.0)
    one_sided = Rules.named("home", one_sided=True)
    rules = {"fine rules": "fine", "home rules": "home", "one side": one_sided}.get(way, "pool")
    design = Design("random", cavity=room, seed=1 + seed % 7, rules=rules, teardrops=way == "teardrops")
    pins: list[str] = []
    ground, supply = [], []
    for k in range(parts):
        kind, value, names = rnd.choice(KINDS)
        design.part(f"X{k}", kind, value)
        if way == "either side":
            design.place(f"X{k}", side="either")
        pins += [f"X{k}.{name}" for name in names]
        if kind == "LM358":
            supply.append(f"X{k}.V+")
            ground.append(f"X{k}.V-")
    rnd.shuffle(pins)
    ground += [pins.pop() for _ in range(max(2, len(pins) // 5))]
    supply += [pins.pop() for _ in range(2)]
    design.net("GND", " ".join(ground), pour=pour if way != "one side" else None)
    design.net("V5", " ".join(supply), volts=5, amps=rnd.choice([0.1, 1.0]))
    number = 0
    while len(pins) > 1:
        count = min(len(pins), rnd.choice([2, 2, 2, 3, 4]))
        design.net(f"N{number}", " ".join(pins.pop() for _ in range(count)))
        number += 1
    if pins:
        design.no_connect(pins.pop())
    return design


@settings(max_examples=10, deadline=None)
@given(
    st.integers(0, 100_000),
    st.integers(3, 9),
    st.sampled_from(POURS),
    st.sampled_from([1.0, 1.6]),
    st.sampled_from(WAYS),
)
def test_random_circuits_come_out_clean_or_say_what_is_open(
    seed: int, parts: int, pour: Pour | None, roomy: float, way: str
) -> None:
    try:
        description = random_design(seed, parts, pour, roomy, way).described()
    except ModboardError as error:
        assert "home" in way and "mm" in str(error)  # some lands are closer than can be etched
        return
    try:
        board = search(description, rounds=QUICK)
    except ModboardError as error:
        assert "mm" in str(error)  # says what lacks
        return
    errors = [f for f in check(board, draw(board)) if f.severity == "error" and f.rule not in WIRED_AT_RANDOM]
    open_nets = {u.net for u in board.unrouted}
    assert {f.rule for f in errors} <= ({"open", "unrouted"} if open_nets else set()), errors
    if open_nets:
        assert any(f.rule == "unrouted" for f in errors)
