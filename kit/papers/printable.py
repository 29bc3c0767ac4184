"""Making any text fit for print: typefaces do not hold every character, and PDF/UA-1 allows no empty glyph.

A character that no typeface of the papers can show is printed as its code, `[U+4E2D]`, so that two different
serials never look alike on paper and a hidden character cannot hide. Nothing here escapes markup: texts reach
the typesetter as data, never as source.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

import typst

from kit.papers.fonts import SANS, fonts

LONGEST_TEXT = 400
CUT = " … (cut, see the register)"

# Controls, invisible format characters (direction overrides too), lone surrogates, private use, unassigned.
_NEVER = {"Cc", "Cf", "Cs", "Co", "Cn"}
# A no-break space stays what it is: it keeps a number with its unit and a date in one piece.
_GAPS = re.compile(r"[^\S\u00a0]+")
_MARKS = {"Mn", "Mc", "Me"}
_PROBE = b"""#set document(title: "probe")
#set text(lang: "en", font: json(bytes(sys.inputs.fonts)))
#sys.inputs.text
"""


def printable(text: str, longest: int = LONGEST_TEXT) -> str:
    """`text` in NFC on one line, at most `longest` characters of it, with codes for what cannot be shown."""
    one_line = _GAPS.sub(" ", unicodedata.normalize("NFC", text)).strip()
    if len(one_line) > longest:
        cut = CUT if longest >= 100 else "…"
        one_line = one_line[: longest - len(cut)].rstrip() + cut
    return "".join(cluster if _has_glyphs(cluster) else _codes(cluster) for cluster in _clusters(one_line))


def _codes(cluster: str) -> str:
    return "".join(f"[U+{ord(character):04X}]" for character in cluster)


def _clusters(text: str) -> Iterator[str]:
    """A character with the combining marks after it: a face may have each and yet not the two together."""
    cluster = ""
    for character in text:
        if cluster and unicodedata.category(character) not in _MARKS:
            yield cluster
            cluster = ""
        cluster += character
    if cluster:
        yield cluster


def _has_glyphs(cluster: str) -> bool:
    if len(cluster) == 1 and (" " <= cluster <= "~" or "\u00a1" <= cluster <= "\u00ac"):
        return True
    if any(unicodedata.category(character) in _NEVER for character in cluster):
        return False
    return _typeset_shows(cluster)


@lru_cache(maxsize=4096)
def _typeset_shows(cluster: str) -> bool:
    # Asked of the typesetter (about 2 ms, once a character): its own faces are not files we could read.
    inputs = {"text": cluster, "fonts": json.dumps(SANS)}
    try:
        typst.compile(_PROBE, font_paths=fonts(), format="pdf", sys_inputs=inputs, pdf_standards=["ua-1"])
    except typst.TypstError:
        return False
    return True
