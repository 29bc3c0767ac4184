"""The store's judge: reads checks and records, lets `judging` decide, keeps the due dates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inspections.evidence import Evidence, evidence_of, last_record
from inspections.judging import (
    Call,
    Extension,
    Interval,
    Record,
    Rule,
    Version,
    due_under,
    gate_of,
    gate_under,
)
from inspections.judging import (
    Due as JudgedDue,
)
from inspections.models import (
    EVER,
    Check,
    CheckVersion,
    Concession,
    Due,
    Inspection,
    UseCall,
    Verdict,
)
from inspections.models.check import RuleColumns
from kit.models import Item
from kit.planning.values import Gate
from kit.stores.act import Act

__all__ = [
    "Checked",
    "Evidence",
    "InspectionsJudge",
    "Judged",
    "Regime",
    "checked",
    "checks_by_kind",
    "evidence_of",
    "gates",
    "judge_by",
    "judge_items",
    "last_record",
    "rule_of",
]


def rule_of(name: str, columns: RuleColumns) -> Rule | None:
    """The rule that these columns say; None if the check is not asked for."""
    if columns.retired:
        return None
    return Rule(
        check=name,
        interval=Interval.parse(columns.interval),
        basis=columns.basis,  # type: ignore[arg-type]
        early_days=columns.early_days,
        gates=columns.gates,
        after_use=columns.after_use,
        after_repair=columns.after_repair,
        after_quarantine=columns.after_quarantine,
        after_uses=columns.after_uses,
        after_storage=Interval.parse(columns.after_storage) if columns.after_storage else None,
        grace_days=columns.grace_days,
    )


@dataclass(frozen=True, slots=True)
class Judged:
    """One check of one item: when it is due, and how it bars the item from going out, if it does."""

    check: Check
    due: JudgedDue
    gate: Gate | None


class Regime:
    """One check with its versions, and which of them are asked of an item."""

    def __init__(self, check: Check, versions: Iterable[CheckVersion]) -> None:
        """`versions` need not be saved; a check older than versions are has its own columns for its only one."""
        self.check = check
        rows: list[tuple[Version, RuleColumns]] = [
            (Version(row.in_force_from, rule_of(check.name, row), row.number, row.known_on), row)
            for row in versions
        ] or [(Version(EVER, rule_of(check.name, check), 1, EVER), check)]
        self._rows = _in_question(rows)
        self._narrowed = any(columns.narrowed for _version, columns in self._rows)
        self._all = [version for version, _columns in self._rows]
        self.ever_asked = any(version.rule is not None for version in self._all)

    def versions_for(self, item: Item) -> list[Version]:
        """Its versions; where one is for another mark, maker or batch, nothing is asked of the item under it."""
        if not self._narrowed:
            return self._all
        return [
            version if columns.suits(item) else replace(version, rule=None) for version, columns in self._rows
        ]


def checks_by_kind(kind_ids: Iterable[int]) -> dict[int, list[Regime]]:
    """The checks of these kinds, by name, each with its versions; those never asked for are left out."""
    ids = set(kind_ids)
    versions: dict[int, list[CheckVersion]] = defaultdict(list)
    for row in CheckVersion.objects.filter(of__kind_id__in=ids):
        versions[row.of_id].append(row)
    found: dict[int, list[Regime]] = defaultdict(list)
    for check in Check.objects.filter(kind_id__in=ids).order_by("name"):
        regime = Regime(check, versions.get(check.pk, ()))
        if regime.ever_asked:
            found[check.kind_id].append(regime)
    return found


def _in_question(rows: list[tuple[Version, RuleColumns]]) -> list[tuple[Version, RuleColumns]]:
    """Without those that never count, because another from the same day does wherever they would."""
    kept: list[tuple[Version, RuleColumns]] = []
    for row in sorted(rows, key=lambda row: row[0].number):
        kept = [earlier for earlier in kept if not _gives_way(earlier[0], row[0])]
        kept.append(row)
    return kept


def _gives_way(earlier: Version, later: Version) -> bool:
    """Not if it could be planned with for a while: asked of a day of that while, it is what was to come."""
    return later.in_force_from == earlier.in_force_from and (
        later.known_on <= earlier.known_on or later.in_force_from <= earlier.known_on
    )


def judge_items(
    items: Sequence[Item], as_of: date | None = None, recorded_to: datetime | None = None
) -> Mapping[int, list[Judged]]:
    """For each item, each check asked of it with when it is due, by the rules and records that count on `as_of`
    (today by default); with `recorded_to` by the records entered up to that moment.
    """
    return judge_by(
        items,
        checks_by_kind(item.kind_id for item in items),
        evidence_of([item.pk for item in items], recorded_to),
        as_of or timezone.localdate(),
    )


def judge_by(
    items: Sequence[Item], checks: Mapping[int, Sequence[Regime]], evidence: Evidence, day: date
) -> dict[int, list[Judged]]:
    """As `judge_items`, by the checks of these kinds and the evidence handed over. Reads nothing."""
    judged: dict[int, list[Judged]] = {}
    for item in items:
        listed = []
        for regime in checks.get(item.kind_id, ()):
            key = (item.pk, regime.check.pk)
            found = _judge(
                regime.check,
                regime.versions_for(item),
                evidence.records.get(key, ()),
                evidence.calls_for(*key),
                evidence.extensions.get(key, ()),
                day,
            )
            if found is not None:
                listed.append(found)
        judged[item.pk] = listed
    return judged


@dataclass(frozen=True, slots=True)
class Checked:
    """All that decides when one check of one item is due."""

    versions: Sequence[Version]
    records: Sequence[Record]
    calls: Sequence[Call]
    extensions: Sequence[Extension]


def checked(item: Item, check: Check) -> Checked:
    """What is known now of one check of one item."""
    regimes = {regime.check: regime for regime in checks_by_kind([item.kind_id]).get(item.kind_id, ())}
    evidence = evidence_of([item.pk])
    key = (item.pk, check.pk)
    return Checked(
        regimes[check].versions_for(item) if check in regimes else (),
        evidence.records.get(key, ()),
        evidence.calls_for(*key),
        evidence.extensions.get(key, ()),
    )


def _judge(
    check: Check,
    versions: Sequence[Version],
    records: Sequence[Record],
    calls: Sequence[Call],
    extensions: Sequence[Extension],
    day: date,
) -> Judged | None:
    due = due_under(versions, records, calls, extensions, day)
    if due is None:
        return None
    rules = [version.rule for version in versions]
    if all(rule is not None and rule.gates for rule in rules):
        return Judged(check, due, gate_of(due))
    return Judged(check, due, gate_under(versions, records, calls, extensions, day))


def gates(judged: Iterable[Judged]) -> tuple[Gate, ...]:
    return tuple(each.gate for each in judged if each.gate is not None)


DERIVED = ("due_on", "last_done", "last_verdict", "status", "note", "conceded_from", "grace_until")


def _columns(due: JudgedDue) -> dict[str, Any]:
    return {name: getattr(due, name) for name in DERIVED} | {"last_verdict": due.last_verdict or ""}


def _stored(due: Due) -> dict[str, Any]:
    return {name: getattr(due, name) for name in DERIVED}


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
            for one in judged[item.pk]:
                columns = _columns(one.due)
                row = stored.pop((item.pk, one.check.pk), None)
                if row is None:
                    row = Due(item_id=item.pk, check_due_id=one.check.pk)
                    new.append(row)
                elif _stored(row) != columns:
                    moved.append(row)
                else:
                    continue
                for name, value in columns.items():
                    setattr(row, name, value)
        Due.objects.bulk_create(new, batch_size=500)
        Due.objects.bulk_update(moved, DERIVED, batch_size=200)
        if stored:
            Due.objects.filter(pk__in=[row.pk for row in stored.values()]).delete()
        return {item.pk: gates(judged[item.pk]) for item in items}

    def gates_at(self, items: Sequence[Item], as_of: date) -> dict[int, tuple[Gate, ...]]:
        judged = judge_items(items, as_of)
        return {item.pk: gates(judged[item.pk]) for item in items}

    def if_passed(
        self, items: Sequence[Item], days: Sequence[date]
    ) -> dict[int, dict[str, dict[date, date]]]:
        from inspections.if_passed import due_if_passed

        return due_if_passed(items, days)

    def differences(self, items: Sequence[Item]) -> list[str]:
        judged = judge_items(items)
        stored = {
            (due.item_id, due.check_due_id): due
            for due in Due.objects.filter(item_id__in=[item.pk for item in items])
        }
        found = []
        for item in items:
            for one in judged[item.pk]:
                row = stored.pop((item.pk, one.check.pk), None)
                name, due_on = one.check.name, one.due.due_on
                if row is None:
                    found.append(f"{item.tag}: {name} has no stored due date, derived anew {due_on}")
                elif _stored(row) != _columns(one.due):
                    found.append(f"{item.tag}: {name} stored due {row.due_on}, derived anew {due_on}")
        found.extend(
            f"{row.item}: a due date is stored for a check no longer in force" for row in stored.values()
        )
        return found

    def used(self, act: Act, item: Item, used_on: date, job: str) -> list[str]:
        if item.counted:
            return []
        act.create(UseCall(item=item, used_on=used_on, after_record=last_record(), job=job))
        return [
            one.check.name
            for one in judge_items([item])[item.pk]
            if one.due.note and not one.check.retired and one.due.last_done is not None
        ]

    def concessions(self, item_ids: Sequence[int]) -> dict[int, list[str]]:
        today = timezone.localdate()
        running = Concession.objects.running(today).filter(item_id__in=item_ids).select_related("check_due")
        counted = {
            (due.item_id, due.check_due_id): due.conceded_from
            for due in Due.objects.filter(item_id__in=item_ids, conceded_from__isnull=False)
        }
        found: dict[int, list[str]] = defaultdict(list)
        # The longest of those for one due date is the one that counts.
        for row in running.order_by("item_id", "check_due__name", "-until", "id"):
            if counted.pop((row.item_id, row.check_due_id), None) == row.due_on:
                found[row.item_id].append(row.in_words)
        return dict(found)

    def failed_by(self, item: Item, since: datetime | None) -> set[str]:
        """By the records: a fail or doubt counts unless a later pass of the same check was recorded before `since`.

        A pass recorded after the item was set aside does not let in whoever failed it: they stay barred until it
        is released. A fail that was corrected or struck out counts on: whoever made it does not release, or grant a
        concession, on the strength of a slip of the pen (rule 7 of the trade).
        """
        people: set[str] = set()
        answered: set[int] = set()
        rows = {row.pk: row for row in Inspection.objects.filter(item=item).order_by("-done_on", "-id")}
        corrected = {row.corrects_id for row in rows.values()}
        for row in rows.values():
            if row.struck:
                continue
            if row.verdict != Verdict.PASS:
                if row.check_done_id not in answered or (since is not None and row.recorded_at >= since):
                    people |= {row.by, row.recorded_by}
            elif (
                (since is None or row.recorded_at < since)
                and row.pk not in corrected
                and not _covers_a_fail(row, rows)
            ):
                answered.add(row.check_done_id)
        return people - {""}


def _covers_a_fail(row: Inspection, rows: Mapping[int, Inspection]) -> bool:
    """Whether it stands, by correction, in the place of a fail or a doubt: then it is no new test of the item."""
    while row.corrects_id is not None:
        row = rows[row.corrects_id]
        if row.verdict != Verdict.PASS:
            return True
    return False
