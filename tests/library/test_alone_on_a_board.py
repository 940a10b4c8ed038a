"""Every footprint passes the board's own checks when it stands alone, at each rule set, or says why it does not."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
import shapely

from modboard.artwork.draw import draw
from modboard.check import check
from modboard.describe.model import Part
from modboard.describe.rules import Rules
from modboard.errors import CallSite, LibraryError
from modboard.layout.board import Board, PlacedPart
from modboard.library import footprint, footprint_names
from modboard.library.model import Footprint
from tests.check.build import BARE
from tests.library.test_every_footprint import closest_pair

ROOM = 6.0  # mm round each part, so that none meets another
MANY = ("header-", "box-header-", "socket-strip-", "resistor-network-", "screw-terminal-", "wire-pad-", "card-edge-",
        "host-plug-", "dip-", "plcc-6", "plcc-5", "electrolytic-1", "capacitor-", "diode-", "d-sub-25")  # fmt: skip
# what a whole board is asked and one part alone cannot answer
OF_THE_BOARD = {"drill-sizes", "value-missing"}


def sampled() -> list[str]:
    """Every footprint, but of long series, which differ in length only, every sixth."""
    many = [name for name in footprint_names() if name.startswith(MANY)]
    return [name for name in footprint_names() if name not in many or many.index(name) % 6 == 0]


def boards(rules: Rules) -> Iterator[tuple[dict[str, Footprint], Board]]:
    """Boards of a dozen parts in a row each, none near another."""
    names = sampled()
    for first in range(0, len(names), 12):
        parts: dict[str, Footprint] = {}
        placed, x, tall = [], ROOM, 0.0
        for number, name in enumerate(names[first : first + 12]):
            try:
                found = footprint(name, level=rules.level, land_min=rules.pad_land_min)
            except LibraryError:
                assert footprint(name).exception, f"{name} can't be made at these rules and does not say why"
                continue
            x0, y0, x1, y1 = shapely.Polygon(found.courtyard).bounds
            reference = f"X{number + 1}"
            parts[reference] = found
            part = Part(reference, name, None, "", found, CallSite("alone.py", 1))
            at_edge = found.edge == "halved"  # its y = 0 belongs on the edge
            placed.append(PlacedPart(part, (x - x0, 0.0 if at_edge else ROOM - y0), 0.0))
            x, tall = x + x1 - x0 + ROOM, max(tall, y1 - y0)
        outline = shapely.box(0.0, 0.0, x, tall + 2 * ROOM)
        description = replace(BARE, rules=rules, parts=tuple(p.part for p in placed), outline=outline)
        yield parts, Board(description, outline, tuple(placed), (), (), ())


def as_large_as_the_pitch_allows(part: Footprint) -> bool:
    """Whether lands are so near that none of 2.0 fits with the gap of home etching, 0.4 (common practice)."""
    return closest_pair(part) < 0.4 + 0.06  # sizes go in steps of 0.05


@pytest.mark.parametrize("named", ["pool", "fine", "home"])
def test_passes_the_checks_of_the_board_or_says_why(named):
    judged, unsaid = 0, []
    for parts, board in boards(Rules.named(named)):
        for finding in check(board, draw(board)):
            if finding.rule in OF_THE_BOARD:
                continue
            blamed = re.findall(r"X\d+", finding.where)
            assert blamed, finding
            if finding.rule == "land-size" and all(as_large_as_the_pitch_allows(parts[r]) for r in blamed):
                continue
            unsaid += [(parts[r].name, finding.rule, finding.message) for r in blamed if not parts[r].exception]
        judged += len(parts)
    assert unsaid == []
    assert judged > 120
