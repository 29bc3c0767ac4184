"""How a check of an item stands, from the rows of a store, by the card kept by hand of the inspections' tests.

Nothing here calls the judges of the store or of the inspections.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from tests.inspections.judging.history_rows import ConcessionRow, Entry, History, RuleRow, VersionRow
from tests.inspections.judging.kept_by_hand import ByHand

Row = dict[str, Any]
FOR_EVER = date.max
ASKED = (
    "interval",
    "basis",
    "early_days",
    "gates",
    "after_use",
    "after_repair",
    "after_quarantine",
    "after_uses",
    "after_storage",
    "grace_days",
)


@dataclass(frozen=True)
class Stands:
    """`kept`: what its due date says, column by column; None if nothing is asked. `bars_after`: the last day on which
    it lets the item out, FOR_EVER if it does not limit it, None if it holds it back as things stand.
    """

    kept: tuple[Any, ...] | None
    bars_after: date | None


def history_of(tables: dict[str, list[Row]], item: Row, check: Row) -> History:
    """All that is recorded of one check of one item."""
    versions = tuple(
        VersionRow(row["in_force_from"], _rule(row), row["number"], row["known_on"])
        for row in sorted(tables["checkversion"], key=lambda row: int(row["number"]))
        if row["of_id"] == check["id"]
    )
    entries = [
        Entry(
            row["done_on"],
            "struck" if row["struck"] else row["as_left"] or row["verdict"],
            2 * row["id"],
            row["done_on"],
            None if row["corrects_id"] is None else 2 * row["corrects_id"],
        )
        for row in tables["inspection"]
        if (row["item_id"], row["check_done_id"]) == (item["id"], check["id"])
    ]
    # A call comes after the records that were there when it came. Which of two was first that came on one day, with
    # no record between, the tables do not say: the alphabet decides whose words are shown.
    calls = [
        Entry(row["used_on"], "use", 2 * row["after_record"] + 1, row["used_on"])
        for row in tables["usecall"]
        if row["item_id"] == item["id"]
    ]
    calls += [
        Entry(row["called_on"], row["cause"], 2 * row["after_record"] + 1, row["called_on"])
        for row in tables["retestcall"]
        if row["item_id"] == item["id"] and row["check_called_id"] in (None, check["id"])
    ]
    entries += sorted(calls, key=lambda call: call.what)
    concessions = tuple(
        ConcessionRow(row["due_on"], row["until"], row["decided_on"], row["ended_on"])
        for row in tables["concession"]
        if (row["item_id"], row["check_due_id"]) == (item["id"], check["id"])
        and row["state"] in ("granted", "ended")
    )
    return History(date.min, versions, tuple(entries), concessions, (), None)


def _rule(row: Row) -> RuleRow | None:
    return None if row["retired"] else RuleRow(**{name: row[name] for name in ASKED})


@lru_cache(maxsize=20_000)
def stands(history: History, today: date) -> Stands:
    """How the check stands today."""
    hand = ByHand(history, today)
    answer = hand.answer()
    if answer is None:
        return Stands(None, FOR_EVER)
    kept = (*answer, hand.card.last, hand.card.verdict, hand.conceded_from(), hand.grace_until())
    if hand.in_date_on(today, gating=True):
        return Stands(kept, hand.last_in_date(gating=True))
    rule = hand.rule_on(today)
    assert rule is not None
    if hand.card.verdict != "pass" or hand.card.called_for(rule):
        return Stands(kept, None)
    return Stands(kept, hand.due(rule))


@lru_cache(maxsize=20_000)
def lets_out_on(history: History, today: date, day: date) -> bool:
    """Whether, by what is known today, the check lets the item be out on that one day, and why not is nobody's say."""
    return ByHand(history, today).in_date_on(day, gating=True)
