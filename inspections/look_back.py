"""Look back from a gauge found out of tolerance: what it puts in doubt (rule 8 of the trade). Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, cast

from django.db.models import QuerySet

from inspections.judging import (
    Calibration,
    CalibrationDone,
    FoundError,
    HoldLimits,
    HoldTest,
    JudgingFault,
    ReviewWindow,
    found_error,
    rejudge_hold_test,
    review_window,
)
from inspections.limits import Stated, hold_limits, stated_in
from inspections.models import Check, Inspection, Method, Review, Verdict
from inspections.models.check import RuleColumns
from kit.models import Item, Reservation, Standing

NOT_COMPUTED = "No pressures are recorded of it that could be corrected: to be repeated."


@dataclass(frozen=True, slots=True)
class InDoubt:
    """A record made with the gauge, and its verdict with the found error taken off.

    `rejudged` is empty where it cannot be computed; then `why` says so, and it is to be repeated.
    """

    record: Inspection
    rejudged: str
    figures: dict[str, Any]
    why: str

    @property
    def flips(self) -> bool:
        """Whether the verdict would have been another."""
        return bool(self.rejudged) and self.rejudged != self.record.verdict


@dataclass(frozen=True, slots=True)
class LookBack:
    """What one failing calibration of a gauge puts in doubt; `calibration` None if none failed, then nothing.

    Records in order of the day done and the tag; `jobs` are the references of jobs that relied on them.
    """

    gauge: Item
    calibration: Inspection | None = None
    after: date | None = None
    until: date | None = None
    records: tuple[InDoubt, ...] = ()
    jobs: tuple[str, ...] = ()
    error: FoundError | None = field(default=None, compare=False)

    @property
    def flipped(self) -> tuple[InDoubt, ...]:
        return tuple(one for one in self.records if one.flips)

    def as_dict(self) -> dict[str, Any]:
        """As the command `look_back` gives it in JSON."""
        return {
            "gauge": self.gauge.tag,
            "after": self.after and self.after.isoformat(),
            "until": self.until and self.until.isoformat(),
            "records": [
                {
                    "tag": one.record.item.tag,
                    "check": one.record.check_done.name,
                    "done_on": one.record.done_on.isoformat(),
                    "verdict": one.record.verdict,
                    "rejudged": one.rejudged,
                }
                for one in self.records
            ],
            "jobs": list(self.jobs),
        }


def look_back(gauge: Item, failing: Inspection | None = None) -> LookBack:
    """What the gauge's latest failing calibration, or the `failing` one given, puts in doubt.

    Records made with it later than the day of its last passing as-found calibration, up to and with the day of the
    failing one; those that were corrected or struck out are left out. The number of queries does not grow with the
    records. Raises JudgingFault if `failing` did not fail.
    """
    done = _calibrations(gauge)
    chosen = _latest_failing(done) if failing is None else failing
    if chosen is None:
        return LookBack(gauge)
    window = _window(done, chosen)
    error = error_found(chosen)
    rows = _made_with(gauge, window)
    listed = rows.select_related("item", "check_done", "version").order_by("done_on", "item__tag", "pk")
    limits: dict[tuple[str, int, Stated | None], HoldLimits] = {}
    records = tuple(_judged_again(row, error, limits) for row in listed)
    relying = reservations_relying_on([one.record for one in records], rows.values("item_id"))
    jobs = tuple(sorted({row.job.reference for row in relying}))
    return LookBack(gauge, chosen, window.after, window.until, records, jobs, error)


def error_found(calibration: Inspection) -> FoundError | None:
    """The error of the gauge over its dial as it was found; None where only a verdict was written down."""
    read = calibration_of(calibration)
    if read is None:
        return None
    try:
        return found_error(read)
    except JudgingFault:
        return None


def calibration_of(record: Inspection) -> Calibration | None:
    """The points of a calibration record; None if it has none that can be read."""
    if record.readings.get("method") != Method.CALIBRATION:
        return None
    try:
        return Calibration.from_json(record.readings["calibration"])
    except (KeyError, JudgingFault):
        return None


def entered_since(review: Review) -> QuerySet[Inspection]:
    """Records that the review's calibration puts in doubt and the review does not have: entered after it was opened."""
    window = _window(_calibrations(review.gauge), review.calibration)
    known = review.records.values("inspection_id")
    return _made_with(review.gauge, window).exclude(pk__in=known)


def records_that_count() -> QuerySet[Inspection]:
    """Records that were neither corrected nor struck out."""
    return Inspection.objects.filter(struck=False, corrections__isnull=True)


def reservations_relying_on(records: Iterable[Inspection], items: Any) -> list[Reservation]:
    """The reservations, not let go, of items of these `records`, whose window ends on or after the day of one.

    `items`: the ids of those items, as a list or a query. In order of the job's loading day and the tag.
    """
    since: dict[int, date] = {}
    for record in records:
        since[record.item_id] = min(record.done_on, since.get(record.item_id, record.done_on))
    rows = Reservation.objects.filter(item_id__in=items).exclude(standing=Standing.RELEASED)
    listed = rows.select_related("job", "item").order_by("job__load_on", "job__reference", "item__tag")
    return [row for row in listed if row.item_id in since and row.ends >= since[row.item_id]]


def _calibrations(gauge: Item) -> list[tuple[CalibrationDone, Inspection]]:
    """The calibrations of the gauge that count; a correction stands in the place of what it corrects."""
    rows = list(
        Inspection.objects.filter(
            item=gauge, check_done__in=calibrating_checks(gauge.kind_id)
        ).select_related("version", "check_done")
    )
    corrects = {row.pk: row.corrects_id for row in rows}
    corrected = set(corrects.values())
    return [
        (_done(row, _place(row.pk, corrects)), row)
        for row in rows
        if not row.struck and row.pk not in corrected
    ]


def calibrating_checks(kind: int) -> list[int]:
    """The checks of a kind that calibrate: those whose method it is, or ever was, else those that are called so."""
    by_method: list[int] = []
    by_name: list[int] = []
    for number, name, method, of_version in Check.objects.filter(kind=kind).values_list(
        "pk", "name", "method", "versions__method"
    ):
        if Method.CALIBRATION in (method, of_version):
            by_method.append(number)
        elif "calibrat" in name.casefold():
            # A depot that writes down only the verdict of a laboratory keeps a plain check: its name says it.
            by_name.append(number)
    return by_method or by_name


def _window(done: Sequence[tuple[CalibrationDone, Inspection]], failing: Inspection) -> ReviewWindow:
    its_own = next((each for each, row in done if row.pk == failing.pk), _done(failing, failing.pk))
    window = review_window([each for each, _ in done], its_own)
    assert window is not None  # None is only for no calibration at all
    return window


def _made_with(gauge: Item, window: ReviewWindow) -> QuerySet[Inspection]:
    rows = records_that_count().filter(gauge=gauge, done_on__lte=window.until)
    return rows if window.after is None else rows.filter(done_on__gt=window.after)


def _place(number: int, corrects: dict[int, int | None]) -> int:
    while (earlier := corrects.get(number)) is not None:
        number = earlier
    return number


def _done(row: Inspection, order: int) -> CalibrationDone:
    return CalibrationDone(row.done_on, cast(Any, row.verdict), order)


def _latest_failing(done: Sequence[tuple[CalibrationDone, Inspection]]) -> Inspection | None:
    failed = [(each.day, each.order, row) for each, row in done if row.verdict == Verdict.FAIL]
    return max(failed, key=lambda one: one[:2])[2] if failed else None


def _judged_again(
    record: Inspection, error: FoundError | None, limits: dict[tuple[str, int, Stated | None], HoldLimits]
) -> InDoubt:
    """By the version of the check that judged it then, kept in `limits` for the next record under it."""
    if error is None or record.readings.get("method") != Method.HOLD_TEST:
        return InDoubt(record, "", {}, NOT_COMPUTED)
    columns: RuleColumns = record.version or record.check_done
    stated = stated_in(record.readings)
    key = (columns._meta.label, cast(int, columns.pk), stated)
    try:
        if key not in limits:
            limits[key] = hold_limits(columns, stated)
        found = rejudge_hold_test(HoldTest.from_json(record.readings["test"]), limits[key], error)
    except (KeyError, JudgingFault) as fault:
        return InDoubt(record, "", {}, f"It cannot be judged again, so it is to be repeated: {fault}")
    return InDoubt(record, found.verdict, dict(found.figures()), found.why)
