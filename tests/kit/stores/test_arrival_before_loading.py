"""What is on its way counts for jobs that load after the day it is expected, and only until that day is over."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from kit.models import Deed, Item, Job, LedgerEntry, Reservation, Standing, Transfer
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    broken_by_the_day,
    change_job,
    differences,
    expect_on,
    finish_issue,
    issue_piece,
    kit_list_of,
    name_depot,
    plan_job,
    prove_ledger,
    reserve,
    send,
    sign_for_all,
    take_back,
)
from kit.views.day_lists import broken_promises
from tests.inspections.test_what_was_known import Clock, clock
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db
__all__ = ["clock"]

SENDER, TAKER, PLANNER = (Who(name, "test") for name in ("w.hollis", "m.orr", "p.lane"))
EXPECTED_IN = 3


@pytest.fixture
def made(clock: Clock) -> Yard:
    """NY-B1 is on its way from North yard to Mill bank, expected in three days."""
    built = yard()
    do(SENDER, send, built.item("NY-B1"), built.mill, in_days(EXPECTED_IN))
    return built


def do(who: Who, action: Any, *args: Any, **more: Any) -> Any:
    with acting(who) as act:
        return action(act, *args, **more)


def planned(made: Yard, load: int, reference: str = "M-1", days: int = 1) -> Job:
    job: Job = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, reference, load, load + days))
    do(PLANNER, reserve, job)
    return job


def promise(job: Job, tag: str = "NY-B1") -> Reservation:
    return job.reservations.get(item__tag=tag)


def something_else(made: Yard) -> None:
    """Any act at all: it has nothing to do with transfers."""
    do(TAKER, name_depot, made.mill, f"Mill bank {timezone.now():%f}")


@pytest.mark.parametrize(("load", "promised"), [(EXPECTED_IN, False), (EXPECTED_IN + 1, True), (1, False)])
def test_arrival_on_the_loading_day_does_not_do_and_the_day_before_does(
    made: Yard, load: int, promised: bool
) -> None:
    job = planned(made, load)
    assert job.reservations.filter(item__tag="NY-B1", standing=Standing.PROMISED).exists() is promised
    refused = {each.tag: [reason.code for reason in each.reasons] for each in kit_list_of(job).refused}
    assert refused.get("NY-B1") == (None if promised else ["in-transit", "other-depot"])
    assert prove_ledger().fault is None


def test_the_database_draws_the_line_at_the_same_day(made: Yard) -> None:
    job = planned(made, EXPECTED_IN)
    line = job.arrangement.lines.get(kind=kind("bag"))
    wanted = {
        "job": job, "line": line, "item": made.item("NY-B1"), "starts": job.load_on, "ends": job.return_on
    }  # fmt: skip
    with (
        pytest.raises(IntegrityError, match="not at the depot of the job before loading"),
        transaction.atomic(),
    ):
        Reservation.objects.create(**wanted)
    later = planned(made, EXPECTED_IN + 1, "M-2")
    assert promise(later).standing == Standing.PROMISED


def test_a_job_that_loads_earlier_loses_it_and_gets_it_back(made: Yard) -> None:
    job = planned(made, EXPECTED_IN + 1)
    do(PLANNER, change_job, job, load_on=in_days(EXPECTED_IN))
    assert promise(job).standing == Standing.BROKEN
    assert "not before loading" in promise(job).why
    do(PLANNER, change_job, Job.objects.get(pk=job.pk), load_on=in_days(EXPECTED_IN + 1))
    assert promise(job).standing == Standing.PROMISED


def test_on_the_expected_day_it_still_holds_and_the_morning_after_it_breaks(made: Yard, clock: Clock) -> None:
    job = planned(made, EXPECTED_IN + 4)
    clock.days_pass(EXPECTED_IN)
    something_else(made)
    assert promise(job).standing == Standing.PROMISED
    assert broken_by_the_day(timezone.localdate()) == []
    clock.days_pass(1)
    # Nobody has acted yet this morning: it is read, and nothing is written by reading it.
    [(row, why)] = broken_by_the_day(timezone.localdate())
    assert (row.item.tag, row.job) == ("NY-B1", job)
    assert "was due to MB" in why
    assert "has not been received" in why
    assert promise(job).standing == Standing.PROMISED
    something_else(made)
    broken = promise(job)
    assert (broken.standing, broken.why) == (Standing.BROKEN, why)
    assert broken in broken_promises(made.mill)
    told = LedgerEntry.objects.filter(deed=Deed.BROKE, mentions__about="item:NY-B1").latest("number")
    assert timezone.localdate(told.happened_at) == timezone.localdate()
    assert broken_by_the_day(timezone.localdate()) == []
    assert prove_ledger().fault is None
    assert differences() == []


def test_signing_for_it_late_or_expecting_it_anew_mends_the_promise(made: Yard, clock: Clock) -> None:
    job = planned(made, EXPECTED_IN + 5)
    clock.days_pass(EXPECTED_IN + 1)
    do(
        PLANNER,
        expect_on,
        Transfer.objects.get(),
        timezone.localdate() + timedelta(days=1),
        "the driver rang",
    )
    assert promise(job).standing == Standing.PROMISED
    clock.days_pass(2)
    something_else(made)
    assert promise(job).standing == Standing.BROKEN
    do(TAKER, sign_for_all, Transfer.objects.get())
    assert promise(job).standing == Standing.PROMISED
    assert prove_ledger().fault is None


def test_signing_in_the_very_first_act_of_the_morning(made: Yard, clock: Clock) -> None:
    """The day breaks it and the signature mends it, in one act, and the ledger tells both."""
    job = planned(made, EXPECTED_IN + 4)
    clock.days_pass(EXPECTED_IN + 1)
    do(TAKER, sign_for_all, Transfer.objects.get())
    assert promise(job).standing == Standing.PROMISED
    deeds = LedgerEntry.objects.filter(mentions__about="item:NY-B1").order_by("number")
    assert [entry.deed for entry in deeds][-3:] == [Deed.BROKE, Deed.ARRIVED, Deed.HEALED]
    assert prove_ledger().fault is None


def test_a_first_act_that_is_refused_leaves_it_to_the_next(made: Yard, clock: Clock) -> None:
    job = planned(made, EXPECTED_IN + 4)
    clock.days_pass(EXPECTED_IN + 1)
    with pytest.raises(NotAllowed, match="You sent"):
        do(SENDER, sign_for_all, Transfer.objects.get())
    assert promise(job).standing == Standing.PROMISED
    something_else(made)
    assert promise(job).standing == Standing.BROKEN


def test_a_van_that_is_not_back_breaks_what_its_kit_was_promised_to_next(made: Yard, clock: Clock) -> None:
    first = made.job  # loads in 7 days, back in 12
    do(PLANNER, reserve, first)
    clock.days_pass(7)
    for reservation in first.reservations.select_related("item"):
        do(SENDER, issue_piece, first, reservation.item)
    do(SENDER, finish_issue, Job.objects.get(pk=first.pk))
    after = do(PLANNER, plan_job, job_of(made.north, made.arrangement, "J-after", load=8, back=9))
    do(PLANNER, reserve, after)
    shared = Item.objects.filter(reservations__job=first).filter(reservations__job=after, counted=False)
    assert shared.exists()
    clock.days_pass(5)  # the day of return itself
    something_else(made)
    assert not after.reservations.filter(standing=Standing.BROKEN).exists()
    clock.days_pass(1)
    assert {row.item for row, _ in broken_by_the_day(timezone.localdate())} == set(shared)
    something_else(made)
    broken = after.reservations.filter(standing=Standing.BROKEN)
    assert {row.item for row in broken} == set(shared)
    assert all("overdue from J/26-104" in row.why for row in broken)
    for out in first.reservations.filter(standing=Standing.ISSUED):
        do(SENDER, take_back, out, "unused")
    assert not after.reservations.filter(standing=Standing.BROKEN).exists()
    assert prove_ledger().fault is None
