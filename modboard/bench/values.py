"""Values as makers mark them on the part, and as a meter shows them: colour bands, codes, figures.

Source: IEC 60062 (colours, three- and four-figure codes), from memory.  How people write values is in
`describe.values`.
"""

from __future__ import annotations

import math

DIGITS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
MULTIPLIERS = {-2: "silver", -1: "gold"} | dict(enumerate(DIGITS))
TOLERANCES = {
    0.01: "grey", 0.02: "yellow", 0.05: "orange", 0.1: "violet", 0.25: "blue", 0.5: "green",
    1.0: "brown", 2.0: "red", 5.0: "gold", 10.0: "silver",
}  # fmt: skip


def bands(ohms: float, *, figures: int, tolerance: float) -> tuple[str, ...] | None:
    """Return the colour bands of a resistor of `ohms` with 2 or 3 `figures` and `tolerance` in percent.

    None where the value needs more figures, or a multiplier there is no colour for.

    >>> bands(4700, figures=2, tolerance=5)
    ('yellow', 'violet', 'red', 'gold')
    """
    if ohms <= 0:
        return ("black",) if ohms == 0 else None
    power = math.floor(math.log10(ohms)) - figures + 1
    number = ohms / 10.0**power
    power += 1 if round(number) >= 10**figures else 0
    number = ohms / 10.0**power
    if abs(number - round(number)) > 1e-6 * number or power not in MULTIPLIERS:
        return None
    return (*(DIGITS[int(d)] for d in str(round(number))), MULTIPLIERS[power], TOLERANCES[tolerance])


def resistor_bands(ohms: float) -> tuple[tuple[str, ...], ...]:
    """Return the bands one meets in shops: two figures at 5 %, three figures at 1 %; those that can say the value."""
    found = (bands(ohms, figures=2, tolerance=5.0), bands(ohms, figures=3, tolerance=1.0))
    return tuple(dict.fromkeys(b for b in found if b))


def capacitor_code(farads: float) -> str:
    """Return the three-figure code in picofarads, such as "104" for 100 nF; "" where it takes more figures."""
    picofarads = farads * 1e12
    if picofarads < 10:
        return f"{picofarads:g}" if abs(picofarads * 10 - round(picofarads * 10)) < 1e-6 else ""
    power = math.floor(math.log10(picofarads) + 1e-9) - 1
    number = picofarads / 10**power
    if abs(number - round(number)) > 1e-6 * number or not 0 <= power <= 7:
        return ""
    return f"{round(number)}{power}"


def chip_code(ohms: float) -> str:
    """Return the three-figure code printed on chip resistors: "472", "4R7", "000"; "" where it takes four."""
    if ohms == 0:
        return "000"
    if ohms < 10:
        text = f"{ohms:.2f}".rstrip("0").rstrip(".")
        whole, _, part = text.partition(".")
        return f"{whole if whole != '0' else ''}R{part or ('0' if whole != '0' else '')}"[:4]
    power = math.floor(math.log10(ohms) + 1e-9) - 1
    number = ohms / 10.0**power
    return f"{round(number)}{power}" if abs(number - round(number)) < 1e-6 * number and power <= 9 else ""


def four_figure_code(ohms: float) -> str:
    """Return the four-figure code of 1 % chip resistors: "4701" for 4.7 kΩ, "47R5"; "" where it takes five."""
    if ohms < 1:
        return ""
    power = math.floor(math.log10(ohms) + 1e-9) - 2
    if power < 0:
        whole, _, part = f"{float(f'{ohms:.3g}'):.{-power}f}".partition(".")
        return f"{whole}R{part}" if math.isclose(float(f"{ohms:.3g}"), ohms, rel_tol=1e-9) else ""
    number = ohms / 10**power
    return f"{round(number)}{power}" if abs(number - round(number)) < 1e-6 * number and power <= 9 else ""


def coil_code(henries: float) -> str:
    """Return the three-figure code in microhenries, such as "101" for 100 µH, "4R7" for 4.7 µH (common practice)."""
    return chip_code(henries * 1e6)


def ohms_in_words(ohms: float) -> str:
    """Return a resistance as a meter shows it: three figures, Ω, kΩ or MΩ; "open" for infinity."""
    if math.isinf(ohms):
        return "open"
    for unit, name in ((1e6, "MΩ"), (1e3, "kΩ")):
        if ohms >= 0.9995 * unit:
            return f"{float(f'{ohms / unit:.3g}'):g} {name}"
    return f"{float(f'{ohms:.3g}'):g} Ω"
