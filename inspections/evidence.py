"""What speaks about an item, as judging takes it: its records, what called for checks, its concessions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, cast

from inspections.judging import Call, Extension, Record
from inspections.models import Concession, ConcessionState, Inspection, RetestCall, UseCall
from kit.stores.knowledge import chunked


@dataclass
class Evidence:
    """Records and concessions by (item id, check id), calls by item id; those for one check by both.

    Order numbers run through records and calls, as recorded. Each `add_` takes the columns of one row.
    """

    records: dict[tuple[int, int], list[Record]] = field(default_factory=lambda: defaultdict(list))
    calls: dict[int, list[Call]] = field(default_factory=lambda: defaultdict(list))
    ordered: dict[tuple[int, int], list[Call]] = field(default_factory=lambda: defaultdict(list))
    extensions: dict[tuple[int, int], list[Extension]] = field(default_factory=lambda: defaultdict(list))

    def calls_for(self, item_id: int, check_id: int) -> list[Call]:
        return [*self.calls.get(item_id, ()), *self.ordered.get((item_id, check_id), ())]

    def add_record(
        self,
        item_id: int,
        check_id: int,
        done_on: date,
        verdict: str,
        as_left: str,
        number: int,
        corrects: int | None,
    ) -> None:
        stands: Any = as_left or verdict or None
        order = None if corrects is None else 2 * corrects
        self.records[item_id, check_id].append(Record(done_on, stands, 2 * number, order))

    def add_use(self, item_id: int, used_on: date, after_record: int) -> None:
        # A record entered after the call has a greater number than any known when the call was made.
        self.calls[item_id].append(Call(used_on, 2 * after_record + 1, "use"))

    def add_event(
        self, item_id: int, check_id: int | None, cause: str, called_on: date, after_record: int
    ) -> None:
        call = Call(called_on, 2 * after_record + 1, cast(Any, cause))
        if check_id is None:
            self.calls[item_id].append(call)
        else:
            self.ordered[item_id, check_id].append(call)

    def add_concession(self, row: Concession) -> None:
        """One that was granted, be it ended since; others add nothing."""
        if row.decided_on is not None and row.state != ConcessionState.REFUSED:
            self.extensions[row.item_id, row.check_due_id].append(
                Extension(row.due_on, row.until, row.decided_on, row.ended_on)
            )


def evidence_of(item_ids: Sequence[int], recorded_to: datetime | None = None) -> Evidence:
    """All records, calls and concessions of these items, in a fixed number of queries per 5,000 items.

    With `recorded_to` only the records entered up to that moment; calls and concessions carry their own days.
    """
    found = Evidence()
    for chunk in chunked(item_ids):
        rows = Inspection.objects.filter(item_id__in=chunk)
        if recorded_to is not None:
            rows = rows.filter(recorded_at__lte=recorded_to)
        listed = rows.order_by("id").values_list(
            "item_id", "check_done_id", "done_on", "verdict", "as_left", "id", "corrects_id"
        )
        for columns in listed.iterator(5000):
            found.add_record(*columns)
        uses = UseCall.objects.filter(item_id__in=chunk).order_by("id")
        for item_id, used_on, after in uses.values_list("item_id", "used_on", "after_record"):
            found.add_use(item_id, used_on, after)
        events = RetestCall.objects.filter(item_id__in=chunk).order_by("id")
        for event in events.values_list("item_id", "check_called_id", "cause", "called_on", "after_record"):
            found.add_event(*event)
        for row in Concession.objects.filter(item_id__in=chunk, decided_on__isnull=False).order_by("id"):
            found.add_concession(row)
    return found


def last_record() -> int:
    """The number of the record entered last: what is entered from now on answers a call made now."""
    return Inspection.objects.order_by("-id").values_list("id", flat=True).first() or 0
