"""What was in use together with a piece that is set aside is looked at, piece by piece."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inspections.actions import release
from inspections.actions.case_work import add_note, consider, leave_rest, look_at
from inspections.models import QuarantineCase
from kit.models import Deed, Item, Kind, LedgerEntry, State
from kit.stores import (
    NotAllowed,
    acting,
    find_again,
    issue_piece,
    quarantine,
    receive,
    reserve,
    take_back,
    withdraw,
)
from tests.inspections.actions.case_yard import BENCH, LEAD, STORES, back, case_of, companions, hold_test, out
from tests.kit.views.yard import Yard, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


@pytest.fixture
def made() -> Yard:
    return yard()


def test_damaged_kit_names_its_job_and_all_that_was_out_with_it(made: Yard) -> None:
    out(made, "NY-B1", "NY-B2", "NY-S1", "LOT-7")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    assert case.job == made.job
    assert companions(case) == {"NY-B2": "", "NY-S1": ""}  # a lot is not one piece of the chain
    told = LedgerEntry.objects.filter(deed=Deed.INVESTIGATED, mentions__about=f"job:{made.job.reference}")
    assert told.count() == 1


def test_what_came_back_before_it_went_out_was_not_in_use_with_it(made: Yard) -> None:
    with acting(STORES) as act:
        reserve(act, made.job)
        first = issue_piece(act, made.job, made.item("NY-B2"))
        act.change(first, issued_on=act.today - timedelta(days=5))
        act.tell(Deed.CORRECTED, [first.item], note="issued five days ago, for this test")
        take_back(act, first, "used", back_on=act.today - timedelta(days=2))
        issue_piece(act, made.job, made.item("NY-B1"))
        issue_piece(act, made.job, made.item("NY-B3"))
    back(made, "NY-B1", "damaged", "torn skirt")
    assert companions(case_of("NY-B1")) == {"NY-B3": ""}


def test_missing_kit_that_turns_up_still_names_its_job(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    back(made, "NY-B1", "missing", "left in the trench")
    assert not QuarantineCase.objects.exists()
    with acting(STORES) as act:
        find_again(act, made.item("NY-B1"), "the crew brought it")
    case = case_of("NY-B1")
    assert (case.job, companions(case)) == (made.job, {"NY-S1": ""})


def test_used_kit_that_fails_its_check_after_use_names_its_job(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    back(made, "NY-B1", "used")
    assert not QuarantineCase.objects.exists()
    hold_test(made, "NY-B1", "fail")
    case = case_of("NY-B1")
    assert (case.job, companions(case)) == (made.job, {"NY-S1": ""})


def test_what_was_passed_since_it_came_back_is_not_that_jobs_doing(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    back(made, "NY-B1", "used")
    hold_test(made, "NY-B1", "pass")
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "mice in the rack")
    case = case_of("NY-B1")
    assert (case.job, companions(case)) == (None, {})


def test_what_is_out_on_a_job_is_set_aside_with_it(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "recall by the maker")
    assert (case_of("NY-B1").job, companions(case_of("NY-B1"))) == (made.job, {"NY-S1": ""})
    back(made, "NY-B1", "damaged", "torn skirt")
    assert list(case_of("NY-B1").notes.values_list("text", flat=True)) == [
        f"damaged on {made.job}: torn skirt"
    ]


def test_a_failed_test_at_the_bench_has_its_gauge_for_a_companion(made: Yard) -> None:
    with acting(STORES) as act:
        [gauge] = receive(act, [Item(tag="G-1", kind=Kind.objects.get(name="gauge"), depot=made.north)])
    hold_test(made, "NY-B1", "fail", gauge=gauge)
    case = case_of("NY-B1")
    assert case.why.startswith("hold test failed on")
    assert (case.opened_by, companions(case)) == ("e.marsh", {"G-1": ""})
    with (
        pytest.raises(NotAllowed, match=r"Not looked at yet, though used with NY-B1: G-1\."),
        acting(LEAD) as act,
    ):
        release(act, made.item("NY-B1"), "valve replaced")


# Looking at companions


def test_a_companion_set_aside_as_well_opens_its_own_case(made: Yard) -> None:
    out(made, "NY-B1", "NY-B2", "NY-S1")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    with acting(LEAD) as act:
        look_at(act, case.companions.get(item__tag="NY-B2"), "set aside", "same van")
        look_at(act, case.companions.get(item__tag="NY-S1"), "left")
    assert companions(case) == {"NY-B2": "set aside", "NY-S1": "left"}
    other = case_of("NY-B2")
    assert other.why == f"used with NY-B1 (case {case.pk}): same van"
    assert made.item("NY-B2").state == State.QUARANTINED
    # The first is looked into already; the base has yet to be looked at for the second.
    assert companions(other) == {"NY-B1": "set aside", "NY-S1": ""}
    assert other.companions.get(item__tag="NY-B1").text == f"set aside already: case {case.pk}"


def test_a_companion_set_aside_by_itself_is_looked_at_thereby(made: Yard) -> None:
    out(made, "NY-B1", "NY-B2")
    back(made, "NY-B1", "damaged", "torn skirt")
    back(made, "NY-B2", "damaged", "torn as well")
    row = case_of("NY-B1").companions.get()
    assert (row.looked, row.text, row.by) == (
        "set aside",
        f"set aside by itself: case {case_of('NY-B2').pk}",
        "w.hollis",
    )


def test_looking_is_refused_where_it_was_done_or_makes_no_sense(made: Yard) -> None:
    out(made, "NY-B1", "NY-B2", "NY-S1")
    back(made, "NY-B1", "damaged", "torn skirt")
    back(made, "NY-B2", "missing", "in the trench")
    case = case_of("NY-B1")
    gone, base = case.companions.get(item__tag="NY-B2"), case.companions.get(item__tag="NY-S1")
    with pytest.raises(NotAllowed, match="NY-B2 is lost, so it cannot be set aside"), acting(LEAD) as act:
        look_at(act, gone, "set aside")
    with pytest.raises(NotAllowed, match="Say whether NY-S1 is left in use"), acting(LEAD) as act:
        look_at(act, base, "")
    with acting(LEAD) as act:
        look_at(act, base, "left")
    with (
        pytest.raises(NotAllowed, match=r"NY-S1 was dealt with by c\.field: looked at and left"),
        acting(BENCH) as act,
    ):
        look_at(act, base, "set aside")


def test_all_others_can_be_left_in_use_for_one_reason(made: Yard) -> None:
    out(made, "NY-B1", "NY-B2", "NY-S1")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    with pytest.raises(NotAllowed, match="Write why all of them may stay in use"), acting(LEAD) as act:
        leave_rest(act, case, " ")
    with acting(LEAD) as act:
        assert leave_rest(act, case, "torn by a shovel") == 2
    assert companions(case) == {"NY-B2": "left", "NY-S1": "left"}
    with pytest.raises(NotAllowed, match="looked at already"), acting(LEAD) as act:
        leave_rest(act, case, "again")


def test_the_companions_of_what_was_withdrawn_can_still_be_looked_at(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    with acting(LEAD) as act:
        withdraw(act, made.item("NY-B1"), "torn beyond mending")
        look_at(act, case.companions.get(), "set aside", "burr on the seat")
        consider(act, case, "maker", "told")
    assert made.item("NY-S1").state == State.QUARANTINED
    with pytest.raises(NotAllowed, match=r"was decided by c\.field: withdrawn for good"), acting(LEAD) as act:
        add_note(act, case, "finding", "too late")


# Notes and notices
