"""Ask for a check to be done again before its item goes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from inspections.actions.calls import call_for
from inspections.judge import Evidence, evidence_of
from inspections.judging import standing
from inspections.models import Cause, Inspection, RetestCall
from kit.models import Deed, Item
from kit.stores import Act, chunked, refit


def order_retests(act: Act, records: Sequence[Inspection], why: Mapping[int, str]) -> list[RetestCall]:
    """Order the checks of these records again, each for the reason that `why` gives by the record's id.

    The items are not fit until a record entered later answers; their promises follow. Where an ordered re-test
    waits already, none is ordered on top of it.
    """
    evidence = evidence_of(sorted({record.item_id for record in records}))
    asked = {
        (record.item_id, record.check_done_id): record
        for record in records
        if not _is_awaited(evidence, record)
    }
    made = act.create_each(
        [
            call_for(act, record.item, Cause.ORDERED, why[record.pk], record.check_done)
            for record in asked.values()
        ],
        Deed.RETEST,
        subjects=lambda call: [call.item],
        note=lambda call: f"{call.check_called} is to be done again before it goes out: {call.why}",
    )
    for chunk in chunked(sorted({call.item_id for call in made}), 2000):
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
    return made


def latest_of(records: Sequence[Inspection]) -> list[Inspection]:
    """Those of these records that decide how their check stands on their item now."""
    evidence = evidence_of(sorted({record.item_id for record in records}))
    return [record for record in records if _decides(evidence, record)]


def _decides(evidence: Evidence, record: Inspection) -> bool:
    known = evidence.records.get((record.item_id, record.check_done_id), ())
    corrects = {each.order: each.corrects for each in known}
    # A correction stands where what it corrects stood (inspections.judging.standing); orders are twice the ids.
    place = 2 * record.pk
    while (earlier := corrects.get(place)) is not None:
        place = earlier
    when = (record.done_on, place)
    return when == max((each.when for each in standing(known)), default=None)


def _is_awaited(evidence: Evidence, record: Inspection) -> bool:
    key = (record.item_id, record.check_done_id)
    last = max((each.when for each in standing(evidence.records.get(key, ()))), default=(date.min, 0))
    return any((call.day, call.order) >= last for call in evidence.ordered.get(key, ()))
