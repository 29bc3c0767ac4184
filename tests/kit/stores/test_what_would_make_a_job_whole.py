"""The fewest changes as the register has them: benches, ways, other jobs; and that doing them makes the job whole."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Item, Job, Reservation
from kit.stores import Who, acting, change_job, kit_list_of, quarantine, reserve, set_link
from kit.stores.ways_out import told_kit_list
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db
CLERK = Who("register", "test")


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def again(job: Job) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(pk=job.pk)


def one_gauge(yard: Yard, reference: str, n: int = 1, **details) -> Job:
    lines = (("gauges", "gauge", n),)
    return yard.plan(reference, yard.arrangement(f"{n} of a kind", lines), **{"load_in": 6, **details})


def clear(yard: Yard) -> None:
    """Nothing that the yard comes with is free."""
    for item in Item.objects.filter(kind__name="gauge").select_related("kind", "depot"):
        if item.state == "available":
            with acting(CLERK) as act:
                act.change(item, state="withdrawn", state_why="not for this test")
                act.tell("withdrawn", [item])


def changes(job: Job) -> list[tuple]:
    refusal = told_kit_list(again(job)).refusal
    assert refusal is not None
    return [(each.what, each.tag) for each in refusal.whole.changes]


def test_an_inspection_is_named_with_its_checks_and_its_day_and_doing_it_fills_the_line(yard):
    clear(yard)
    yard.receive("G-NEW", passed=False)
    job = one_gauge(yard, "ONE")
    told = told_kit_list(job)
    [change] = told.refusal.whole.changes
    names = sorted(
        Check.objects.in_force().filter(kind__name="gauge", gates=True).values_list("name", flat=True)
    )
    assert (change.what, change.tag, sorted(change.checks)) == ("inspect", "G-NEW", names)
    assert change.by == job.load_on - timedelta(days=1)
    [line] = told.kit.lines
    assert line.remedy == f"Inspect G-NEW ({', '.join(names)}) by {change.by}."
    for check in Check.objects.in_force().filter(kind__name="gauge"):
        with acting(CLERK) as act:
            record(act, Finding(Item.objects.get(tag="G-NEW"), check, yard.today, "pass"))
    assert told_kit_list(again(job)).kit.complete


def test_what_failed_is_not_counted_on(yard):
    clear(yard)
    gauge = yard.receive("G-BAD")
    yard.inspect(gauge, Check.objects.in_force().filter(kind__name="gauge").first().name, "fail", 0)
    job = one_gauge(yard, "ONE")
    refusal = told_kit_list(job).refusal
    assert refusal.whole.changes == ()
    assert [(each.kind, each.quantity) for each in refusal.whole.buy] == [("gauge", 1)]


def test_a_release_is_for_another_person(yard):
    clear(yard)
    gauge = yard.receive("G-ASIDE")
    yard.do(quarantine, gauge, "dropped", who="sal")
    [line] = told_kit_list(one_gauge(yard, "ONE")).kit.lines
    assert line.remedy.startswith("Have G-ASIDE released from quarantine by ")
    assert "another person than set it aside" in line.remedy


def test_a_piece_is_brought_by_a_recorded_way_in_time(yard):
    clear(yard)
    yard.receive("G-FAR", depot=yard.weir)
    job = one_gauge(yard, "ONE")
    assert "no way from there is recorded" in told_kit_list(job).kit.lines[0].remedy
    yard.do(set_link, yard.weir, yard.holm, 2)
    [change] = told_kit_list(job).refusal.whole.changes
    assert (change.what, change.depot, change.lead_days) == ("bring", yard.weir.code, 2)
    assert change.by == job.load_on - timedelta(days=3)
    soon = one_gauge(yard, "SOON", load_in=2)
    refusal = told_kit_list(soon).refusal
    assert refusal.whole.changes == ()
    assert refusal.whole.buy[0].quantity == 1


def test_another_job_is_moved_by_the_fewest_days_and_moving_it_so_frees_the_piece(yard):
    clear(yard)
    yard.receive("G-ONE")
    first = one_gauge(yard, "FIRST", load_in=4, days=3)
    yard.reserve(first)
    job = one_gauge(yard, "SECOND", load_in=6, days=2)
    [change] = told_kit_list(job).refusal.whole.changes
    assert (change.what, change.tag, change.days, change.frees) == ("move", "FIRST", -2, ("G-ONE",))
    assert told_kit_list(job).refusal.soonest == first.return_on + timedelta(days=1)
    with acting(CLERK) as act:
        change_job(act, again(first), load_on=change.load_on, return_on=change.return_on)
        reserve(act, again(job))
    assert kit_list_of(again(job)).complete
    assert list(Reservation.objects.filter(job=first).values_list("standing", flat=True)) == ["promised"]


def test_a_job_of_higher_priority_stays_where_it_is(yard):
    clear(yard)
    yard.receive("G-ONE")
    first = one_gauge(yard, "FIRST", load_in=4, days=3, priority=5)
    yard.reserve(first)
    job = one_gauge(yard, "SECOND", load_in=6, days=2)
    assert changes(job) == []
    with acting(CLERK) as act:
        change_job(act, again(job), priority=5)
    assert changes(job) == [("move", "FIRST")]


def test_the_soonest_whole_day_is_for_all_lines_at_once(yard):
    clear(yard)
    yard.receive("G-ONE")
    yard.receive("G-TWO")
    for number, (reference, back) in enumerate((("FIRST", 3), ("OTHER", 7))):
        held = one_gauge(yard, reference, load_in=4, days=back, priority=9 - number)
        yard.reserve(held)
    job = yard.plan("PAIR", yard.arrangement(), load_in=6)
    refusal = told_kit_list(job).refusal
    assert refusal.soonest == yard.today + timedelta(days=4 + 7 + 1)
    assert refusal.whole.count == 2


def test_a_day_that_is_past_has_no_changes(yard):
    clear(yard)
    yard.receive("G-NEW", passed=False)
    told = told_kit_list(one_gauge(yard, "ONE"), yard.today - timedelta(days=1))
    assert told.refusal is None
    assert told.kit.lines[0].remedy


def test_nothing_is_written(yard):
    from kit.models import LedgerEntry

    clear(yard)
    yard.receive("G-NEW", passed=False)
    job = one_gauge(yard, "ONE")
    before = LedgerEntry.objects.count()
    told_kit_list(job)
    assert LedgerEntry.objects.count() == before
