"""Sentences of planning, judging and the actions, said in the language of the page.

They are put together in English, as the ledger, the commands and JSON keep them, by code that knows no language. Here a
sentence is recognised by its pattern ("{1} may not go out: {2}") and said by the German of that pattern; what stands in
it is said likewise, and a day as the language writes it. A sentence whose pattern has no German stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext

from kit.days import date_format
from kit.numbers import with_separator

CATALOGUE: Final = Path(__file__).resolve().parent / "locale" / "de" / "LC_MESSAGES" / "sentences.mo"
_PLACE = re.compile(r"\{(\d+)\}")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_END = re.compile(r"(?<=[.?!])\s+")
_LISTED = re.compile(r"(?:\S+, )*\S+ and \S+")  # tags, as a sentence names them
_NUMBER = re.compile(r"[+-]?\d+\.\d+(?: (?:%|°C|[a-zA-Z]{1,4}))?")
_LONGEST = 4_000  # characters: what is longer is a paper, not a sentence
_DEEPEST = 4
_TOGETHER = 8  # sentences that one pattern may take
_CODE = re.compile(r"\S*\d\S*")
_OF_NO_MEANING = frozenset({"a", "and", "at", "by", "from", "in", "is", "it", "mm", "of", "on", "the", "to"})


@dataclass(frozen=True, slots=True)
class _Pattern:
    """`chunk`: its longest words as they stand, looked for first. `thin`: no word of its own, only such as "of"."""

    chunk: str
    literal: int
    whole: re.Pattern[str]
    german: str
    thin: bool


@dataclass(frozen=True, slots=True)
class _Said:
    """`known`: how many characters of the English were recognised; what is not stays as it is."""

    german: str
    known: int


def said(text: Any) -> Any:
    """The text in the language of the page; markup and what is no text are given back untouched."""
    if not isinstance(text, str) or isinstance(text, SafeString) or not text or len(text) > _LONGEST:
        return text
    language = get_language() or "en"
    return _in_german(text, 0).german if language.startswith("de") else text


@lru_cache(maxsize=8192)
def _in_german(text: str, depth: int) -> _Said:
    """As one sentence or as several, whichever leaves less of it unrecognised.

    Were one pattern for the whole asked first, "{1} is {2} already." would swallow the ten sentences that stand between
    an "is" and an "already".
    """
    if depth > _DEEPEST:
        return _Said(text, 0)
    parts = _END.split(text)
    # best[n]: the first n sentences; a pattern may take several together (a sentence quoted in another).
    best = [_Said("", 0)]
    for last in range(1, len(parts) + 1):
        found: _Said | None = None
        for first in range(0 if last == len(parts) else max(0, last - _TOGETHER), last):
            one = _by_pattern(" ".join(parts[first:last]), depth)
            if one is None and last - first == 1:
                one = _Said(parts[first], 0)
            if one is not None and (found is None or best[first].known + one.known >= found.known):
                before = best[first]
                found = _Said(
                    f"{before.german} {one.german}" if first else one.german, before.known + one.known
                )
        assert found is not None
        best.append(found)
    return best[-1]


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


def _by_pattern(text: str, depth: int) -> _Said | None:
    for shape, put_back in _shapes(text):
        if (one := _as_it_stands(shape, depth)) is not None:
            return _Said(put_back(one.german), one.known)
    return None


def _as_it_stands(text: str, depth: int) -> _Said | None:
    for pattern in _patterns():
        if pattern.chunk not in text:
            continue
        found = pattern.whole.fullmatch(text)
        if found is None:
            continue
        parts = [_part(part or "", depth + 1) for part in found.groups()]
        if pattern.thin and not _are_values(parts, found.groups()):
            continue
        german = _PLACE.sub(lambda place, parts=parts: parts[int(place[1]) - 1].german, pattern.german)  # type: ignore[misc]
        return _Said(german, pattern.literal + sum(part.known for part in parts))
    return None


def _are_values(parts: Sequence[_Said], english: Sequence[str | None]) -> bool:
    """Whether most of what stands between "of" and "on" is a code, a day or a word that is known.

    Somebody's own "Loss of pressure on the gauge" is no pattern of the program and stays in the language it was
    written in.
    """
    values = sum(
        part.known > 0 or _CODE.fullmatch(text or "") is not None
        for part, text in zip(parts, english, strict=True)
    )
    return 2 * values > len(parts)


def _part(text: str, depth: int) -> _Said:
    """What stands in a sentence: a day, a word that the program ships, a sentence, or a name as it is."""
    lead = text[: len(text) - len(text.lstrip())]
    trail = text[len(text.rstrip()) :]
    bare = text.strip()
    if not bare:
        return _Said(text, 0)
    if _DAY.fullmatch(bare):
        return _Said(lead + _day(bare) + trail, len(bare))
    if _NUMBER.fullmatch(bare):
        return _Said(lead + with_separator(bare) + trail, len(bare))
    shipped = gettext(bare) if len(bare) < 60 and not bare.isupper() and not bare[0].isdigit() else bare
    if shipped != bare:
        return _Said(lead + shipped + trail, len(bare))
    inner = _in_german(bare, depth)
    german = inner.german
    if german == bare and _LISTED.fullmatch(bare):
        german = bare.replace(" and ", gettext(" and "))
    return _Said(lead + _DAY.sub(lambda day: _day(day[0]), german) + trail, inner.known)


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
    words = {word.casefold() for literal in literals for word in re.findall(r"[A-Za-z]+", literal)}
    return _Pattern(
        max(literals, key=len),
        sum(map(len, literals)),
        re.compile("".join(parts), re.DOTALL),
        german,
        bool(numbers) and words <= _OF_NO_MEANING,
    )
