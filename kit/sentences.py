"""Sentences of planning, judging and the actions, said in the language of the page.

They are put together in English, as the ledger, the commands and JSON keep them, by code that knows no language. Here a
sentence is recognised by its pattern ("{1} may not go out: {2}") and said by the German of that pattern; what stands in
it is said likewise, and a day as the language writes it. A sentence whose pattern has no German stays as it is.

In English a recognised sentence changes its days alone: what somebody wrote in their own words stays as they wrote it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from itertools import chain
from pathlib import Path
from typing import Any, Final

from django.utils.formats import get_format
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import get_language, gettext, override

from kit.days import date_format
from kit.numbers import with_separator

CATALOGUE: Final = Path(__file__).resolve().parent / "locale" / "de" / "LC_MESSAGES" / "sentences.mo"
_PLACE = re.compile(r"\{(\d+)\}")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
# In quotation marks it is what somebody typed, after "31/03/2027 or" how a day may be typed.
_DAY_SAID = re.compile(r"(?<!['\"\w/-])(?<!\d or )(?<!example )\d{4}-\d{2}-\d{2}(?!['\"\w/-])")
_END = re.compile(r"(?<=[.?!])\s+")
_LISTED = re.compile(r"(?:\S+, )*\S+ (?:and|or) \S+")  # tags, as a sentence names them
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?: [a-zA-Z]{1,4})?")
_POINT = re.compile(r"[.:;?!] ")
_WORDS_OF_A_NAME = 3
_BETWEEN_NAMES = re.compile(r",? and |,? or |, ")
_WORD = re.compile(r"[^\W\d_]{2,}")
_NAME = re.compile(r"„\{(\d+)\}“")
_NUMBER = re.compile(r"[+-]?\d+\.\d+(?: (?:%|°C|[a-zA-Z]{1,4}))?")
# Between what a way out asks for, or between the sizes of what to buy.
_CLAUSES = re.compile(r"; or |; | and ")
_ASKS = re.compile(
    r"(?:load|inspect|bring|have|buy or borrow|make|release|free|transfer|\d+ x) ", re.IGNORECASE
)
_MEASURES = re.compile(r"[\d.]+ (?:to [\d.]+ )?mm ")
_LONGEST = 4_000  # characters: what is longer is a paper, not a sentence
_DEEPEST = 4
_WORDS_END = 60  # characters: what is longer is a sentence, not a word or two
_TOGETHER = 8  # sentences that one pattern may take
_CODE = re.compile(r"\S*\d\S*")
_OF_NO_MEANING = frozenset(
    {"a", "and", "at", "by", "from", "in", "is", "it", "mm", "of", "on", "or", "the", "to"}
)


@dataclass(frozen=True, slots=True, eq=False)
class _Pattern:
    """`chunk`: its longest words as they stand, looked for first. `thin`: no word of its own, only such as "of".

    `names`: what stands in quotation marks in the German, a sheet or a heading that is to be typed so: never put into
    German.
    """

    chunk: str
    literal: int
    whole: re.Pattern[str]
    german: str
    thin: bool
    names: frozenset[int]
    word: str


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
    if language.startswith("de"):
        return _in_german(text, 0).german
    if _DAY_SAID.search(text) and _is_ours(text):
        return _DAY_SAID.sub(lambda day: _day(day[0]), text)
    return text


def _is_ours(text: str) -> bool:
    """Whether the program put it together: a pattern of its own knows some of it."""
    with override("de"):
        return _in_german(text, 0).known > 0


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
    elif (large := capfirst(text)) != text:
        yield large, lambda german: german  # a sentence that another has taken in, after a colon


def _by_pattern(text: str, depth: int) -> _Said | None:
    """By the pattern that leaves least of it unrecognised: "{1} is {2}." takes much that others know better."""
    best: _Said | None = None
    for shape, put_back in _shapes(text):
        for one in chain(_as_it_stands(shape, depth), _joined(shape, depth)):
            if best is None or one.known > best.known:
                best = _Said(put_back(one.german), one.known)
        if best is not None and best.known >= len(shape):
            break
    return best


def _joined(text: str, depth: int) -> Iterator[_Said]:
    """As two clauses that the program put together: "inspect G-1 by 2026-11-28 and have G-3 released"."""
    if depth > _DEEPEST - 1 or _END.search(text):
        return
    begins = _ASKS if _ASKS.match(text) else _MEASURES
    for place in _CLAUSES.finditer(text):
        if not begins.match(text) or not begins.match(text, place.end()):
            continue
        first = _by_pattern(text[: place.start()], depth + 1)
        second = _by_pattern(text[place.end() :], depth + 1) if first is not None else None
        if first is not None and second is not None:
            between = {"; or ": gettext("; or "), " and ": gettext(" and ")}.get(place[0], place[0])
            known = first.known + len(place[0]) + second.known
            yield _Said(first.german + between + second.german, known)


def _as_it_stands(text: str, depth: int) -> Iterator[_Said]:
    shipped = gettext(text) if " " in text and (not depth or len(text) >= _WORDS_END) else text
    if shipped != text:
        yield _Said(shipped, len(text))
        return
    for pattern in _that_may_match(text):
        found = pattern.whole.fullmatch(text)
        if found is None:
            continue
        parts = [
            _name(part or "") if number in pattern.names else _part(part or "", depth + 1)
            for number, part in enumerate(found.groups(), 1)
        ]
        if pattern.thin and not _are_values(parts, found.groups()):
            continue
        german = _PLACE.sub(lambda place, parts=parts: parts[int(place[1]) - 1].german, pattern.german)  # type: ignore[misc]
        yield _Said(german, pattern.literal + sum(part.known for part in parts))


def _name(text: str) -> _Said:
    """A sheet, a heading, an answer to be typed, or several of them; what has more words is no name."""
    named = not _POINT.search(text) and all(
        one.count(" ") < _WORDS_OF_A_NAME for one in _BETWEEN_NAMES.split(text)
    )
    return _Said(_listed(text), len(text) if named else 0)


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
    if bare[0] == "(" and bare[-1] == ")" and len(bare) > 2:
        remark = _part(bare[1:-1], depth)
        return _Said(f"{lead}({remark.german}){trail}", remark.known)
    if _NUMBER.fullmatch(bare):
        return _Said(lead + with_separator(bare) + trail, len(bare))
    if _THOUSANDS.fullmatch(bare):
        return _Said(lead + bare.replace(",", str(get_format("THOUSAND_SEPARATOR"))) + trail, len(bare))
    shipped = (
        gettext(bare) if len(bare) < _WORDS_END and not bare.isupper() and not bare[0].isdigit() else bare
    )
    if shipped != bare:
        return _Said(lead + shipped + trail, len(bare))
    if " or " in bare and (either := _either(bare.split(" or "), depth)) is not None:
        return _Said(lead + either + trail, len(bare))
    inner = _in_german(bare, depth)
    german, known = inner.german, inner.known
    if not known and ", " in bare and depth <= _DEEPEST:
        each = [_part(one, depth + 1) for one in bare.split(", ")]
        if all(one.known for one in each):
            german, known = ", ".join(one.german for one in each), sum(one.known for one in each)
    if german == bare:
        german = _listed(bare)
    return _Said(lead + _DAY.sub(lambda day: _day(day[0]), german) + trail, known)


def _listed(text: str) -> str:
    """Names as a sentence lists them, with the word of the language before the last."""
    if not _LISTED.fullmatch(text):
        return text
    return text.replace(" and ", gettext(" and ")).replace(" or ", gettext(" or "))


def _either(names: list[str], depth: int) -> str | None:
    """Names that the program ships, one or another of them."""
    shipped = [_part(name, depth) for name in names]
    whole = all(one.known == len(name) for one, name in zip(shipped, names, strict=True))
    return gettext(" or ").join(one.german for one in shipped) if whole else None


def _day(text: str) -> str:
    try:
        return date_format(date.fromisoformat(text), "j M Y")
    except ValueError:
        return text


@lru_cache(maxsize=8192)
def _that_may_match(text: str) -> tuple[_Pattern, ...]:
    """The patterns whose own longest word, and whose longest words together, stand in the text; most literal first."""
    by_word = _patterns()
    words = {"", *map(str.casefold, _WORD.findall(text))}
    places = [place for word in words for place in by_word.get(word, ()) if place[1].chunk in text]
    return tuple(pattern for _, pattern in sorted(places, key=lambda place: place[0]))


@cache
def _patterns() -> dict[str, list[tuple[int, _Pattern]]]:
    """All patterns that have German, by a word that they cannot be without; numbered, most words of their own first."""
    import gettext as of_files  # the standard module: Django's reads one catalogue only

    if not CATALOGUE.exists():
        return {}
    with CATALOGUE.open("rb") as file:
        catalogue: dict[str, str] = of_files.GNUTranslations(file)._catalog  # type: ignore[attr-defined]
    made = [_compiled(english, german) for english, german in catalogue.items() if english and german]
    by_word: dict[str, list[tuple[int, _Pattern]]] = {}
    for number, pattern in enumerate(sorted(made, key=lambda one: -one.literal)):
        by_word.setdefault(pattern.word, []).append((number, pattern))
    return by_word


def _own_word(english: str) -> str:
    """The longest word that no value can run into; empty if there is none."""
    whole = _PLACE.sub("\0", english)
    words = [
        found
        for found in _WORD.finditer(whole)
        if "\0" not in whole[max(0, found.start() - 1) : found.end() + 1]
    ]
    return max((found[0].casefold() for found in words), key=len, default="")


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
        frozenset(map(int, _NAME.findall(german))),
        _own_word(english),
    )
