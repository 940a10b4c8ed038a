"""From what is printed on a part to the type: maker's letters before it, grade, package and speed after it.

Only marks that leave the pin-out as it is are taken off.  What changes it is another type: a BAT54S is not a BAT54, a
TMS2716 no 2716, an LM2931Z no LM2931.  From memory of makers' data sheets and markings.
"""

from __future__ import annotations

import re

_GRADE = r"[A-Z]{0,4}\d?(?:-[A-Z0-9-]+)?"  # package, temperature and speed: "CP", "N-1", "BLP-7", "-15PU"
_OP_AMPS = (
    r"LM3(?:58|24|11|39|93)|LM741|TL0[78][124]|NE553[24]|RC4558|LM386|LM1881|NE55[56]|LM555|MC3[34]063|THS7314|TDA7052"
)
_WIDE = r"6116|6264|62256|628128|628512|27C?(?:16|32|64|128|256|512)|27C0[14]0|28C(?:16|64|256)|[23]9S?F0[14]0"
_NARROW = r"2114|4116|4164|41256|41464"

# (what is printed, the type it is); {0} is the first group
MARKINGS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), plain)
    for pattern, plain in (
        (r"(BC[1358]\d{2})(?:[ABC]|-\d{2})", "{0}"),  # gain group
        (r"(BD1[34]\d)-\d{1,2}", "{0}"),
        (r"(TIP\d{2,3})[ABC]?G?", "{0}"),  # A, B and C bear more volts
        (r"(2S[AC]\d{3,4})-?(?:GR|BL|[YORKPQ])", "{0}"),
        (r"([AC]\d{3,4})(?:-?(?:GR|BL|[YORKPQ]))?", "2S{0}"),  # Japanese makers print no 2S
        (r"(2N\d{4}A?)(?:TA|BU|G|TF)", "{0}"),
        (r"(S8[05]50)[BCD]", "{0}"),
        (r"(IRF5[24]0|IRLZ44)N(?:PBF)?", "{0}"),
        (r"(?:LM|L|UA|MC|KA|NJM|AN|TS)(7[89]\d{2})(?:[A-Z]{0,4}|-[A-Z]{1,3})", "{0}"),  # regulators, TO-220
        (r"(7[89]\d{2})(?:[AC]?[CTV]{1,2})", "{0}"),
        (r"(?:LM|L|UA|MC|KA|NJM|AN|TS)?(7[89]L\d{2})[A-Z]{0,4}", "{0}"),
        (r"(?:AMS|LM|LD|NCP)(1117-(?:ADJ|\d\.\d))", "{0}"),
        (r"(LM3[13]7)[KT]{0,1}(?:/NOPB)?", "{0}"),
        (r"(LM317L)Z", "{0}"),
        (r"LM2931A?Z(?:-5\.0)?", "LM2931Z"),
        (r"(LM2931|LM2940)(?:A?CT|T)(?:-5\.0)?", "{0}"),
        (r"(TL431)A?(?:C|I)?(?:LP|Z)?", "{0}"),
        (rf"({_OP_AMPS}){_GRADE}", "{0}"),
        (r"(?:UA|LM|MC)(741)C?[A-Z]{0,2}", "{0}"),
        (r"(?:I|TS|TLC|NA)C?M?(7555)[A-Z]{0,3}", "{0}"),
        (r"(?:LM|NE|SA|SE|KA)(55[56])[A-Z]{0,3}", "{0}"),
        (r"(MAX2[03]2)[A-Z]{0,4}", "{0}"),
        (r"(?:ICL|MAX|TC)(7660)S?[A-Z]{0,4}", "{0}"),
        (r"(?:MC|SN75|DS)?(148[89])[A-Z]{0,3}", "{0}"),
        (r"(ULN2[08]03)A?[A-Z]{0,3}", "{0}"),
        (r"(PC817)[ABCDX]\d?", "{0}"),
        (r"(4N[23]5)[MV]?", "{0}"),
        (r"(?:CD|HEF|HCF|TC|HD|MC1|BU)(4\d{3})(?:U?B)?[A-Z]{0,3}", "{0}"),  # MC14066 too
        (r"(4\d{3})U?B[A-Z]{0,2}", "{0}"),
        (rf"(?!TMS)[A-Z]{{0,4}}(?:\dC)?({_WIDE}){_GRADE}", "{0}"),  # a TMS2716 has three supplies
        (r"TMS(27C?(?:32|64|128|256|512))" + _GRADE, "{0}"),
        (rf"[A-Z]{{0,4}}({_NARROW}){_GRADE}", "{0}"),
        (r"AS6C1008" + _GRADE, "628128"),
        (r"AS6C4008" + _GRADE, "628512"),
    )
)


def plain_types(name: str) -> tuple[str, ...]:
    """Return the types that a marking may mean, likeliest first; empty if it says none.

    >>> plain_types("LM7805CT"), plain_types("AT28C256-15PU"), plain_types("BAT54S")
    (('7805',), ('28C256',), ())
    """
    said = name.upper().replace(" ", "")
    found = (plain.format(*match.groups()) for pattern, plain in MARKINGS if (match := pattern.fullmatch(said)))
    return tuple(dict.fromkeys(plain for plain in found if plain != said))
