"""`check --json` keeps to the form that DEVELOPERS.md lays down, in the words of JSON Schema (draft 2020-12)."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from modboard.check import check, report
from modboard.describe.model import Waiver
from tests.check.build import SITE, net, scene, track
from tests.check.faults import KINDS, spoilt

BY_HAND = [kind for kind in KINDS if kind.boards[0] == "by hand"]
PAGE = Path(__file__).parents[2] / "DEVELOPERS.md"
TYPES: dict[str, Any] = {
    "object": dict,
    "array": list,
    "string": str,
    "integer": int,
    "number": (int, float),
    "null": type(None),
}


def form() -> dict[str, Any]:
    """Return the form as it stands on the page."""
    (text,) = re.findall(r"## Findings for programs.*?```json\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    found: dict[str, Any] = json.loads(text)
    return found


def breaches(value: Any, asked: dict[str, Any], at: str = "$") -> list[str]:
    """Return where a value breaks a form: types, enums, required keys, and here also keys that the form has not."""
    if "enum" in asked:
        return [] if value in asked["enum"] else [f"{at}: {value!r}"]
    kinds = [asked["type"]] if isinstance(asked["type"], str) else asked["type"]
    if isinstance(value, bool) or not any(isinstance(value, TYPES[kind]) for kind in kinds):
        return [f"{at}: {value!r} is not {kinds}"]
    found = []
    if isinstance(value, dict):
        found += [f"{at} lacks {key}" for key in asked["required"] if key not in value]
        found += [f"{at} has {key}, which is not written down" for key in value if key not in asked["properties"]]
        for key, each in value.items():
            found += breaches(each, asked["properties"].get(key, {"enum": [each]}), f"{at}.{key}")
    if isinstance(value, list):
        for number, each in enumerate(value):
            found += breaches(each, asked["items"], f"{at}[{number}]")
    return found


def written() -> dict[str, Any]:
    """Return what two tracks too close and a waiver of each sort make."""
    wires = [track(n, (10, y), (20, y)) for n, y in (("A", 10.0), ("B", 10.4))]
    waivers = [Waiver("dangling-track", "track", "meant", SITE), Waiver("short", "A", "none", SITE, "01234567")]
    board, art = scene(top=wires, nets=[net("A"), net("B")], waivers=waivers)
    found: dict[str, Any] = json.loads(report.as_json("demo", check(board, art), board.description))
    return found


def test_real_output_keeps_to_the_form() -> None:
    assert written()["waivers"] and written()["findings"]
    assert breaches(written(), form()) == []


def test_nothing_found_keeps_to_the_form() -> None:
    assert breaches(json.loads(report.as_json("demo", ())), form()) == []


@pytest.mark.parametrize("number", range(0, len(BY_HAND), 12))
def test_findings_of_many_rules_keep_to_the_form(number: int) -> None:
    scene_ = spoilt(BY_HAND[number], 0).scene
    assert breaches(json.loads(report.as_json("demo", check(*scene_), scene_[0].description)), form()) == []


def test_the_form_finds_breaches() -> None:
    data = written()
    data["findings"][0]["severity"] = "grave"
    data["findings"][0]["at"] = "here"
    del data["waivers"][0]["now"]
    data["more"] = 1
    assert len(breaches(data, form())) == 4
    assert report.SCHEMA in form()["properties"]["schema"]["enum"]
