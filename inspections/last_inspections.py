"""What a paper tells of each check of a piece that leaves: when it was done last, with which verdict, when it is due.

Equipment that leaves an undertaking carries evidence of its last inspection (PUWER 1998, regulation 6). Reads only.
"""

from __future__ import annotations

from collections.abc import Sequence

from inspections.models import Due, Inspection


def last_inspections(item_ids: Sequence[int]) -> dict[int, list[dict[str, str]]]:
    """By item, its checks in order of name, gating or not; dates in ISO form, empty where there is none."""
    dues = (
        Due.objects.filter(item__in=item_ids).select_related("check_due").order_by("item", "check_due__name")
    )
    records = {
        (record.item_id, record.check_done_id, record.done_on): record
        for record in Inspection.objects.filter(
            item__in=item_ids, struck=False, corrections__isnull=True
        ).order_by("pk")
    }
    found: dict[int, list[dict[str, str]]] = {}
    for due in dues:
        record = records.get((due.item_id, due.check_due_id, due.last_done)) if due.last_done else None
        found.setdefault(due.item_id, []).append(
            {
                "check": due.check_due.name,
                "done_on": due.last_done.isoformat() if due.last_done else "",
                "verdict": due.last_verdict,
                "due_on": due.due_on.isoformat() if due.due_on else "",
                "certificate": record.certificate if record else "",
                "by": (record.by or record.recorded_by) if record else "",
            }
        )
    return found
