"""Waivers cover the findings they fit and no others, and say so when they fit none."""

from __future__ import annotations

from modboard.check import check
from modboard.check.findings import Finding, fingerprint
from modboard.describe.model import Waiver
from tests.check.build import SITE, Scene, net, scene, track


def two_faults(*waivers: Waiver) -> Scene:
    """Tracks of A and B, and of C and D, 0.1 mm apart where 0.25 is asked."""
    wires = [track(n, (10, y), (20, y)) for n, y in (("A", 10.0), ("B", 10.4), ("C", 20.0), ("D", 20.4))]
    ends = {"dangling-track": "the loose ends are meant"}
    waived = [Waiver(rule, "", reason, SITE) for rule, reason in ends.items()]
    return scene(top=wires, nets=[net(n) for n in "ABCD"], waivers=[*waived, *waivers])


def pinned(where: str, reason: str) -> Waiver:
    """Return a waiver of gaps with the fingerprint of what it fits among the two faults."""
    open_ = [f for f in check(*two_faults()) if f.rule == "copper-gap" and where in f.where]
    return Waiver("copper-gap", where, reason, SITE, fingerprint(open_))


def test_waiver_without_a_fingerprint_covers_no_error_and_says_what_to_write() -> None:
    found = check(*two_faults(Waiver("copper-gap", "track of C", "low voltage", SITE)))
    assert all(f.stands for f in found if f.rule == "copper-gap")
    (unpinned,) = [f for f in found if f.rule == "waiver-unpinned" and "copper-gap" in f.where]
    assert f'fingerprint="{pinned("track of C", "").fingerprint}"' in unpinned.message
    assert all(f.waived for f in found if f.rule == "dangling-track")  # warnings it may cover


def test_waiver_covers_its_place_only() -> None:
    found = check(*two_faults(pinned("track of C", "low voltage")))
    gaps = {f.where: f for f in found if f.rule == "copper-gap"}
    assert gaps["between the track of C and the track of D, top"].waived == "low voltage"
    assert not gaps["between the track of C and the track of D, top"].stands
    assert gaps["between the track of A and the track of B, top"].waived == ""
    assert gaps["between the track of A and the track of B, top"].stands
    assert not [f for f in found if f.rule == "waiver-unused"]


def test_waiver_of_another_rule_covers_nothing_and_is_reported() -> None:
    found = check(*two_faults(Waiver("short", "track of C", "low voltage", SITE)))
    assert all(not f.waived for f in found if f.rule == "copper-gap")
    (unused,) = [f for f in found if f.rule == "waiver-unused"]
    assert unused.severity == "warning" and "build.py:1" in unused.where and '"track of C"' in unused.where


def test_empty_place_covers_every_finding_of_the_rule() -> None:
    found = check(*two_faults(pinned("", "prototype")))
    assert [f.waived for f in found if f.rule == "copper-gap"] == ["prototype", "prototype"]
    assert not any(f.stands for f in found)


def apart(gap: float, print_: str) -> list[Finding]:
    """Return the findings of tracks `gap` mm apart and a waiver with a fingerprint."""
    wires = [track("A", (10, 10), (20, 10)), track("B", (10, 10.3 + gap), (20, 10.3 + gap))]
    waiver = Waiver("copper-gap", "track of A", "low voltage", SITE, print_)
    made = scene(top=wires, nets=[net("A"), net("B")], waivers=[waiver])
    return [f for f in check(*made) if f.rule in ("copper-gap", "waiver-expired", "waiver-unused")]


def test_waiver_with_a_fingerprint_ends_when_what_it_accepts_changes() -> None:
    """From 0.100 to 0.099 mm: a micrometre is a change."""
    (open_,) = [f for f in apart(0.1, "") if f.rule == "copper-gap"]
    (held,) = apart(0.1, open_.fingerprint)
    assert held.waived == "low voltage" and held.fingerprint == open_.fingerprint
    gap, expired = apart(0.099, open_.fingerprint)
    assert gap.stands and gap.waived == ""
    assert (expired.rule, expired.severity) == ("waiver-expired", "warning")
    assert open_.fingerprint in expired.message and gap.fingerprint in expired.message


def test_waiver_with_a_fingerprint_does_not_cover_a_second_finding() -> None:
    waiver = Waiver("copper-gap", "track of", "low voltage", SITE, pinned("track of C", "").fingerprint)
    found = [f for f in check(*two_faults(waiver)) if f.rule == "copper-gap"]
    assert len(found) == 2 and all(f.stands for f in found)


def test_waiver_of_a_rule_that_there_is_not_is_told_the_nearest() -> None:
    found = check(*two_faults(Waiver("underlid", "U1", "it clears", SITE)))
    (unused,) = [f for f in found if f.rule == "waiver-unused"]
    assert unused.message.startswith('there is no rule "underlid"; did you mean under-lid')
