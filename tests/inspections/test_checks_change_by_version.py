"""A check changes by versions: each holds from its day on, what was judged before stays judged as it was."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from inspections.actions import CheckSpec, Finding, record, record_many
from inspections.due_list import due_list
from inspections.judge import judge_items
from inspections.models import EVER, Check, CheckVersion, Due, Inspection
from kit.models import Deed, Item, LedgerEntry, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    change_details,
    found_register,
    plan_job,
    prove_ledger,
    reserve,
)
from tests.commands.running import run
from tests.inspections.changing_checks import (
    any_act,
    bag,
    change,
    due,
    held,
    hold,
    overdue_names,
    the_check,
    versions,
)
from tests.kit.views.yard import STORES, Yard, in_days, job_of, kind, yard


@pytest.fixture
def store(ledger_holds) -> Yard:
    """Bags held ten days ago under P6M; whatever a test does, the ledger and the due dates must prove after it."""
    return yard()


def test_a_stricter_rule_from_a_later_day_moves_nothing_before_that_day(store, clock):
    last = bag().fit_until
    assert change(hold("P14D"), from_day=in_days(30), why="two bags leaked")
    assert the_check().interval == "P6M"
    assert versions()[-1] == (2, in_days(30), "P14D", False)
    # In date by the rule of today, and known already to be so only until the eve of the new one.
    assert overdue_names(in_days(0)) == set()
    assert bag().fit_until == in_days(29) < last
    clock(29)
    any_act()
    assert the_check().interval == "P6M"
    assert overdue_names(timezone.localdate()) == set()
    clock(30)
    assert overdue_names(timezone.localdate()) == {"hold test"}, "nobody acted yet on that day"
    any_act()
    assert (the_check().interval, the_check().version) == ("P14D", 2)
    assert due().due_on == timezone.localdate() - timedelta(days=30 + 10 - 14)
    entry = LedgerEntry.objects.filter(deed=Deed.RULED).latest("number")
    assert "version 2, set by c.lead, is in force" in entry.body


def test_promises_follow_at_once_as_far_as_they_reach_into_the_new_rule(store):
    soon, late = store.job, None
    with acting(STORES) as act:
        reserve(act, soon)
        late = plan_job(act, job_of(store.north, store.arrangement, "J/26-200", load=28, back=33))
        reserve(act, late)
    assert (held(soon), held(late)) == (4, 4)
    change(hold("P14D"), from_day=in_days(30))
    assert (held(soon), held(late)) == (4, 0)
    assert held(late, Standing.BROKEN) == 4


def test_a_rule_that_ends_on_a_day_gives_the_items_and_their_promises_free_on_that_day(store, clock):
    with acting(STORES) as act:
        reserve(act, store.job)
    change(hold(), CheckSpec("visual", "P1Y"))
    assert bag().fit_until is None
    assert held(store.job, Standing.BROKEN) == 4
    change(hold(), from_day=in_days(3), why="the visual is part of the hold test")
    assert bag().fit_until is None, "it is still asked for today"
    clock(3)
    any_act()
    assert bag().fit_until is not None
    assert held(store.job) == 4
    assert the_check("visual").retired
    assert due("visual") is None


def test_a_new_check_from_a_later_day_is_waited_for_until_then(store, clock):
    change(hold(), CheckSpec("visual", "P1Y"), from_day=in_days(5))
    assert the_check("visual").retired, "not asked for yet"
    assert (due("visual").status, due("visual").due_on, due("visual").last_done) == (
        "dated",
        in_days(4),
        None,
    )
    assert bag().fit_until == in_days(4)
    # The due list of a later day shows it as that day will.
    listed = [entry for entry in due_list(in_days(5)) if entry.check == "visual" and entry.tag == "NY-B1"]
    assert [entry.due_on for entry in listed] == [None]
    clock(5)
    assert run("rederive").code == 0, "the command brings the day's rules into force before it compares"
    assert not the_check("visual").retired
    assert due("visual").status == "never"


def test_a_check_that_is_recorded_before_its_first_day_counts_from_then_on(store, clock):
    change(hold(), CheckSpec("visual", "P1Y"), from_day=in_days(5))
    with acting(Who("a.bench", "test")) as act:
        record(act, Finding(bag(), the_check("visual"), act.today, "pass"))
    assert due("visual").status == "dated"
    clock(6)
    any_act()
    assert due("visual").due_on == the_check("visual").inspections.get().done_on.replace(
        year=in_days(-6).year + 1
    )


def test_of_two_versions_for_one_day_the_later_made_holds_and_takes_the_first_back(store, clock):
    last = bag().fit_until
    change(hold("P14D"), from_day=in_days(30))
    change(hold("P6M"), from_day=in_days(30), why="taken back")
    assert bag().fit_until == last
    clock(30)
    any_act()
    assert (the_check().interval, the_check().version) == ("P6M", 3)


def test_a_change_before_a_planned_one_leaves_the_planned_one_to_come(store, clock):
    change(hold("P1M"), from_day=in_days(30))
    change(hold("P3M"), from_day=in_days(10))
    clock(10)
    any_act()
    assert the_check().interval == "P3M"
    clock(30)
    any_act()
    assert the_check().interval == "P1M"


def test_what_a_change_leaves_out_stays_as_it_will_be_on_that_day(store):
    change(hold(procedure="HT 4", grace_days=None), from_day=in_days(10))
    change(hold("P3M"), from_day=in_days(20))
    assert CheckVersion.objects.get(of=the_check(), number=3).procedure == "HT 4"


def test_a_day_in_the_past_is_refused(store):
    before = versions()
    with pytest.raises(NotAllowed, match="which is past"):
        change(hold("P3M"), from_day=in_days(-1))
    assert versions() == before


def test_what_is_shipped_gives_way_as_if_it_had_never_been(db):
    with acting(STORES) as act:
        found_register(act)
    assert [row[1] for row in versions("hold test and visual")] == [EVER]
    change(hold("P3M"))
    assert versions() == [(1, EVER, "P3M", False)]
    assert versions("hold test and visual")[-1][1:] == (EVER, "P6M", True)
    assert the_check("hold test and visual").retired
    change(hold("P4M"))
    assert versions()[-1][1] == in_days(0), "a second rule of their own holds from today"
    assert prove_ledger().fault is None


def test_a_first_rule_from_a_given_day_leaves_the_shipped_one_until_then(db):
    with acting(STORES) as act:
        found_register(act)
    change(hold("P3M"), from_day=in_days(8))
    assert not the_check("hold test and visual").retired
    assert the_check().retired


def test_a_change_today_leaves_questions_about_yesterday_to_the_old_rule(store):
    yesterday, today = in_days(-1).isoformat(), in_days(0).isoformat()
    change(hold("P7D"))
    assert overdue_names(in_days(0)) == {"hold test"}
    assert overdue_names(in_days(-1)) == set()
    due_now = run("inspections_due", "--as-of", today, "--format", "json").json["due"]
    due_then = run("inspections_due", "--as-of", yesterday, "--format", "json").json["due"]
    assert "NY-B1" in {row["tag"] for row in due_now}
    assert "NY-B1" not in {row["tag"] for row in due_then}
    now = run("kit_list", store.job.reference, "--as-of", today, "--format", "json").json
    then = run("kit_list", store.job.reference, "--as-of", yesterday, "--format", "json").json
    bags_now, bags_then = (next(row for row in kit["lines"] if row["kind"] == "bag") for kit in (now, then))
    assert (bags_now["short"], bags_then["short"]) == (4, 0)
    assert len(bags_then["tags"]) == 4


def test_an_old_record_keeps_the_version_that_judged_it(store):
    first = Inspection.objects.get(item=bag()).version
    change(hold("P3M"))
    with acting(Who("a.bench", "test")) as act:
        made = record(act, Finding(bag(), the_check(), act.today, "pass"))
        late = record_many(act, [Finding(bag(), the_check(), act.today - timedelta(days=2), "pass")])[0]
    assert (first.number, made.version.number, late.version.number) == (1, 2, 1)
    assert Inspection.objects.order_by("pk").filter(item=bag())[0].version == first


def test_a_change_that_changes_nothing_writes_nothing(store):
    entries = LedgerEntry.objects.count()
    assert not change(hold())
    assert not change(CheckSpec("Hold Test", "P6M")), "a check is known again whatever its case"
    assert LedgerEntry.objects.count() == entries


def test_only_what_is_named_is_dropped_if_that_is_asked(store):
    change(hold(), CheckSpec("visual", "P1Y", gates=False))
    change(CheckSpec("weighing", "P2Y", gates=False), dropped=())
    assert sorted(Check.objects.in_force().filter(kind=kind("bag")).values_list("name", flat=True)) == [
        "hold test",
        "visual",
        "weighing",
    ]
    change(dropped=["visual"], why="nobody reads it")
    assert the_check("visual").retired
    assert not the_check().retired


@pytest.mark.parametrize(
    ("spec", "words"),
    [
        (hold(grace_days=5), "past its gate does not go out"),
        (hold(form={"fields": []}), "a form has 1 to"),
        (hold(method="hold test", unit="bar"), "max drop"),
        (hold(method="hold test", unit="bar", max_drop=1, other_limits={"bar": {"max_drop": "1"}}), ""),
        (
            hold(method="hold test", unit="bar", max_drop=1, other_limits={"psi": {"max_drop": "-1"}}),
            "0 or more",
        ),
    ],
)
def test_what_is_no_rule_is_refused_before_anything_is_written(store, spec, words):
    before = versions()
    if words:
        with pytest.raises(NotAllowed, match=words):
            change(spec)
        assert versions() == before
    else:
        assert change(spec)


def test_days_of_grace_kept_from_before_bar_a_check_from_gating(store):
    change(hold(gates=False, grace_days=5))
    with pytest.raises(NotAllowed, match="past its gate does not go out"):
        change(hold())
    assert change(hold(grace_days=0))


def test_a_check_for_one_mark_follows_an_item_whose_mark_changes(store):
    change(CheckSpec("inspection", "P12M"), CheckSpec("thread", "P1Y", mark="m7"), of="base")
    assert due("thread", "NY-S1") is None
    assert due("thread", "NY-S3").status == "never"
    with acting(STORES) as act:
        change_details(act, Item.objects.get(tag="NY-S1"), mark="M7")
        change_details(act, Item.objects.get(tag="NY-S3"), mark="M3")
    assert due("thread", "NY-S1").status == "never"
    assert due("thread", "NY-S3") is None
    assert Item.objects.get(tag="NY-S3").fit_until is not None


@pytest.mark.parametrize(
    ("scope", "asked"),
    [
        ({"maker": "ANVIL & sons"}, {"NY-B1", "NY-B9"}),
        ({"batch": "7"}, {"NY-B1"}),
        ({"maker": "Anvil & Sons", "batch": "8"}, set()),
    ],
)
def test_a_check_may_be_for_one_maker_or_batch(store, scope, asked):
    with acting(STORES) as act:
        change_details(act, bag(), batch="7")
    change(hold(), CheckSpec("recall", "P1Y", **scope))
    found = set(Due.objects.filter(check_due__name="recall").values_list("item__tag", flat=True))
    assert found & {"NY-B1", "NY-B9"} == asked


def test_for_whom_it_is_asked_changes_from_a_day_like_the_rest_of_the_rule(store, clock):
    change(CheckSpec("inspection", "P12M"), CheckSpec("thread", "P1Y", mark="M7"), of="base")
    change(
        CheckSpec("inspection", "P12M"), CheckSpec("thread", "P1Y", mark="M3"), of="base", from_day=in_days(4)
    )
    assert due("thread", "NY-S3").status == "never"
    assert due("thread", "NY-S1").due_on == in_days(3)
    clock(4)
    any_act()
    assert due("thread", "NY-S3") is None
    assert due("thread", "NY-S1").status == "never"
    base = Item.objects.get(tag="NY-S3")
    names = {one.check.name for one in judge_items([base], timezone.localdate() - timedelta(days=1))[base.pk]}
    assert names == {"inspection", "thread"}, "the day before it was asked of the other mark"
