"""What the calibrations of gauges state as their uncertainty. Reads only."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from inspections.judging import Calibration
from inspections.limits import Stated
from inspections.models import Inspection, Method


class Uncertainties:
    """By gauge id, what each calibration states, in order of the days."""

    def __init__(self) -> None:
        self.stated: dict[int, list[tuple[date, Stated | None]]] = {}

    def on(self, gauge_id: int, day: date) -> Stated | None:
        """The greatest of its points, as the last calibration up to and with `day` states it; None if it does not."""
        known = [stated for done_on, stated in self.stated.get(gauge_id, ()) if done_on <= day]
        return known[-1] if known else None


def uncertainties(gauge_ids: Collection[int]) -> Uncertainties:
    """Of these gauges, in one query. Corrected calibrations are left out."""
    found = Uncertainties()
    rows = Inspection.objects.filter(
        item_id__in=gauge_ids,
        readings__method=Method.CALIBRATION.value,
        struck=False,
        corrections__isnull=True,
    )
    listed = rows.order_by("done_on", "id").values_list("item_id", "done_on", "readings")
    for gauge_id, done_on, readings in listed:
        calibration = Calibration.from_json(readings["calibration"])
        values = [point.uncertainty for point in calibration.points if point.uncertainty]
        stated = Stated(max(values), calibration.unit) if values else None
        found.stated.setdefault(gauge_id, []).append((done_on, stated))
    return found
