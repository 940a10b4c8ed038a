"""Negotiated congestion (McMurchie & Ebeling 1995): let nets overlap, charge for it, rip up and reroute.

Each iteration reroutes only the nets that clash.  History never decays; the present price rises until nobody overlaps.
A stall (no fewer clashes for a while) halves the history, resets the price and reroutes the neighbourhood of the clash
in random order (routing digest, section 5).  Nothing guarantees completion: what still clashes in the end is taken
out, fewest nets first, tried once more against the rest as hard obstacles, and reported.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from modboard.layout.route import kernels
from modboard.layout.route.grid import Maps
from modboard.layout.route.terms import Course, Prices, Routed, Schedule, Stand, Task

NARROWEST = 40  # cells of window round a net in the first iteration
ROOMY = 100  # cells of window while improving
WIDENING = 6  # cells more in each further one
HISTORY_SPREAD = 0.75  # mm; a track and its gap: charging lone nodes only makes tracks shift by a cell
STALL = 14  # iterations without fewer clashes
HOPELESS = 12, 0.3, 100  # after so many iterations more than such a share of the first clashes, and than so many: of
# some 100 routings that came whole none had more than 0.18 of them left then, of 30 that never did 20 had 0.3 to 0.8


@dataclass
class Negotiation:
    """State of one routing: maps, tasks, what is routed, and the scratch arrays of the search."""

    maps: Maps
    tasks: list[Task]
    pad_at: NDArray[np.int32]
    prices: Prices
    seed: int = 0
    ways: tuple[NDArray[np.uint16], ...] | None = None  # kernels.route_net, taken in turn; None: every way is open
    schedule: Schedule = field(default_factory=Schedule)
    dear: NDArray[np.float32] | None = None  # by how much each node costs more than its length
    routed: dict[int, Routed] = field(default_factory=dict)
    clash_log: list[int] = field(default_factory=list)
    course: Course | None = None  # of the bargaining, while it has not come to its end

    def __post_init__(self) -> None:
        lattice = self.maps.lattice
        n2 = 2 * lattice.nodes
        pens = len(self.maps.pens.pens)
        self.occ = np.zeros((pens, n2), np.int16)
        self.hist = np.zeros(n2, np.float32) if self.dear is None else self.dear.copy()
        self._counted = np.zeros((pens, n2), np.int32)
        self._count_mark = 0
        self._cost = np.zeros(n2, np.int64)
        self._parent = np.full(n2, -1, np.int32)
        self._came = np.full(n2, -1, np.int8)
        self._seen = np.zeros(n2, np.int32)
        self._leave = np.full(n2, kernels.EVERY_WAY, np.uint8)
        self._closed = np.zeros(n2, np.int32)
        self._target = np.full(n2, -1, np.int32)
        self._no_via = np.zeros(lattice.nodes, np.int32)
        self._heap = np.empty(6 * n2, np.int64)
        self._tree = np.empty(2 * n2, np.int64)
        self._out = np.empty((2 * n2, 2), np.int64)
        self._mark = 1
        self.expanded = 0  # nodes, by the last search
        self._bends = np.array(self.prices.bends, np.int64)
        nodes = lattice.nodes
        self._ways = self.ways or (np.full(n2, kernels.EVERY_WAY | kernels.OTHER_LAYER, np.uint16),)
        axes = () if self.ways is None else (kernels.ROWS, kernels.COLUMNS)
        self._one_way = [tuple(_along(ways, nodes, axis) for axis in axes) for ways in self._ways]
        self._turn = 0
        self._reaches = self.maps.pens.reaches(lattice.pitch, self.maps.rules)
        self._via_flags = self.maps.pens.via_flags()
        self._packed = [task.packed(lattice) for task in self.tasks]
        self.random = np.random.default_rng(self.seed)

    # -- one net ---------------------------------------------------------------------------------------------

    def search(
        self,
        index: int,
        pressure: float,
        hard: bool,
        first: int = 0,
        bends: NDArray[np.int64] | None = None,
        margin: int | None = None,
    ) -> Routed:
        """Find a tree for one task against everything else; nothing is put down.

        With a `margin` (cells) the search keeps so near to the box round the task's groups.
        """
        turn = self._turn = (self._turn + 1) % len(self._ways)
        found = self._search(index, pressure, hard, first, bends, margin, self._ways[turn])
        if self.ways is None or (found.joined == len(self.tasks[index].groups) and not found.via_at.any()):
            return found
        # Of two wires that cross a node, the search keeps the nearer: look along rows and along columns alone as well.
        others = [self._search(index, pressure, hard, first, bends, margin, ways) for ways in self._one_way[turn]]
        return min((found, *others), key=lambda r: (-r.joined, _price(r)))

    def _search(
        self,
        index: int,
        pressure: float,
        hard: bool,
        first: int,
        bends: NDArray[np.int64] | None,
        margin: int | None,
        ways: NDArray[np.uint16],
    ) -> Routed:
        task, (starts, nodes, boxes) = self.tasks[index], self._packed[index]
        lattice = self.maps.lattice
        pens = np.array(self.maps.pens.of_net[task.net], np.int64)
        via = self.maps.pens.pens[int(pens[2])]
        hole_reach = (via.hole + self.maps.rules.hole_to_hole) / lattice.pitch
        written, joined, self._mark, self.expanded = kernels.route_net(
            task.net, pens, self.maps.own, self.occ, self.hist,
            task.zone, self.pad_at, lattice.width, lattice.height,
            starts, nodes, boxes, first % len(task.groups), self._window(boxes, margin), ways,
            self.prices.diagonal,
            pressure, hard, self.prices.via, self.prices.by_axis(hard), hole_reach,
            100 if hard else self.schedule.haste, self._bends if bends is None else bends,
            self.prices.least_run,
            self._cost, self._parent, self._came, self._seen, self._closed, self._leave, self._mark,
            self._target, self._no_via, self._heap, self._tree, self._out, 40 * lattice.nodes,
        )  # fmt: skip
        return self._digest(task.net, self._out[:written].copy(), joined)

    def _window(self, boxes: NDArray[np.int64], margin: int | None) -> NDArray[np.int64]:
        lattice = self.maps.lattice
        if margin is None:
            return np.array([0, 0, lattice.width - 1, lattice.height - 1], np.int64)
        low = np.maximum(boxes[:, :2].min(axis=0) - margin, 0)
        high = np.minimum(boxes[:, 2:].max(axis=0) + margin, [lattice.width - 1, lattice.height - 1])
        return np.concatenate((low, high)).astype(np.int64)

    def put(self, index: int, routed: Routed) -> None:
        """Put a routed net down."""
        self._count(routed, 1)
        self.routed[index] = routed

    def rip(self, index: int) -> Routed | None:
        """Take a net up and return it."""
        routed = self.routed.pop(index, None)
        if routed is not None:
            self._count(routed, -1)
        return routed

    def clashes(self, index: int, charge: float = 0.0) -> int:
        """Return at how many nodes a routed net clashes, charging history."""
        routed = self.routed[index]
        pens = np.array(self.maps.pens.of_net[self.tasks[index].net], np.int64)
        lattice = self.maps.lattice
        spread = max(1, round(HISTORY_SPREAD / lattice.pitch))
        found = kernels.clashes(
            routed.rows, pens, self.occ, self.hist, charge, spread, lattice.width, lattice.height, routed.via_at
        )
        return int(found)

    def _count(self, routed: Routed, sign: int) -> None:
        self._count_mark += 1
        lattice = self.maps.lattice
        kernels.count_net(
            self.occ, self._counted, self._count_mark, sign, lattice.width, lattice.height,
            routed.pieces, self._reaches, self._via_flags,
        )  # fmt: skip

    def _digest(self, net: int, rows: NDArray[np.int64], joined: int) -> Routed:
        """Turn kernel rows into straight pieces and vias for counting, and price them."""
        lattice = self.maps.lattice
        n, w = lattice.nodes, lattice.width
        track, neck, via = self.maps.pens.of_net[net]
        nodes, narrow = rows[:, 0], rows[:, 1]
        via_at = np.zeros(len(rows), np.uint8)
        if len(rows) < 2:
            return Routed(rows, via_at, np.empty((0, 6), np.int64), joined, 0.0)
        a, b = nodes[:-1], nodes[1:]
        real = (a >= 0) & (b >= 0)
        layer_a, layer_b = a // n, b // n
        change = real & (layer_a != layer_b)
        ax, ay, bx, by = (a % n) % w, (a % n) // w, (b % n) % w, (b % n) // w
        made = change & (self.pad_at[np.where(real, a, 0) % n] != net)
        via_at[:-1][made] = 1
        step = real & ~change
        pen = np.where((narrow[:-1] != 0) | (narrow[1:] != 0), neck, track)
        direction = (by - ay) * 3 + (bx - ax)
        # neighbouring steps with equal layer, pen and direction make one piece
        same = step[1:] & step[:-1] & (direction[1:] == direction[:-1]) & (pen[1:] == pen[:-1])
        begins = np.flatnonzero(step & np.concatenate(([True], ~same)))
        ends = np.flatnonzero(step & np.concatenate((~same, [True])))
        runs = np.column_stack((ax[begins], ay[begins], bx[ends], by[ends], layer_a[begins], pen[begins]))
        k = np.flatnonzero(made)
        vias = np.column_stack((ax[k], ay[k], ax[k], ay[k], np.full(len(k), 2), np.full(len(k), via)))
        length = float(np.hypot(bx - ax, by - ay)[step].sum()) * kernels.STRAIGHT
        cost = length + self.prices.via * len(k) + self.prices.bends[1] * len(runs)
        return Routed(rows, via_at, np.concatenate((runs, vias)).astype(np.int64), joined, cost)

    # -- all nets --------------------------------------------------------------------------------------------

    def order(self) -> list[int]:
        """Return task numbers, wide and short nets first."""

        def key(index: int) -> tuple[float, float, int]:
            boxes = self._packed[index][2]
            spread = (boxes[:, 2].max() - boxes[:, 0].min()) + (boxes[:, 3].max() - boxes[:, 1].min())
            pen = self.maps.pens.pens[self.maps.pens.of_net[self.tasks[index].net][0]]
            return (-pen.half, float(spread), index)

        return sorted(range(len(self.tasks)), key=key)

    def add(self, tasks: list[Task]) -> list[int]:
        """Add tasks to those there are and return their numbers."""
        first = len(self.tasks)
        self.tasks += tasks
        self._packed += [task.packed(self.maps.lattice) for task in tasks]
        return list(range(first, len(self.tasks)))

    def begin(self, pressure: float, tasks: list[int]) -> None:
        """Begin to bargain for `tasks` where all others are routed, at a first price of sharing, history forgotten."""
        self.hist[:] = 0.0
        self.course = Course(list(tasks), pressure, pressure)

    def stand(self) -> Stand:
        """Return where a negotiation stands that has not come to its end."""
        assert self.course is not None
        random = self.random.bit_generator.state
        return Stand(self.course.copied(), dict(self.routed), self.hist.copy(), dict(random), self._turn)

    def go_on_from(self, stand: Stand) -> None:
        """Take up a negotiation of the same tasks where it stood."""
        self.course, self._turn = stand.course.copied(), stand.turn
        self.hist[:] = stand.history
        self.random.bit_generator.state = stand.random
        self.lay(stand.routed)

    def lay(self, routed: dict[int, Routed]) -> None:
        """Put down what is given in place of all that is."""
        for index in list(self.routed):
            self.rip(index)
        for index, tree in routed.items():
            self.put(index, tree)

    def run(self, limit: int = 60) -> bool:
        """Negotiate until `limit` rounds are done in all; return whether all are joined without a clash."""
        schedule = self.schedule
        if self.course is None:
            self.course = Course(self.order(), schedule.pressure, schedule.pressure)
        course = self.course
        while course.rounds < limit:
            for index in course.todo:
                self.rip(index)
                self.put(index, self._soft(index, course.pressure, course.rounds))
            course.rounds += 1
            found = {i: self.clashes(i, schedule.charge) for i in self.routed}
            bad = [i for i in sorted(found) if found[i]]
            total = sum(found.values())
            self.clash_log.append(total)
            course.first = course.first or total
            if total < course.least:
                course.least, course.best = total, dict(self.routed)
            if not bad:
                course.todo = []
                if all(self.complete(i) for i in range(len(self.tasks))):
                    self.course = None
                return self.course is None
            course.stalled = 0 if total < course.fewest else course.stalled + 1
            course.fewest = min(course.fewest, total)
            course.pressure = min(course.pressure * schedule.growth, schedule.most)
            if course.stalled >= STALL:
                course.pressure, course.stalled, course.fewest = course.low, 0, total
                self.hist *= 0.5
                bad = self._neighbourhood(bad)
            elif schedule.everything and course.rounds % schedule.everything == 0:
                bad = list(range(len(self.tasks)))
            course.todo = [int(i) for i in self.random.permutation(bad)]
        return False

    def hopeless(self) -> bool:
        """Tell whether so many of the first clashes are left that going on will not remove them."""
        rounds, share, few = HOPELESS
        course = self.course
        return course is not None and course.rounds >= rounds and course.least > max(share * course.first, few)

    def _soft(self, index: int, pressure: float, iteration: int) -> Routed:
        """Search with overlaps allowed, near the net at first and in a wider window as the iterations go on."""
        price = 0.0 if iteration == 0 else pressure
        margin = NARROWEST + WIDENING * iteration
        found = self.search(index, price, False, first=iteration, margin=margin)
        if found.joined < len(self.tasks[index].groups):
            found = self.search(index, price, False, first=iteration)
        return found

    def complete(self, index: int) -> bool:
        """Tell whether a task is routed whole."""
        return index in self.routed and self.routed[index].joined == len(self.tasks[index].groups)

    def _neighbourhood(self, bad: list[int]) -> list[int]:
        """Return the clashing tasks and those whose copper runs close to them, all taken up."""
        near = set(bad)
        boxes = {i: r.pieces for i, r in self.routed.items() if len(r.pieces)}
        margin = 8
        for i in bad:
            mine = boxes.get(i)
            if mine is None:
                continue
            low = np.minimum(mine[:, :2], mine[:, 2:4]).min(axis=0) - margin
            high = np.maximum(mine[:, :2], mine[:, 2:4]).max(axis=0) + margin
            for j, other in boxes.items():
                centre = (other[:, :2] + other[:, 2:4]) // 2
                if bool(np.any(np.all((centre >= low) & (centre <= high), axis=1))):
                    near.add(j)
        for i in near:
            self.rip(i)
        return sorted(near)

    def settle(self) -> list[int]:
        """From the best that was routed, take out clashing nets until none is left, and retry them hard.

        Return tasks that are not whole.
        """
        if self.course is not None:
            self.lay(self.course.best)
            self.course = None
        while True:
            found = {i: self.clashes(i) for i in self.routed}
            ends = {i: len(self.tasks[i].groups) for i in found}  # what a net joins is lost with it
            worst = max(found, key=lambda i: (found[i] / max(1, ends[i] - 1), i), default=-1)
            if worst < 0 or not found[worst]:
                break
            self.rip(worst)
        for _ in range(2):
            for index in self.order():
                if not self.complete(index):
                    self.rip(index)
                    self.put(index, self._most_joined(index))
        return [i for i in range(len(self.tasks)) if not self.complete(i)]

    def _most_joined(self, index: int) -> Routed:
        """Search against hard obstacles from each group in turn until all is joined; return what joins most."""
        found = self.search(index, 0.0, True)
        for first in range(1, max(len(self.tasks[index].groups), len(self._ways))):
            if found.joined == len(self.tasks[index].groups):
                break
            found = max(found, self.search(index, 0.0, True, first=first), key=lambda r: r.joined)
        return found

    def improve(self, passes: int) -> None:
        """Reroute each net against the rest as hard obstacles and keep what is not dearer, dearest nets first."""
        self.hist[:] = 0.0
        for _ in range(passes):
            gained = 0.0
            for index in sorted(self.routed, key=lambda i: (-self.routed[i].cost, i)):
                old = self.rip(index)
                assert old is not None
                starts = 1 if len(self.tasks[index].groups) < 3 else 3
                choices = [self.search(index, 0.0, True, first=k, margin=ROOMY) for k in range(starts)]
                whole = [c for c in choices if c.joined >= old.joined]
                best = min(whole, key=lambda c: c.cost, default=old)
                if best.cost >= old.cost:
                    best = old
                gained += old.cost - best.cost
                self.put(index, best)
            if gained <= 0:
                break


def _along(ways: NDArray[np.uint16], nodes: int, axis: int) -> NDArray[np.uint16]:
    """Return the ways with those on top along one axis alone."""
    found = ways.copy()
    found[:nodes] &= axis | (kernels.OTHER_LAYER if axis == kernels.ROWS else kernels.ACROSS)
    return found


def _price(routed: Routed) -> int:
    """Return what the search paid for all branches of a net, sharing included."""
    ends = routed.rows[:, 0] < 0
    return int(routed.rows[ends, 1].sum())
