"""What a person writes: parts, nets, places, in any order, checked as one when the layout asks for it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import count
from typing import Any

import shapely

from modboard.describe import measures, placing
from modboard.describe.cavity import Cavity
from modboard.describe.circuit import NetSaid, forgotten, joined, known_part, left_open, wires
from modboard.describe.drawn import Said, drawn_copper, keep_out_said, track_said, via_said
from modboard.describe.drills import with_few_drills
from modboard.describe.host import WireSaid, change_said, cut_cautions, wire_said
from modboard.describe.host import wires as host_wires
from modboard.describe.lands import refuse_cramped, refuse_off_edge
from modboard.describe.model import CavityModel, Description, HostCut, KeepOut, MountingHole, Net, Part, PinRef, Waiver
from modboard.describe.notation import expanded_words
from modboard.describe.one_sided import as_soldered, one_sided
from modboard.describe.outline import BoardOutline, board_outline, given_outline
from modboard.describe.parts import find_part
from modboard.describe.rules import Rules
from modboard.describe.screws import mounting_hole
from modboard.describe.widths import cautions, resolve, spreads
from modboard.errors import CallSite, DesignError, caller
from modboard.library.model import Footprint

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]*\Z")
_REFERENCE = re.compile(r"[A-Za-z][A-Za-z0-9_+-]*\Z")


class Design:
    """A mod board: its circuit, the cavity it goes into and the rules it is made by.

    All lengths mm.  Calls may come in any order; single mistakes are answered at once, those that need the whole
    design by `described`.  Every mistake is a DesignError that names the file and line of the call.
    """

    def __init__(
        self,
        name: str,
        *,
        cavity: Cavity | None = None,
        outline: Sequence[Any] | None = None,
        rules: str | Rules = "pool",
        title: str = "",
        revision: str = "A",
        thickness: float | None = None,
        seed: int = 1,
        acknowledge_high_voltage: bool = False,
        teardrops: bool = False,
    ) -> None:
        """Begin the design `name` (used for file names: letters, digits, ``- _ .``).

        The board is as large as the `cavity` allows unless `outline` is given: a list of corners in the cavity's
        frame, or (width, height), centred in the cavity or else with its lower left corner at (0, 0).
        `rules` is "pool", "fine", "home" or a `Rules`; `thickness` overrides the rules'.
        With `teardrops` tracks widen where they meet lands and vias, if there is room.
        """
        self._site = caller()
        self._name = measures.word(name, "name of the design", self._site)
        if not _NAME.match(self._name):
            raise DesignError(
                f'name of the design "{name}" names files: use letters, digits, "-", "_" and "." only', self._site
            )
        if cavity is not None and not isinstance(cavity, Cavity):
            raise DesignError(
                f"cavity= takes a Cavity, for example Cavity.rectangle(57, 31), not {cavity!r}", self._site
            )
        if cavity is None and outline is None:
            raise DesignError(f'design "{name}" needs cavity=, or outline= to say how large the board is', self._site)
        self._cavity = cavity
        self._outline = (
            None if outline is None else given_outline(outline, cavity.model() if cavity else None, self._site)
        )
        chosen = rules if isinstance(rules, Rules) else Rules.named(rules)
        self._rules = chosen if thickness is None else chosen.but(thickness=thickness)
        self._title = measures.text(title, "title", self._site)
        self._revision = measures.text(revision, "revision", self._site)
        self._seed = measures.whole(seed, "seed", self._site)
        self._acknowledged = measures.flag(acknowledge_high_voltage, "acknowledge_high_voltage", self._site)
        self._teardrops = measures.flag(teardrops, "teardrops", self._site)
        self._parts: dict[str, Part] = {}
        self._nets: dict[str, NetSaid] = {}
        self._open: list[tuple[str, CallSite]] = []
        self._places: list[placing.WishSaid] = []
        self._groups: list[tuple[tuple[str, ...], CallSite]] = []
        self._holes: list[tuple[MountingHole, CallSite]] = []
        self._waivers: list[Waiver] = []
        self._notes: list[str] = []
        self._wires: list[WireSaid] = []
        self._cuts: list[HostCut] = []
        self._drawn: list[Said] = []
        self._keep_outs: list[KeepOut] = []
        self._removals: list[HostCut] = []
        self._known: tuple[CavityModel | None, Description] | None = None

    def part(
        self,
        reference: str,
        kind: str,
        value: str = "",
        *,
        footprint: str | None = None,
        pins: str | Sequence[str] | Mapping[str, str] | None = None,
        types: Mapping[str, str] | None = None,
        height: float | None = None,
        note: str = "",
        fitted: bool = True,
    ) -> None:
        """Add the part `reference` ("R1"); `kind` is a device ("2N3904", "resistor"), a footprint's name or a file.

        A file of your own ("my-part.toml") counts from the design's folder; `library.own` says what is in it.  `pins`
        names the contacts in pad order ("out gnd") or by pad ({"1": "out"}), `types` says what they are electrically
        ({"VCC GND": "power-in", "Y*": "output"}).  `height` (mm above the board) overrides the footprint's where yours
        was measured.  A part not `fitted` has its place but stays off.
        """
        site = self._changed()
        several = expanded_words(reference, "reference of a part", site) if isinstance(reference, str) else []
        if len(several) > 1 and all(_REFERENCE.match(one) for one in several):
            raise DesignError(f'"{reference}" names {len(several)} parts; part() adds one, so call it in a loop', site)
        name = measures.word(reference, "reference of a part", site)
        if not _REFERENCE.match(name):
            raise DesignError(f'"{name}" can\'t be a part\'s reference; write a letter first, like "R1" or "J2"', site)
        if name in self._parts:
            before = self._parts[name]
            raise DesignError(
                f"part {name} exists already, a {before.kind} ({before.site}); choose another reference", site
            )
        part = find_part(name, kind, value, footprint, pins, self._rules, site, types)
        self._parts[name] = replace(
            part,
            height=None if height is None else measures.length(height, f"height of part {name}", site),
            note=measures.text(note, f"note of part {name}", site),
            fitted=measures.flag(fitted, f"fitted of part {name}", site),
        )

    def net(
        self,
        name: str,
        pins: str | Iterable[str] = "",
        *,
        volts: float | None = None,
        ac_volts: float | None = None,
        amps: float | None = None,
        width: float | None = None,
        gap: float | None = None,
        pour: str | None = None,
        quiet: bool | None = None,
        noisy: bool | None = None,
    ) -> None:
        """Join `pins` ("R1.1 Q1.B J2.out", ranges as "U1.A[0..7]") to the net `name`; more calls add to it.

        A pin name that several pads bear joins them all.  `volts` is the greatest voltage to ground (DC or peak), or
        `ac_volts` the effective value of what alternates; they set the gap, `amps`, the greatest current, the width,
        unless `width` or `gap` (mm) say otherwise.  `pour` ("top", "bottom", "both") fills that side with the net.
        A `quiet` net (an input, a reference) is led well away from `noisy` ones (clocks, switched coils).  A `name`
        with a range is a bus.
        """
        site = self._changed()
        facts = {"volts": volts, "ac_volts": ac_volts, "amps": amps, "width": width, "gap": gap, "pour": pour}
        facts |= {"quiet": quiet, "noisy": noisy}
        named = measures.word(name, "name of the net", site)
        if "[" in named or "]" in named:
            self._join_bus(named, pins, facts, site)
            return
        self._join(named, expanded_words(pins, f'pins of net "{named}"', site), facts, site)

    def bus(
        self,
        name: str,
        pins: str | Iterable[str],
        *,
        volts: float | None = None,
        ac_volts: float | None = None,
        amps: float | None = None,
        width: float | None = None,
        gap: float | None = None,
        quiet: bool | None = None,
        noisy: bool | None = None,
    ) -> None:
        """Join ranges wire by wire: ``bus("A[0..10]", "U1.A[0..10] J1.A[0..10]")`` makes the nets A0 to A10."""
        site = self._changed()
        facts = {"volts": volts, "ac_volts": ac_volts, "amps": amps, "width": width, "gap": gap}
        facts |= {"quiet": quiet, "noisy": noisy}
        self._join_bus(measures.word(name, "name of the bus", site), pins, facts, site)

    def no_connect(self, pins: str | Iterable[str]) -> None:
        """Mark pins that are meant to stay unconnected: ``no_connect("U1.1 U1.26")``."""
        site = self._changed()
        self._open += [(word, site) for word in expanded_words(pins, "no_connect", site)]

    def place(
        self,
        parts: str | Iterable[str],
        *,
        at: Sequence[float] | None = None,
        x: float | None = None,
        y: float | None = None,
        turn: float | None = None,
        side: str | None = None,
        edge: str | None = None,
        along: float | None = None,
        opening: str | None = None,
        inset: float = 0.0,
        overhang: float = 0.0,
        near: str | None = None,
        anchor: str = "origin",
    ) -> None:
        """Say where one part (or each of several) goes; what is not said the tool decides.

        A fixed place: `at` or `x` and `y`, for the part's `anchor` ("origin", "centre" or a pin).  Against the board
        edge at a wall: `edge` with `along` (y on left and right, x on bottom and top), or at an `opening` of the
        cavity; its courtyard `inset` from the edge or hanging `overhang` over it.  `near` a part ("U1") or one of
        its pins ("U1.8"), or one for each of several parts ("U[1..5].8").  `turn` is in degrees counter-clockwise,
        `side` "top" or "bottom".
        """
        site = self._changed()
        references = tuple(dict.fromkeys(expanded_words(parts, "parts to place", site)))
        if not references:
            raise DesignError('place needs a part, for example place("J1", edge="right")', site)
        said = {"at": at, "x": x, "y": y, "turn": turn, "side": side, "edge": edge, "along": along}
        said |= {"opening": opening, "inset": inset, "overhang": overhang, "near": near, "anchor": anchor}
        each = placing.places_near(references, near, site)
        self._places += [placing.said(some, site, **{**said, "near": one}) for some, one in each]

    def group(self, parts: str | Iterable[str]) -> None:
        """Keep parts together: ``group("R1 R2 C1")``."""
        site = self._changed()
        references = tuple(dict.fromkeys(expanded_words(parts, "parts of the group", site)))
        if len(references) < 2:
            raise DesignError("a group needs two parts or more", site)
        self._groups.append((references, site))

    def hole(
        self,
        at: Sequence[float],
        *,
        screw: str | None = None,
        diameter: float | None = None,
        keep_out: float | None = None,
        name: str = "",
    ) -> None:
        """Add a bare hole at (x, y) for a `screw` ("M3") or of `diameter` mm.

        A screw's hole is ISO 273 medium, and 0.5 mm round its washer stays free of copper and parts; `keep_out` sets
        the diameter of that room outright.
        """
        site = self._changed()
        self._holes.append((mounting_hole(at, screw, diameter, keep_out, name, site), site))

    def track(
        self, net: str, points: Sequence[Sequence[float]], *, width: float | None = None, side: str = "top"
    ) -> None:
        """Draw a track of `net` yourself, through `points` (x, y), on `side` "top" or "bottom".

        It stays as drawn; the tool joins the rest of the net to it.  `width` (mm) is the net's own unless you say it.
        """
        site = self._changed()
        self._drawn.append(track_said(net, points, width, side, site))

    def via(self, net: str, at: Sequence[float]) -> None:
        """Put a via of `net` at (x, y), of the size that the rules give."""
        site = self._changed()
        self._drawn.append(via_said(net, at, site))

    def keep_out(
        self,
        area: Sequence[Any] | None = None,
        bars: str | Iterable[str] = "copper parts",
        *,
        at: Sequence[float] | None = None,
        diameter: float | None = None,
        side: str = "both",
        name: str = "",
    ) -> None:
        """Keep an area free: a rectangle (x0, y0, x1, y1), a list of corners, or a disc `at` (x, y) of `diameter`.

        `bars` says of what: "tracks", "vias", "pours", "lands", "parts"; "copper" is the first four.  `side` is "top",
        "bottom" or "both".
        """
        site = self._changed()
        self._keep_outs.append(keep_out_said(area, bars, at, diameter, side, name, site))

    def waive(self, rule: str, where: str, reason: str, *, fingerprint: str = "") -> None:
        """Accept findings of `rule` whose place has the words `where` in it; `reason` goes into the order note.

        With the `fingerprint` that ``modboard check`` prints, the waiver ends when what it accepts changes.
        """
        site = self._changed()
        self._waivers.append(
            Waiver(
                measures.word(rule, "rule to waive", site),
                measures.text(where, "place to waive at", site, empty=False),
                measures.text(reason, f"reason for waiving {rule}", site, empty=False),
                site,
                measures.text(fingerprint, f"fingerprint of the waiver of {rule}", site),
            )
        )

    def wire(
        self,
        pin: str,
        *,
        host: str,
        at: Sequence[float] | None = None,
        length: float | None = None,
        colour: str | None = None,
        undo: str = "",
    ) -> None:
        """Say where the wire from a pad goes on the host: ``wire("J1.V5", host="IC4 pin 8")``.

        `at` is the host point in the cavity's frame (mm), from which the bench sheet works out the length to cut;
        `length` (mm) says it outright.  `colour` is one that wire is sold in; `undo` says how it comes off again.
        """
        site = self._changed()
        self._wires.append(wire_said(pin, host, at, length, colour, undo, site))

    def cut(self, what: str, *, undo: str) -> None:
        """Declare that something on the host must be cut, and how to make it good; the bench sheet warns of it."""
        self._cuts.append(change_said(what, undo, "cut", self._changed()))

    def removes(self, what: str, *, undo: str) -> None:
        """Say what comes out of the host whole, and how it goes back: a line of the way-back table.

        ``removes("the modulator's insides", undo="solder its four pins and two lugs")``
        """
        self._removals.append(change_said(what, undo, "removes", self._changed()))

    def note(self, text: str) -> None:
        """Add a remark that goes into the order note and onto the bench page."""
        site = self._changed()
        self._notes.append(measures.text(text, "note", site, empty=False))

    def footprint_of(self, reference: str) -> Footprint:
        """Return the land pattern of a part of this design; DesignError if there is no such part."""
        return known_part(reference, "footprint_of", self._parts, caller()).footprint

    def free_reference(self, letters: str) -> str:
        """Return the first reference with those letters that no part has: "R4" where R1 to R3 exist."""
        return next(f"{letters}{n}" for n in count(1) if f"{letters}{n}" not in self._parts)

    def described(self) -> Description:
        """Return everything said so far, checked and resolved, frozen.  Raises DesignError for what can't be."""
        cavity = self._cavity.model() if self._cavity else None
        if self._known is None or self._known[0] != cavity:
            self._known = (cavity, self._describe(cavity))
        return self._known[1]

    def _describe(self, cavity: CavityModel | None) -> Description:
        board = self._board(cavity)
        wishes = placing.wishes(self._places, self._parts, cavity, board.polygon)
        for part in self._parts.values():
            refuse_off_edge(part, wishes.get(part.reference), self._rules)
            refuse_cramped(part, self._rules, self._waivers)
        for hole, site in self._holes:
            if not shapely.contains(board.polygon, shapely.Point(hole.at).buffer(hole.diameter / 2)):
                x0, y0, x1, y1 = board.polygon.bounds
                raise DesignError(
                    f"hole at ({hole.at[0]:g}, {hole.at[1]:g}) is not within the board, "
                    f"which spans x {x0:g} to {x1:g} and y {y0:g} to {y1:g} mm",
                    site,
                )
        pins = joined(self._nets, self._parts)
        owner = {ref: name for name, refs in pins.items() for ref in refs}
        marked = left_open(self._open, owner, self._parts)
        nets, remarks = self._resolved_nets(pins)
        holes, keep_outs = tuple(hole for hole, _ in self._holes), tuple(self._keep_outs)
        named = {net.name: net for net in nets}
        tracks, vias = drawn_copper(self._drawn, named, self._rules, board.polygon, holes, keep_outs)
        described = Description(
            name=self._name,
            title=self._title or self._name,
            revision=self._revision,
            parts=with_few_drills(tuple(self._parts.values()), self._rules),
            nets=nets,
            unconnected=marked,
            wishes=wishes,
            groups=self._checked_groups(),
            cavity=cavity,
            outline=board.polygon,
            holes=holes,
            rules=self._rules,
            waivers=tuple(self._waivers),
            cautions=(*cautions(self._nets, self._acknowledged, self._site), *cut_cautions(self._cuts)),
            notes=(*self._notes, *board.notes, *remarks, *forgotten(self._parts, owner, marked)),
            seed=self._seed,
            teardrops=self._teardrops,
            site=self._site,
            wires=host_wires(self._wires, self._parts),
            cuts=tuple(self._cuts),
            removals=tuple(self._removals),
            own_notes=tuple(self._notes),
            keep_outs=keep_outs,
            drawn_tracks=tracks,
            drawn_vias=vias,
        )
        return one_sided(described) if self._rules.one_sided else as_soldered(described)

    def _board(self, cavity: CavityModel | None) -> BoardOutline:
        if self._outline is not None:
            return BoardOutline(self._outline)
        assert cavity is not None, "refused by the constructor"
        return board_outline(cavity, self._rules.thickness, self._rules.cutter, self._site)

    def _resolved_nets(self, pins: Mapping[str, tuple[PinRef, ...]]) -> tuple[tuple[Net, ...], list[str]]:
        spread = spreads(self._nets)
        both = [resolve(said, pins[name], self._rules, spread[name]) for name, said in self._nets.items()]
        return tuple(net for net, _ in both), [note for _, notes in both for note in notes]

    def _checked_groups(self) -> tuple[tuple[str, ...], ...]:
        where: dict[str, CallSite] = {}
        for references, site in self._groups:
            for reference in references:
                known_part(reference, "group", self._parts, site)
                if reference in where:
                    raise DesignError(
                        f"group: {reference} is in another group ({where[reference]}); a part can be in one only", site
                    )
                where[reference] = site
        return tuple(references for references, _ in self._groups)

    def _join(self, name: str, pins: list[str], facts: Mapping[str, object], site: CallSite) -> None:
        net = self._nets.get(name) or NetSaid(name, site)
        net.add_facts(facts, site)
        net.pins += [(pin, site) for pin in pins]
        self._nets[name] = net

    def _join_bus(self, name: str, pins: object, facts: Mapping[str, object], site: CallSite) -> None:
        for wire, its_pins in wires(name, pins, site).items():
            self._join(wire, its_pins, facts, site)

    def _changed(self) -> CallSite:
        """Forget what was worked out, for something is about to be added; return the user's line."""
        self._known = None
        return caller()
