"""The records of a check: which of them count, once corrections and strike-outs are taken into account."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

Verdict = Literal["pass", "fail", "doubt"]


@dataclass(frozen=True, slots=True)
class Record:
    """One doing of a check. `order` rises with recording, calls included; it decides within a day.

    `corrects`: the order of the record that this one replaces, which then counts for nothing. A
    correction without a verdict strikes the other out and puts nothing in its place. `recorded_on`: the day
    it was entered; None, not known, counts as entered from the start.
    """

    done_on: date
    verdict: Verdict | None
    order: int
    corrects: int | None = None
    recorded_on: date | None = None

    def __post_init__(self) -> None:
        if self.verdict is None and self.corrects is None:
            raise ValueError(
                f"The record of {self.done_on.isoformat()} has no verdict; only a record that strikes out "
                "another may have none. Give a verdict, or say which record it strikes out."
            )

    @property
    def when(self) -> tuple[date, int]:
        """Its place among records and calls: by the day done, then by order of recording."""
        return self.done_on, self.order


def standing(records: Iterable[Record]) -> tuple[Record, ...]:
    """The records that count: what is corrected and what is struck out left out, each in its own place.

    A correction takes the place of the record it corrects, at the start of its chain: work done before a
    use was still done before it, however late a slip of the pen is put right. Of all that was recorded for
    one place the last word counts. So a record once corrected stays so, even if its correction is struck
    out in turn: whoever wants it back records it anew.
    """
    listed = tuple(records)
    corrected = {record.order: record.corrects for record in listed if record.corrects is not None}
    if not corrected:
        return listed
    last_word: dict[int, Record] = {}
    for record in sorted(listed, key=lambda record: record.order):
        last_word[_place(record.order, corrected)] = record
    return tuple(
        replace(record, order=place, corrects=None)
        for place, record in last_word.items()
        if record.verdict is not None
    )


def known_by(records: Iterable[Record], as_of: date) -> tuple[Record, ...]:
    """The records that count, of work done up to and with `as_of`; what was done later is not looked at.

    Corrections count whatever day they were entered: this is what is known by now of that day. For what
    was known at the time, ask `known_at` first.
    """
    return tuple(record for record in standing(records) if record.done_on <= as_of)


def known_at(records: Iterable[Record], recorded_to: date) -> tuple[Record, ...]:
    """The records entered up to and with `recorded_to`; a correction entered later corrects nothing yet."""
    return tuple(
        record for record in records if record.recorded_on is None or record.recorded_on <= recorded_to
    )


def _place(order: int, corrected: Mapping[int, int]) -> int:
    """The order of the record at the start of the chain of corrections that `order` ends."""
    # A correction is recorded after what it corrects; one that says otherwise would lead round in a ring.
    while (earlier := corrected.get(order)) is not None and earlier < order:
        order = earlier
    return order
