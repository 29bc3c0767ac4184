"""Quarantine as a case: it opens, grows and closes with the item; the chain in use together is looked at."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.actions import CheckSpec, Finding, record, release, set_checks
from inspections.actions.case_work import add_note, consider, leave_rest, look_at, require_retest
from inspections.actions.cases import open_case, open_missing
from inspections.models import CaseNote, Check, Due, QuarantineCase, RetestCall
from kit.models import Deed, Item, Job, Kind, LedgerEntry, Reservation, State
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    differences,
    find_again,
    issue_piece,
    lose,
    prove_ledger,
    quarantine,
    receive,
    reserve,
    take_back,
    withdraw,
)
from tests.kit.views.yard import Yard, bag, record_checks, yard

pytestmark = pytest.mark.django_db

STORES, LEAD, BENCH = (Who(name, "test") for name in ("w.hollis", "c.field", "e.marsh"))
JOB_NOTICES = ("authority", "operator", "maker")


@pytest.fixture
def made() -> Yard:
    return yard()


@pytest.fixture(autouse=True)
def proved(made: Yard):
    """After every test the ledger replays to the state, and every date to what the records give."""
    yield
    assert prove_ledger().fault is None
    assert differences() == []


def case_of(tag: str) -> QuarantineCase:
    """The case of that item opened last."""
    return QuarantineCase.objects.filter(item__tag=tag).latest("pk")


def companions(case: QuarantineCase) -> dict[str, str]:
    return dict(case.companions.values_list("item__tag", "looked"))


def out(made: Yard, *tags: str) -> None:
    """These pieces of the job's kit go out."""
    with acting(STORES) as act:
        reserve(act, made.job)
        for tag in tags:
            issue_piece(act, made.job, made.item(tag))


def back(made: Yard, tag: str, outcome: str, why: str = "") -> None:
    reservation = Reservation.objects.get(job=made.job, item__tag=tag, standing="issued")
    with acting(STORES) as act:
        take_back(act, reservation, outcome, why=why)


def consider_all(case: QuarantineCase, *keys: str) -> None:
    with acting(LEAD) as act:
        for key in keys:
            consider(act, case, key, "told by telephone")


def hold_test(made: Yard, tag: str, verdict: str, who: Who = BENCH, **more: object) -> None:
    item = made.item(tag)
    check = Check.objects.in_force().get(kind=item.kind)
    with acting(who) as act:
        record(act, Finding(item, check, act.today, verdict, note="drops", **more))


# Opening, growing, closing


def test_setting_aside_opens_a_case_and_a_further_reason_is_added_to_it(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    with acting(BENCH) as act:
        quarantine(act, made.item("NY-B1"), "worn seam too")
    [case] = QuarantineCase.objects.all()
    assert (case.item.tag, case.why, case.opened_by, case.job) == ("NY-B1", "smells of oil", "w.hollis", None)
    assert list(case.notes.values_list("kind", "text", "by")) == [("reason", "worn seam too", "e.marsh")]
    assert companions(case) == {}
    [call] = RetestCall.objects.all()
    assert (call.item.tag, call.cause, call.check_called, call.called_by) == (
        "NY-B1",
        "quarantine",
        None,
        "w.hollis",
    )


def test_what_comes_in_set_aside_and_what_is_found_again_have_cases(made: Yard) -> None:
    with acting(STORES) as act:
        receive(act, [bag(made.north, "NY-Q1", state=State.QUARANTINED, state_why="no certificate")])
        lose(act, made.item("NY-B1"), "not at stock-take")
        find_again(act, made.item("NY-B1"), "behind the rack")
    assert case_of("NY-Q1").why == "no certificate"
    assert case_of("NY-B1").why == "found again: behind the rack"
    assert [call.item.tag for call in RetestCall.objects.order_by("pk")] == ["NY-Q1", "NY-B1"]


def test_a_withdrawal_closes_the_case_with_its_cause(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    with acting(LEAD) as act:
        withdraw(act, made.item("NY-B1"), "rubber perished by oil")
    case = case_of("NY-B1")
    assert (case.decision, case.cause, case.decided_by) == ("withdrawn", "rubber perished by oil", "c.field")


def test_a_loss_closes_the_case_and_finding_it_again_opens_another(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        lose(act, made.item("NY-B1"), "not in the cage")
        find_again(act, made.item("NY-B1"), "in the van")
    decisions = QuarantineCase.objects.order_by("pk").values_list("decision", "cause")
    assert list(decisions) == [("lost", "not in the cage"), ("", "")]


def test_a_loss_or_withdrawal_without_a_case_opens_none(made: Yard) -> None:
    with acting(STORES) as act:
        lose(act, made.item("NY-B1"), "not at stock-take")
        withdraw(act, made.item("NY-B2"), "sold")
        receive(act, [bag(made.north, "NY-Q1", state=State.LOST), bag(made.north, "NY-Q2")])
    assert not QuarantineCase.objects.exists()


def test_what_was_set_aside_before_cases_were_kept_gets_one(made: Yard) -> None:
    with acting(STORES) as act:
        item = made.item("NY-B1")
        act.change(item, state=State.QUARANTINED, state_why="old oil", state_by="o.past", state_since=act.now)
        act.tell(Deed.QUARANTINED, [item], note="as an older program did it")
    with acting(LEAD) as act:
        assert open_missing(act) == 1
        assert open_missing(act) == 0
    case = case_of("NY-B1")
    assert (case.why, case.opened_by, case.opened_at) == ("old oil", "o.past", made.item("NY-B1").state_since)


def test_cases_of_many_received_take_no_query_each(made: Yard) -> None:
    def queries(first: int, number: int) -> int:
        items = [bag(made.north, f"Q{n}", state=State.QUARANTINED) for n in range(first, first + number)]
        with (
            CaptureQueriesContext(
                connection,
            ) as seen,
            acting(STORES) as act,
        ):
            receive(act, items)
        return len(seen)

    few, many = queries(0, 2), queries(100, 60)
    assert QuarantineCase.objects.filter(decision="").count() == 62
    assert many <= few + 2, (few, many)  # a batch more here and there, none an item


# The job and the companions


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


def test_findings_and_actions_are_noted_with_who(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    case = case_of("NY-B1")
    with acting(BENCH) as act:
        add_note(act, case, "finding", " grease on the tag ")
        add_note(act, case, "action", "tag renewed")
    notes = CaseNote.objects.values_list("kind", "text", "by")
    assert list(notes) == [("finding", "grease on the tag", "e.marsh"), ("action", "tag renewed", "e.marsh")]
    with pytest.raises(NotAllowed, match="an empty note helps nobody"), acting(BENCH) as act:
        add_note(act, case, "finding", " ")
    with pytest.raises(NotAllowed, match="a finding or an action, not 'notice'"), acting(BENCH) as act:
        add_note(act, case, "notice", "no")


def test_a_notice_is_considered_with_a_note_and_only_if_it_is_one_of_the_cases(made: Yard) -> None:
    out(made, "NY-B1")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    with pytest.raises(NotAllowed, match="Write what you decided about this notice"), acting(LEAD) as act:
        consider(act, case, "authority", "")
    with pytest.raises(NotAllowed, match="'batch' is no notice of case"), acting(LEAD) as act:
        consider(act, case, "batch", "no batch is known")
    consider_all(case, "authority")
    [note] = case.notes.all()
    assert (note.kind, note.about, note.text, note.by) == (
        "notice",
        "authority",
        "told by telephone",
        "c.field",
    )


# Release


def test_a_release_waits_for_companions_and_notices_and_names_each(made: Yard) -> None:
    out(made, "NY-B1", "NY-S1")
    back(made, "NY-B1", "damaged", "torn skirt")
    case = case_of("NY-B1")
    with pytest.raises(NotAllowed) as refused, acting(LEAD) as act:
        release(act, made.item("NY-B1"), "patched")
    assert f"Not looked at yet, though used with NY-B1: NY-S1. Say of each in case {case.pk}" in str(
        refused.value
    )
    assert str(refused.value).count(f"Not considered yet in case {case.pk}: ") == len(JOB_NOTICES)
    with acting(LEAD) as act:
        leave_rest(act, case, "torn by a shovel")
    consider_all(case, *JOB_NOTICES[:2])
    with pytest.raises(NotAllowed, match=r"considered yet .*: The maker may have"), acting(LEAD) as act:
        release(act, made.item("NY-B1"), "patched")
    consider_all(case, JOB_NOTICES[2])
    with acting(LEAD) as act:
        release(act, made.item("NY-B1"), "patched")
    case.refresh_from_db()
    assert (case.decision, case.findings, case.decided_by) == ("released", "patched", "c.field")
    assert open_case(made.item("NY-B1")) is None


def test_nobody_releases_what_they_set_aside_even_when_nothing_else_waits(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    only = r"^You set NY-B1 aside: somebody else must release it\.$"
    with pytest.raises(NotAllowed, match=only), acting(STORES) as act:
        release(act, made.item("NY-B1"), "fine")


def test_the_batch_is_a_reminder_that_holds_nothing_up_without_a_job(made: Yard) -> None:
    with acting(STORES) as act:
        receive(act, [bag(made.north, "NY-Q1", batch="L-9", state=State.QUARANTINED)])
    with acting(LEAD) as act:
        consider(act, case_of("NY-Q1"), "batch", "two others looked at")
        release(act, made.item("NY-Q1"), "certificate came")
    assert case_of("NY-Q1").decision == "released"


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
