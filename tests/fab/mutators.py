"""Ways to spoil a written file, or a set of them: each takes a text (or texts by name) and gives another."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

Texts = dict[str, str]


def drop_line(text: str, rng: random.Random) -> str:
    """Leave out one line."""
    lines = text.split("\n")
    del lines[rng.randrange(len(lines) - 1)]
    return "\n".join(lines)


def double_line(text: str, rng: random.Random) -> str:
    """Write one line twice."""
    lines = text.split("\n")
    at = rng.randrange(len(lines) - 1)
    return "\n".join([*lines[: at + 1], *lines[at:]])


def swap_lines(text: str, rng: random.Random) -> str:
    """Let two neighbouring lines change places."""
    lines = text.split("\n")
    at = rng.randrange(len(lines) - 2)
    lines[at], lines[at + 1] = lines[at + 1], lines[at]
    return "\n".join(lines)


def flip_digit(text: str, rng: random.Random) -> str:
    """Change one digit into another."""
    places = [m.start() for m in re.finditer(r"\d", text)]
    at = rng.choice(places)
    return text[:at] + rng.choice("0123456789".replace(text[at], "")) + text[at + 1 :]


def flip_sign(text: str, rng: random.Random) -> str:
    """Turn a coordinate's sign round."""
    places = list(re.finditer(r"(?<=[XY])[-+]?(?=\d)", text))
    found = rng.choice(places)
    return text[: found.start()] + ("" if found[0] == "-" else "-") + text[found.end() :]


def other_letter(text: str, rng: random.Random) -> str:
    """Change one letter or mark into another."""
    at = rng.randrange(len(text))
    return text[:at] + rng.choice("ABCDLMNPRTXYabct,.*%-+ ") + text[at + 1 :]


def truncate(text: str, rng: random.Random) -> str:
    """Cut the end off."""
    return text[: rng.randrange(1, len(text) - 1)]


def mirror(text: str, rng: random.Random) -> str:
    """Mirror left to right about some line."""
    axis = rng.choice([0, 15_800_000, 31_600_000])
    if "M48" in text:
        return re.sub(r"X(-?[\d.]+)(?=Y)", lambda m: f"X{axis / 1e6 - float(m[1]):.3f}", text)
    return re.sub(r"X(-?\d+)(?=Y-?\d+D0)", lambda m: f"X{axis - int(m[1])}", text)


def shift(text: str, rng: random.Random) -> str:
    """Shift everything by 0.1 mm or more in one direction."""
    by, axis = rng.choice([-0.1, 0.1, 0.254, 1.0]), rng.choice("XY")
    after = "(?=Y)" if axis == "X" else ""
    if "M48" in text:
        return re.sub(rf"{axis}(-?[\d.]+){after}", lambda m: f"{axis}{float(m[1]) + by:.3f}", text)
    after = r"(?=Y-?\d+D0)" if axis == "X" else r"(?=D0)"
    return re.sub(rf"{axis}(-?\d+){after}", lambda m: f"{axis}{int(m[1]) + round(by * 1e6)}", text)


def other_unit(text: str, rng: random.Random) -> str:
    """Take millimetres for inches, or the other way round."""
    for old, new in (("%MOMM*%", "%MOIN*%"), ("METRIC", "INCH"), ("UNITS CUST 1", "UNITS CUST 0")):
        if old in text:
            return text.replace(old, new)
    return text


def other_format(text: str, rng: random.Random) -> str:
    """Shift the decimal point of a layer."""
    return text.replace("FSLAX46Y46", rng.choice(["FSLAX45Y45", "FSLAX55Y55", "FSTAX46Y46"]))


def other_name(text: str, rng: random.Random) -> str:
    """Put another net's or pin's name in one place."""
    names = sorted(set(re.findall(r"%TO\.N,([^*]*)\*", text)) | {"GND", "VCC", "SIG", "OUT"})
    places = list(re.finditer(r"(?<=%TO\.N,)[^*]*|(?<=%TO\.P,)[^*]*|(?<=^317)\w+|(?<=^327)\w+", text, re.MULTILINE))
    if not places:
        return text
    found = rng.choice(places)
    return text[: found.start()] + rng.choice(names) + text[found.end() :]


def other_function(text: str, rng: random.Random) -> str:
    """Let the file say that it is another layer."""
    functions = [
        "Copper,L1,Top",
        "Copper,L2,Bot",
        "Soldermask,Top",
        "Legend,Bot",
        "Plated,1,2,PTH",
        "NonPlated,1,2,NPTH",
    ]
    return re.sub(r"(?<=FileFunction,)[^*\n]*", rng.choice(functions), text, count=1)


KINDS: tuple[Callable[[str, random.Random], str], ...] = (
    drop_line, double_line, swap_lines, flip_digit, flip_digit, flip_digit, flip_sign, other_letter, truncate, mirror,
    shift, other_unit, other_format, other_name, other_function,
)  # fmt: skip


def swapped_layers(texts: Texts, rng: random.Random) -> Texts:
    """Let two layers change what they say they are."""
    names = rng.sample([n for n in texts if n.endswith(".gbr")], 2)
    functions = {n: re.search(r"FileFunction,[^*]*", texts[n]) for n in names}
    changed = dict(texts)
    for name, other in (names, reversed(names)):
        mine, theirs = functions[name], functions[other]
        assert mine and theirs
        changed[name] = texts[name].replace(mine[0], theirs[0])
    return changed


def lost_file(texts: Texts, rng: random.Random) -> Texts:
    """Leave out one file."""
    lost = rng.choice(sorted(texts))
    return {name: text for name, text in texts.items() if name != lost}
