"""An old board under repair: from a plain list of its nets to probes in the order that finds a break soonest.

Nothing is known of where its tracks run, so each net is proved by a tree over its pins (n pins, n - 1 probes, as in
`continuity`), pins of suspect parts first.  Answers that come in narrow a break down to two groups of pins.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

from modboard.errors import ModboardError, nearest
from modboard.fab.parts_list import csv_text

NETLIST_COLUMNS = ("net", "part", "pin")
RESULT_COLUMNS = ("red", "black", "result")
MOST_ROWS = 20_000
Nets = Mapping[str, tuple[str, ...]]


class RepairError(ModboardError):
    """A list of nets or of answers that cannot be read; its text names file and line."""


@dataclass(frozen=True)
class RepairProbe:
    """One pair that must beep, and whether a suspect part is at either end."""

    net: str
    red: str
    black: str
    suspect: bool


@dataclass(frozen=True)
class Broken:
    """A net in pieces: the groups of pins heard together, the largest first, and the next pair to try, if any.

    While `certain` is False some groups have not been compared yet.
    """

    net: str
    groups: tuple[tuple[str, ...], ...]
    certain: bool
    next_pair: tuple[str, str] | None

    @property
    def words(self) -> str:
        """Return where it is broken, and the wire that mends it once that is certain."""
        sides = [" + ".join(g) for g in self.groups]
        if not self.certain and self.next_pair:
            red, black = self.next_pair
            return f"{self.net}: broken; not heard together yet: {' | '.join(sides)}; next: red {red}, black {black}"
        wires = ", ".join(f"{self.groups[0][0]} to {g[0]}" for g in self.groups[1:])
        return f"{self.net}: broken between {' and '.join(sides)}; a wire mends it: {wires}"


def read_netlist(path: Path) -> dict[str, tuple[str, ...]]:
    """Read a CSV with the columns net, part, pin; return the pins ("IC4.8") of each net, in the order written.

    Raises RepairError with file and line for missing columns, empty cells, and a pin on two nets.
    """
    nets: dict[str, list[str]] = {}
    owner: dict[str, tuple[str, int]] = {}
    for line, (net, part, pin) in _rows(path, NETLIST_COLUMNS):
        name = f"{part}.{pin}"
        before = owner.setdefault(name, (net, line))
        if before[0] != net:
            raise RepairError(
                f'{path.name}:{line}: pin {name} is on net "{net}" here but on "{before[0]}" in line {before[1]}; '
                "a pin is on one net"
            )
        if name not in nets.setdefault(net, []):
            nets[net].append(name)
    if not nets:
        raise RepairError(f"{path.name}: lists no nets; write one line for each pin: net,part,pin")
    return {net: tuple(pins) for net, pins in nets.items()}


def plan(nets: Nets, suspects: Iterable[str] = ()) -> tuple[RepairProbe, ...]:
    """Return the probes, those that touch something suspect first, the nets with the largest share of it before others.

    A suspect is a part ("IC4"), a pin ("IC4.8") or a net ("A0"); * and ? stand for letters ("IC4?", "A*").  If faults
    sit at suspects, and any of them is as likely as another, no order finds one sooner: each probe proves one suspect
    pin (the ratio rule for equal costs, Smith 1956).

    Raises RepairError for a suspect that is nowhere in the list.
    """
    wanted = suspect_pins(nets, suspects)
    probes: list[RepairProbe] = []
    for net, pins in nets.items():
        # Red goes from pin to pin; black stays on a pin that nobody suspects, if there is one.
        held = next((p for p in pins if p not in wanted), pins[0])
        probes += [RepairProbe(net, p, held, bool({p, held} & wanted)) for p in pins if p != held]
    share = {net: sum(p in wanted for p in pins) / len(pins) for net, pins in nets.items()}
    order = {net: n for n, net in enumerate(nets)}
    return tuple(sorted(probes, key=lambda p: (not p.suspect, -share[p.net], order[p.net])))


def suspect_pins(nets: Nets, suspects: Iterable[str]) -> set[str]:
    """Return the pins that are suspect: themselves, or by their part or net; RepairError for a word that fits none."""
    all_pins = {pin for pins in nets.values() for pin in pins}
    names = {_part(pin) for pin in all_pins} | set(nets)
    wanted: set[str] = set()
    for word in suspects:
        found = {
            pin
            for net, pins in nets.items()
            for pin in pins
            if any(fnmatchcase(name, word) for name in (pin, _part(pin), net))
        }
        if not found:
            close = nearest(word, all_pins if "." in word else names)
            hint = f"; did you mean {' or '.join(close)}?" if close else ""
            raise RepairError(f"suspect {word} is no part, pin or net of the list{hint}")
        wanted |= found
    return wanted


def read_results(path: Path, nets: Nets) -> dict[tuple[str, str], bool]:
    """Read a CSV with the columns red, black, result ("beep", "silent", or empty for not yet); True is a beep.

    Raises RepairError with file and line for pins that are on no net or on two, and for other answers.
    """
    of = {pin: net for net, pins in nets.items() for pin in pins}
    found: dict[tuple[str, str], bool] = {}
    for line, (*ends, result) in _rows(path, RESULT_COLUMNS, may_be_empty=("result",)):
        # A name like a formula was written with an apostrophe before it, lest a spreadsheet run it.
        red, black = (end[1:] if end not in of and end.startswith("'") and end[1:] in of else end for end in ends)
        for pin in (red, black):
            if pin not in of:
                close = nearest(pin, of)
                hint = f"; did you mean {' or '.join(close)}?" if close else ""
                raise RepairError(f"{path.name}:{line}: pin {pin} is on no net of the list{hint}")
        if of[red] != of[black]:
            raise RepairError(f"{path.name}:{line}: {red} is on {of[red]} and {black} on {of[black]}; probe one net")
        if result and result not in ("beep", "silent"):
            raise RepairError(f'{path.name}:{line}: result "{result}" is not known; write beep, silent or nothing')
        if result:
            found[red, black] = result == "beep"
    return found


def broken(nets: Nets, results: Mapping[tuple[str, str], bool]) -> tuple[Broken, ...]:
    """Return the nets that some answer shows to be in pieces, each with what its answers tell.

    Raises RepairError if the answers contradict one another: a silent pair that other beeps join.
    """
    found = []
    for net, pins in nets.items():
        root = {pin: pin for pin in pins}

        def find(pin: str, root: dict[str, str] = root) -> str:
            while root[pin] != pin:
                pin = root[pin]
            return pin

        mine = {pair: beep for pair, beep in results.items() if pair[0] in root}
        for (a, b), beep in mine.items():
            if beep:
                root[find(b)] = find(a)
        silent = [pair for pair, beep in mine.items() if not beep]
        for a, b in silent:
            if find(a) == find(b):
                raise RepairError(f"{net}: {a} and {b} were silent, yet other beeps join them; probe them again")
        if not silent:
            continue
        apart = {frozenset((find(a), find(b))) for a, b in silent}
        groups: dict[str, list[str]] = {}
        for pin in pins:
            groups.setdefault(find(pin), []).append(pin)
        ordered = sorted(groups, key=lambda g: (-len(groups[g]), pins.index(groups[g][0])))
        # A group matters only until it is compared with every other one.
        open_pairs = [(a, b) for n, a in enumerate(ordered) for b in ordered[n + 1 :] if frozenset((a, b)) not in apart]
        pair = (groups[open_pairs[0][1]][0], groups[open_pairs[0][0]][0]) if open_pairs else None
        found.append(Broken(net, tuple(tuple(groups[g]) for g in ordered), not open_pairs, pair))
    return tuple(found)


def probe_table(probes: Iterable[RepairProbe], results: Mapping[tuple[str, str], bool], nets: Nets) -> str:
    """Return the plan as CSV with a column for answers, which `read_results` reads back.

    Pairs answered beyond the plan, and those to try next in broken nets, follow it, so that nothing found is lost.
    """
    said = {True: "beep", False: "silent", None: ""}
    planned = list(probes)
    known = {(p.red, p.black) for p in planned}
    of = {pin: net for net, pins in nets.items() for pin in pins}
    more = [pair for pair in results if pair not in known]
    more += [b.next_pair for b in broken(nets, results) if b.next_pair and b.next_pair not in results]
    planned += [RepairProbe(of[red], red, black, suspect=False) for red, black in dict.fromkeys(more)]
    rows = [
        [str(n), p.net, p.red, p.black, "yes" if p.suspect else "", said[results.get((p.red, p.black))]]
        for n, p in enumerate(planned, 1)
    ]
    return csv_text(("step", "net", "red", "black", "suspect", "result"), rows)


def _part(pin: str) -> str:
    return pin.rpartition(".")[0]


def _rows(
    path: Path, columns: tuple[str, ...], may_be_empty: tuple[str, ...] = ()
) -> list[tuple[int, tuple[str, ...]]]:
    """Return (line, cells) of a CSV in the order of `columns`, other columns passed over."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise RepairError(
            f"cannot read {path}: {reason}; save it as CSV with the columns {','.join(columns)}"
        ) from None
    reader = csv.reader(text.splitlines())
    head = [cell.strip().lower() for cell in next(reader, [])]
    missing = [c for c in columns if c not in head]
    if missing:
        raise RepairError(
            f"{path.name}:1: no column {', '.join(missing)}; the first line must name {','.join(columns)}"
        )
    found = []
    for row in reader:
        if not any(cell.strip() for cell in row):
            continue
        cells = {name: row[head.index(name)].strip() if head.index(name) < len(row) else "" for name in columns}
        for name, cell in cells.items():
            if not cell and name not in may_be_empty:
                raise RepairError(f"{path.name}:{reader.line_num}: {name} is empty")
        found.append((reader.line_num, tuple(cells.values())))
        if len(found) > MOST_ROWS:
            raise RepairError(f"{path.name}: more than {MOST_ROWS} lines; list part of the board at a time")
    return found
