"""What is said of a word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Word:
    """A word: its anchor on the page, what it means, where that is from, and the screen on which it is met."""

    slug: str
    name: Any
    means: Any
    source: Any
    screen: str

    def speaks_of(self, text: str) -> bool:
        """Whether each word of the text stands in its name or meaning, whatever the case."""
        said = f"{self.name} {self.means}".casefold()
        return all(part in said for part in text.casefold().split())
