"""What assistive technology is told of a page: the accessibility tree as Chromium hands it on, and what is wrong in it.

Sources: WCAG 2.2, success criteria 1.1.1 (pictures have names), 1.3.1 and 2.4.6 (headings in order), 4.1.2 (controls
have a role and a name), 4.1.3 (what changes is announced); roles by WAI-ARIA 1.2.
"""

from __future__ import annotations

import itertools
from typing import Any

from tests.bench.browser import Browser

CONTROLS = (
    "button", "link", "checkbox", "textbox", "combobox", "application", "progressbar", "radio", "switch", "slider",
    "option",
)  # fmt: skip
NAMED = (*CONTROLS, "image", "region", "navigation", "article", "group", "heading", "columnheader")


def tree(window: Browser) -> list[dict[str, Any]]:
    """Return the nodes of the page that are not hidden from assistive technology, in order."""
    window.devtools("Accessibility.enable")
    nodes = {n["nodeId"]: n for n in window.devtools("Accessibility.getFullAXTree")["nodes"]}
    found, stack = [], [next(iter(nodes))]
    while stack:
        node = nodes.get(stack.pop())
        if node is None:
            continue
        stack += reversed(node.get("childIds", []))
        if not node.get("ignored"):
            found.append(node)
    return found


def role(node: dict[str, Any]) -> str:
    """Return what a node is."""
    return str(node.get("role", {}).get("value", ""))


def name(node: dict[str, Any]) -> str:
    """Return what a node is called."""
    return str(node.get("name", {}).get("value", "")).strip()


def fact(node: dict[str, Any], wanted: str) -> Any:
    """Return one property of a node ("level", "live", "focusable"), None if it has none."""
    return next((p["value"].get("value") for p in node.get("properties", []) if p["name"] == wanted), None)


def problems(nodes: list[dict[str, Any]]) -> list[str]:
    """Return in words what somebody who hears the page would miss."""
    found = [f"{role(n)} without a name" for n in nodes if role(n) in NAMED and not name(n)]
    found += [
        f"one can come to a {role(n)}, which says nothing of what it does"
        for n in nodes
        if fact(n, "focusable") and role(n) not in (*NAMED, "RootWebArea")
    ]
    levels = [int(fact(n, "level")) for n in nodes if role(n) == "heading"]
    if levels.count(1) != 1 or levels[:1] != [1]:
        found.append(f"headings begin {levels[:3]}")
    found += [f"heading {b} under {a}" for a, b in itertools.pairwise(levels) if b > a + 1]
    if not any(fact(n, "live") in ("polite", "assertive") for n in nodes):
        found.append("nothing is announced")
    return found


def announced(nodes: list[dict[str, Any]]) -> list[str]:
    """Return what the live regions say."""
    said: list[str] = []
    inside = {c for n in nodes if fact(n, "live") in ("polite", "assertive") for c in n.get("childIds", [])}
    for n in nodes:
        if n["nodeId"] in inside:
            inside |= set(n.get("childIds", []))
            if role(n) == "StaticText" and name(n):
                said.append(name(n))
    return said
