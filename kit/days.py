"""Days as the language of the page writes them: 4 Nov 2026, and 4. Nov. 2026 with a point after the day in German.

Formats are given in the English order, which German shares but for its points: "j M Y", "D j M", "j F Y H:i".
"""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import Any

from django.utils import formats
from django.utils.translation import get_language

_DAY_BEFORE_MONTH = re.compile(r"\bj (?=[MF])")
_WEEKDAY = re.compile(r"\bD (?=j)")


@lru_cache(maxsize=64)
def _pointed(form: str) -> str:
    return _WEEKDAY.sub("D, ", _DAY_BEFORE_MONTH.sub("j. ", form))


def in_language(form: str) -> str:
    """The format with the points of the current language; formats for programs ("Y-m-d", "c") stay as they are."""
    return _pointed(form) if (get_language() or "en").startswith("de") else form


def date_format(day: date, form: str) -> str:
    """As Django's, with the points of the language."""
    return formats.date_format(day, in_language(form))


def for_template(value: Any, form: str | None = None) -> Any:
    """The filter `date` of templates, with the points of the language."""
    from django.template.defaultfilters import date as as_usual

    return as_usual(value, in_language(form) if form else form)
