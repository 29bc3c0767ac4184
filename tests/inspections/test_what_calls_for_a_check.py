"""Besides its interval: what calls for a check, and what does not."""

from __future__ import annotations

import pytest

from inspections.actions import CheckSpec, Finding, record, set_checks
from inspections.actions.repair import order_retest, repair
from inspections.models import Cause, RetestCall
from kit.models import Deed, Item, LedgerEntry, Reservation, Standing
from kit.ports import ports
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    refit,
    reserve,
    set_kind,
    withdraw,
)
from tests.inspections.changing_checks import LEAD, bag, change, due, hold, the_check
from tests.kit.views.yard import STORES, Yard, in_days, kind, yard


@pytest.fixture
def store(ledger_holds) -> Yard:
    """Bags held ten days ago under P6M; whatever a test does, the ledger and the due dates must prove after it."""
    return yard()


def come_back_used(job: str) -> None:
    with acting(STORES) as act:
        ports.judge.used(act, bag(), act.today, job)
        act.tell(Deed.TAKEN_BACK, [bag()])
        refit(act, [bag()])


def test_it_is_called_for_after_so_many_uses(store):
    change(hold(after_use=False, after_uses=2))
    come_back_used("J1")
    assert due().note == ""
    come_back_used("J2")
    assert "used 2 times since its last check" in due().note
    assert bag().fit_until is None
    with acting(Who("a.bench", "test")) as act:
        record(act, Finding(bag(), the_check(), act.today, "pass"))
    assert due().note == ""


def test_a_repair_calls_for_what_the_rule_asks_after_one(store):
    change(hold(after_repair=True), CheckSpec("visual", "P1Y", gates=False))
    with acting(STORES) as act:
        reserve(act, store.job)
        call = repair(act, bag(), " new valve ")
    assert (call.cause, call.why, call.check_called, call.called_by) == (
        Cause.REPAIR,
        "new valve",
        None,
        "w.hollis",
    )
    assert "repaired, awaiting its check" in due().note
    assert bag().fit_until is None
    broken = Reservation.objects.filter(item=bag(), standing=Standing.BROKEN)
    assert broken.count() == Reservation.objects.filter(item=bag()).count() == 1
    assert LedgerEntry.objects.filter(deed=Deed.REPAIRED).count() == 1
    with acting(Who("a.bench", "test")) as act:
        record(act, Finding(bag(), the_check(), act.today, "pass"))
    assert due().note == ""
    assert broken.count() == 0


def test_a_repair_that_no_rule_answers_is_only_noted(store):
    fit = bag().fit_until
    with acting(STORES) as act:
        repair(act, bag(), "label renewed")
    assert bag().fit_until == fit
    assert RetestCall.objects.count() == 1


def test_a_retest_of_one_check_is_ordered_and_answered_by_doing_it(store):
    change(hold(), CheckSpec("visual", "P1Y", gates=False))
    with acting(LEAD) as act:
        order_retest(act, bag(), the_check(), "dropped from the rack")
    assert "re-test ordered" in due().note
    assert due("visual").note == ""
    assert bag().fit_until is None
    with acting(Who("a.bench", "test")) as act:
        record(act, Finding(bag(), the_check(), act.today, "pass"))
    assert bag().fit_until is not None


def test_what_cannot_be_repaired_or_tested_again_is_refused(store):
    def refused(action, *args) -> str:
        with pytest.raises(NotAllowed) as refusal, acting(STORES) as act:
            action(act, *args)
        return str(refusal.value)

    assert "Say what was repaired" in refused(repair, bag(), "  ")
    assert "is a lot" in refused(repair, Item.objects.get(tag="LOT-7"), "washed")
    assert "Say why" in refused(order_retest, bag(), the_check(), "")
    assert "is not asked of NY-S1" in refused(
        order_retest, Item.objects.get(tag="NY-S1"), the_check(), "dropped"
    )
    with acting(STORES) as act:
        withdraw(act, bag(), "torn")
    assert "withdrawn: it cannot be repaired" in refused(repair, bag(), "sewn")
    assert "withdrawn: no check" in refused(order_retest, bag(), the_check(), "dropped")
    assert RetestCall.objects.count() == 0


def test_a_time_in_store_calls_for_it_before_its_interval(store):
    change(hold("P12M", after_storage="P20D"))
    assert bag().fit_until == in_days(10)


def test_a_kind_with_no_check_at_all_is_limited_by_nothing_but_its_use_by(store):
    with acting(LEAD) as act:
        set_kind(act, "sandbag")
        assert not set_checks(act, kind("sandbag"), [])
    change()
    assert bag().fit_until == bag().use_by
