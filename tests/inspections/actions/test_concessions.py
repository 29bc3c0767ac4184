"""Concessions: what may be extended, by how much and by whom, and what follows from it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.actions.concessions import ask, end, grant, refuse
from inspections.judge import last_record
from inspections.models import Check, Concession, ConcessionState, Due, UseCall
from kit.models import Deed, Item, Reservation, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    differences,
    lose,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
    withdraw,
)
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

ASKS, GRANTS = "p.planner", "d.duty"


@pytest.fixture
def store(db) -> Yard:
    """The bags' hold tests were done ten days ago and are due in six months from then."""
    return yard()


def do(who: str, action, *args, **more):
    with acting(Who(who, "test")) as act:
        return action(act, *args, **more)


def the_check() -> Check:
    return Check.objects.get(kind=kind("bag"), name="hold test")


def bag(tag: str = "NY-B1") -> Item:
    return Item.objects.get(tag=tag)


def due_date(tag: str = "NY-B1") -> date:
    due = Due.objects.get(item__tag=tag, check_due__name="hold test")
    return due.conceded_from or due.due_on


def asked(until: date | None = None, tag: str = "NY-B1", who: str = ASKS, **more) -> Concession:
    texts = {"reason": "the bench is down", "risk": "held on every test so far", **more}
    return do(who, ask, bag(tag), the_check(), until or due_date(tag) + timedelta(days=20), **texts)


def refusal(run, *args, **more) -> str:
    with pytest.raises(NotAllowed) as said:
        run(*args, **more)
    return str(said.value)


def test_granted_it_moves_the_due_date_of_the_item_and_says_from_when(store: Yard):
    before = due_date()
    concession = asked(conditions="not on mains above 2 bar")
    assert bag().fit_until == before, "asking alone extends nothing"
    do(GRANTS, grant, concession, "until the bench is back")
    item = bag()
    assert item.fit_until == before + timedelta(days=20)
    assert item.fit_reason == (
        f"hold test due {item.fit_until.isoformat()}, conceded from {before.isoformat()}"
    )
    assert [gate.conceded_from for gate in item.gates] == [before]
    assert prove_ledger().fault is None
    assert differences() == []


def test_ended_early_the_check_is_due_again_as_it_was(store: Yard):
    before = due_date()
    concession = asked()
    do(GRANTS, grant, concession)
    assert "Say why" in refusal(do, GRANTS, end, concession, " ")
    do(GRANTS, end, concession, "the bench is back")
    assert bag().fit_until == before
    assert "nothing to end" in refusal(do, GRANTS, end, concession, "again")
    assert prove_ledger().fault is None
    assert differences() == []


def test_promises_follow_a_concession_and_its_end(store: Yard):
    """The job is back two days after the hold tests fall due."""
    days = (due_date() - store.today).days
    job = job_of(store.north, store.arrangement, "J/26-200", load=days - 3, back=days + 2)
    job = do("p.planner", plan_job, job)
    for tag in ("NY-B1", "NY-B2", "NY-B3", "NY-B4"):
        do(GRANTS, grant, asked(tag=tag))
    do("p.planner", reserve, job)
    held = Reservation.objects.filter(job=job, standing=Standing.PROMISED, item__kind__name="bag")
    assert {one.item.tag for one in held.select_related("item")} == {"NY-B1", "NY-B2", "NY-B3", "NY-B4"}
    do(GRANTS, end, Concession.objects.get(item__tag="NY-B2"), "found chafed")
    [broken] = Reservation.objects.filter(job=job, standing=Standing.BROKEN).select_related("item")
    assert broken.item.tag == "NY-B2"
    assert prove_ledger().fault is None


def test_another_due_date_lets_it_lapse(store: Yard):
    concession = asked()
    do(GRANTS, grant, concession)
    with acting(Who("a.bench", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P3M")])
    sooner = due_date()
    assert bag().fit_until == sooner
    assert Due.objects.get(item__tag="NY-B1").conceded_from is None


@pytest.mark.parametrize("verdict", ["fail", "doubt"])
def test_a_fail_or_a_doubt_is_never_conceded(store: Yard, verdict: str):
    with acting(Who("a.bench", "test")) as act:
        record_many(act, [Finding(bag(), the_check(), act.today, verdict, by="a.bench")])
    said = refusal(asked, in_days(20))
    assert "never conceded" in said
    assert ("doubt" if verdict == "doubt" else "failed") in said


def test_what_was_never_done_has_no_due_date_to_extend(store: Yard):
    with acting(Who("a.bench", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M"), CheckSpec("visual", "P6M")])
    visual = Check.objects.get(kind=kind("bag"), name="visual")
    said = refusal(do, ASKS, ask, bag(), visual, in_days(20), reason="why", risk="little")
    assert "was never done" in said


def test_a_check_that_is_called_for_is_never_conceded(store: Yard):
    with acting(Who("w.hollis", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M", after_use=True)])
        act.create(UseCall(item=bag(), used_on=act.today, after_record=last_record(), job="J"))
        act.tell(Deed.TAKEN_BACK, [bag()])
    assert "awaiting its check" in refusal(asked, in_days(190))


@pytest.mark.parametrize(
    ("move", "word"), [(quarantine, "in quarantine"), (withdraw, "withdrawn"), (lose, "lost")]
)
def test_what_is_set_aside_withdrawn_or_lost_is_never_conceded(store: Yard, move, word: str):
    concession = asked()
    do("w.hollis", move, bag(), why="seam open")
    assert word in refusal(asked, due_date() + timedelta(days=3))
    assert word in refusal(do, GRANTS, grant, concession)
    assert Concession.objects.get().state == ConcessionState.ASKED


def test_a_use_by_date_is_never_conceded(store: Yard):
    """NY-B9 has its use-by date in nine days, long before its hold test is due."""
    said = refusal(asked, due_date("NY-B9") + timedelta(days=3), tag="NY-B9")
    assert f"use-by date {in_days(9)}" in said
    assert "still ends it" in said


def test_the_day_must_extend_and_stay_within_the_bound(store: Yard):
    due = due_date()
    assert f"in date until {due} as it is" in refusal(asked, due)
    bound = due + timedelta(days=30)
    assert f"30 days at most, so until {bound}" in refusal(asked, bound + timedelta(days=1))
    assert asked(bound).until == bound


def test_a_check_may_forbid_any_concession(store: Yard):
    with acting(Who("c.lead", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M", concession_days=0)])
    assert "is never extended" in refusal(asked)


def test_an_overdue_check_is_extended_from_its_own_due_date(store: Yard):
    with acting(Who("c.lead", "test")) as act:
        set_checks(act, kind("base"), [CheckSpec("inspection", "P1D")])
    base, check = Item.objects.get(tag="NY-S1"), Check.objects.get(kind=kind("base"), name="inspection")
    due = store.today - timedelta(days=9)
    asking = {"reason": "examiner is ill", "risk": "little worn"}
    assert "is past" in refusal(do, ASKS, ask, base, check, store.today - timedelta(days=1), **asking)
    made = do(ASKS, ask, base, check, store.today + timedelta(days=5), **asking)
    assert made.due_on == due
    do(GRANTS, grant, made)
    assert Item.objects.get(tag="NY-S1").fit_until == store.today + timedelta(days=5)


def test_another_rule_that_comes_into_force_ends_it(store: Yard):
    with acting(Who("c.lead", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P3M")], from_day=due_date() + timedelta(days=5))
    said = refusal(asked, due_date() + timedelta(days=20))
    assert f"until {due_date() + timedelta(days=4)} at the latest" in said


@pytest.mark.parametrize("missing", ["reason", "risk"])
def test_it_needs_a_reason_and_the_risk(store: Yard, missing: str):
    assert ("Say why" if missing == "reason" else "what the risk is") in refusal(asked, **{missing: "  "})


def test_one_is_asked_for_at_a_time(store: Yard):
    asked()
    assert f"{ASKS} has asked for a concession" in refusal(asked, who="s.stores")


def test_nobody_grants_or_decides_what_they_asked_for(store: Yard):
    concession = asked()
    assert "You asked for this" in refusal(do, ASKS, grant, concession)
    assert "You asked for this" in refusal(do, ASKS, refuse, concession, "no")


def test_nobody_grants_one_for_what_they_failed_last(store: Yard):
    with acting(Who(GRANTS, "test")) as act:
        check = the_check()
        record_many(act, [Finding(bag(), check, act.today - timedelta(days=3), "fail", by=GRANTS)])
        record_many(act, [Finding(bag(), check, act.today, "pass", by="a.bench")])
    concession = asked()
    assert "You failed NY-B1" in refusal(do, GRANTS, grant, concession)
    do("e.other", grant, concession)


def test_it_is_decided_once_and_a_refusal_says_why(store: Yard):
    concession = asked()
    assert "Say why it is refused" in refusal(do, GRANTS, refuse, concession, "")
    do(GRANTS, refuse, concession, "take another bag")
    assert "is refused already, by d.duty" in refusal(do, GRANTS, grant, concession)
    assert bag().fit_until == due_date()
    again = asked()
    do(GRANTS, grant, again)
    assert prove_ledger().fault is None


def test_a_request_lapses_when_the_due_date_moves(store: Yard):
    concession = asked()
    with acting(Who("c.lead", "test")) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P5M")])
    assert "so the request has lapsed" in refusal(do, GRANTS, grant, concession)


def test_a_running_one_may_be_extended_within_the_same_bound(store: Yard):
    due = due_date()
    do(GRANTS, grant, asked(due + timedelta(days=10)))
    assert "by a concession in date until" in refusal(asked, due + timedelta(days=10))
    do(GRANTS, grant, asked(due + timedelta(days=30)))
    assert bag().fit_until == due + timedelta(days=30)
    assert "30 days at most" in refusal(asked, due + timedelta(days=31))
