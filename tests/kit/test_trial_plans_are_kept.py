"""Trial plans are kept by name and depot, changed by their owner, and leave every other table as it is, to the byte."""

from __future__ import annotations

import pytest
from django.utils import timezone

from kit import trial_plans
from kit.models import Role, TrialPlan
from kit.planning.what_if import CancelJob, SetBench, to_data
from kit.stores import NotAllowed
from tests.kit.views.yard import person, yard
from tests.kit.workbooks.depot_book import dump

pytestmark = pytest.mark.django_db
NOW = timezone.now()


def test_changes_come_back_in_order_and_are_taken_out_one_by_one():
    place = yard()
    plan = trial_plans.make(person(Role.PLANNER, place.north), place.north, "  a  wet   week ", NOW)
    assert plan.name == "a wet week"
    first, second = CancelJob("J1"), SetBench("NY", 3)
    trial_plans.add(plan, first, NOW)
    trial_plans.add(plan, second, NOW)
    assert trial_plans.changes_of(TrialPlan.objects.get()) == [first, second]
    trial_plans.take_out(plan, 0, to_data(first), NOW)
    assert trial_plans.changes_of(TrialPlan.objects.get()) == [second]
    with pytest.raises(NotAllowed, match="changed meanwhile"):
        trial_plans.take_out(plan, 0, to_data(first), NOW)
    copy = trial_plans.make(plan.owner, place.mill, "a wet week", NOW, copied=plan)
    assert trial_plans.changes_of(copy) == [second]
    trial_plans.throw_away(plan)
    assert list(TrialPlan.objects.all()) == [copy]
    with pytest.raises(NotAllowed, match="thrown away"):
        trial_plans.add(plan, first, NOW)


def test_names_are_taken_once_a_depot():
    place = yard()
    planner = person(Role.PLANNER, place.north)
    trial_plans.make(planner, place.north, "storm", NOW)
    with pytest.raises(NotAllowed, match="There is a trial plan storm at North yard already"):
        trial_plans.make(planner, place.north, "storm", NOW)
    for wrong in ("", "   ", "x" * 81):
        with pytest.raises(NotAllowed, match="Give the plan a name"):
            trial_plans.make(planner, place.north, wrong, NOW)


def test_a_plan_has_an_end(monkeypatch):
    place = yard()
    monkeypatch.setattr(trial_plans, "MOST_CHANGES", 2)
    plan = trial_plans.make(person(Role.PLANNER, place.north), place.north, "long", NOW)
    for _ in range(2):
        trial_plans.add(plan, CancelJob("J1"), NOW)
    with pytest.raises(NotAllowed, match="at most 2 changes"):
        trial_plans.add(plan, CancelJob("J1"), NOW)


def test_no_other_table_is_touched():
    place = yard()
    planner = person(Role.PLANNER, place.north)
    before = {table: rows for table, rows in dump().items() if table != "kit_trialplan"}
    plan = trial_plans.make(planner, place.north, "storm", NOW)
    trial_plans.add(plan, CancelJob(place.job.reference), NOW)
    trial_plans.throw_away(plan)
    assert {table: rows for table, rows in dump().items() if table != "kit_trialplan"} == before
