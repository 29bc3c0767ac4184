"""Quarantine as a case: it opens, grows and closes with the item; the chain in use together is looked at."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.actions import release
from inspections.actions.case_work import add_note, consider, leave_rest
from inspections.actions.cases import open_case, open_missing
from inspections.models import CaseNote, QuarantineCase, RetestCall
from kit.models import Deed, State
from kit.stores import (
    NotAllowed,
    acting,
    find_again,
    lose,
    quarantine,
    receive,
    withdraw,
)
from tests.inspections.actions.case_yard import (
    BENCH,
    JOB_NOTICES,
    LEAD,
    STORES,
    back,
    case_of,
    companions,
    consider_all,
    out,
)
from tests.kit.views.yard import Yard, bag, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


@pytest.fixture
def made() -> Yard:
    return yard()


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
