"""The store's judge: reads checks and records, lets `judging` decide, keeps the due dates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from inspections.judging import (
    Call,
    Interval,
    Record,
    Rule,
    calls_known_by,
    known_by,
    next_due,
)
from inspections.judging import (
    Due as JudgedDue,
)
from inspections.models import Check, Due, Inspection, UseCall, Verdict
from kit.models import Item
from kit.planning.values import Gate
from kit.stores.act import Act
from kit.stores.knowledge import chunked


def rule_of(check: Check) -> Rule:
    return Rule(
        check=check.name,
        interval=Interval.parse(check.interval),
        basis=check.basis,  # type: ignore[arg-type]
        early_days=check.early_days,
        gates=check.gates,
        after_use=check.after_use,
    )


@dataclass
class Evidence:
    """Records by (item id, check id) and calls by item id. Order numbers run through both, as recorded."""

    records: dict[tuple[int, int], list[Record]] = field(default_factory=lambda: defaultdict(list))
    calls: dict[int, list[Call]] = field(default_factory=lambda: defaultdict(list))


def evidence_of(item_ids: Sequence[int]) -> Evidence:
    """All records and calls of these items, in a fixed number of queries per 5,000 items."""
    found = Evidence()
    for chunk in chunked(item_ids):
        rows = Inspection.objects.filter(item_id__in=chunk).values_list(
            "item_id", "check_done_id", "done_on", "verdict", "id"
        )
        for item_id, check_id, done_on, verdict, number in rows.order_by("id").iterator(5000):
            found.records[item_id, check_id].append(Record(done_on, verdict, 2 * number))
        calls = UseCall.objects.filter(item_id__in=chunk).order_by("id")
        for item_id, used_on, after in calls.values_list("item_id", "used_on", "after_record"):
            # A record entered after the call has a greater number than any known when the call was made.
            found.calls[item_id].append(Call(used_on, 2 * after + 1))
    return found


def checks_by_kind(kind_ids: Iterable[int]) -> dict[int, list[tuple[Check, Rule]]]:
    """Checks in force of these kinds with their rules, by name."""
    found: dict[int, list[tuple[Check, Rule]]] = defaultdict(list)
    for check in Check.objects.in_force().filter(kind_id__in=set(kind_ids)).order_by("name"):
        found[check.kind_id].append((check, rule_of(check)))
    return found


def judge_items(
    items: Sequence[Item], as_of: date | None = None
) -> Mapping[int, list[tuple[Check, JudgedDue]]]:
    """For each item, each check in force with when it is due; with `as_of` only what was done up to then counts."""
    checks = checks_by_kind(item.kind_id for item in items)
    evidence = evidence_of([item.pk for item in items])
    judged: dict[int, list[tuple[Check, JudgedDue]]] = {}
    for item in items:
        calls = evidence.calls.get(item.pk, [])
        if as_of is not None:
            calls = list(calls_known_by(calls, as_of))
        listed = []
        for check, rule in checks.get(item.kind_id, ()):
            records: Sequence[Record] = evidence.records.get((item.pk, check.pk), ())
            if as_of is not None:
                records = known_by(records, as_of)
            listed.append((check, next_due(rule, records, calls)))
        judged[item.pk] = listed
    return judged


def gates(judged: Iterable[tuple[Check, JudgedDue]]) -> tuple[Gate, ...]:
    return tuple(
        Gate(check=due.check, status=due.status, due_on=due.due_on, last_done=due.last_done, note=due.note)
        for check, due in judged
        if check.gates
    )


def _columns(due: JudgedDue) -> tuple[date | None, date | None, str, str, str]:
    return due.due_on, due.last_done, due.last_verdict or "", due.status, due.note


def _stored(due: Due) -> tuple[date | None, date | None, str, str, str]:
    return due.due_on, due.last_done, due.last_verdict, due.status, due.note


class InspectionsJudge:
    """Answers the store's questions (see kit.ports.Judge)."""

    def bring_up_to_date(self, items: Sequence[Item]) -> dict[int, tuple[Gate, ...]]:
        judged = judge_items(items)
        stored = {
            (due.item_id, due.check_due_id): due
            for due in Due.objects.filter(item_id__in=[item.pk for item in items])
        }
        new, moved = [], []
        for item in items:
            for check, due in judged[item.pk]:
                columns = _columns(due)
                row = stored.pop((item.pk, check.pk), None)
                if row is None:
                    row = Due(item_id=item.pk, check_due_id=check.pk)
                    new.append(row)
                elif _stored(row) != columns:
                    moved.append(row)
                else:
                    continue
                row.due_on, row.last_done, row.last_verdict, row.status, row.note = columns
        Due.objects.bulk_create(new, batch_size=500)
        Due.objects.bulk_update(
            moved, ["due_on", "last_done", "last_verdict", "status", "note"], batch_size=200
        )
        if stored:
            Due.objects.filter(pk__in=[row.pk for row in stored.values()]).delete()
        return {item.pk: gates(judged[item.pk]) for item in items}

    def gates_at(self, items: Sequence[Item], as_of: date) -> dict[int, tuple[Gate, ...]]:
        judged = judge_items(items, as_of)
        return {item.pk: gates(judged[item.pk]) for item in items}

    def differences(self, items: Sequence[Item]) -> list[str]:
        judged = judge_items(items)
        stored = {
            (due.item_id, due.check_due_id): due
            for due in Due.objects.filter(item_id__in=[item.pk for item in items])
        }
        found = []
        for item in items:
            for check, due in judged[item.pk]:
                row = stored.pop((item.pk, check.pk), None)
                if row is None:
                    found.append(
                        f"{item.tag}: {check.name} has no stored due date, derived anew {due.due_on}"
                    )
                elif _stored(row) != _columns(due):
                    found.append(
                        f"{item.tag}: {check.name} stored due {row.due_on}, derived anew {due.due_on}"
                    )
        found.extend(
            f"{row.item}: a due date is stored for a check no longer in force" for row in stored.values()
        )
        return found

    def used(self, act: Act, item: Item, used_on: date, job: str) -> list[str]:
        again = list(
            Check.objects.in_force()
            .filter(kind_id=item.kind_id, after_use=True)
            .values_list("name", flat=True)
        )
        if again:
            last = Inspection.objects.order_by("-id").values_list("id", flat=True).first() or 0
            act.create(UseCall(item=item, used_on=used_on, after_record=last, job=job))
        return again

    def failed_by(self, item: Item, since: datetime | None) -> set[str]:
        """By the records: a fail or doubt counts unless a later pass of the same check was recorded before `since`.

        A pass recorded after the item was set aside does not let in whoever failed it: they stay barred until it
        is released.
        """
        people: set[str] = set()
        answered: set[int] = set()
        rows = Inspection.objects.filter(item=item).order_by("-done_on", "-id")
        for row in rows:
            if row.verdict != Verdict.PASS:
                if row.check_done_id not in answered or (since is not None and row.recorded_at >= since):
                    people |= {row.by, row.recorded_by}
            elif since is None or row.recorded_at < since:
                answered.add(row.check_done_id)
        return people - {""}
