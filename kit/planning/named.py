"""Which pieces a scanned code names: one rule, for the register in its database and for a few rows in memory.

What is a tag as it stands is that and nothing else; the exact spelling wins, else the case is forgiven. Then comes what
a GS1 code says of the piece, and last the text as a serial. Where it may be several pieces, all are given.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

from kit.planning.scanned_codes import ScannedCode

MOST_CHOICES = 10


class Named(Protocol):
    """A piece, as far as a code can name it."""

    @property
    def tag(self) -> str: ...
    @property
    def batch(self) -> str: ...


Piece = TypeVar("Piece", bound=Named)


class Names(Protocol[Piece]):
    """Where names are looked up. All answers are in order of tag; `spelt` gives at most MOST_CHOICES."""

    def spelt(self, text: str) -> Sequence[Piece]:
        """Of exactly that tag, else of that tag in another case."""

    def tagged(self, tags: Iterable[str]) -> Sequence[Piece]:
        """Of exactly one of these tags."""

    def with_serial(self, serial: str) -> Sequence[Piece]:
        """Of that maker's serial, in any case."""

    def in_use(self, piece: Piece) -> bool:
        """Neither withdrawn nor lost."""


def named(read: ScannedCode, text: str, names: Names[Piece]) -> list[Piece]:
    """The pieces that a code names; `text` is what was read, tidied."""
    return list(names.spelt(text)) or by_label(read, text, names)


def by_label(read: ScannedCode, text: str, names: Names[Piece]) -> list[Piece]:
    """The pieces that a maker's or an owner's code names; by serial those in use, unless none is."""
    if read.own_numbers and (tagged := names.tagged(read.own_numbers)):
        return list(tagged)[:MOST_CHOICES]
    found = list(names.with_serial(read.serial)) if read.serial else []
    if read.batch:
        found = [piece for piece in found if piece.batch.lower() == read.batch.lower()] or found
    found = found or list(names.with_serial(text))
    return ([piece for piece in found if names.in_use(piece)] or found)[:MOST_CHOICES]
