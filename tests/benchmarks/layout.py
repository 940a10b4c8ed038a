"""How good the layouts are: ``python -m tests.benchmarks.layout [--seeds 3] [--rules home] [names…]``.

One row per circuit of `tests/circuits` and seed: open connections; track length of the nets that are not poured, and
its ratio to the sum of their octilinear lower bounds (`steiner`: what the best trees over the pads' middles, as placed,
could not beat if each net were alone on an empty board); vias, and vias per net; the smallest gap on the drawing; the
share of the board that courtyards take; seconds for layout, and for the whole of `make` but for starting Python.  A
poured net is joined by its pour, so its tracks and pads are left out of the ratio and their length is shown apart.
"loose" counts nets of more than eight pads, whose bound is the weaker one.  Medians and worst come last.
"""

from __future__ import annotations

import statistics
from dataclasses import dataclass

import shapely

from modboard.artwork.measure import smallest_gap, track_length
from modboard.layout.board import Board
from tests.benchmarks.circuits import asked_for, options, runs
from tests.benchmarks.steiner import MOST, lower_bound

MEDIAN_RATIO, WORST_RATIO = 1.15, 1.40
HEADER = (
    f"{'circuit':22} {'seed':>4} {'open':>4} {'length':>7} {'bound':>7} {'ratio':>6} {'loose':>5} {'poured':>7} "
    f"{'vias':>4} {'/net':>5} {'gap':>6} {'area':>5} {'layout':>6} {'total':>6}"
)


@dataclass(frozen=True)
class Lengths:
    """Track length (mm) of nets without pour, the lower bound for them, nets loosely bounded, length of poured nets."""

    length: float
    bound: float
    loose: int
    poured: float

    @property
    def ratio(self) -> float:
        """Length over its lower bound; 1 where nothing needs joining."""
        return self.length / self.bound if self.bound else 1.0


def lengths(board: Board) -> Lengths:
    """Measure a board's tracks against what its placed pads need at least."""
    poured = {net.name for net in board.description.nets if net.pour}
    middles: dict[str, list[tuple[float, float]]] = {}
    for pad in board.pads:
        if pad.net is not None and pad.net not in poured:
            middles.setdefault(pad.net, []).append(pad.at)
    per_net = dict.fromkeys((net.name for net in board.description.nets), 0.0)
    for track in board.tracks:
        per_net[track.net] += shapely.LineString(track.points).length if len(track.points) > 1 else 0.0
    return Lengths(
        sum(length for name, length in per_net.items() if name not in poured),
        sum(lower_bound(points) for points in middles.values()),
        sum(len(set(points)) > MOST for points in middles.values()),
        sum(length for name, length in per_net.items() if name in poured),
    )


def area_use(board: Board) -> float:
    """Return the share of the board that courtyards take; both sides count as one, so it may exceed 1."""
    return sum(shapely.Polygon(placed.courtyard()).area for placed in board.parts) / float(board.outline.area)


def main() -> None:
    """Print the table."""
    asked = asked_for(options("Measure layouts against lower bounds."))
    print(HEADER, flush=True)
    ratios, per_net, times, whole, count = [], [], [], 0, 0
    for row, made in runs(asked):
        count += 1
        if made is None:
            print(f"{row.name:22} {row.seed:4} FAILED: {row.failure}", flush=True)
            continue
        board = made.board
        found = lengths(board)
        nets = sum(len(net.pins) > 1 for net in board.description.nets)
        gap = smallest_gap(made.artwork)
        total = sum(row.seconds.values())
        ratios.append(found.ratio)
        per_net.append(len(board.vias) / max(nets, 1))
        times.append(total)
        whole += not board.unrouted
        assert abs(found.length + found.poured - track_length(board)) < 1e-6
        print(
            f"{row.name:22} {row.seed:4} {len(board.unrouted):4} {found.length:7.1f} {found.bound:7.1f} "
            f"{found.ratio:6.3f} {found.loose:5} {found.poured:7.1f} {len(board.vias):4} {per_net[-1]:5.2f} "
            f"{gap.value if gap else float('nan'):6.3f} {area_use(board):5.0%} {row.seconds['lay']:6.1f} "
            f"{total:6.1f}",
            flush=True,
        )
    if ratios:
        print(
            f"{count} runs, {whole} complete; length ratio median {statistics.median(ratios):.3f} "
            f"(target {MEDIAN_RATIO}), worst {max(ratios):.3f} (target {WORST_RATIO}); vias per net median "
            f"{statistics.median(per_net):.2f}, worst {max(per_net):.2f}; seconds median "
            f"{statistics.median(times):.1f}, worst {max(times):.1f}"
        )


if __name__ == "__main__":
    main()
