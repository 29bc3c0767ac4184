"""A calibration from its points: as found is the verdict, as left decides on the gauge; bad points are refused."""

from __future__ import annotations

import pytest

from inspections.actions import BadPoints, record_calibration
from inspections.models import Inspection, Review
from kit.models import LedgerEntry
from kit.stores import NotAllowed, prove_ledger
from tests.inspections.bench import bench, calibrate, check, day, do, held, hold, item, points

# Class 1.6 of 0.6 bar: 0.0096 bar is permissible (EN 837-1, from memory: the class is % of the span).
TRUE = (("up", "0", "0.001"), ("up", "0.3", "0.302"), ("down", "0.3", "0.303"))


@pytest.fixture(autouse=True)
def _bench(db) -> None:
    bench()


def test_points_verdict_and_figures_are_kept_and_the_gauge_is_fit_again() -> None:
    made = calibrate("G-NEW", points(*TRUE), certificate="C-7", by="Test House")
    stored = Inspection.objects.get(pk=made.pk)
    assert (stored.verdict, stored.as_left, stored.by, stored.certificate) == (
        "pass",
        "",
        "Test House",
        "C-7",
    )
    assert stored.figures == {"max_error": 0.003, "permissible": 0.0096, "hysteresis": 0.001, "unit": "bar"}
    assert stored.readings["method"] == "calibration"
    assert item("G-NEW").fit_until is not None
    assert prove_ledger().fault is None


def test_one_found_out_and_set_right_is_a_fail_that_may_be_used() -> None:
    made = calibrate("G-1", points(("up", "0.3", "0.33", "0.301")))
    assert (made.verdict, made.as_left) == ("fail", "pass")
    gauge = item("G-1")
    assert (gauge.state, gauge.fit_until is not None) == ("available", True)


def test_one_left_failing_is_set_aside() -> None:
    made = calibrate("G-1", points(("up", "0.3", "0.33")))
    assert (made.verdict, made.as_left) == ("fail", "")
    assert item("G-1").state == "quarantined"
    assert "calibration failed" in item("G-1").state_why


@pytest.mark.parametrize(
    ("rows", "position", "field", "sentence"),
    [
        ((), None, "reference", "There are no points"),
        ((("up", "-0.1", "0"),), 0, "reference", "is below zero"),
        ((("up", "0.7", "0.7"),), 0, "reference", "is beyond the span of 0.6 bar"),
        ((("up", "0.3", "0.3"), ("up", "0.30", "0.31")), 1, "reference", "is there twice"),
        ((("across", "0.3", "0.3"),), 0, "direction", "write up or down"),
        ((("up", "0.3"),), None, "as_found", "Nothing was read as found"),
    ],
)
def test_points_that_cannot_be_judged(rows, position: int | None, field: str, sentence: str) -> None:
    before = (Inspection.objects.count(), LedgerEntry.objects.count())
    with pytest.raises(BadPoints) as caught:
        calibrate("G-1", points(*rows))
    fault = caught.value.faults[0]
    assert (fault.position, fault.field) == (position, field)
    assert sentence in fault.text
    assert (Inspection.objects.count(), LedgerEntry.objects.count()) == before


def test_other_checks_and_days_to_come_are_refused() -> None:
    with pytest.raises(BadPoints, match="hold test of bag was no calibration on"):
        do(record_calibration, item("B-1"), check("bag", "hold test"), points(*TRUE), day())
    with pytest.raises(NotAllowed, match="which is in the future"):
        calibrate("G-1", points(*TRUE), ago=-1)


def test_one_found_out_opens_a_review_of_what_was_tested_with_it() -> None:
    relied = hold("B-1", held(), ago=3)
    hold("B-2", held(), ago=2)
    made = calibrate("G-1", points(("up", "0.2", "0.25", "0.2")), ago=2)
    review = Review.objects.get()
    assert (review.calibration, review.after, review.until) == (made, day(100), day(2))
    assert relied.pk in review.records.values_list("inspection_id", flat=True)
    calibrate("G-1", points(*TRUE))
    assert Review.objects.count() == 1
    assert prove_ledger().fault is None
