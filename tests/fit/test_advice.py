"""What to do about a misfit, and that a try says what is true: heights by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from modboard.cli import main
from modboard.fit import fit
from modboard.fit.advice import Laid, remedies, together, tried
from modboard.layout.board import Board
from tests.check.build import box_part
from tests.fit.build import board, cavity

DESIGN = """from modboard import Cavity, Design
tin = Cavity.rectangle(44, 32, height={height}, board_at=3, measured_to=0.3)
board = Design("low", cavity=tin)
board.part("J1", "wire-pads-1x2", pins="V GND")
board.part("C1", "electrolytic", "47u", footprint="electrolytic-6.3x11-2.5")
board.part("R1", "resistor", "1k")
board.net("GND", "J1.GND C1.- R1.2", pour="bottom")
board.net("V", "J1.V C1.+ R1.1", volts=5)
"""


def told(tmp_path: Path, height: float, *options: str) -> tuple[int, str]:
    """Return exit status and output of `modboard fit` on the small design in a room of a height."""
    file = tmp_path / "low.py"
    file.write_text(DESIGN.format(height=height))
    result = CliRunner().invoke(main, ["fit", str(file), *options])
    return result.exit_code, result.output


def test_capacitor_is_laid_down_routed_and_fits(tmp_path: Path) -> None:
    """Standing it is 12.5 high, lying 6.8; the lid leaves 13 - 3 - 1.6 less 0.96 for every ± and air: 7.44."""
    status, said = told(tmp_path, 13.0, "--try")
    assert status == 1 and "5.1 mm too tall under the lid: C1" in said
    line = next(x for x in said.splitlines() if "lay down C1: electrolytic-6.3x11-2.5-lying" in x and "tried:" in x)
    assert line.startswith("  helps: ") and "6.8 mm high instead of 12.5" in line and "tried: fits with" in line
    assert 'footprint="electrolytic-6.3x11-2.5-lying"' in line
    assert not [x for x in said.splitlines() if x.startswith("  helps") and "bottom" in x]  # 3 mm are under the board


def test_capacitor_that_is_too_tall_lying_is_said_to_be(tmp_path: Path) -> None:
    """A lid at 11 leaves 5.44: 6.8 is 1.36 too much."""
    _, said = told(tmp_path, 11.0, "--try")
    line = next(x for x in said.splitlines() if "lay down C1" in x and "tried:" in x)
    assert line.startswith("  no help: ") and "tried: still 1.4 mm too tall under the lid: C1" in line


def test_without_try_nothing_is_said_to_be_tried(tmp_path: Path) -> None:
    _, said = told(tmp_path, 13.0)
    assert "could help: lay down C1" in said and "tried" not in said and "--try" in said


def tall(height: float, *more: float) -> Board:
    """Return boxes on the plate; 13.44 is the most (`test_fit`), and below 2.7 with air and ±."""
    parts = [box_part(f"C{k}", (15 + 12 * k, 20), (5, 5), height=h) for k, h in enumerate((height, *more), 1)]
    return board(cavity(), parts)


@pytest.mark.parametrize(
    ("after", "words", "fits", "cures"),
    [
        (Laid(tall(13.0), True), "tried: fits with ", True, True),
        (Laid(tall(13.0)), "not all tracks found a way", False, False),
        (Laid(tall(14.0), True), "tried: still 0.6 mm too tall under the lid: C1", False, False),
        (Laid(tall(13.0, 15.0), True), "tried: C1 fits then; 1 other misfit stays, such as: 1.6 mm too", False, True),
        (Laid(None, why="can't be placed: C1 finds no room"), "tried: can't be placed", False, False),
    ],
)
def test_outcome_of_a_try_in_words(after: Laid, words: str, fits: bool, cures: bool) -> None:
    made = tall(15.0)
    remedy = next(r for r in remedies(made, fit(made)) if r.reference == "C1")
    outcome = tried(made.description, [remedy], lambda _: after)
    assert words in outcome.words and (outcome.fits, outcome.cures) == (fits, cures)


def test_cures_of_two_parts_are_done_at_once_and_one_is_enough_for_each() -> None:
    made = tall(15.0, 16.0)
    cures = [r for r in remedies(made, fit(made)) for _ in range(2)]
    seen = []

    def lay(description: object) -> Laid:
        seen.append(description)
        return Laid(tall(13.0, 12.0), True)

    found = together(made.description, cures, lay)
    assert found is not None
    chosen, outcome = found
    assert [r.reference for r in chosen] == ["C1", "C2"] and outcome.fits
    changed = seen[0]
    assert {w.side for w in changed.wishes.values()} == {"bottom"}  # type: ignore[attr-defined]
    assert together(made.description, cures[:1], lay) is None
