"""The demo: on any day every reason to refuse occurs and the ledger proves; it goes into an empty database only."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError
from django.db import transaction
from django.utils import timezone

from demo_fixtures.first_days import BREAKS
from kit.models import Depot, Item, LedgerEntry, Reservation, Standing
from kit.planning.reasons import REASON_CODES
from kit.stores import Who, acting, differences, found_register, prove_ledger
from tests.demo_runs import codes, kit_lists, run_demo, short

pytestmark = pytest.mark.django_db

# Ends of months and of a year, a leap day, a night on which the clocks change, and days on which the month ends in
# the middle of the demo's tight week.
AWKWARD_DAYS = [
    date(2026, 8, 31),
    date(2027, 2, 18),
    date(2027, 6, 15),
    date(2027, 12, 31),
    date(2028, 2, 29),
    date(2028, 10, 29),
]


@pytest.mark.once
@pytest.mark.parametrize("day", AWKWARD_DAYS, ids=str)
def test_on_any_day_every_reason_occurs_and_most_jobs_are_complete(
    day: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = datetime(day.year, day.month, day.day, 9, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: moment)
    said = run_demo()
    assert "Proved" in said
    assert "Warnings" not in said
    kits = kit_lists()
    # That a piece is at another depot is said of those on their way; of all others only if they are asked for.
    assert set(codes(kits)) >= set(REASON_CODES) - {"other-depot"}
    assert {reference: set(short(kit)) for reference, kit in kits.items() if not kit.complete} == {
        "OM-201": {"noses"},
        "OM-206": {"gauges"},
        "OM-207": {"seals"},
        "QB-106": {"bags"},
        "QB-114": {"bags"},
    }
    assert Reservation.objects.get(job__reference=BREAKS, standing=Standing.BROKEN).proposed is not None
    assert prove_ledger().fault is None
    assert differences() == []


def test_a_database_with_a_register_of_its_own_is_refused_and_left_alone() -> None:
    with acting(Who("s.fen", "test")) as act:
        found_register(act)
    entries = LedgerEntry.objects.count()
    with pytest.raises(CommandError, match="already holds a register") as refused:
        run_demo()
    assert refused.value.returncode == 2
    assert (LedgerEntry.objects.count(), User.objects.count(), Depot.objects.count()) == (entries, 0, 0)


def test_a_database_with_accounts_of_its_own_is_refused() -> None:
    User.objects.create_user("s.fen", password="else")
    with pytest.raises(CommandError, match="user accounts") as refused:
        run_demo()
    assert refused.value.returncode == 2
    assert not LedgerEntry.objects.exists()


def test_what_breaks_off_half_way_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop() -> Iterator[str]:
        raise KeyboardInterrupt
        yield ""

    monkeypatch.setattr("demo_fixtures.first_days.live", stop)
    with pytest.raises(KeyboardInterrupt), transaction.atomic():
        run_demo()
    assert not LedgerEntry.objects.exists()
    assert not Item.objects.exists()
    assert not User.objects.exists()
