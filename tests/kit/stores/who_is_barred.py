"""Who may not release an item, or grant a concession for it, and who did: from the ledger's rows alone.

An item that is set aside is released by somebody who neither set it aside nor failed it. A fail or a doubt counts
unless a pass, entered before the item was set aside, answers it; a pass that was corrected, or that stands by
correction in the place of a fail, answers nothing, and a fail that was corrected counts on.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

Row = dict[str, Any]
Tables = dict[str, list[Row]]


@dataclass
class Past:
    """What the ledger has told of one item so far. `found`: its records by number, in the order of entry."""

    found: dict[int, Row] = field(default_factory=dict)
    set_aside_by: set[str] = field(default_factory=set)
    found_before: int | None = None  # how many records there were when it was set aside; None: it is not

    @property
    def barred(self) -> set[str]:
        return self.set_aside_by | self.failed_by(self.found_before)

    def failed_by(self, before: int | None = None) -> set[str]:
        early = set(list(self.found)[:before])
        corrected = {row["corrects_id"] for row in self.found.values()}
        people: set[str] = set()
        answered: set[int] = set()
        for number in sorted(self.found, key=lambda number: (self._day(number), number), reverse=True):
            row = self.found[number]
            if row["struck"]:
                continue
            if row["verdict"] != "pass":
                if row["check_done_id"] not in answered or number not in early:
                    people |= {row["by"], row["recorded_by"]}
            elif number in early and number not in corrected and not self._covers_a_fail(row):
                answered.add(row["check_done_id"])
        return people - {""}

    def failed_last(self, check: int) -> set[str]:
        """Who made the last fail or doubt of the check."""
        failed = [
            number
            for number, row in self.found.items()
            if row["check_done_id"] == check and row["verdict"] in ("fail", "doubt")
        ]
        if not failed:
            return set()
        last = self.found[max(failed, key=lambda number: (self._day(number), number))]
        return {last["by"], last["recorded_by"]} - {""}

    def _day(self, number: int) -> date:
        return date.fromisoformat(self.found[number]["done_on"])

    def _covers_a_fail(self, row: Row) -> bool:
        while row["corrects_id"] is not None:
            row = self.found[row["corrects_id"]]
            if row["verdict"] != "pass":
                return True
        return False


def barred_now(tables: Tables, tag: str) -> set[str]:
    """Who may not release the item as things stand."""
    pasts: dict[str, Past] = defaultdict(Past)
    for _ in _read(tables, pasts):
        pass
    return pasts[tag].barred


def decided_by_the_wrong(tables: Tables) -> list[str]:
    """Each release and each grant, in the whole ledger, by somebody who must leave it to others: a sentence each."""
    return list(_read(tables, defaultdict(Past)))


def _read(tables: Tables, pasts: dict[str, Past]) -> Iterator[str]:
    tags = {row["id"]: row["tag"] for row in tables["item"]}
    asked: dict[int, Row] = {}
    for entry in tables["ledgerentry"]:
        body = json.loads(entry["body"])
        who = f"by {entry['actor']} in entry {entry['number']}"
        for label, number, values in body["rows"]:
            if label == "inspections.inspection":
                pasts[tags[values["item_id"]]].found[number] = values
            elif label == "inspections.concession":
                asked.setdefault(number, values)
                if values.get("state") == "granted":
                    past, check = pasts[tags[asked[number]["item_id"]]], asked[number]["check_due_id"]
                    if entry["actor"] in {asked[number]["asked_by"]} | past.failed_by() | past.failed_last(
                        check
                    ):
                        yield f"concession {number} was granted {who}"
        apart = entry["deed"] in ("quarantined", "found again") or (
            entry["deed"] == "received"
            and any(values.get("state") == "quarantined" for _, _, values in body["rows"])
        )
        for tag in [name.removeprefix("item:") for name in body["about"] if name.startswith("item:")]:
            past = pasts[tag]
            if apart:
                past.set_aside_by.add(entry["actor"])
                if past.found_before is None:
                    past.found_before = len(past.found)
            elif entry["deed"] == "released":
                if entry["actor"] in past.barred:
                    yield f"{tag} was released {who}"
                past.set_aside_by, past.found_before = set(), None
