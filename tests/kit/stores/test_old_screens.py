"""An act goes by what is so when it has its turn, not by what a screen was showing when it was drawn."""

from datetime import timedelta

import pytest

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Item, Job, JobState, LedgerEntry, Reservation, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    cancel_job,
    change_details,
    change_job,
    count_stock,
    differences,
    finish_issue,
    issue_piece,
    let_go,
    reserve,
    set_arrangement,
    substitute,
    take_back,
)
from kit.stores.arrange import LineSpec
from tests.kit.views.yard import Yard, in_days, kind, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test")


@pytest.fixture
def made() -> Yard:
    """The yard with its job reserved."""
    built = yard()
    with acting(STORES) as act:
        reserve(act, built.job)
    return built


def reservation(made: Yard, **which: object) -> Reservation:
    rows = made.job.reservations.select_related("item__kind", "job__depot", "line")
    found = rows.filter(**which).order_by("item__tag").first()
    assert found is not None
    return found


def issue(made: Yard) -> None:
    with acting(STORES) as act:
        for promised in made.job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, made.job, promised.item)
        finish_issue(act, made.job)


def test_a_lot_that_two_people_take_back_comes_back_once(made: Yard) -> None:
    issue(made)
    shown = reservation(made, counted=True)
    with acting(STORES) as act:
        take_back(act, reservation(made, counted=True), "unused")
    stock = Item.objects.get(pk=shown.item_id).quantity
    with pytest.raises(NotAllowed, match="is not out on"), acting(STORES) as act:
        take_back(act, shown, "unused")
    assert Item.objects.get(pk=shown.item_id).quantity == stock


def test_what_is_out_by_now_cannot_be_let_go_or_replaced(made: Yard) -> None:
    shown = reservation(made, item__tag="NY-B1")
    issue(made)
    with pytest.raises(NotAllowed, match="cannot be let go"), acting(STORES) as act:
        let_go(act, shown, "not wanted")
    shown = reservation(made, item__tag="NY-B1")
    shown.standing = Standing.PROMISED
    with pytest.raises(NotAllowed, match="already issued"), acting(STORES) as act:
        substitute(act, shown, made.item("NY-B5"), "not wanted")


def test_nothing_is_reserved_or_issued_for_a_job_cancelled_meanwhile(made: Yard) -> None:
    shown = Job.objects.get(pk=made.job.pk)
    with acting(STORES) as act:
        cancel_job(act, Job.objects.get(pk=made.job.pk), "main renewed")
    for do in (
        lambda act: reserve(act, shown),
        lambda act: issue_piece(act, shown, made.item("NY-B1")),
        lambda act: finish_issue(act, shown, "agreed"),
        lambda act: cancel_job(act, shown, "again"),
        lambda act: change_job(act, shown, return_on=in_days(20)),
    ):
        with pytest.raises(NotAllowed, match="cancelled"), acting(STORES) as act:
            do(act)
        shown.state = JobState.PLANNED
    assert not made.job.reservations.holding().exists()


def test_a_record_entered_on_an_old_screen_goes_by_the_use_by_date_of_today(made: Yard) -> None:
    shown = made.item("NY-B1")
    with acting(STORES) as act:
        change_details(act, made.item("NY-B1"), use_by=in_days(30))
    with acting(Who("e.marsh", "bench")) as act:
        record(act, Finding(shown, Check.objects.in_force().get(kind=shown.kind), act.today, "pass"))
    assert made.item("NY-B1").fit_until == in_days(30)
    assert differences() == []


def test_a_detail_entered_on_an_old_screen_leaves_the_other_details_alone(made: Yard) -> None:
    shown = made.item("NY-B1")
    with acting(STORES) as act:
        change_details(act, made.item("NY-B1"), use_by=in_days(30))
        change_details(act, shown, mark="M3")
    assert made.item("NY-B1").fit_until == in_days(30)
    assert differences() == []


def test_a_count_entered_on_an_old_screen_counts(made: Yard) -> None:
    shown = made.item("LOT-7")
    with acting(STORES) as act:
        count_stock(act, made.item("LOT-7"), 9, "counted")
        # 20 is what the old screen showed, so nothing would seem to differ.
        assert count_stock(act, shown, 20, "counted again, two more boxes")
    assert made.item("LOT-7").quantity == 20


def test_a_job_changed_from_an_old_screen_keeps_what_follows_its_new_arrangement(made: Yard) -> None:
    shown = Job.objects.select_related("arrangement", "depot").get(pk=made.job.pk)
    with acting(STORES) as act:
        newer, _ = set_arrangement(
            act,
            "small flow stop",
            [
                LineSpec("bags", kind("bag"), 4, "bore"),
                LineSpec("bases", kind("base"), 2, "mark"),
                LineSpec("seals", kind("seal"), 8),
            ],
        )
        change_job(act, Job.objects.get(pk=made.job.pk), arrangement=newer)
    held = set(made.job.reservations.holding().values_list("item__tag", flat=True))
    assert held
    entries = LedgerEntry.objects.count()
    with acting(STORES) as act:
        assert not change_job(act, shown, arrangement=newer)
        assert change_job(act, shown, return_on=made.job.return_on + timedelta(days=1), arrangement=newer)
    assert set(made.job.reservations.holding().values_list("item__tag", flat=True)) == held
    assert LedgerEntry.objects.count() > entries
