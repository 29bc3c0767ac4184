"""What a gauge found out of tolerance puts in doubt, against brute force over plain rows (see bad_gauge)."""

from __future__ import annotations

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from inspections.look_back import look_back
from kit.models import Item
from kit.stores import prove_ledger
from tests.counts import bench_tests
from tests.inspections.bad_gauge import AFTER, UNTIL, Store, make_store


@pytest.fixture(scope="module")
def store(django_db_setup, django_db_blocker):
    """Made once: the tests here only read it, or add to it and are rolled back."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_store(bench_tests())
        transaction.set_rollback(True)


def test_it_lists_exactly_the_tests_made_with_the_gauge_in_that_time(store: Store, db):
    found = look_back(store.bad)
    assert (found.after, found.until) == (store.day(AFTER), store.day(UNTIL))
    assert {one.record.pk for one in found.records} == {store.made[row.number].pk for row in store.affected}
    if bench_tests() >= 500:
        days = {row.days_ago for row in store.rows if row.gauge == "G-BAD"}
        assert {AFTER, UNTIL} <= days, "the seed leaves out the days at both ends"
        fates = {row.fate for row in store.rows if row.gauge == "G-BAD" and UNTIL <= row.days_ago < AFTER}
        assert fates == {"stands", "struck", "corrected"}


def test_exactly_those_verdicts_flip_that_flip_by_brute_force(store: Store, db):
    """Source: numpy.interp and the formula of the design page, in floats (bad_gauge.Row)."""
    found = {one.record.pk: one for one in look_back(store.bad).records}
    for row in store.affected:
        one = found[store.made[row.number].pk]
        assert one.rejudged == row.verdict(corrected=True), (row, one.why)
        assert one.record.verdict == row.verdict()
        if row.start is not None:
            assert one.figures["drop"] == pytest.approx(row.drop(corrected=True), abs=2e-8)
    flips = [row for row in store.affected if row.start is not None and row.verdict() != row.verdict(True)]
    assert sum(one.flips for one in found.values()) == len(flips)
    if bench_tests() >= 500:
        kinds = {(row.verdict(), row.verdict(True)) for row in flips}
        assert {("pass", "fail"), ("pass", "doubt"), ("fail", "pass")} <= kinds
        assert any(row.start is None for row in store.affected)


def test_every_job_is_named_that_took_an_affected_item_out(store: Store, db):
    assert set(look_back(store.bad).jobs) == store.jobs
    if bench_tests() >= 500:
        assert 0 < len(store.jobs) < len(store.held)


def test_it_takes_as_many_queries_for_many_records_as_for_few(store: Store, db):
    with CaptureQueriesContext(connection) as many:
        found = look_back(Item.objects.get(tag="G-BAD"))
        found.as_dict()
    assert len(many) <= 5, [query["sql"][:80] for query in many]


def test_the_ledger_of_the_store_proves(store: Store, db):
    assert prove_ledger().fault is None
