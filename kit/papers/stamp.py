"""What tells one printing of a sheet from another, and the checks that every value of a paper shares."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

HASH_DIGITS_SHOWN = 12


def needs_time_zone(moment: datetime, what: str) -> None:
    if moment.utcoffset() is None:
        raise ValueError(
            f"{what} is {moment.isoformat()}, which names no time zone: on the night the clocks change a "
            "bare time means two moments. Pass a datetime with a time zone."
        )


def needs_text(text: str, what: str) -> None:
    if not text.strip():
        raise ValueError(
            f"{what} is empty, so the paper could not say which one it is about. Give its {what}."
        )


def needs_count(number: int, what: str, least: int = 0) -> None:
    if number < least:
        raise ValueError(f"{what} is {number}; it must be {least} or more.")


@dataclass(frozen=True, slots=True)
class LedgerMark:
    """The ledger entry that a paper stands on: its number and its hash, 12 hex digits of which are shown."""

    entry: int
    hash_hex: str

    def __post_init__(self) -> None:
        needs_count(self.entry, "the number of the ledger entry", 1)
        shown = self.hash_hex[:HASH_DIGITS_SHOWN]
        if len(shown) < HASH_DIGITS_SHOWN or not set(shown.lower()) <= set("0123456789abcdef"):
            raise ValueError(
                f"The hash of ledger entry {self.entry} is {self.hash_hex!r}; a paper needs at least its "
                f"first {HASH_DIGITS_SHOWN} hexadecimal digits to be found again."
            )

    def __str__(self) -> str:
        return f"{self.entry} · {self.hash_hex[:HASH_DIGITS_SHOWN].lower()}"


@dataclass(frozen=True, slots=True)
class Stamp:
    """Printed on every page, so that a loose sheet can be told from an older one."""

    printed_at: datetime
    revision: int
    ledger: LedgerMark

    def __post_init__(self) -> None:
        needs_time_zone(self.printed_at, "The printing time")
        needs_count(self.revision, "the revision")
