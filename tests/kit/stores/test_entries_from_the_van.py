"""What a crew entered beside the van: each entry once and only once; what cannot be done is kept, with why."""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from inspections.models import QuarantineCase
from kit.models import Deed, Item, LedgerEntry, State, Taken, VanDeed, VanEntry
from kit.stores import (
    NotAllowed,
    Said,
    Who,
    acting,
    issue_piece,
    quarantine,
    reserve,
    settle_van_entry,
    take_back,
    take_in,
)
from kit.stores.take_back import out_reservation
from tests.kit.views.yard import Yard, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]

CREW = Who("j.pike", "van")
STORES = Who("w.hollis", "test")
ON_TIME = timedelta(0)


@pytest.fixture
def place() -> Yard:
    """The yard, the job's kit reserved and its bags issued."""
    made = yard(bags=6)
    with acting(STORES) as act:
        reserve(act, made.job)
    for tag in out_tags(made):
        with acting(STORES) as act:
            issue_piece(act, made.job, made.item(tag))
    return made


def out_tags(place: Yard) -> list[str]:
    held = place.job.reservations.filter(item__kind__name="bag").order_by("item__tag")
    return list(held.values_list("item__tag", flat=True))


def said(what: VanDeed, code: str, note: str = "", spare: str = "", at: datetime | None = None) -> Said:
    return Said(uuid4(), what, code, at or timezone.now() - timedelta(minutes=40), note, spare)


def arrived(place: Yard, entry: Said, ahead: timedelta = ON_TIME, who: Who = CREW) -> VanEntry:
    with acting(who) as act:
        return take_in(act, place.job, entry, ahead)


def entries_of(uid: UUID) -> int:
    return LedgerEntry.objects.filter(deed=Deed.VAN, body__contains=str(uid)).count()


def test_a_piece_seen_on_the_van_is_told_at_the_time_the_phone_said(place: Yard) -> None:
    seen = said(VanDeed.SEEN, out_tags(place)[0])
    entry = arrived(place, seen)
    assert entry.taken == Taken.DONE
    told = LedgerEntry.objects.filter(deed=Deed.VAN).get()
    assert told.happened_at == seen.said_at
    assert told.recorded_at > told.happened_at
    assert told.actor == "j.pike"


def test_an_entry_sent_twice_does_nothing_the_second_time(place: Yard) -> None:
    failed = said(VanDeed.FAILED, out_tags(place)[0], note="seam lets go at 0.15 bar")
    first = arrived(place, failed)
    second = arrived(place, failed)
    assert first.pk == second.pk
    assert entries_of(failed.uid) == 1
    assert QuarantineCase.objects.count() == 1
    assert LedgerEntry.objects.filter(deed=Deed.QUARANTINED).count() == 1


def test_the_database_takes_no_second_row_of_one_entry(place: Yard) -> None:
    entry = arrived(place, said(VanDeed.SEEN, out_tags(place)[0]))
    entry.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        entry.save(force_insert=True)


def test_another_persons_entry_is_not_sent_as_ones_own(place: Yard) -> None:
    seen = said(VanDeed.SEEN, out_tags(place)[0])
    arrived(place, seen)
    with pytest.raises(NotAllowed, match=r"made by j\.pike"):
        arrived(place, seen, who=Who("somebody.else", "van"))


def test_a_failed_piece_is_set_aside_with_the_crews_words(place: Yard) -> None:
    tag = out_tags(place)[0]
    arrived(place, said(VanDeed.FAILED, tag, note="seam lets go"))
    item = place.item(tag)
    assert item.state == State.QUARANTINED
    assert "failed its test before use" in item.state_why
    assert "seam lets go" in item.state_why


def test_a_failure_that_arrives_after_the_return_sets_the_piece_aside_all_the_same(place: Yard) -> None:
    tag = out_tags(place)[0]
    with acting(STORES) as act:
        take_back(act, out_reservation(place.item(tag)), "unused")
    entry = arrived(place, said(VanDeed.REPORTED, tag, note="hose chafed"))
    assert entry.taken == Taken.DONE
    assert place.item(tag).state == State.QUARANTINED


@pytest.mark.parametrize(
    ("what", "code", "why"),
    [
        (VanDeed.SEEN, "NY-B9", "is not on its kit list"),
        (VanDeed.SEEN, "NOBODY-1", "No piece of the register"),
        (VanDeed.FAILED, "NY-B9", "was never issued"),
        (VanDeed.PASSED, "NY-S1", "was never issued to it"),
    ],
)
def test_what_cannot_be_done_is_kept_with_why(place: Yard, what: VanDeed, code: str, why: str) -> None:
    entry = arrived(place, said(what, code, note="as found"))
    assert entry.taken == Taken.OPEN
    assert why in entry.why
    assert entry.note == "as found"
    assert LedgerEntry.objects.filter(deed=Deed.QUARANTINED).count() == 0


def test_a_piece_set_aside_meanwhile_is_no_longer_passed(place: Yard) -> None:
    tag = out_tags(place)[0]
    with acting(STORES) as act:
        quarantine(act, place.item(tag), "batch recalled")
    entry = arrived(place, said(VanDeed.PASSED, tag))
    assert entry.taken == Taken.OPEN
    assert "batch recalled" in entry.why


def test_a_spare_of_the_same_line_is_taken_and_another_kind_is_not(place: Yard) -> None:
    first, second = out_tags(place)[:2]
    assert arrived(place, said(VanDeed.SWAPPED, first, spare=second)).spare == place.item(second)
    with acting(STORES) as act:
        issue_piece(act, place.job, place.item("NY-S1"))
    wrong = arrived(place, said(VanDeed.SWAPPED, first, spare="NY-S1"))
    assert wrong.taken == Taken.OPEN
    assert "cannot stand in" in wrong.why
    itself = arrived(place, said(VanDeed.SWAPPED, first, spare=first))
    assert "own spare" in itself.why


def test_a_spare_is_taken_for_what_has_just_failed_and_not_the_other_way_round(place: Yard) -> None:
    first, second = out_tags(place)[:2]
    arrived(place, said(VanDeed.FAILED, first, note="seam lets go"))
    assert arrived(place, said(VanDeed.SWAPPED, first, spare=second)).taken == Taken.DONE
    wrong = arrived(place, said(VanDeed.SWAPPED, second, spare=first))
    assert wrong.taken == Taken.OPEN
    assert "seam lets go" in wrong.why


def test_a_wrong_clock_is_kept_as_it_was_and_told(place: Yard) -> None:
    ahead = timedelta(hours=2, minutes=10)
    later = timezone.now() + ahead
    entry = arrived(place, said(VanDeed.SEEN, out_tags(place)[0], at=later), ahead)
    assert entry.said_at == later
    assert entry.clock_ahead_s == 7800
    told = LedgerEntry.objects.get(deed=Deed.VAN)
    assert told.happened_at == told.recorded_at
    assert "clock was not near" in told.body


def test_an_open_entry_is_settled_once_with_a_note(place: Yard) -> None:
    entry = arrived(place, said(VanDeed.SEEN, "NY-B9"))
    with pytest.raises(NotAllowed, match="Say what was done"), acting(STORES) as act:
        settle_van_entry(act, entry, "  ")
    with acting(STORES) as act:
        settle_van_entry(act, entry, "taken off the van, issued NY-B6")
    entry.refresh_from_db()
    assert (entry.taken, entry.settled_by) == (Taken.SETTLED, "w.hollis")
    with pytest.raises(NotAllowed, match="already"), acting(STORES) as act:
        settle_van_entry(act, entry, "again")
    assert Item.objects.get(tag="NY-B9").state == State.AVAILABLE
