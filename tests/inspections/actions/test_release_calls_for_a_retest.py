"""A release calls for a re-test, unless one was passed since or a person says why none is needed."""

from __future__ import annotations

import pytest

from inspections.actions import CheckSpec, Finding, record, release, set_checks
from inspections.actions.case_work import require_retest
from inspections.models import Check, Due, RetestCall
from kit.models import Job, Kind, Reservation
from kit.stores import (
    NotAllowed,
    acting,
    quarantine,
    reserve,
)
from tests.inspections.actions.case_yard import BENCH, LEAD, STORES, case_of, hold_test
from tests.kit.views.yard import Yard, record_checks, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


@pytest.fixture
def made() -> Yard:
    return yard()


def ordered(tag: str) -> list[str]:
    rows = RetestCall.objects.filter(item__tag=tag, cause="ordered").order_by("pk")
    return [str(call.check_called.name) for call in rows if call.check_called]


def released(made: Yard) -> None:
    with acting(LEAD) as act:
        release(act, made.item("NY-B1"), "grease on the tag only")


def test_a_release_calls_for_a_re_test_before_the_piece_goes_out(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    released(made)
    assert ordered("NY-B1") == ["hold test"]
    assert made.item("NY-B1").fit_until is None
    assert "re-test ordered" in Due.objects.get(item__tag="NY-B1").note
    hold_test(made, "NY-B1", "pass")
    assert made.item("NY-B1").fit_until is not None


def test_a_pass_since_the_case_was_opened_makes_a_re_test_needless(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    hold_test(made, "NY-B1", "pass")
    released(made)
    assert ordered("NY-B1") == []
    assert made.item("NY-B1").fit_until is not None


def test_a_pass_of_an_earlier_day_entered_late_is_no_re_test(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        record_checks(act, [made.item("NY-B1")], days_ago=1)
    released(made)
    assert ordered("NY-B1") == ["hold test"]


def test_of_several_checks_those_that_failed_are_called_for(made: Yard) -> None:
    with acting(LEAD) as act:
        set_checks(
            act,
            Kind.objects.get(name="bag"),
            [CheckSpec(name, "P6M") for name in ("drop", "hold test", "visual")],
        )
        record_checks(act, [made.item("NY-B1")], days_ago=2)
    for name in ("hold test", "visual"):
        item = made.item("NY-B1")
        check = Check.objects.get(kind=item.kind, name=name)
        with acting(BENCH) as act:
            record(act, Finding(item, check, act.today, "fail", note="drops"))
    with acting(LEAD) as act:
        item = made.item("NY-B1")
        visual = Check.objects.get(kind=item.kind, name="visual")
        record(act, Finding(item, visual, act.today, "pass"))
    released(made)
    assert ordered("NY-B1") == ["hold test"]


def test_no_re_test_is_called_for_where_a_person_says_why_none_is_needed(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "paint on the tag")
    case = case_of("NY-B1")
    with pytest.raises(NotAllowed, match="Write why no re-test is needed"), acting(LEAD) as act:
        require_retest(act, case, False)
    with acting(LEAD) as act:
        require_retest(act, case, False, "only the tag was dirty")
    released(made)
    assert ordered("NY-B1") == []
    assert made.item("NY-B1").fit_until is not None
    [note] = case.notes.all()
    assert note.text == "no re-test is asked for on release: only the tag was dirty"


def test_a_kind_whose_checks_do_not_gate_is_released_without_a_re_test(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("LOT-7"), "wet box")
    with acting(LEAD) as act:
        release(act, made.item("LOT-7"), "dry again")
    assert ordered("LOT-7") == []


def test_a_check_asked_for_after_quarantine_is_due_again_while_set_aside(made: Yard) -> None:
    with acting(LEAD) as act:
        set_checks(act, Kind.objects.get(name="bag"), [CheckSpec("hold test", "P6M", after_quarantine=True)])
    assert made.item("NY-B1").fit_until is not None
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    assert made.item("NY-B1").fit_until is None
    assert Due.objects.get(item__tag="NY-B1").note.startswith("set aside, awaiting its re-test since")


def test_a_promise_broken_by_quarantine_holds_again_once_released_and_passed(made: Yard) -> None:
    with acting(STORES) as act:
        reserve(act, made.job)
        quarantine(act, made.item("NY-B1"), "smells of oil")
    standing = Reservation.objects.filter(job=Job.objects.get(pk=made.job.pk), item__tag="NY-B1")
    assert standing.get().standing == "broken"
    released(made)
    assert "re-test ordered" in standing.get().why
    hold_test(made, "NY-B1", "pass")
    assert standing.get().standing == "promised"
