"""What was known of an item on a day, against what the store said on that day, and what was learnt of it since."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.actions import CheckSpec, Finding, record, release, set_checks
from inspections.actions.concessions import ask, end, grant
from inspections.actions.correct import Entered, correct, strike
from inspections.judge import InspectionsJudge, judge_items
from inspections.knew import known_at, seen
from inspections.models import Check, Concession, Inspection
from kit.models import Depot, Item, Job, Kind, LedgerEntry, Outcome, Reservation, Standing
from kit.planning import judge_fitness
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    arrive,
    change_details,
    issue_piece,
    lose,
    prove_ledger,
    quarantine,
    send,
    take_back,
    withdraw,
)
from kit.stores.act import image
from tests.counts import cases
from tests.kit.stores import small_store

pytestmark = pytest.mark.django_db


class Clock:
    """The time that the program sees; it goes on by a second with each look, and by days when told."""

    def __init__(self) -> None:
        self.at = timezone.now() - timedelta(days=60)

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def days_pass(self, days: int) -> None:
        self.at += timedelta(days=days)

    @property
    def today(self) -> date:
        return timezone.localdate(self.at)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Sixty days ago."""
    made = Clock()
    monkeypatch.setattr("django.utils.timezone.now", made)
    return made


def do(action: Callable[..., Any], *args: Any, who: str = "a.hand", **more: Any) -> Any:
    with acting(Who(who, "test")) as act:
        return action(act, *args, **more)


def bag(tag: str = "B1") -> Item:
    return Item.objects.select_related("kind", "depot").get(tag=tag)


def the_check(name: str = "hold test") -> Check:
    return Check.objects.get(name=name)


def inspect(clock: Clock, verdict: str, ago: int = 0, tag: str = "B1", who: str = "e.hand") -> Inspection:
    return do(record, Finding(bag(tag), the_check(), clock.today - timedelta(days=ago), verdict), who=who)


def looked_at(moment: datetime, tag: str = "B1") -> Any:
    item = bag(tag)
    return seen([item], moment)[item.pk]


def how(found: Any) -> list[str]:
    return [learnt.how for learnt in found.learnt]


@pytest.fixture
def store(clock: Clock) -> Clock:
    small_store.build(clock.today)
    clock.days_pass(10)
    return clock


def test_nothing_was_known_before_it_came_in(store: Clock):
    found = looked_at(store.at - timedelta(days=30))
    assert (found.then, found.now) == (None, None)


def test_a_record_entered_late_is_named_and_changes_the_day(store: Clock):
    inspect(store, "fail", ago=1)
    moment = store.at
    store.days_pass(3)
    inspect(store, "pass", ago=3)
    found = looked_at(moment)
    assert found.then.fitness.fit_until is None
    assert found.then.fitness.reason.startswith("hold test failed")
    assert found.now.fit
    assert set(found.differs) == {"fit until", "why", "hold test"}
    assert how(found) == ["late entry"]
    assert [len(side.records) for side in (found.then, found.now)] == [3, 4]


def test_work_of_a_later_day_bears_on_no_day_before(store: Clock):
    moment = store.at
    store.days_pass(2)
    inspect(store, "fail")
    found = looked_at(moment)
    assert (found.differs, how(found)) == ([], [])


def test_a_correction_is_named_and_the_old_record_was_what_was_known(store: Clock):
    old = inspect(store, "doubt")
    moment = store.at
    store.days_pass(4)
    do(correct, old, Entered(old.done_on, verdict="pass"), "slip")
    found = looked_at(moment)
    assert (found.then.fit, found.now.fit) == (False, True)
    assert how(found) == ["correction"]
    store.days_pass(1)
    do(strike, Inspection.objects.get(corrects=old), "never was")
    assert how(looked_at(moment)) == ["correction", "correction"]


def test_a_correction_that_moves_a_record_to_a_later_day_still_bears_on_the_earlier(store: Clock):
    old = inspect(store, "doubt", ago=2)
    moment = store.at
    store.days_pass(4)
    do(correct, old, Entered(store.today, verdict="doubt"), "that was today")
    found = looked_at(moment)
    assert (found.then.fit, found.now.fit) == (False, True)
    assert how(found) == ["correction"]


def test_a_use_by_date_put_right_bears_on_every_day(store: Clock):
    moment = store.at
    store.days_pass(4)
    do(change_details, bag(), use_by=timezone.localdate(moment) - timedelta(days=1))
    found = looked_at(moment)
    assert (found.then.fit, found.now.fit) == (True, False)
    assert how(found) == ["details"]


def test_a_rule_from_a_later_day_judges_no_day_before(store: Clock):
    moment = store.at
    store.days_pass(4)
    do(set_checks, bag().kind, [CheckSpec("hold test", "P1D"), CheckSpec("visual", "P3M", gates=False)])
    found = looked_at(moment)
    assert (found.differs, how(found)) == ([], [])
    assert found.then.fit
    assert not looked_at(store()).then.fit


def test_a_concession_is_seen_on_the_days_on_which_it_ran(store: Clock):
    due = bag("B2").fit_until
    asked = do(ask, bag("B2"), the_check(), due + timedelta(days=9), "bench down", "little", who="p.plan")
    before = store.at
    store.days_pass(1)
    do(grant, asked, who="d.duty")
    running = store.at
    store.days_pass(1)
    do(end, asked, "done", who="d.duty")
    ended = store.at
    shown = [looked_at(moment, "B2").then for moment in (before, running, ended)]
    assert [len(known.concessions) for known in shown] == [0, 1, 0]
    assert [known.fitness.fit_until for known in shown] == [due, due + timedelta(days=9), due]


def test_what_happened_since_is_not_seen_in_the_state_of_the_day(store: Clock):
    moment = store.at
    store.days_pass(2)
    do(quarantine, bag(), "smells of oil")
    aside = store.at
    found = looked_at(moment)
    assert (found.then.item.state, found.now.item.state) == ("available", "available")
    assert (found.differs, how(found)) == ([], [])
    assert looked_at(aside).then.item.state_why == "smells of oil"


# Whatever was done in whatever order: folded to a moment, the ledger says what the store said then.


def _pass_or_fail(clock: Clock, tag: str, n: int) -> None:
    inspect(clock, ("pass", "pass", "fail", "doubt")[n % 4], ago=n % 7, tag=tag, who=f"e.{n % 3}")


def _set_rule(clock: Clock, tag: str, n: int) -> None:
    spec = CheckSpec("hold test", ("P6M", "P1M", "P20D", "P1Y")[n % 4], after_quarantine=bool(n % 2))
    from_day = clock.today + timedelta(days=n % 5) if n % 3 else None
    do(
        set_checks,
        Kind.objects.get(name="bag"),
        [spec, CheckSpec("visual", "P3M")][: 1 + n % 2],
        from_day=from_day,
    )


def _ask(clock: Clock, tag: str, n: int) -> None:
    due = bag(tag).dues.filter(check_due=the_check()).first()
    if due is not None and due.due_on is not None:
        until = due.due_on + timedelta(days=1 + n % 35)
        do(ask, bag(tag), the_check(), until, "bench down", "little", who="p.plan")


def _decide(clock: Clock, tag: str, n: int) -> None:
    for concession in Concession.objects.filter(item__tag=tag).order_by("-pk")[:1]:
        do(end if concession.state == "granted" else grant, concession, "as agreed", who="d.duty")


def _correct(clock: Clock, tag: str, n: int) -> None:
    listed = list(Inspection.objects.filter(item__tag=tag).order_by("-pk")[:3])
    old = listed[n % len(listed)]
    if n % 3 == 0:
        do(strike, old, "never was")
    else:
        verdict = ("pass", "fail", "doubt")[n % 3]
        do(correct, old, Entered(old.done_on - timedelta(days=n % 4), verdict=verdict), "slip")


def _issue(clock: Clock, tag: str, n: int) -> None:
    do(issue_piece, Job.objects.get(reference="J1"), bag(tag))


def _back(clock: Clock, tag: str, n: int) -> None:
    for out in Reservation.objects.filter(item__tag=tag, standing=Standing.ISSUED):
        outcome = (Outcome.USED, Outcome.UNUSED, Outcome.DAMAGED, Outcome.MISSING)[n % 4]
        do(take_back, out, outcome, why="as seen")


def _move(clock: Clock, tag: str, n: int) -> None:
    if bag(tag).custody == "in-transit":
        do(arrive, bag(tag), who="b.hand")
    else:
        do(send, bag(tag), Depot.objects.exclude(pk=bag(tag).depot_id).get(), clock.today + timedelta(days=1))


def _details(clock: Clock, tag: str, n: int) -> None:
    do(change_details, bag(tag), use_by=clock.today + timedelta(days=n * 7 - 30) if n % 2 else None)


ACTS: dict[str, Callable[[Clock, str, int], None]] = {
    "inspect": _pass_or_fail,
    "rule": _set_rule,
    "ask": _ask,
    "decide": _decide,
    "correct": _correct,
    "issue": _issue,
    "back": _back,
    "move": _move,
    "details": _details,
    "quarantine": lambda clock, tag, n: do(quarantine, bag(tag), "oily"),
    "release": lambda clock, tag, n: do(release, bag(tag), "sound", who="r.lead"),
    "lose": lambda clock, tag, n: do(lose, bag(tag), "not in the rack"),
    "withdraw": lambda clock, tag, n: do(withdraw, bag(tag), "worn"),
    "days": lambda clock, tag, n: clock.days_pass(n % 9),
}
steps = st.lists(
    st.tuples(
        st.sampled_from([*ACTS, "inspect", "days", "correct", "decide"]),
        st.sampled_from(["B2", "B3"]),
        st.integers(0, 11),
    ),
    min_size=4,
    max_size=14,
)


def _as_the_store_says(items: list[Item], day: date) -> dict[str, Any]:
    """What the store itself says at this moment: the rows, and the checks judged from the tables."""
    judged, gates = judge_items(items, day), InspectionsJudge().gates_at(items, day)
    return {
        item.tag: (
            image(item),
            gates[item.pk],
            judge_fitness(item.use_by, gates[item.pk]),
            {one.check.name: one.due for one in judged[item.pk]},
            list(Inspection.objects.filter(item=item).order_by("pk").values_list("pk", "verdict", "done_on")),
        )
        for item in items
    }


def _as_folded(items: list[Item], moment: datetime) -> dict[str, Any]:
    known = known_at(items, moment)
    return {
        item.tag: (
            image(known[item.pk].item),
            known[item.pk].gates,
            known[item.pk].fitness,
            {one.check.name: one.due for one in known[item.pk].judged},
            [(row.pk, row.verdict, row.done_on) for row in known[item.pk].records],
        )
        for item in items
    }


def _live(clock: Clock, steps: list[tuple[str, str, int]]) -> None:
    """Live these steps in a store of their own, then compare each moment; what a life changes is rolled back."""
    start = clock.at
    try:
        with transaction.atomic():
            small_store.build(clock.today)
            snapshots = []
            for name, tag, n in steps:
                with contextlib.suppress(NotAllowed):
                    ACTS[name](clock, tag, n)
                items = list(Item.objects.filter(tag__in=["B2", "B3"]).order_by("tag"))
                snapshots.append((clock.at, _as_the_store_says(items, clock.today)))
                clock()
            for moment, said in snapshots:
                items = list(Item.objects.filter(tag__in=["B2", "B3"]).order_by("tag"))
                assert _as_folded(items, moment) == said, moment
            last = seen(items, clock.at)
            assert [(one.differs, one.learnt) for one in last.values()] == [([], []), ([], [])]
            assert prove_ledger().fault is None
            assert LedgerEntry.objects.count() > 10
            transaction.set_rollback(True)
    finally:
        clock.at = start


def test_folding_the_ledger_to_a_moment_gives_what_the_store_said_then(clock: Clock):
    @settings(max_examples=max(8, cases() // 10))
    @given(steps=steps)
    def live(steps: list[tuple[str, str, int]]) -> None:
        _live(clock, steps)

    live()
