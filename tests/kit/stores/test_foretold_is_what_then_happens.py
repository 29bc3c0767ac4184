"""What moving a job is foretold to bring is what it then brings; and foretelling writes nothing."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.models import Arrangement, Depot, Item, Job, LedgerEntry, Reservation, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    change_job,
    finish_issue,
    issue_piece,
    kit_list_of,
    lose,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
)
from kit.stores.foresee import Foreseen, foresee_move, stands_now
from kit.stores.loads import loads_of
from kit.stores.move import move_seen, soonest_whole
from tests.counts import cases
from tests.kit.stores import small_store
from tests.kit.stores.reckoning import read_tables

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

PLANNER = Who("p.lanner", "test")
windows = st.tuples(st.integers(-2, 20), st.integers(0, 6))


def in_days(days: int) -> date:
    return timezone.localdate() + timedelta(days=days)


@pytest.fixture
def store() -> None:
    """A small store with two jobs reserved and two more that find less."""
    small_store.build(timezone.localdate())
    wide = Arrangement.objects.get(name=small_store.WIDE)
    close = Arrangement.objects.get(name=small_store.CLOSE)
    north = Depot.objects.get(code="NY")
    with acting(PLANNER) as act:
        for reference, arrangement, load, back in (("J3", close, 4, 9), ("J4", wide, 12, 14)):
            days = in_days(load), in_days(back)
            reserve(act, plan_job(act, small_store.new_job(reference, north, arrangement, *days)))


def sequences() -> dict[str, Any]:
    """The last number given out of every sequence of keys."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT sequencename, last_value FROM pg_sequences ORDER BY 1")
        else:
            cursor.execute("SELECT name, seq FROM sqlite_sequence ORDER BY 1")
        return dict(cursor.fetchall())


def job_named(reference: str) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(reference=reference)


def live(steps: list[tuple[int, int, tuple[int, int]]]) -> None:
    """A few things that happen in a store before anybody asks; what is refused is left out."""
    for what, n, (load, length) in steps:
        jobs = list(Job.objects.select_related("depot", "arrangement").order_by("reference"))
        items = list(Item.objects.select_related("kind", "depot").filter(kind__counted=False).order_by("tag"))
        job, item = jobs[n % len(jobs)], items[n % len(items)]
        try:
            with acting(Who("a.stores", "test")) as act:
                match what:
                    case 0:
                        change_job(act, job, load_on=in_days(load), return_on=in_days(load + length))
                    case 1:
                        quarantine(act, item, "torn")
                    case 2:
                        lose(act, item, "not on its rack")
                    case 3:
                        rows = job.reservations.filter(standing=Standing.PROMISED).select_related("item")
                        for row in list(rows):
                            issue_piece(act, job, row.item)
                        finish_issue(act, job, "agreed")
                    case _:
                        reserve(act, job)
        except NotAllowed:
            continue


@settings(
    max_examples=cases(25), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    steps=st.lists(st.tuples(st.integers(0, 4), st.integers(0, 9), windows), max_size=5),
    which=st.integers(0, 3),
    window=windows,
)
def test_the_foretold_is_what_then_happens(store, steps, which, window) -> None:
    with transaction.atomic():
        live(steps)
        job = job_named(f"J{which + 1}")
        days = in_days(window[0]), in_days(window[0] + window[1])
        tables, numbers = read_tables(), sequences()
        foretold, refused = told_or_refused(job, days)
        if foretold is None:
            with pytest.raises(NotAllowed) as again, acting(PLANNER) as act:
                change_job(act, job, load_on=days[0], return_on=days[1])
            assert str(again.value) == refused
            transaction.set_rollback(True)
            return
        assert read_tables() == tables
        assert sequences() == numbers
        assert foretold.before == stands_now()
        shorts = {row.pk: _short(row) for row in Job.objects.filter(reference__startswith="J")}
        with acting(PLANNER) as act:
            moved = change_job(act, job_named(job.reference), load_on=days[0], return_on=days[1])
        assert moved == foretold.changes
        assert stands_now() == foretold.stands
        after = job_named(job.reference)
        assert kit_list_of(after) == foretold.kit
        assert loads_of([after])[after.pk].missing == foretold.missing
        assert_counted(foretold)
        for other in foretold.others:
            row = job_named(other.job)
            assert (other.short_before, other.short_after) == (shorts[row.pk], _short(row))
        assert foretold.others_left_out == 0
        assert prove_ledger().fault is None
        transaction.set_rollback(True)


def told_or_refused(job: Job, days: tuple[date, date]) -> tuple[Foreseen | None, str]:
    try:
        return foresee_move(PLANNER, job, *days), ""
    except NotAllowed as refusal:
        return None, str(refusal)


def _short(job: Job) -> int:
    return sum(line.short for line in kit_list_of(job_named(job.reference)).lines)


def assert_counted(foretold: Any) -> None:
    """Nothing that differs is left unsaid: each change is told under exactly one heading, or only its days moved."""
    told = [*foretold.breaks, *foretold.heals, *foretold.unfit_out, *foretold.fit_out]
    listed = [each for each in told if each.job]
    changed = {
        key
        for key in foretold.before.keys() & foretold.stands.keys()
        if (foretold.before[key].standing, bool(foretold.before[key].why))
        != (foretold.stands[key].standing, bool(foretold.stands[key].why))
    }
    assert sorted(map(repr, listed)) == sorted(repr(foretold.stands[key]) for key in changed)
    assert len(foretold.let_go) == len(foretold.before.keys() - foretold.stands.keys())


def test_foretelling_leaves_the_ledgers_head_every_row_and_every_sequence(store) -> None:
    head = LedgerEntry.objects.order_by("-number").values_list("number", "hash").first()
    tables, numbers = read_tables(), sequences()
    assert numbers
    foretold = foresee_move(PLANNER, job_named("J1"), in_days(9), in_days(12))
    assert foretold.changes
    assert foretold.breaks or foretold.missing_before != foretold.missing or foretold.others
    assert LedgerEntry.objects.order_by("-number").values_list("number", "hash").first() == head
    assert read_tables() == tables
    assert sequences() == numbers


def test_the_job_handed_over_stays_as_it_was(store) -> None:
    job = job_named("J1")
    days = job.load_on, job.return_on, job.revision
    foresee_move(PLANNER, job, in_days(30), in_days(33))
    assert (job.load_on, job.return_on, job.revision) == days


def test_what_cannot_be_is_refused_in_the_same_sentence(store) -> None:
    with pytest.raises(NotAllowed, match="before it is loaded"):
        foresee_move(PLANNER, job_named("J1"), in_days(9), in_days(8))


def test_a_job_that_somebody_changed_meanwhile_is_not_moved(store) -> None:
    seen = foresee_move(PLANNER, job_named("J1"), in_days(9), in_days(12))
    with acting(Who("o.ther", "test")) as act:
        change_job(act, job_named("J1"), site="Mill Lane")
    with pytest.raises(NotAllowed, match=r"has changed since this was shown"), acting(PLANNER) as act:
        move_seen(act, job_named("J1"), seen.load_on, seen.return_on, seen.revision)
    assert job_named("J1").load_on == in_days(2)


def test_what_would_give_otherwise_by_now_than_was_shown_is_not_done(store) -> None:
    seen = foresee_move(PLANNER, job_named("J1"), in_days(9), in_days(12))
    held = job_named("J1").reservations.filter(standing=Standing.PROMISED, counted=False)
    with acting(Who("o.ther", "test")) as act:
        lose(act, held.first().item, "not on its rack")
    assert job_named("J1").revision == seen.revision
    tables = read_tables()
    with pytest.raises(NotAllowed, match="Something else would give by now"), acting(PLANNER) as act:
        move_seen(act, job_named("J1"), seen.load_on, seen.return_on, seen.revision, gives=seen.gives)
    assert read_tables() == tables
    anew = foresee_move(PLANNER, job_named("J1"), in_days(9), in_days(12))
    with acting(PLANNER) as act:
        assert move_seen(act, job_named("J1"), anew.load_on, anew.return_on, anew.revision, gives=anew.gives)


@settings(
    max_examples=cases(10), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    steps=st.lists(st.tuples(st.integers(0, 4), st.integers(0, 9), windows), max_size=4),
    which=st.integers(0, 3),
)
def test_the_soonest_whole_day_is_the_first_that_trying_each_finds(store, steps, which) -> None:
    with transaction.atomic():
        live(steps)
        today = timezone.localdate()
        job = job_named(f"J{which + 1}")
        if job.state != "planned":
            transaction.set_rollback(True)
            return
        found = soonest_whole(PLANNER, job, today, horizon_days=25)
        first = None
        length = job.return_on - job.load_on
        day = max(job.load_on + timedelta(days=1), today)
        while first is None and day <= max(job.load_on, today) + timedelta(days=25):
            if foresee_move(PLANNER, job, day, day + length, others=False).whole:
                first = day
            day += timedelta(days=1)
        assert (found.load_on if found else None) == first
        if found:
            with acting(PLANNER) as act:
                change_job(act, job_named(job.reference), load_on=found.load_on, return_on=found.return_on)
                assert reserve(act, job_named(job.reference)).complete
            assert not Reservation.objects.filter(
                job__reference=job.reference, standing=Standing.BROKEN
            ).exists()
        transaction.set_rollback(True)
