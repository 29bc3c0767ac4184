"""What was known of an item at a moment, and what is true of that day as is known now. Reads only.

Known then: the ledger folded up to the moment by when each entry was recorded. Known now: the same day judged by all
that the ledger holds, what happened by then in its own place. Fitness is derived by the very engine that the store
uses. What bears on the day and was entered after it is named, with its entry.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from inspections.evidence import Evidence
from inspections.judge import Judged, Regime, gates, judge_by
from inspections.models import (
    Check,
    CheckVersion,
    Concession,
    ConcessionState,
    Inspection,
    RetestCall,
    UseCall,
)
from kit.models import Deed, Item, Kind, LedgerEntry
from kit.planning import Fitness, Gate, judge_fitness
from kit.stores.act import about, label
from kit.stores.fold import Folded, entries_about

# What is recorded of an item and was always so, whenever it was put right.
LASTING = (
    "kind_id", "counted", "maker", "serial", "batch", "bore_min_mm", "bore_max_mm", "mark", "made_on", "use_by",
    "use_by_precision", "use_by_text",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Known:
    """One item at a moment: as a row, its checks as judged for that day, and whether they kept it fit.

    `records` are those that were known, corrected ones included; `concessions` those granted and not ended.
    """

    item: Item
    day: date
    judged: Sequence[Judged]
    gates: tuple[Gate, ...]
    fitness: Fitness
    records: Sequence[Inspection]
    concessions: Sequence[Concession]

    @property
    def fit(self) -> bool:
        """Whether it met its recorded requirements on the day; its state left aside."""
        return self.fit_through(self.day)

    def fit_through(self, day: date) -> bool:
        return self.fitness.fit_until is not None and self.fitness.fit_until >= day


@dataclass(frozen=True, slots=True)
class Learnt:
    """An entry made after the moment that bears on what was known: "late entry", "correction", "rule", "details"."""

    entry: LedgerEntry
    how: str


@dataclass(frozen=True, slots=True)
class Seen:
    """One item, then and now. `then` is None if nothing was known of it yet."""

    tag: str
    then: Known | None
    now: Known | None
    learnt: Sequence[Learnt]

    @property
    def differs(self) -> list[str]:
        """Names of what differs between then and now."""
        return differences(self.then, self.now)


def seen(items: Sequence[Item], moment: datetime) -> dict[int, Seen]:
    """Each item as it was known at the moment and as is known now of that moment, by id."""
    entries = entries_about([*map(about, items), *(f"kind:{name}" for name in _kinds(items))])
    then = _known([e for e in entries if e.recorded_at <= moment], items, moment)
    now = _known_now(entries, items, moment)
    later = [(entry, _bearing(entry, moment)) for entry in entries if entry.recorded_at > moment]
    listed: dict[str, list[Learnt]] = defaultdict(list)
    for entry, how in later:
        if how:
            for name in json.loads(entry.body)["about"]:
                listed[name].append(Learnt(entry, how))
    found: dict[int, Seen] = {}
    for item in items:
        names = (about(item), *(f"kind:{name}" for name in _kinds([item])))
        bearing = {learnt.entry.number: learnt for name in names for learnt in listed[name]}
        found[item.pk] = Seen(
            item.tag, then.get(item.pk), now.get(item.pk), [bearing[number] for number in sorted(bearing)]
        )
    return found


def known_at(items: Sequence[Item], moment: datetime) -> dict[int, Known]:
    """What was known of each item at the moment, by id; what was not known at all is left out."""
    entries = entries_about([*map(about, items), *(f"kind:{name}" for name in _kinds(items))])
    return _known([entry for entry in entries if entry.recorded_at <= moment], items, moment)


def _kinds(items: Iterable[Item]) -> list[str]:
    ids = {item.kind_id for item in items}
    return list(Kind.objects.filter(pk__in=ids).order_by("name").values_list("name", flat=True))


def _known(entries: Sequence[LedgerEntry], items: Sequence[Item], moment: datetime) -> dict[int, Known]:
    folded = Folded.of(entries)
    ids = {item.pk for item in items}
    rows = [row for row in folded.all(Item) if row.pk in ids]
    return _judged(folded, rows, moment)


def _known_now(entries: Sequence[LedgerEntry], items: Sequence[Item], moment: datetime) -> dict[int, Known]:
    """All that is known, but of where the item was and how it stood what had happened by the moment."""
    # In order of recording: a late entry never lies before what was known of the item when it was made.
    standing = Folded.of(entry for entry in entries if entry.happened_at <= moment)
    folded = Folded.of(entries)
    rows = []
    for item in items:
        row, last = standing.one(Item, item.pk), folded.one(Item, item.pk)
        if row is not None and last is not None:
            for name in LASTING:
                setattr(row, name, getattr(last, name))
            rows.append(row)
    return _judged(folded, rows, moment)


def _judged(folded: Folded, rows: Sequence[Item], moment: datetime) -> dict[int, Known]:
    """The items judged on the day of the moment by the rules and the evidence that were folded."""
    day = timezone.localdate(moment)
    ids = {row.pk for row in rows}
    records = [row for row in folded.all(Inspection) if row.item_id in ids]
    concessions = [row for row in folded.all(Concession) if row.item_id in ids]
    judged = judge_by(rows, _regimes(folded), _evidence(folded, records, concessions, ids), day)
    return {
        row.pk: Known(
            row,
            day,
            judged[row.pk],
            gates(judged[row.pk]),
            judge_fitness(row.use_by, gates(judged[row.pk])),
            [record for record in records if record.item_id == row.pk and record.done_on <= day],
            [one for one in concessions if one.item_id == row.pk and _runs(one, day)],
        )
        for row in rows
    }


def _regimes(folded: Folded) -> dict[int, list[Regime]]:
    versions: dict[int, list[CheckVersion]] = defaultdict(list)
    for version in folded.all(CheckVersion):
        versions[version.of_id].append(version)
    found: dict[int, list[Regime]] = defaultdict(list)
    for check in sorted(folded.all(Check), key=lambda check: check.name):
        regime = Regime(check, versions.get(check.pk, ()))
        if regime.ever_asked:
            found[check.kind_id].append(regime)
    return found


def _evidence(
    folded: Folded, records: Sequence[Inspection], concessions: Sequence[Concession], ids: Collection[int]
) -> Evidence:
    found = Evidence()
    for row in records:
        found.add_record(
            row.item_id, row.check_done_id, row.done_on, row.verdict, row.as_left, row.pk, row.corrects_id
        )
    for use in folded.all(UseCall):
        if use.item_id in ids:
            found.add_use(use.item_id, use.used_on, use.after_record)
    for call in folded.all(RetestCall):
        if call.item_id in ids:
            found.add_event(call.item_id, call.check_called_id, call.cause, call.called_on, call.after_record)
    for one in concessions:
        found.add_concession(one)
    return found


def _runs(one: Concession, day: date) -> bool:
    return (
        one.state in (ConcessionState.GRANTED, ConcessionState.ENDED)
        and one.decided_on is not None
        and one.decided_on <= day <= one.until
        and (one.ended_on is None or day < one.ended_on)
    )


def differences(then: Known | None, now: Known | None) -> list[str]:
    """What differs: "known at all", "fit until", "why", "state", "custody", "depot", or the name of a check."""
    if then is None or now is None:
        return [] if then is now else ["known at all"]
    pairs: list[tuple[str, Any, Any]] = [
        ("fit until", then.fitness.fit_until, now.fitness.fit_until),
        ("why", then.fitness.reason, now.fitness.reason),
        *((name, getattr(then.item, name), getattr(now.item, name)) for name in ("state", "custody")),
        ("depot", then.item.depot_id, now.item.depot_id),
    ]
    due_then = {one.check.name: one.due for one in then.judged}
    due_now = {one.check.name: one.due for one in now.judged}
    for name in sorted({*due_then, *due_now}):
        pairs.append((name, due_then.get(name), due_now.get(name)))
    return [name for name, before, after in pairs if before != after]


def _bearing(entry: LedgerEntry, moment: datetime) -> str:
    """How an entry that was made after the moment bears on its day; empty if it does not."""
    day = timezone.localdate(moment).isoformat()
    rows = json.loads(entry.body)["rows"]
    told = [(name, values) for name, _key, values in rows]

    def by(model: Any, column: str) -> bool:
        return any(name == label(model) and (values.get(column) or "9999") <= day for name, values in told)

    if entry.deed == Deed.CORRECTED:
        return "correction" if by(Inspection, "done_on") or _corrects_by(entry, day) else ""
    if entry.deed == Deed.RULED:
        return "rule" if by(CheckVersion, "in_force_from") else ""
    if by(Inspection, "done_on") or by(UseCall, "used_on") or by(RetestCall, "called_on"):
        return "late entry"
    if entry.deed == Deed.CHANGED and any(
        name == label(Item) and set(values) & set(LASTING) for name, values in told
    ):
        return "details"
    return "late entry" if entry.happened_at <= moment else ""


def _corrects_by(entry: LedgerEntry, day: str) -> bool:
    """Whether the record that was corrected was of that day or earlier."""
    if entry.corrects is None:
        return False
    done = json.loads(entry.corrects.body)["facts"].get("done_on")
    return done is not None and done <= day
