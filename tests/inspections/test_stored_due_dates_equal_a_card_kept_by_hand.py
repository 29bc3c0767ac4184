"""Due dates in the database, asked of many days and as they are stored, against a card kept by hand.

The histories are those of `judging/test_due_under_changing_rules.py`, lived here in the real tables by the real
actions; hundreds share one store and one transaction. How many: FETTLEBOOK_HISTORIES (see tests/counts.py).
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, seed, settings

from inspections.judge import gates, judge_items
from inspections.models import Due
from kit.models import Item
from kit.planning import judge_fitness
from kit.stores import prove_ledger
from tests.counts import histories as how_many
from tests.inspections.histories_in_a_store import Lived, Store, evening_of
from tests.inspections.judging.histories import histories
from tests.inspections.judging.history_rows import Entry, History, RuleRow, VersionRow, days
from tests.inspections.judging.kept_by_hand import ByHand

PARTS = 4  # so that workers share them
AT_ONCE = 250
BY_ACTION = {"set_checks", "record_many", "correct", "strike", "use", "ask and grant", "end"}

pytestmark = pytest.mark.django_db


def drawn(number: int, part: int) -> list[History]:
    """That many histories; the same ones each time where all examples are (on CI), others for each part."""
    made: list[History] = []

    @seed(part if settings.default.derandomize else random.randrange(2**32))
    @settings(
        max_examples=number,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(histories())
    def collect(history: History) -> None:
        made.append(history)

    collect()
    return made


@pytest.mark.parametrize("part", range(PARTS))
def test_stored_and_asked_due_dates_equal_a_card_kept_by_hand(part: int) -> None:
    made = drawn(-(-how_many() // PARTS), part)
    ways: set[str] = set()
    for begin in range(0, len(made), AT_ONCE):
        with transaction.atomic():
            ways |= _live_and_compare(made[begin : begin + AT_ONCE])
            transaction.set_rollback(True)
    if len(made) >= 2 * AT_ONCE:  # of few, some may hold nothing that an action takes
        assert ways >= BY_ACTION


def test_a_rule_to_come_counts_on_the_days_before_another_took_its_place() -> None:
    """On the 10th a rule was known for the 25th; on the 20th it was replaced by another for the same day."""
    day = date(2026, 11, 10)
    rules = [RuleRow("P6M"), RuleRow("P5D"), RuleRow("P1M")]
    begins = [(date.min, -30), (day + days(15), 0), (day + days(15), 10)]
    versions = tuple(
        VersionRow(begin, rule, number, day + days(known))
        for number, (rule, (begin, known)) in enumerate(zip(rules, begins, strict=True), start=1)
    )
    asked = (day - days(1), day, day + days(9), day + days(10), day + days(15))
    told = History(day, versions, (Entry(day, "pass", 1, day),), (), asked, None)
    assert [by_hand(told, each)[0][1] for each in asked[1:]] == [
        day + days(14),
        day + days(14),
        date(2026, 12, 10),
        date(2026, 12, 10),
    ]
    _live_and_compare([told])


def _live_and_compare(told: Sequence[History]) -> set[str]:
    """The ways in which the events were written."""
    store = Store(told)
    store.live(in_the_evening=_stored_as_by_hand)
    if len(told) >= 100:
        # The rarer ways may be missing from one part of a small draw, never from a large one.
        missing = BY_ACTION - set(store.how)
        assert len(missing) <= (2 if len(told) < 400 else 0), store.how
    asked: dict[tuple[date, date | None], list[Lived]] = defaultdict(list)
    for one in store.lived:
        for day in one.history.asked:
            asked[day, one.history.recorded_to].append(one)
    for (day, recorded_to), several in asked.items():
        judged = judge_items(
            [one.item for one in several], day, None if recorded_to is None else evening_of(recorded_to)
        )
        for one in several:
            said = judged[one.item.pk]
            assert [columns(each.due) for each in said] == by_hand(one.history, day), (day, one.history)
            fit = judge_fitness(None, gates(said)).fit_until
            assert shown(fit, day) == fit_by_hand(one.history, day), (day, one.history)
    assert prove_ledger().fault is None
    return set(store.how)


def _stored_as_by_hand(today: date, several: Sequence[Lived]) -> None:
    """The stored columns are as of today, with all that was recorded."""
    ids = [one.item.pk for one in several]
    dues: dict[int, list[Any]] = defaultdict(list)
    for due in Due.objects.filter(item_id__in=ids):
        dues[due.item_id].append(columns(due))
    fit = dict(Item.objects.filter(pk__in=ids).values_list("pk", "fit_until"))
    for one in several:
        history = replace(one.history, recorded_to=None)
        assert dues[one.item.pk] == by_hand(history, today), (today, history)
        assert shown(fit[one.item.pk], today) == fit_by_hand(history, today), (today, history)


def columns(due: Any) -> tuple[Any, ...]:
    """What a due date says, as it is stored or as it is judged."""
    verdict = due.last_verdict or ""
    return due.status, due.due_on, due.note, due.last_done, verdict, due.conceded_from, due.grace_until


def by_hand(history: History, day: date) -> list[Any]:
    hand = ByHand(history, day)
    answer = hand.answer()
    if answer is None:
        return []
    return [(*answer, hand.card.last, hand.card.verdict, hand.conceded_from(), hand.grace_until())]


def fit_by_hand(history: History, day: date) -> date | None:
    """The last day of the run of days in date that starts on `day`; None if it does not start."""
    hand = ByHand(history, day)
    return hand.last_in_date(gating=True) if hand.in_date_on(day, gating=True) else None


def shown(fit_until: date | None, day: date) -> date | None:
    """`fit_until` as a store reads it on `day`: a day that is past is as good as none."""
    return fit_until if fit_until is not None and day <= fit_until else None
