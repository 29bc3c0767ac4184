"""Numbers as the language of the page writes them: 0.005, and 0,005 in German.

For numbers written already, whose digits say how well they are known: nothing is rounded, and no thousands are parted.
"""

from __future__ import annotations

import re

from django.utils.formats import get_format

# Not a day, an address or a version with two points, nor a tag with letters beside its digits.
_DECIMAL = re.compile(r"(?<![\w.,])([+\N{MINUS SIGN}-]?\d+)\.(\d+)(?![\w.,]*\w)")


def with_separator(text: str) -> str:
    """The text with the decimals in it written as the language does."""
    separator = str(get_format("DECIMAL_SEPARATOR"))
    return text if separator == "." else _DECIMAL.sub(rf"\1{separator}\2", text)
