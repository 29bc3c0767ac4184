"""What a change of checks would bring about is foretold, and comes about so when the change is made."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from unittest import mock

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.actions.repair import repair
from inspections.judging import Due as JudgedDue
from inspections.models import Check, CheckVersion, Due
from inspections.preview import Preview, preview
from kit.models import Item, LedgerEntry, Reservation, Standing, State
from kit.stores import NotAllowed, Who, acting, prove_ledger, reserve, withdraw
from tests.counts import cases
from tests.kit.stores import small_store
from tests.kit.views.yard import STORES, Yard, in_days, kind, yard

LEAD = Who("c.lead", "test")


@pytest.fixture
def store(db) -> Yard:
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
    return made


def foretold(*specs: CheckSpec, of: str = "bag", **more) -> Preview:
    entries, versions = LedgerEntry.objects.count(), CheckVersion.objects.count()
    found = preview(kind(of), specs, more.pop("from_day", None), timezone.localdate(), **more)
    assert (LedgerEntry.objects.count(), CheckVersion.objects.count()) == (entries, versions)
    return found


def hold(interval: str = "P6M", **more) -> CheckSpec:
    return CheckSpec("hold test", interval, **more)


def test_a_shorter_interval_says_what_falls_due_at_once_and_which_promises_break(store):
    found = foretold(hold("P7D"))
    assert found.count("leaves_fettle") == 6
    assert found.count_checks("newly_due") == 6
    assert found.count_checks("newly_never") == 0
    assert sorted(b.reservation.item.tag for b in found.broken) == ["NY-B1", "NY-B2", "NY-B3", "NY-B4"]
    assert "overdue since" in found.broken[0].why


def test_an_interval_that_is_only_shorter_says_what_expires_sooner(store):
    found = foretold(hold("P3M"))
    # NY-B9 is limited by its use-by date either way.
    assert (found.count("sooner"), found.count("leaves_fettle"), len(found.broken)) == (5, 0, 0)
    assert [move.item.tag for move in found.moved] == [f"NY-B{n}" for n in (1, 2, 3, 4, 5, 9)]
    assert foretold(hold("P12M")).count("later") == 5


def test_a_new_check_was_never_done(store):
    found = foretold(hold(), CheckSpec("visual", "P1Y"))
    assert (found.count_checks("newly_never"), found.count("leaves_fettle")) == (6, 6)
    quiet = foretold(hold(), CheckSpec("visual", "P1Y", gates=False))
    assert (quiet.count_checks("newly_never"), quiet.count("leaves_fettle"), quiet.broken) == (6, 0, ())


def test_a_check_that_is_dropped_sets_items_free(store):
    with acting(LEAD) as act:
        set_checks(act, kind("bag"), [hold(), CheckSpec("visual", "P1Y")])
    found = foretold(dropped=["visual"])
    assert (found.count("comes_free"), found.broken) == (6, ())


def test_a_later_day_is_looked_at_as_it_would_be_and_promises_as_they_are_judged_today(store):
    found = foretold(hold("P14D"), from_day=in_days(30))
    assert found.day == in_days(30)
    assert found.count("leaves_fettle") == 5, "NY-B9 has passed its use-by date by then"
    assert {move.today_after.fit_until for move in found.items if move.item.tag == "NY-B1"} == {in_days(29)}
    assert found.broken == (), "the job is back before that day"
    assert len(foretold(hold("P14D"), from_day=in_days(10)).broken) == 4


def test_a_change_that_changes_nothing_moves_nothing(store):
    found = foretold(hold())
    assert (found.changes, found.items, found.broken) == ((), (), ())


def test_what_would_be_refused_is_refused(store):
    with pytest.raises(NotAllowed, match="which is past"):
        foretold(hold("P1M"), from_day=in_days(-1))
    with pytest.raises(NotAllowed, match="named twice"):
        foretold(hold(), hold())


def test_withdrawn_items_are_left_out(store):
    with acting(STORES) as act:
        withdraw(act, store.item("NY-B5"), "torn")
    assert "NY-B5" not in {move.item.tag for move in foretold(hold("P7D")).items}


intervals = st.sampled_from(["P7D", "P20D", "P1M", "P6M", "P2Y"])
SCOPES = ({}, {"mark": "M3"}, {"maker": "Anvil & Sons"}, {"batch": "none"})


@st.composite
def specs(draw, names: Sequence[str]) -> list[CheckSpec]:
    listed = []
    for name in draw(st.lists(st.sampled_from(names), unique=True, max_size=len(names))):
        gates = draw(st.booleans())
        basis = draw(st.sampled_from(["done", "anchor"]))
        listed.append(
            CheckSpec(
                name,
                draw(intervals),
                basis,
                draw(st.integers(0, 20)) if basis == "anchor" else 0,
                gates,
                after_use=draw(st.booleans()),
                after_repair=draw(st.booleans()),
                after_uses=draw(st.integers(0, 2)),
                after_storage=draw(st.sampled_from(["", "P15D", "P2M"])),
                grace_days=0 if gates else draw(st.integers(0, 9)),
                **draw(st.sampled_from(SCOPES)),
            )
        )
    return listed


starts = st.sampled_from([None, 0, 1, 4, 40])
found_on = st.tuples(
    st.integers(0, 30),
    st.integers(0, 3),
    st.integers(0, 60),
    st.sampled_from(["pass", "pass", "fail", "doubt"]),
)


def _happen(findings, repaired) -> None:
    """Records of the checks of the kind, and repairs."""
    items = list(Item.objects.filter(kind=kind("bag")).order_by("tag"))
    checks = list(Check.objects.filter(kind=kind("bag")).order_by("name"))
    with acting(STORES) as act:
        record_many(
            act,
            [
                Finding(
                    items[i % len(items)], checks[c % len(checks)], act.today - timedelta(days=d), verdict
                )
                for i, c, d, verdict in findings
            ],
        )
        for number in repaired:
            repair(act, items[number % len(items)], "new valve")


def _stored() -> tuple[dict, dict]:
    """Fitness by tag, and due dates by (tag, check), of bags in use."""
    in_use = Item.objects.filter(kind=kind("bag")).exclude(state__in=[State.WITHDRAWN, State.LOST])
    dues = Due.objects.filter(item__in=in_use).select_related("item", "check_due")
    return {item.tag: (item.fit_until, item.fit_reason) for item in in_use}, {
        (due.item.tag, due.check_due.name): (due.status, due.due_on, due.last_done, due.note, due.grace_until)
        for due in dues
    }


def _of(due: JudgedDue) -> tuple[object, ...]:
    return due.status, due.due_on, due.last_done, due.note, due.grace_until


def _promised() -> set[int]:
    return set(Reservation.objects.filter(standing=Standing.PROMISED).values_list("pk", flat=True))


@pytest.fixture
def small(db) -> None:
    small_store.build(timezone.localdate())


@given(
    earlier=st.lists(st.tuples(specs(["hold test", "visual", "other"]), starts), max_size=2),
    findings=st.lists(found_on, max_size=6),
    repaired=st.lists(st.integers(0, 9), max_size=2),
    wanted=specs(["hold test", "visual", "other", "new"]),
    start=starts,
    all_others=st.booleans(),
)
@settings(
    max_examples=cases(20),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_what_is_foretold_comes_about(small, earlier, findings, repaired, wanted, start, all_others):
    """Whatever rules, records, repairs and promises there are: today as foretold, and on the first day too."""
    with transaction.atomic():
        try:
            _foretell_and_do(earlier, findings, repaired, wanted, start, all_others)
        finally:
            transaction.set_rollback(True)


def _foretell_and_do(earlier, findings, repaired, wanted, start, all_others) -> None:
    today = timezone.localdate()
    for listed, day in earlier:
        with acting(LEAD) as act:
            set_checks(act, kind("bag"), listed, from_day=None if day is None else in_days(day))
    _happen(findings, repaired)
    from_day = None if start is None else in_days(start)
    dropped = None if all_others else ()
    told = foretold(*wanted, from_day=from_day, dropped=dropped)
    before, promised = _stored(), _promised()
    with acting(LEAD) as act:
        changed = set_checks(act, kind("bag"), wanted, from_day=from_day, dropped=dropped)
    assert changed == bool(told.changes)
    if not changed:
        return
    fit, dues = _stored()
    assert fit == {
        move.item.tag: (move.today_after.fit_until, move.today_after.reason) for move in told.items
    }
    assert promised - _promised() == {row.reservation.pk for row in told.broken if not row.is_out}
    if told.day == today:
        assert before[0] == {
            move.item.tag: (move.before.fit_until, move.before.reason) for move in told.items
        }
    else:
        later = timezone.now() + (told.day - today)
        with mock.patch.object(timezone, "now", return_value=later):
            with acting(LEAD):
                pass
            fit, dues = _stored()
    assert fit == {move.item.tag: (move.after.fit_until, move.after.reason) for move in told.items}
    assert dues == {
        (move.item.tag, check.check): _of(check.after)
        for move in told.items
        for check in move.checks
        if check.after is not None
    }
    assert prove_ledger().fault is None
