"""Extending a job, setting aside and releasing, lost and found, and transfers with two signatures."""

from datetime import timedelta

import pytest

from inspections.actions import CheckSpec, Finding, record, release, set_checks
from inspections.models import Check
from kit.models import Custody, Job, JobState, Standing, State
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    arrive,
    cancel_job,
    change_details,
    change_job,
    differences,
    find_again,
    finish_issue,
    issue_piece,
    kit_list_of,
    lose,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
    send,
    withdraw,
)
from tests.kit.views.yard import Yard, job_of, kind, yard

pytestmark = pytest.mark.django_db

STORES, PLANNER, EXAMINER, LEAD = (Who(name, "test") for name in ("w.hollis", "p.lane", "e.marsh", "c.field"))


@pytest.fixture
def made() -> Yard:
    built = yard()
    with acting(PLANNER) as act:
        reserve(act, built.job)
    return built


def standings(job: Job) -> dict[str, str]:
    return dict(job.reservations.values_list("item__tag", "standing"))


def test_an_extension_past_a_due_date_flags_what_no_longer_holds_and_shrinking_heals_it(made: Yard) -> None:
    due = min(made.item(tag).fit_until for tag in standings(made.job) if tag.startswith("NY-B"))
    with acting(PLANNER) as act:
        change_job(act, made.job, return_on=due + timedelta(days=1))
    assert Standing.BROKEN in standings(made.job).values()
    assert all("due" in r.why for r in made.job.reservations.filter(standing=Standing.BROKEN))
    with acting(PLANNER) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=due)
    assert set(standings(made.job).values()) == {Standing.PROMISED}
    windows = set(made.job.reservations.values_list("starts", "ends"))
    assert windows == {(made.job.load_on, due)}
    assert prove_ledger().fault is None


def test_an_extension_while_out_breaks_the_promises_it_runs_into(made: Yard) -> None:
    with acting(PLANNER) as act:
        later = plan_job(act, job_of(made.north, made.arrangement, "J-later", load=15, back=16))
        reserve(act, later)
    with acting(STORES) as act:
        for reservation in made.job.reservations.select_related("item"):
            issue_piece(act, made.job, reservation.item)
        finish_issue(act, made.job)
    with acting(PLANNER) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=later.load_on)
    shared = {
        tag for tag, standing in standings(made.job).items() if tag.startswith(("NY-B", "NY-S"))
    } & standings(later).keys()
    broken = {r.item.tag: r for r in later.reservations.filter(standing=Standing.BROKEN)}
    assert broken.keys() == {tag for tag in shared if not made.item(tag).counted}
    assert all("out on J/26-104" in r.why for r in broken.values())
    assert all(r.proposed is None or r.proposed.tag not in broken for r in broken.values())
    assert prove_ledger().fault is None


def test_a_shorter_interval_and_an_earlier_use_by_are_judged_at_once(made: Yard) -> None:
    with acting(LEAD) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P5D")])
    bags = {tag: s for tag, s in standings(made.job).items() if made.item(tag).kind.name == "bag"}
    assert set(bags.values()) == {Standing.BROKEN}
    with acting(LEAD) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M")])
        change_details(act, made.item("NY-B1"), use_by=made.job.return_on - timedelta(days=1))
    after = standings(made.job)
    assert after["NY-B1"] == Standing.BROKEN
    assert after["NY-B2"] == Standing.PROMISED
    assert differences() == []


def test_nobody_releases_what_they_set_aside_or_failed(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B5"), "smells of oil")
    with pytest.raises(NotAllowed, match="You set NY-B5 aside"), acting(STORES) as act:
        release(act, made.item("NY-B5"), "wiped clean")
    with pytest.raises(NotAllowed, match="Write what was found"), acting(LEAD) as act:
        release(act, made.item("NY-B5"), "")
    with acting(LEAD) as act:
        release(act, made.item("NY-B5"), "grease on the tag only")
    assert made.item("NY-B5").state == State.AVAILABLE
    check = Check.objects.in_force().get(kind=kind("bag"), name="hold test")
    with acting(EXAMINER) as act:
        record(act, Finding(made.item("NY-B5"), check, act.today, "fail", by="t.reed"))
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B5"), "valve seat worn as well")
    for name in ("e.marsh", "t.reed"):
        with (
            pytest.raises(NotAllowed, match=r"set NY-B5 aside|failed NY-B5"),
            acting(Who(name, "test")) as act,
        ):
            release(act, made.item("NY-B5"), "fine")
    with acting(LEAD) as act:
        release(act, made.item("NY-B5"), "valve replaced")
    # Released is not fit: the failed check still bars it.
    assert made.item("NY-B5").fit_until is None


def test_found_again_goes_to_quarantine_and_withdrawn_stays_withdrawn(made: Yard) -> None:
    with acting(STORES) as act:
        lose(act, made.item("NY-B5"), "not at stock-take")
        find_again(act, made.item("NY-B5"), "behind the rack")
    assert made.item("NY-B5").state == State.QUARANTINED
    with acting(LEAD) as act:
        withdraw(act, made.item("NY-B5"), "perished rubber")
    with pytest.raises(NotAllowed, match="withdrawn"), acting(STORES) as act:
        quarantine(act, made.item("NY-B5"), "again")
    with pytest.raises(NotAllowed, match="not in quarantine"), acting(LEAD) as act:
        release(act, made.item("NY-B5"), "no")


def test_a_transfer_takes_two_people_and_breaks_promises_at_the_old_depot(made: Yard) -> None:
    with acting(STORES) as act:
        send(act, made.item("NY-B1"), made.mill, act.today + timedelta(days=2))
    assert standings(made.job)["NY-B1"] == Standing.BROKEN
    with pytest.raises(NotAllowed, match="somebody else must sign"), acting(STORES) as act:
        arrive(act, made.item("NY-B1"))
    job = job_of(made.mill, made.arrangement, "M-1", load=1, back=2)
    with acting(PLANNER) as act:
        plan_job(act, job)
    refused = {r.tag: [reason.code for reason in r.reasons] for r in kit_list_of(job).refused}
    assert refused["NY-B1"] == ["in-transit", "other-depot"]
    job.load_on = job.return_on = made.today + timedelta(days=3)
    assert "NY-B1" in {tag for line in kit_list_of(job).lines for tag in line.tags}
    with acting(LEAD) as act:
        arrive(act, made.item("NY-B1"))
    back = made.item("NY-B1")
    assert (back.depot, back.custody, back.place) == (made.mill, Custody.STORE, None)
    assert prove_ledger().fault is None


def test_cancelling_frees_everything_and_needs_a_reason(made: Yard) -> None:
    with pytest.raises(NotAllowed, match="Say why"), acting(PLANNER) as act:
        cancel_job(act, made.job, "")
    with acting(PLANNER) as act:
        cancel_job(act, made.job, "main was renewed")
    assert Job.objects.get(pk=made.job.pk).state == JobState.CANCELLED
    assert set(standings(made.job).values()) == {Standing.RELEASED}
    with pytest.raises(NotAllowed, match="cancelled"), acting(PLANNER) as act:
        reserve(act, Job.objects.get(pk=made.job.pk))
