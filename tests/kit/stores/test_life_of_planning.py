"""A plan lived at random over weeks: jobs are extended, pieces fail, vans are late, consignments go and arrive, pieces
are set aside and released, sets are made up and taken apart, the plan is rearranged, and days pass. Whatever the
order, it holds.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from unittest import mock

import pytest
from django.utils import timezone
from hypothesis import settings
from hypothesis.stateful import invariant, precondition, run_state_machine_as_test

from kit.models import Depot
from kit.stores import acting, set_bench, set_link
from tests.counts import cases
from tests.kit.stores import small_store
from tests.kit.stores.holds_of_transfers import transfer_faults
from tests.kit.stores.life_of_planning import LifeOfPlanning
from tests.kit.stores.life_of_sets import (
    LifeOfSets,
    bind_the_arrangement,
    bound_faults,
)
from tests.kit.stores.lived import Lived
from tests.kit.stores.reckoning import Reckoning
from tests.kit.stores.test_life_of_a_store import Life

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

STEPS = 25
REAL_NOW = timezone.now


class LifeOfASeason(LifeOfPlanning, LifeOfSets, Lived):
    """Days pass by the clock of the life; what people do at the counter is as in the life of a store."""

    first_van = Life.first_van
    plan_job = Life.plan_job
    move_the_return = Life.move_the_return
    reserve = Life.reserve
    give_up = Life.give_up
    issue_what_is_promised = Life.issue_what_is_promised
    take_back = Life.take_back
    take_out = Life.take_out
    bring_back = Life.bring_back

    def __init__(self) -> None:
        self.ahead = timedelta()
        self.clock = mock.patch("django.utils.timezone.now", self.now)
        self.clock.start()
        try:
            super().__init__()
        except BaseException:
            self.clock.stop()
            raise

    def teardown(self) -> None:
        try:
            super().teardown()
        finally:
            self.clock.stop()

    def now(self) -> datetime:
        return REAL_NOW() + self.ahead

    def pass_days(self, days: int) -> None:
        self.ahead += timedelta(days=days)
        self.today += timedelta(days=days)

    @precondition(lambda self: self.sound)
    @invariant()
    def consignments_hold(self) -> None:
        if not self.the_day_turned():
            found = transfer_faults(Reckoning(self.tables, self.today))
            assert not found, "\n".join(found)

    @precondition(lambda self: self.sound)
    @invariant()
    def bound_kit_stays_together(self) -> None:
        if not self.the_day_turned():
            found = list(bound_faults(Reckoning(self.tables, self.today)))
            assert not found, "\n".join(found)


def test_whatever_happens_to_a_plan_it_holds() -> None:
    today = timezone.localdate()
    small_store.build(today)
    with acting(small_store.FOUNDER) as act:
        north, mill = Depot.objects.get(code="NY"), Depot.objects.get(code="MB")
        set_link(act, north, mill, 1)
        set_link(act, mill, north, 2)
        set_bench(act, north, 2)
        bind_the_arrangement(act, today)
    run_state_machine_as_test(
        LifeOfASeason, settings=settings(max_examples=cases(8), stateful_step_count=STEPS, deadline=None)
    )
