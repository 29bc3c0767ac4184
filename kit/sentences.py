"""Sentences of planning, judging and the actions, said in the language of the page.

They are put together in English, as the ledger, the commands and JSON keep them, by code that knows no language. Here a
sentence is recognised by its pattern ("{1} may not go out: {2}") and said by the German of that pattern; what stands in
it is said likewise, and a day as the language writes it. A sentence whose pattern has no German stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext

from kit.days import date_format

CATALOGUE: Final = Path(__file__).resolve().parent / "locale" / "de" / "LC_MESSAGES" / "sentences.mo"
_PLACE = re.compile(r"\{(\d+)\}")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_END = re.compile(r"(?<=[.?!])\s+")
_LISTED = re.compile(r"(?:\S+, )*\S+ and \S+")  # tags, as a sentence names them
_LONGEST = 4_000  # characters: what is longer is a paper, not a sentence
_DEEPEST = 4


@dataclass(frozen=True, slots=True)
class _Pattern:
    """`chunk`: its longest words as they stand, looked for first."""

    chunk: str
    literal: int
    whole: re.Pattern[str]
    german: str


def said(text: Any) -> Any:
    """The text in the language of the page; markup and what is no text are given back untouched."""
    if not isinstance(text, str) or isinstance(text, SafeString) or not text or len(text) > _LONGEST:
        return text
    language = get_language() or "en"
    return _in_german(text, 0) if language.startswith("de") else text


@lru_cache(maxsize=8192)
def _in_german(text: str, depth: int) -> str:
    if depth > _DEEPEST:
        return text
    for shape, put_back in _shapes(text):
        if (whole := _by_pattern(shape, depth)) is not None:
            return put_back(whole)
    # Several sentences: each by itself, or as many together as one pattern takes (a sentence quoted in another).
    parts = _END.split(text)
    if len(parts) == 1:
        return text
    done: list[str] = []
    first = 0
    while first < len(parts):
        for last in range(len(parts), first, -1):
            if last - first == len(parts):
                continue
            one = _by_pattern(" ".join(parts[first:last]), depth)
            if one is not None:
                done.append(one)
                first = last
                break
        else:
            done.append(parts[first])
            first += 1
    return " ".join(done)


def _shapes(text: str) -> Iterator[tuple[str, Callable[[str], str]]]:
    """The text, and as the code has it before it opens or ends a sentence: a small letter first, no full stop."""
    yield text, lambda german: german
    small = text[:1].lower() + text[1:]
    if text.endswith("."):
        yield text[:-1], lambda german: f"{german}."
        if small != text:
            yield small[:-1], lambda german: f"{capfirst(german)}."
    if small != text:
        yield small, capfirst


def _by_pattern(text: str, depth: int) -> str | None:
    for pattern in _patterns():
        if pattern.chunk not in text:
            continue
        found = pattern.whole.fullmatch(text)
        if found is None:
            continue
        parts = found.groups()

        def put_in(place: re.Match[str], parts: tuple[str | None, ...] = parts) -> str:
            return _part(parts[int(place[1]) - 1] or "", depth + 1)

        return _PLACE.sub(put_in, pattern.german)
    return None


def _part(text: str, depth: int) -> str:
    """What stands in a sentence: a day, a word that the program ships, a sentence, or a name as it is."""
    lead = text[: len(text) - len(text.lstrip())]
    trail = text[len(text.rstrip()) :]
    bare = text.strip()
    if not bare:
        return text
    if _DAY.fullmatch(bare):
        return lead + _day(bare) + trail
    shipped = gettext(bare) if len(bare) < 60 and not bare.isupper() and not bare[0].isdigit() else bare
    if shipped != bare:
        return lead + shipped + trail
    inner = _in_german(bare, depth)
    if inner == bare and _LISTED.fullmatch(bare):
        inner = bare.replace(" and ", gettext(" and "))
    return lead + _DAY.sub(lambda day: _day(day[0]), inner) + trail


def _day(text: str) -> str:
    try:
        return date_format(date.fromisoformat(text), "j M Y")
    except ValueError:
        return text


@cache
def _patterns() -> tuple[_Pattern, ...]:
    """All patterns that have German, those with the most words of their own first."""
    import gettext as of_files  # the standard module: Django's reads one catalogue only

    if not CATALOGUE.exists():
        return ()
    with CATALOGUE.open("rb") as file:
        catalogue: dict[str, str] = of_files.GNUTranslations(file)._catalog  # type: ignore[attr-defined]
    made = [_compiled(english, german) for english, german in catalogue.items() if english and german]
    return tuple(sorted(made, key=lambda one: -one.literal))


def _compiled(english: str, german: str) -> _Pattern:
    pieces = _PLACE.split(english)
    literals, numbers = pieces[0::2], pieces[1::2]
    parts = [re.escape(literals[0])]
    for number, literal in zip(numbers, literals[1:], strict=True):
        # What opens with a space or closes the pattern may be empty: a remark in brackets, a date that is not known.
        parts.append("(.*?)" if number else "")
        parts.append(re.escape(literal))
    return _Pattern(
        max(literals, key=len), sum(map(len, literals)), re.compile("".join(parts), re.DOTALL), german
    )
