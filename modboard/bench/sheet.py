"""Everything the bench needs, worked out once: the one value that the booklet, the tables and the tests read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from modboard.bench.bare import bare_conductors
from modboard.bench.build import BuildStep, build_order
from modboard.bench.continuity import Continuity, Probe, Suspect, continuity
from modboard.bench.copper import conductors
from modboard.bench.pieces import NetCopper
from modboard.bench.power import PowerStep, ladder
from modboard.bench.reach import hidden, reached, reached_all, turned_over
from modboard.bench.readings import Expected, Network
from modboard.bench.shorts import Neighbours, neighbours
from modboard.bench.wiring import WayBack, Wire, way_back, wiring
from modboard.layout.board import Board


@dataclass(frozen=True)
class Silence:
    """A pair of conductors to prove apart: on the bare board, and fitted, where `expected` may say otherwise."""

    pair: Neighbours
    expected: Expected
    by_iron: bool  # an iron could have bridged it: try again after soldering


@dataclass(frozen=True)
class BenchSheet:
    """The plan for one board at the bench."""

    board: Board
    copper: dict[str, NetCopper]
    build: tuple[BuildStep, ...]
    whole: Continuity
    apart: tuple[Silence, ...]
    bare: Continuity  # before anything is soldered; `whole` itself where solder joins no more copper
    bare_apart: tuple[Silence, ...]
    power: tuple[PowerStep, ...]
    wires: tuple[Wire, ...]
    back: tuple[WayBack, ...]

    @property
    def all_probes(self) -> tuple[Probe, ...]:
        """Return the probes once fitted, then those of the bare board if they are others, suspects counted on."""
        if self.bare is self.whole:
            return self.whole.probes
        on = len(self.whole.suspects)
        moved = (replace(p, suspects=tuple(k + on for k in p.suspects)) for p in self.bare.probes)
        return (*self.whole.probes, *moved)

    @property
    def all_suspects(self) -> tuple[Suspect, ...]:
        """Return the breaks that `all_probes` index."""
        return self.whole.suspects + (() if self.bare is self.whole else self.bare.suspects)

    @property
    def all_apart(self) -> tuple[Silence, ...]:
        """Return the silences once fitted, then those of the bare board if they are others."""
        return self.apart + (() if self.bare_apart is self.apart else self.bare_apart)


def bench_sheet(board: Board) -> BenchSheet:
    """Return the plan for `board`.

    >>> from modboard.describe.load import load                       # doctest: +SKIP
    >>> sheet = bench_sheet(layout(load(Path("designs/dunlin_av.py"))))  # doctest: +SKIP
    """
    copper = conductors(board)
    network = Network(board.description)
    nets = {n.name for n in board.description.nets}

    def silences(under: Collection[str]) -> tuple[Silence, ...]:
        return tuple(
            Silence(
                pair,
                network.expected(*pair.nets) if set(pair.nets) <= nets else Expected("silent", float("inf")),
                any(site.bare == 2 for site in pair.sites),
            )
            for pair in neighbours(board, copper, under)
        )

    whole = bare = continuity(board, copper)
    apart = bare_apart = silences(())
    unsoldered = bare_conductors(board, copper)
    if unsoldered is not copper:
        bare = continuity(board, unsoldered)
        silent = Expected("silent", float("inf"))
        bare_apart = tuple(Silence(pair, silent, False) for pair in neighbours(board, unsoldered))
    turned, under = turned_over(board), hidden(board)
    if under:  # parts stand over pads once they are on; on the bare board nothing does
        apart = silences(under)
    if turned:
        whole = reached_all(whole, turned)
        apart = tuple(
            replace(s, pair=replace(s.pair, red=reached(s.pair.red, turned), black=reached(s.pair.black, turned)))
            for s in apart
        )
    return BenchSheet(
        board,
        copper,
        build_order(board),
        whole,
        apart,
        bare,
        bare_apart,
        ladder(board, network),
        wiring(board),
        way_back(board),
    )
