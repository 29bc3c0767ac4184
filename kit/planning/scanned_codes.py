"""What a scanned or typed code may name: a tag or a job as it stands, or what a GS1 code says of a piece.

Makers print GS1 codes on their kit: an element string in a Data Matrix or a linear bar code, the same with brackets
for people to read, or a web address (GS1 Digital Link). Of its elements these say which piece it is: AI 8004, the
number its owner gave it (GIAI); AI 8003, a returnable one (GRAI); AI 21, the maker's serial; and AI 10, the batch.
Sources: GS1 General Specifications, sections 3 and 7; GS1 Digital Link Standard: URI Syntax.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import biip
from biip import ParseConfig
from biip.gs1_messages import GS1Message

# Some scanners send first what sort of code they read (ISO/IEC 15424): ]C0 a linear code, ]d2 GS1 Data Matrix.
SORT_OF_CODE = r"^\][A-Za-z][0-9]"
# A company's prefix in a GIAI has 6 to 12 figures; what follows is its own number for the piece.
COMPANY_PREFIX = range(6, 13)
GROUP_SEPARATOR = "\x1d"
# What scanners send for the separator where the keyboard has no such key.
SENT_INSTEAD = ("<GS>", "{GS}", "^]", "␝")
# What of a code names a piece, by application identifier, and how many figures of it go before that: a GRAI names the
# sort of thing in 14 figures, and only what follows tells one piece from another. The first that says something counts.
MEANS = (
    ("asset", "8004", 0),
    ("asset", "8003", 14),
    ("serial", "21", 0),
    ("batch", "10", 0),
    ("article", "01", 0),
)
# A label is read whatever else on it breaks a rule of GS1: a piece is looked for, not a delivery checked.
_FORGIVING = ParseConfig(gs1_element_strings_verify_date=False)


@dataclass(frozen=True, slots=True)
class ScannedCode:
    """What was read, without spaces round it, and what it names. All blank but `text` where it is no GS1 code.

    `asset`: the owner's number of the piece. `serial`, `batch` and `article` (GTIN): as the maker printed them.
    """

    text: str
    asset: str = ""
    serial: str = ""
    batch: str = ""
    article: str = ""

    @property
    def is_gs1(self) -> bool:
        return bool(self.asset or self.serial or self.batch or self.article)

    @property
    def own_numbers(self) -> tuple[str, ...]:
        """What its owner may have put on the piece as a tag: the whole asset number, or what follows the prefix."""
        if not self.asset:
            return ()
        after = [self.asset[n:] for n in COMPANY_PREFIX if self.asset[:n].isdecimal() and len(self.asset) > n]
        return (self.asset, *after)

    @property
    def in_words(self) -> str:
        """The elements that name a piece, as GS1 prints them for people: (21) 4711 (10) B-12."""
        parts = (("01", self.article), ("8004", self.asset), ("21", self.serial), ("10", self.batch))
        return " ".join(f"({ai}) {value}" for ai, value in parts if value)


def read_code(text: str) -> ScannedCode:
    """Read one code; what cannot be read as GS1 is taken as it stands. Never raises."""
    plain = re.sub(SORT_OF_CODE, "", text.strip(), count=1)
    for instead in SENT_INSTEAD:
        plain = plain.replace(instead, GROUP_SEPARATOR)
    message = _message(plain)
    shown = plain.replace(GROUP_SEPARATOR, " ").strip()
    if message is None:
        return ScannedCode(shown)
    said = {each.ai.ai: each for each in reversed(message.element_strings)}

    named: dict[str, str] = {}
    for what, ai, skipped in MEANS:
        if ai in said and not named.get(what):
            named[what] = said[ai].value.strip()[skipped:]
    found = ScannedCode(shown, **named)
    return found if found.is_gs1 else ScannedCode(shown)


def _message(text: str) -> GS1Message | None:
    """The element strings of a GS1 code, or None. A short tag of figures alone is no code: it must name a piece."""
    if text.startswith("]"):
        return None
    if text.startswith("("):
        try:
            return GS1Message.parse_hri(text, config=_FORGIVING)
        except (biip.ParseError, ValueError):
            return None
    try:
        read = biip.parse(text, config=_FORGIVING)
    except (biip.ParseError, ValueError):
        return None
    if read.gs1_digital_link_uri is not None:
        link = read.gs1_digital_link_uri
        return GS1Message(value=link.value, element_strings=link.element_strings)
    return read.gs1_message
