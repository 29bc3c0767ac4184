"""Words of the trade and of this book, and the rules behind them, in words of our own; each says where it is from."""

from __future__ import annotations

from collections.abc import Sequence

from kit.glossary.book import WORDS_OF_THIS_BOOK
from kit.glossary.trade import COMMON, WORDS_OF_THE_TRADE
from kit.glossary.word import Word

WORDS: Sequence[Word] = (*WORDS_OF_THE_TRADE, *WORDS_OF_THIS_BOOK)

__all__ = ["COMMON", "WORDS", "Word"]
