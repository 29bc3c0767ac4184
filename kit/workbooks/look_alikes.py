"""Tags that a person could take for one another on a worn label."""

from __future__ import annotations

import unicodedata
from typing import Final

from kit.workbooks.sheets import folded_name

# Case is folded first, so the small l, which looks like 1, takes the capital L along.
_LOOKS_LIKE: Final = str.maketrans("oilsbz", "011582")


def look_alike_key(tag: str) -> str:
    """The same key for tags that differ only in case, dashes, spaces, or in O/0, I/l/1, S/5, B/8 and Z/2.

    Common practice, no source: the pairs that people misread on labels.
    """
    return folded_name(unicodedata.normalize("NFKC", tag)).translate(_LOOKS_LIKE)
