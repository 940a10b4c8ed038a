"""The report: numbered text, and data with the keys that its documentation promises."""

from __future__ import annotations

import json

from modboard.check import check, report
from modboard.check.findings import Finding
from modboard.describe.model import Waiver
from tests.check.build import SITE, Scene, net, scene, track


def made(*waivers: Waiver) -> Scene:
    """Return tracks of A and B, and of C and D, too close to each other."""
    wires = [track(n, (10, y), (20, y)) for n, y in (("A", 10.0), ("B", 10.4), ("C", 20.0), ("D", 20.4))]
    return scene(top=wires, nets=[net(n) for n in "ABCD"], waivers=waivers)


(PRINT,) = [f.fingerprint for f in check(*made()) if f.rule == "copper-gap" and "track of C" in f.where]
MADE = made(Waiver("copper-gap", "track of C", "low voltage", SITE, PRINT))
FOUND = check(*MADE)


def test_text_says_rule_place_figures_and_cure() -> None:
    text = report.lines(FOUND)
    assert text[0] == "  1. error copper-gap: between the track of A and the track of B, top at 10.00, 10.20 mm"
    assert text[1].strip() == "copper of A and B is 0.100 mm apart, 0.150 mm too close"
    assert text[2].strip().startswith("measured 0.100 mm; required 0.250 mm; source: ")
    assert text[3].strip().startswith("cure: move one of the two away")
    assert "     waived: low voltage" in text
    assert text[-1] == "1 error, 8 warnings, 1 waived"


def test_data_has_the_promised_keys_and_survives_json() -> None:
    data = json.loads(report.as_json("demo", FOUND))
    assert list(data) == ["schema", "design", "errors", "warnings", "waived", "findings", "waivers"]
    assert (data["schema"], data["design"], data["errors"], data["waived"]) == (1, "demo", 1, 1)
    assert data["errors"] + data["warnings"] + data["waived"] == len(data["findings"])
    keys = ["number", "rule", "severity", "at", "where", "message"]
    keys += ["measured", "required", "unit", "cure", "source", "waived", "fingerprint"]
    for number, finding in enumerate(data["findings"], 1):
        assert list(finding) == keys and finding["number"] == number
    assert data["findings"][0]["at"] == [10.0, 10.2]
    assert (data["findings"][0]["measured"], data["findings"][0]["required"]) == (0.1, 0.25)


def test_place_is_told_once() -> None:
    at, far = (10.46, 7.38), (0.46, 7.38)
    assert report.placed(Finding("a", "error", at, "the track of V5 at 10.46, 7.38, top", "")) == (
        "the track of V5 at 10.46, 7.38 mm, top"
    )
    assert report.placed(Finding("a", "error", far, "the track of V5 at 10.46, 7.38, top", "")) == (
        "the track of V5 at 10.46, 7.38, top at 0.46, 7.38 mm"
    )
    assert report.placed(Finding("a", "error", at, "R1", "")) == "R1 at 10.46, 7.38 mm"
    assert report.placed(Finding("a", "error", None, "R1", "")) == "R1"


def test_nothing_found() -> None:
    assert report.lines(()) == ["no findings"]
    assert json.loads(report.as_json("demo", ()))["findings"] == []


def test_waivers_are_listed_with_what_they_cover() -> None:
    data = json.loads(report.as_json("demo", FOUND, MADE[0].description))
    (waiver,) = data["waivers"]
    assert list(waiver) == ["rule", "where", "reason", "site", "fingerprint", "now", "covers"]
    (number,) = waiver["covers"]
    covered = data["findings"][number - 1]
    assert covered["waived"] == waiver["reason"] == "low voltage"
    assert waiver["now"] == waiver["fingerprint"] == covered["fingerprint"] and len(waiver["now"]) == 8
    (line,) = [line for line in report.lines(FOUND, MADE[0].description) if line.startswith("waiver")]
    assert 'copper-gap "track of C" (build.py:1): low voltage; covers' in line and waiver["now"] in line
