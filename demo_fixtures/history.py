"""Years of inspection records of a piece, made so that its checks fall due when they are meant to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

import factory.random

from demo_fixtures.dates import in_days, in_months
from demo_fixtures.regimes import Regime, regimes_of
from demo_fixtures.rows import InspectionFactory, InspectionRow, ItemRow

WELL_AHEAD = 60  # days; the last job of the workbook is back before


@dataclass(frozen=True, slots=True)
class Past:
    """How a piece's records end. `due_in`: days until its first check falls due, negative once it is overdue.

    `ended` "never" leaves it with none, as new in the store; "fail" and "doubt" come a few days ago, after passes.
    `mended`: it failed once and passed again soon after.
    """

    due_in: int | None = None
    ended: Literal["pass", "fail", "doubt", "never"] = "pass"
    mended: bool = False


GOOD = Past()
MENDED = Past(mended=True)
NEVER = Past(ended="never")
FAILED = Past(ended="fail")
DOUBTFUL = Past(ended="doubt")


def due_in(days: int) -> Past:
    return Past(due_in=days)


def records(item: ItemRow, past: Past, day: date) -> Iterator[InspectionRow]:
    """The records of every check of the item, none of them before it was made or after the day before `day`."""
    if past.ended == "never":
        return
    for number, regime in enumerate(regimes_of(item.kind)):
        yield from _of_one_check(item, regime, past if number == 0 else GOOD, day)


def _of_one_check(item: ItemRow, regime: Regime, past: Past, day: date) -> Iterator[InspectionRow]:
    dice = factory.random.randgen
    soonest, latest = (1, 26) if regime.months == 1 else (WELL_AHEAD, regime.months * 30 - 5)
    drawn = dice.randint(soonest, latest)
    rounds = dice.randint(2, 4) if regime.months == 12 else dice.randint(3, 6)
    due_on = in_days(day, drawn if past.due_in is None else past.due_in)
    first = in_months(due_on, -rounds * regime.months)
    yesterday = in_days(day, -1)
    done = []
    for turn in range(rounds):
        planned = in_months(first, turn * regime.months)
        # The first record sets the grid of an anchored check; of the others the last one sets the due date.
        moved = turn > 0 and (regime.basis == "anchor" or turn < rounds - 1)
        early = dice.randint(0, max(1, regime.early_days - 8) if regime.basis == "anchor" else 12)
        done.append(min(in_days(planned, -early if moved else 0), yesterday))
    done = [each for each in done if item.born is None or each > item.born]
    if past.mended and len(done) > 1:
        failed_on = in_days(done[-1], -dice.randint(2, 9))
        yield InspectionFactory(item=item, day=failed_on, check=regime.check, failed=True)
    for each in done:
        yield InspectionFactory(item=item, day=each, check=regime.check)
    if past.ended in ("fail", "doubt"):
        lately = in_days(day, -dice.randint(2, 6))
        yield InspectionFactory(
            item=item,
            day=lately,
            check=regime.check,
            failed=past.ended == "fail",
            doubtful=past.ended == "doubt",
        )
