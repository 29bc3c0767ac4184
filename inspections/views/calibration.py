"""One calibration of a gauge: its points, what they say, and the picture of its errors."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.judging import JudgingFault, Point, judge_calibration, zone
from inspections.judging.decision import applied_guard, exactly
from inspections.limits import calibration_limits
from inspections.look_back import calibrating_checks, calibration_of
from inspections.models import Inspection, Review
from inspections.pictures import picture_of_errors
from inspections.record_values import figure
from kit.views.desk import at_desk
from kit.views.found import item_in_sight


@dataclass(frozen=True)
class PointRow:
    """One point as the table shows it, all figures written; `stands` is the verdict of its error as found."""

    direction: str
    reference: str
    as_found: str
    error: str
    stands: str
    as_left: str
    error_left: str
    stands_left: str


@dataclass(frozen=True)
class ShownCalibration:
    """What templates/calibration/figure.html takes; figures in `unit`, written."""

    picture: SafeString
    rows: list[PointRow]
    unit: str
    permissible: str
    guard: str
    hysteresis: str


def shown_calibration(record: Inspection) -> ShownCalibration | None:
    """The points of a record and their picture, by the version that judged it; None if it has no such points."""
    read = calibration_of(record)
    if read is None:
        return None
    try:
        limits = calibration_limits(record.version or record.check_done)
        judged = judge_calibration(read, limits)
    except JudgingFault:
        return None

    def of(indicated: Decimal | None, point: Point) -> tuple[str, str, str]:
        if indicated is None:
            return "", "", ""
        error = exactly(indicated) - exactly(point.reference)
        # The uncertainty on the certificate widens the guard of its point, as it did in the verdict.
        guard = max(judged.guard, applied_guard(exactly(point.uncertainty or 0), limits.rule))
        return figure(indicated), _signed(error), zone(abs(error), judged.permissible, guard)

    return ShownCalibration(
        picture_of_errors(read, judged.permissible, judged.guard, f"errors-{record.pk}"),
        [
            PointRow(
                _("up") if point.direction == "up" else _("down"),
                figure(point.reference),
                *of(point.as_found, point),
                *of(point.as_left, point),
            )
            for point in read.points
        ],
        judged.unit,
        figure(judged.permissible),
        figure(judged.guard) if judged.guard else "",
        "" if judged.hysteresis is None else figure(judged.hysteresis),
    )


def _signed(error: Fraction) -> str:
    sign = "+" if error > 0 else "\N{MINUS SIGN}" if error < 0 else ""
    return f"{sign}{figure(abs(error))}"


@require_safe
@at_desk()
def calibration(request: HttpRequest, number: int) -> HttpResponse:
    rows = Inspection.objects.select_related("item__kind", "check_done", "version")
    record = rows.filter(pk=number).first()
    if record is None or record.check_done_id not in calibrating_checks(record.item.kind_id):
        raise Http404(f"no calibration {number}")
    item = item_in_sight(request, record.item.tag)
    return render(
        request,
        "calibration/page.html",
        {
            "item": item,
            "record": record,
            "shown": shown_calibration(record),
            "review": Review.objects.filter(calibration=record).first(),
            "correction": Inspection.objects.filter(corrects=record).first(),
        },
    )
