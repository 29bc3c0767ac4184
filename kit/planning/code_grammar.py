"""How GS1 codes are written, as expressions for a reader that has no Python: the phone beside the van.

They are made of the tables that `scanned_codes` reads by (biip), so that there is one source of what an element is; a
test holds the answers of both readers to each other.
"""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from typing import Any

from biip.gs1_application_identifiers import _GS1_APPLICATION_IDENTIFIERS as IDENTIFIERS
from biip.gs1_digital_link_uris import _PRIMARY_IDENTIFIERS as PRIMARY

from kit.planning.scanned_codes import COMPANY_PREFIX, MEANS, SENT_INSTEAD, SORT_OF_CODE


@cache
def grammar() -> dict[str, Any]:
    """Ready for JSON; all expressions mean the same to Python and to ECMAScript.

    sort: what some scanners send first. separators: what stands for FNC1. elements: pairs of alternative application
    identifiers and what may follow them. link: the path of a web address, what counts being its group. padded: the
    identifiers that a web address may shorten, with their full width. means: see MEANS. prefix: how few and how many
    figures of an asset number may be its owner's.
    """
    return {
        "sort": SORT_OF_CODE,
        "separators": SENT_INSTEAD,
        "elements": _elements(),
        "link": _link(),
        "padded": {one.ai.ai: one.zfill_to_width for one in PRIMARY if one.zfill_to_width},
        "means": MEANS,
        "prefix": [COMPANY_PREFIX.start, COMPANY_PREFIX.stop - 1],
    }


def _elements() -> list[tuple[str, str]]:
    by_value: dict[str, list[str]] = defaultdict(list)
    for number, identifier in IDENTIFIERS.items():
        by_value[identifier.pattern.removeprefix(f"^{number}").removesuffix("$")].append(number)
    return [("|".join(numbers), value) for value, numbers in by_value.items()]


def _link() -> str:
    """One key, its qualifiers in their order, each followed by its value; before the first key anything but a key."""
    keys = "|".join(one.ai.ai for one in PRIMARY)
    ways = (
        f"{one.ai.ai}/[^/]+" + "".join(f"(?:/{each.ai.ai}/[^/]+)?" for each in one.qualifiers)
        for one in PRIMARY
    )
    return f"^(?:(?!(?:{keys})(?:/|$))[^/]*/)*({'|'.join(ways)})$"
