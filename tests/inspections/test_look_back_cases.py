"""Looking back from a gauge where it is less plain: never failed, never good before, struck out, nothing read."""

from __future__ import annotations

import pytest

from inspections.actions import Finding, record_many
from inspections.look_back import look_back
from inspections.models import Check, Inspection
from kit.models import Item
from kit.stores import acting
from tests.inspections.bad_gauge import EXAMINER, Store, calibration, make_store


@pytest.fixture
def small(db) -> Store:
    return make_store(60, seed=9, bags=12)


def test_a_gauge_that_never_failed_puts_nothing_in_doubt(small: Store):
    found = look_back(Item.objects.get(tag="G-1"))
    assert found.as_dict() == {"gauge": "G-1", "after": None, "until": None, "records": [], "jobs": []}


def test_without_a_good_calibration_before_everything_is_in_doubt(small: Store):
    """A gauge whose first calibration on record fails."""
    first = Item.objects.get(tag="G-2")
    good = Inspection.objects.get(item=first)
    read = calibration("fail")
    with acting(EXAMINER) as act:
        record_many(
            act,
            [
                Finding(
                    first,
                    good.check_done,
                    small.day(0),
                    "fail",
                    corrects=good,
                    readings={"method": "calibration", "calibration": read.to_json()},
                )
            ],
        )
    found = look_back(first)
    assert (found.after, found.until) == (None, small.day(0))
    expected = {row.number for row in small.rows if row.gauge == "G-2" and row.fate == "stands"}
    corrected = sum(row.fate == "corrected" for row in small.rows)  # these were read on G-2 instead
    assert len(found.records) == len(expected) + corrected


def test_a_failed_calibration_that_was_struck_out_puts_nothing_in_doubt(small: Store):
    bad = small.bad
    with acting(EXAMINER) as act:
        failing = small.failing
        record_many(
            act,
            [Finding(bad, failing.check_done, failing.done_on, "", struck=True, corrects=failing)],
        )
    assert look_back(bad).until is None


def test_a_bare_verdict_of_a_laboratory_leaves_all_to_be_repeated(small: Store):
    """No errors were given, so nothing can be corrected; the time in doubt is the same."""
    gauge = Item.objects.get(tag="G-1")
    with acting(EXAMINER) as act:
        record_many(
            act,
            [Finding(gauge, Check.objects.get(kind=gauge.kind, name="calibration"), small.day(0), "fail")],
        )
    found = look_back(gauge)
    assert found.after == small.day(500)
    assert len(found.records) == sum(row.gauge == "G-1" and row.fate == "stands" for row in small.rows)
    assert {one.rejudged for one in found.records} == {""}
